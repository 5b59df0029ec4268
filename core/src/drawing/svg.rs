//! Drawing marks as SVG text. Positions are exact in points (1 pt = 1/72 in); widths, dashes, hatches, symbols and letters
//! have printed sizes. Plain shapes only, no style sheets, so that every reader of SVG shows the same.

use std::fmt::Write as _;

use super::font::{self, Face};
use super::symbols::{CELL, STROKE, Stroke};
use super::theme::{Hatch, Ink, Pen, Theme, ink};
use super::{Drawing, LayerKind, Role, Shape, Symbol, labels};
use crate::geometry::{PlanPoint, PlanVector, Polygon};

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
const HALO_PT: f64 = 0.6 * MM;
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

/// Text of an SVG body in the making.
#[derive(Debug, Default)]
pub struct Writer {
    out: String,
}

/// How letters stand at their place.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum Align {
    /// The text begins there.
    #[default]
    Start,
    /// Its middle is there.
    Middle,
    /// It ends there.
    End,
}

/// Letters: size, face, colour, and the colour of the knock-out that keeps lines off them.
#[derive(Clone, Debug, Default)]
pub struct Letters {
    /// Type size in points.
    pub size: f64,
    /// Face.
    pub face: Face,
    /// Colour, `#RRGGBB`.
    pub colour: String,
    /// Colour of the knock-out behind the letters.
    pub halo: Option<String>,
    /// Where the place lies in the text.
    pub align: Align,
}

impl Writer {
    /// What was written.
    #[must_use]
    pub fn finish(self) -> String {
        self.out
    }

    /// Raw markup.
    pub fn raw(&mut self, markup: &str) {
        self.out.push_str(markup);
        self.out.push('\n');
    }

    /// Opens a group with a name for other programs.
    pub fn open(&mut self, class: &str) {
        let _ = writeln!(self.out, "<g class=\"{class}\">");
    }

    /// Closes a group.
    pub fn close(&mut self) {
        self.out.push_str("</g>\n");
    }

    /// A path with fill and pen.
    pub fn path(&mut self, data: &str, fill: Option<&str>, pen: Option<&Pen>) {
        self.path_with_dashes(data, fill, pen, 1.0);
    }

    /// The same, the dashes shortened, so that a short sample shows a long pattern.
    pub fn path_with_dashes(
        &mut self,
        data: &str,
        fill: Option<&str>,
        pen: Option<&Pen>,
        shortened: f64,
    ) {
        let fill = fill.unwrap_or("none");
        let _ = write!(self.out, "<path d=\"{data}\" fill=\"{fill}\"");
        if let Some(pen) = pen {
            let _ = write!(
                self.out,
                " stroke=\"{}\" stroke-width=\"{}\" stroke-linejoin=\"round\"",
                pen.colour.hex(),
                number(pen.width_mm * MM)
            );
            if !pen.dash_mm.is_empty() {
                let dashes: Vec<String> = pen
                    .dash_mm
                    .iter()
                    .map(|mm| number(mm * MM * shortened))
                    .collect();
                let _ = write!(self.out, " stroke-dasharray=\"{}\"", dashes.join(" "));
            }
        }
        self.out.push_str("/>\n");
    }

    /// A filled rectangle.
    pub fn rectangle(&mut self, (x, y): (f64, f64), (width, height): (f64, f64), fill: &str) {
        let _ = writeln!(
            self.out,
            "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" fill=\"{fill}\"/>",
            number(x),
            number(y),
            number(width),
            number(height)
        );
    }

    /// A line of letters on its base line.
    pub fn text(&mut self, (x, y): (f64, f64), text: &str, letters: &Letters) {
        if let Some(halo) = &letters.halo {
            // One piece behind the whole line: a ring around each letter would let lines through between words.
            let width = font::width(text, letters.face) * letters.size;
            let start = match letters.align {
                Align::Start => x,
                Align::Middle => x - width / 2.0,
                Align::End => x - width,
            };
            let rise = font::CAP_HEIGHT * letters.size + HALO_PT;
            let (left, top) = (start - HALO_PT, y - rise);
            let size = (width + 2.0 * HALO_PT, rise + HALO_PT * 1.4);
            self.rectangle((left, top), size, halo);
        }
        let _ = write!(
            self.out,
            "<text x=\"{}\" y=\"{}\" font-family=\"{}\" font-size=\"{}\"",
            number(x),
            number(y),
            font::FAMILY,
            number(letters.size)
        );
        if letters.face == Face::Bold {
            self.out.push_str(" font-weight=\"700\"");
        }
        match letters.align {
            Align::Start => {}
            Align::Middle => self.out.push_str(" text-anchor=\"middle\""),
            Align::End => self.out.push_str(" text-anchor=\"end\""),
        }
        let _ = write!(self.out, " fill=\"{}\"", letters.colour);
        let _ = writeln!(self.out, ">{}</text>", escaped(text));
    }

    /// A symbol of printed size `side`, its outlines backed by paper.
    pub fn symbol(
        &mut self,
        symbol: Symbol,
        (x, y): (f64, f64),
        side: f64,
        look: &Ink,
        paper: &str,
    ) {
        let unit = side / CELL;
        let colour = look.pen.map_or_else(
            || {
                look.fill
                    .map_or_else(String::new, super::theme::Colour::hex)
            },
            |pen| pen.colour.hex(),
        );
        let backing = match (look.pen, look.fill) {
            (Some(_), Some(fill)) => fill.hex(),
            _ => paper.to_owned(),
        };
        let line = format!(
            "stroke=\"{colour}\" stroke-width=\"{}\" stroke-linejoin=\"round\" stroke-linecap=\"round\"",
            number(STROKE * unit)
        );
        let place = |(px, py): (f64, f64)| (x + px * unit, y + py * unit);
        for stroke in symbol.strokes() {
            let markup = match stroke {
                Stroke::Line(points) => {
                    let data = chain(points.into_iter().map(place), Ends::Open);
                    format!("<path d=\"{data}\" fill=\"none\" {line}/>")
                }
                Stroke::Outline(points) => {
                    let data = chain(points.into_iter().map(place), Ends::Closed);
                    format!("<path d=\"{data}\" fill=\"{backing}\" {line}/>")
                }
                Stroke::Filled(points) => {
                    let data = chain(points.into_iter().map(place), Ends::Closed);
                    format!("<path d=\"{data}\" fill=\"{colour}\"/>")
                }
                Stroke::Circle { at, radius, filled } => {
                    let (cx, cy) = place(at);
                    let fill = if filled { &colour } else { &backing };
                    let pen = if filled { "" } else { line.as_str() };
                    format!(
                        "<circle cx=\"{}\" cy=\"{}\" r=\"{}\" fill=\"{fill}\" {pen}/>",
                        number(cx),
                        number(cy),
                        number(radius * unit)
                    )
                }
            };
            self.raw(&markup);
        }
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
    for text in placed.iter().filter(|text| grounds.is_wide_enough(text)) {
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

    /// A second line under the name of an area is left out where it would hang far over its sides: neighbours would read
    /// as one, and which of them lost its line would be chance.
    fn is_wide_enough(&self, text: &labels::PlacedText<'_>) -> bool {
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
        let across = area.0.iter().map(|point| point.x);
        let (low, high) = across.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), x| {
            (low.min(x), high.max(x))
        });
        text.width <= (high - low) * self.mapping.points_per_metre() * OVERHANG
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

/// Width of hatch lines in millimetres.
const HATCH_MM: f64 = 0.18;

/// A hatch as real lines and dots, cut at the outline by geometry; its grid is that of the plan, so that neighbouring areas
/// match.
fn write_hatch(area: &Polygon, hatch: Hatch, pen: &Pen, mapping: &Mapping, out: &mut Writer) {
    let line = Pen {
        colour: pen.colour,
        width_mm: HATCH_MM,
        dash_mm: &[],
    };
    let diagonals = |slope: f64, apart_mm: f64| hatch_lines(area, slope, apart_mm, mapping);
    let colour = pen.colour.hex();
    match hatch {
        Hatch::Diagonal(apart) => out.path(&diagonals(1.0, apart), None, Some(&line)),
        Hatch::Cross(apart) => {
            let both = diagonals(1.0, apart) + &diagonals(-1.0, apart);
            out.path(&both, None, Some(&line));
        }
        Hatch::Dots(apart) => {
            out.path(&hatch_dots(area, apart, mapping), Some(&colour), None);
        }
        Hatch::DotsAndDiagonal(apart) => {
            out.path(&diagonals(1.0, apart), None, Some(&line));
            out.path(&hatch_dots(area, apart / 2.0, mapping), Some(&colour), None);
        }
    }
}

/// Most lines or rows of dots in one hatch: a hatch finer than that is not seen anyway.
const MOST_HATCH_LINES: f64 = 2000.0;

fn hatch_lines(area: &Polygon, slope: f64, apart_mm: f64, mapping: &Mapping) -> String {
    let along = PlanVector::new(
        std::f64::consts::FRAC_1_SQRT_2,
        slope * std::f64::consts::FRAC_1_SQRT_2,
    );
    let across = PlanVector::new(-along.y, along.x);
    let step = apart_mm * MM / mapping.points_per_metre();
    let offsets = area
        .0
        .iter()
        .map(|point| point.x * across.x + point.y * across.y);
    let (low, high) = offsets.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), offset| {
        (low.min(offset), high.max(offset))
    });
    let mut data = String::new();
    if !(step > 0.0 && (high - low) / step < MOST_HATCH_LINES) {
        return data;
    }
    let mut index = (low / step).ceil();
    while index * step < high {
        let origin = PlanPoint::new(across.x * index * step, across.y * index * step);
        for (from, to) in area.chords(origin, along) {
            let at = |distance: f64| {
                PlanPoint::new(origin.x + along.x * distance, origin.y + along.y * distance)
            };
            let ends = [at(from.metres()), at(to.metres())].map(|point| mapping.place(point));
            data += &chain(ends.into_iter(), Ends::Open);
        }
        index += 1.0;
    }
    data
}

fn hatch_dots(area: &Polygon, apart_mm: f64, mapping: &Mapping) -> String {
    let step = apart_mm * MM / mapping.points_per_metre();
    let along = PlanVector::new(1.0, 0.0);
    let heights = area.0.iter().map(|point| point.y);
    let (low, high) = heights.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), y| {
        (low.min(y), high.max(y))
    });
    let mut places = Vec::new();
    if step > 0.0 && (high - low) / step < MOST_HATCH_LINES {
        let mut row = (low / step).ceil();
        while row * step < high {
            let shift = if row.rem_euclid(2.0) < 0.5 { 0.0 } else { 0.5 };
            for (from, to) in area.chords(PlanPoint::new(0.0, row * step), along) {
                let mut column = (from.metres() / step - shift).ceil() + shift;
                while column * step < to.metres() && places.len() < 100_000 {
                    places.push(mapping.place(PlanPoint::new(column * step, row * step)));
                    column += 1.0;
                }
            }
            row += 1.0;
        }
    }
    dots_path(places, 0.3 * MM)
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

/// Round dots as one path.
fn dots_path(places: Vec<(f64, f64)>, radius: f64) -> String {
    let mut data = String::new();
    for (x, y) in places {
        let _ = write!(
            data,
            "M{} {}a{r} {r} 0 1 0 {d} 0a{r} {r} 0 1 0 -{d} 0z",
            number(x - radius),
            number(y),
            r = number(radius),
            d = number(radius * 2.0)
        );
    }
    data
}

#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Ends {
    Open,
    Closed,
}

/// A chain of points as path data.
pub(super) fn chain(points: impl Iterator<Item = (f64, f64)>, ends: Ends) -> String {
    let mut data = String::new();
    for (index, (x, y)) in points.enumerate() {
        let letter = if index == 0 { 'M' } else { 'L' };
        let _ = write!(data, "{letter}{} {}", number(x), number(y));
    }
    if ends == Ends::Closed && !data.is_empty() {
        data.push('z');
    }
    data
}

/// A coordinate to 0.001 pt, without trailing zeros or a negative zero.
#[must_use]
pub fn number(value: f64) -> String {
    let text = format!("{value:.3}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" || text.is_empty() {
        "0".to_owned()
    } else {
        text.to_owned()
    }
}

/// Text for XML: markup escaped, characters that XML forbids left out.
#[must_use]
pub fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\t' | '\n' | '\r' => out.push(' '),
            letter if letter.is_control() || matches!(letter, '\u{FFFE}' | '\u{FFFF}') => {}
            letter => out.push(letter),
        }
    }
    out
}
