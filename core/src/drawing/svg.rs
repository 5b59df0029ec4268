//! Drawing marks as SVG text. Positions are exact in points (1 pt = 1/72 in); widths, dashes, hatches, symbols and letters
//! have printed sizes. Plain shapes only, no style sheets, so that every reader of SVG shows the same.

use std::collections::BTreeMap;

use super::font;
use super::hatch::{self, HatchStroke};
use super::theme::{Colour, Hatch, Ink, Pen, Theme, ink};
use super::writer::{Align, Ends, Letters, Writer, chain, dots_path};
use super::{Drawing, LayerKind, Role, Shape, Symbol, labels};
use crate::geometry::{PlanPoint, Polygon};
use crate::units::Angle;

/// Points in a millimetre.
pub const MM: f64 = 72.0 / 25.4;
/// Points in a metre.
pub const PT_PER_METRE: f64 = 72.0 / 0.0254;
/// Cap height of labels (`users.md` 4.3: just above a tenth of an inch), as type size of the family.
pub const LABEL_PT: f64 = 2.6 * MM / font::CAP_HEIGHT;
/// Type size of the smallest letters, cap height 1.8 mm.
pub const SMALL_PT: f64 = 1.8 * MM / font::CAP_HEIGHT;
/// Side of a printed symbol.
pub const SYMBOL_PT: f64 = 5.0 * MM;
/// The knock-out around letters.
pub(super) const HALO_PT: f64 = 0.6 * MM;
/// Sizes of what is placed in print.
pub(super) const PRINTED: labels::Output = labels::Output {
    letters: LABEL_PT,
    mm: MM,
    symbol: SYMBOL_PT,
    seen: None,
};
/// Width of the ticks across runs, in millimetres.
const TICK_MM: f64 = 0.35;
/// Emitter dots: diameter, and the least distance of two in print.
const DOT_PT: f64 = 0.9 * MM;
const DOTS_APART_PT: f64 = 2.5 * MM;

/// How plan metres become points of the sheet: y is flipped, so that north stays up.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Mapping {
    /// The plan point at the sheet's `left`, `top`.
    pub corner: PlanPoint,
    /// Points from the left edge of the sheet.
    pub left: f64,
    /// Points from the top edge.
    pub top: f64,
    /// One unit on the sheet is this many in the yard.
    pub denominator: f64,
}

impl Mapping {
    /// Points on the sheet of a metre in the yard.
    #[must_use]
    pub fn points_per_metre(&self) -> f64 {
        PT_PER_METRE / self.denominator
    }

    /// The place of a plan point on the sheet, y down.
    #[must_use]
    pub fn place(&self, point: PlanPoint) -> (f64, f64) {
        let factor = self.points_per_metre();
        (
            self.left + (point.x - self.corner.x) * factor,
            self.top + (self.corner.y - point.y) * factor,
        )
    }
}

/// Writes all marks of a drawing: shapes layer by layer, symbols, then letters on top.
pub fn write(drawing: &Drawing, theme: Theme, paper: &str, mapping: &Mapping, out: &mut Writer) {
    for layer in &drawing.layers {
        out.open(class(layer.kind));
        for mark in &layer.marks {
            let look = ink(mark.role, theme);
            match &mark.shape {
                Shape::Area(area) => write_area(area, mark.role, &look, (paper, mapping, MM), out),
                Shape::Line(line) => {
                    let data = chain(line.0.iter().map(|point| mapping.place(*point)), Ends::Open);
                    out.path(&data, None, look.pen.as_ref());
                }
                Shape::Dots(dots) => {
                    let colour = look.fill.map_or_else(String::new, Colour::hex);
                    let places = thinned(dots.iter().map(|dot| mapping.place(*dot)));
                    out.path(&dots_path(places, DOT_PT / 2.0), Some(&colour), None);
                }
                Shape::Symbol { symbol, at, .. } if *symbol == Symbol::Note => {
                    let foot = mapping.place(*at);
                    let middle = labels::noted(foot, SYMBOL_PT);
                    let leader = chain([foot, middle].into_iter(), Ends::Open);
                    out.path(&leader, None, look.pen.as_ref());
                    out.symbol(*symbol, middle, SYMBOL_PT, &look, paper);
                }
                Shape::Symbol { symbol, at, turn } => {
                    let at = mapping.place(*at);
                    out.turned_symbol((*symbol, *turn), at, SYMBOL_PT, &look, paper);
                }
                Shape::Text { .. } => {}
            }
        }
        out.close();
    }
    write_placed(drawing, theme, paper, mapping, out);
}

/// Ticks and letters, over everything else.
fn write_placed(drawing: &Drawing, theme: Theme, paper: &str, mapping: &Mapping, out: &mut Writer) {
    let mut placed = labels::place(drawing, |point| mapping.place(point), PRINTED);
    out.open("ticks");
    for tick in &placed.ticks {
        let data = chain(tick.ends.into_iter(), Ends::Open);
        let pen = ink(tick.role, theme).fill.map(|colour| Pen {
            colour,
            width_mm: TICK_MM,
            dash_mm: &[],
        });
        out.path(&data, None, pen.as_ref());
    }
    out.close();
    out.open("letters");
    // In reading order, which is also the order in which text is copied out of the sheet.
    placed
        .texts
        .sort_by(|a, b| a.y.total_cmp(&b.y).then(a.x.total_cmp(&b.x)));
    for text in &placed.texts {
        let fill = |role: Role| ink(role, theme).fill.map(Colour::hex);
        let is_note_number = text
            .mark
            .subject
            .is_some_and(|id| id.kind == crate::ids::Kind::Note);
        let (colour, halo) = if is_note_number {
            (paper.to_owned(), None)
        } else {
            let ground = text.ground.and_then(fill);
            let halo = ground.unwrap_or_else(|| paper.to_owned());
            (fill(text.mark.role).unwrap_or_default(), Some(halo))
        };
        let letters = Letters {
            size: LABEL_PT,
            face: text.face,
            colour,
            halo,
            align: Align::Start,
        };
        out.text((text.x, text.y), &text.text, &letters);
    }
    out.close();
}

const fn class(layer: LayerKind) -> &'static str {
    match layer {
        LayerKind::Site => "site",
        LayerKind::Features => "features",
        LayerKind::Planting => "planting",
        LayerKind::Contact => "contact",
        LayerKind::Pipes => "pipes",
        LayerKind::Emitters => "emitters",
        LayerKind::Devices => "devices",
        LayerKind::Labels => "labels",
        LayerKind::Notes => "notes",
    }
}

/// An area with its pattern; `mm` is the length of a millimetre of the pattern.
pub(super) fn write_area(
    area: &Polygon,
    role: Role,
    look: &Ink,
    (paper, mapping, mm): (&str, &Mapping, f64),
    out: &mut Writer,
) {
    let data = chain(
        area.0.iter().map(|point| mapping.place(*point)),
        Ends::Closed,
    );
    let fill = look.fill.map(Colour::hex);
    // The ground is the sheet itself.
    let fill = if role == Role::Ground {
        Some(paper.to_owned())
    } else {
        fill
    };
    if let Some((pattern, colour, rows)) = look.hatch {
        out.path(&data, fill.as_deref(), None);
        write_hatch(area, (pattern, colour, rows), mapping, mm, out);
        out.path(&data, None, look.pen.as_ref());
    } else {
        out.path(&data, fill.as_deref(), look.pen.as_ref());
    }
}

/// The strokes of a pattern: all lines, dots and rings of an area in one path each.
fn write_hatch(
    area: &Polygon,
    (pattern, colour, rows): (Hatch, Colour, Angle),
    mapping: &Mapping,
    mm: f64,
    out: &mut Writer,
) {
    let metres_per_mm = mm / mapping.points_per_metre();
    let (mut lines, mut dots, mut rings) = (String::new(), Vec::new(), Vec::new());
    for stroke in hatch::strokes(area, pattern, rows, metres_per_mm) {
        match stroke {
            HatchStroke::Line(from, to) => {
                let ends = [from, to].map(|end| mapping.place(end));
                lines += &chain(ends.into_iter(), Ends::Open);
            }
            HatchStroke::Dot(at) => dots.push(mapping.place(at)),
            HatchStroke::Ring(at) => rings.push(mapping.place(at)),
        }
    }
    let pen = Pen {
        colour,
        width_mm: hatch::HATCH_MM,
        dash_mm: &[],
    };
    if !lines.is_empty() {
        out.path(&lines, None, Some(&pen));
    }
    if !dots.is_empty() {
        let dots = dots_path(dots, hatch::DOT_MM * mm);
        out.path(&dots, Some(&colour.hex()), None);
    }
    if !rings.is_empty() {
        out.path(&dots_path(rings, hatch::RING_MM * mm), None, Some(&pen));
    }
}

/// Leaves out dots that would stand closer than print can tell apart from one that is kept.
fn thinned(places: impl Iterator<Item = (f64, f64)>) -> Vec<(f64, f64)> {
    #[expect(
        clippy::cast_possible_truncation,
        reason = "a cell number; places beyond its range share the last cell"
    )]
    let cell = |(x, y): (f64, f64)| {
        let number = |value: f64| (value / DOTS_APART_PT).floor() as i64;
        (number(x), number(y))
    };
    let mut kept: BTreeMap<(i64, i64), Vec<(f64, f64)>> = BTreeMap::new();
    let mut order = Vec::new();
    for place in places {
        let (column, row) = cell(place);
        // A hair less: what stands exactly so far apart is not left out for rounding.
        let is_near = |known: &(f64, f64)| {
            (known.0 - place.0).hypot(known.1 - place.1) < DOTS_APART_PT * 0.999
        };
        let around = (-1..=1).flat_map(|x| (-1..=1).map(move |y| (x, y)));
        let mut cells = around
            .filter_map(|(x, y)| kept.get(&(column.saturating_add(x), row.saturating_add(y))));
        if cells.any(|cell| cell.iter().any(is_near)) {
            continue;
        }
        kept.entry((column, row)).or_default().push(place);
        order.push(place);
    }
    order
}
