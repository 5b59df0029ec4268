//! Drawing marks as SVG text. Positions are exact in points (1 pt = 1/72 in); widths, dashes, hatches, symbols and letters
//! have printed sizes. Plain shapes only, no style sheets, so that every reader of SVG shows the same.

use super::font;

use super::hatch::write_hatch;
use super::theme::{Ink, Theme, ink};
use super::writer::{Align, Ends, Letters, Writer, chain, dots_path};
use super::{Drawing, LayerKind, Role, Shape, labels};
use crate::geometry::{PlanPoint, Polygon};

/// Points in a millimetre.
pub const MM: f64 = 72.0 / 25.4;
/// Points in a metre.
const PT_PER_METRE: f64 = 72.0 / 0.0254;
/// Cap height of labels (`users.md` 4.3: just above a tenth of an inch), as type size of the family.
pub const LABEL_PT: f64 = 2.6 * MM / font::CAP_HEIGHT;
/// Type size of the smallest letters, cap height 1.8 mm.
pub const SMALL_PT: f64 = 1.8 * MM / font::CAP_HEIGHT;
/// Side of a printed symbol.
pub const SYMBOL_PT: f64 = 5.0 * MM;
/// The knock-out around letters.
pub(super) const HALO_PT: f64 = 0.6 * MM;
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
                Shape::Area(area) => write_area(area, mark.role, &look, paper, mapping, out),
                Shape::Line(line) => {
                    let data = chain(line.0.iter().map(|point| mapping.place(*point)), Ends::Open);
                    out.path(&data, None, look.pen.as_ref());
                }
                Shape::Dots(dots) => {
                    let colour = look
                        .fill
                        .map_or_else(String::new, super::theme::Colour::hex);
                    let places = thinned(dots.iter().map(|dot| mapping.place(*dot)));
                    out.path(&dots_path(places, DOT_PT / 2.0), Some(&colour), None);
                }
                Shape::Symbol { symbol, at, .. } => {
                    out.symbol(*symbol, mapping.place(*at), SYMBOL_PT, &look, paper);
                }
                Shape::Text { .. } => {}
            }
        }
        out.close();
    }
    out.open("letters");
    let mut placed = labels::place(drawing, |point| mapping.place(point), LABEL_PT);
    // In reading order, which is also the order in which text is copied out of the sheet.
    placed.sort_by(|a, b| a.y.total_cmp(&b.y).then(a.x.total_cmp(&b.x)));
    let grounds = Grounds::of(drawing, theme, mapping);
    for text in placed.iter().filter(|text| grounds.has_room_for(text)) {
        let look = ink(text.mark.role, theme);
        let is_note_number = text
            .mark
            .subject
            .is_some_and(|id| id.kind == crate::ids::Kind::Note);
        let (colour, halo) = if is_note_number {
            (paper.to_owned(), None)
        } else {
            let colour = look
                .fill
                .map_or_else(String::new, super::theme::Colour::hex);
            (
                colour,
                Some(grounds.under(text).unwrap_or_else(|| paper.to_owned())),
            )
        };
        let letters = Letters {
            size: LABEL_PT,
            face: text.face,
            colour,
            halo,
            align: Align::Start,
        };
        out.text((text.x, text.y), text.text, &letters);
    }
    out.close();
}

/// Filled areas on the sheet: what lies behind letters.
struct Grounds<'a> {
    areas: Vec<(&'a super::Mark, &'a Polygon, String)>,
    mapping: &'a Mapping,
}

impl<'a> Grounds<'a> {
    fn of(drawing: &'a Drawing, theme: Theme, mapping: &'a Mapping) -> Self {
        let areas = drawing.marks().filter_map(|mark| {
            let Shape::Area(area) = &mark.shape else {
                return None;
            };
            let fill = ink(mark.role, theme)
                .fill
                .filter(|_| mark.role != Role::Ground)?;
            Some((mark, area, fill.hex()))
        });
        Self {
            areas: areas.collect(),
            mapping,
        }
    }

    /// The colour of the topmost area that holds both ends of a text.
    fn under(&self, text: &labels::PlacedText<'_>) -> Option<String> {
        let factor = self.mapping.points_per_metre();
        let at = |x: f64| {
            PlanPoint::new(
                self.mapping.corner.x + (x - self.mapping.left) / factor,
                self.mapping.corner.y - (text.y - self.mapping.top) / factor,
            )
        };
        let ends = [at(text.x), at(text.x + text.width)];
        let holds = |area: &Polygon| ends.iter().all(|end| area.contains(*end));
        self.areas
            .iter()
            .rev()
            .find(|(_, area, _)| holds(area))
            .map(|(_, _, fill)| fill.clone())
    }

    /// A second line under the name of an area is left out where it would hang far over its sides or below it: neighbours would read
    /// as one, and which of them lost its line would be chance.
    fn has_room_for(&self, text: &labels::PlacedText<'_>) -> bool {
        const OVERHANG: f64 = 1.2;
        let Shape::Text {
            anchor: super::Anchor::Below,
            ..
        } = text.mark.shape
        else {
            return true;
        };
        let own = self
            .areas
            .iter()
            .find(|(mark, ..)| mark.subject == text.mark.subject);
        let Some((_, area, _)) = own else { return true };
        let places: Vec<(f64, f64)> = area
            .0
            .iter()
            .map(|point| self.mapping.place(*point))
            .collect();
        let extent = |values: Vec<f64>| {
            values
                .into_iter()
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
                    (low.min(value), high.max(value))
                })
        };
        let (left, right) = extent(places.iter().map(|place| place.0).collect());
        let (_, bottom) = extent(places.iter().map(|place| place.1).collect());
        text.width <= (right - left) * OVERHANG && text.y <= bottom
    }
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

fn write_area(
    area: &Polygon,
    role: Role,
    look: &Ink,
    paper: &str,
    mapping: &Mapping,
    out: &mut Writer,
) {
    let data = chain(
        area.0.iter().map(|point| mapping.place(*point)),
        Ends::Closed,
    );
    let fill = look.fill.map(super::theme::Colour::hex);
    // The ground is the sheet itself.
    let fill = if role == Role::Ground {
        Some(paper.to_owned())
    } else {
        fill
    };
    if let (Some(hatch), Some(pen)) = (look.hatch, look.pen) {
        out.path(&data, fill.as_deref(), None);
        write_hatch(area, hatch, &pen, mapping, out);
        out.path(&data, None, Some(&pen));
    } else {
        out.path(&data, fill.as_deref(), look.pen.as_ref());
    }
}

/// Leaves out dots that would stand closer than print can tell apart from the last one kept.
fn thinned(places: impl Iterator<Item = (f64, f64)>) -> Vec<(f64, f64)> {
    let mut kept: Vec<(f64, f64)> = Vec::new();
    for place in places {
        let is_far = kept
            .last()
            .is_none_or(|last| (last.0 - place.0).hypot(last.1 - place.1) >= DOTS_APART_PT);
        if is_far {
            kept.push(place);
        }
    }
    kept
}
