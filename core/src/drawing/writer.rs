//! Plain SVG markup: paths, rectangles, letters and symbols of printed size, escaped text.

use std::fmt::Write as _;

use super::Symbol;
use super::font::{self, Face};
use super::svg::{HALO_PT, MM};
use super::symbols::{CELL, STROKE, Stroke};
use super::theme::{Ink, Pen};
use crate::units::Angle;

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
        middle: (f64, f64),
        side: f64,
        look: &Ink,
        paper: &str,
    ) {
        self.turned_symbol((symbol, Angle::ZERO), middle, side, look, paper);
    }

    /// The same, turned anticlockwise.
    pub fn turned_symbol(
        &mut self,
        (symbol, turn): (Symbol, Angle),
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
        for stroke in symbol.turned(turn) {
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

/// Round dots as one path.
pub(super) fn dots_path(places: Vec<(f64, f64)>, radius: f64) -> String {
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
