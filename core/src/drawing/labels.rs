//! Which letters stand where at a scale: measured with the widths of the type family, so that no two cover each other.

use super::font::{self, ASCENT, DESCENT, Face};
use super::{Anchor, Drawing, Mark, Role, Shape};
use crate::geometry::PlanPoint;

/// A text with its place in the output, y down.
#[derive(Clone, PartialEq, Debug)]
pub struct PlacedText<'a> {
    /// The mark.
    pub mark: &'a Mark,
    /// What it says.
    pub text: &'a str,
    /// Left end of its base line.
    pub x: f64,
    /// Base line.
    pub y: f64,
    /// Its width.
    pub width: f64,
    /// Face.
    pub face: Face,
}

/// Places the texts of a drawing: `to_output` gives the place of a plan point in the output, `size` the type size there.
/// A text that would cover one of greater weight is left out; names weigh more than numbers, numbers more than codes.
pub fn place(
    drawing: &Drawing,
    to_output: impl Fn(PlanPoint) -> (f64, f64),
    size: f64,
) -> Vec<PlacedText<'_>> {
    let mut texts: Vec<(u8, PlacedText<'_>)> = drawing
        .marks()
        .filter_map(|mark| {
            let Shape::Text { at, text, anchor } = &mark.shape else {
                return None;
            };
            let (x, y) = to_output(*at);
            Some((weight(mark.role), placed(mark, text, *anchor, (x, y), size)))
        })
        .collect();
    // Stable: texts of one weight keep the order of the drawing.
    texts.sort_by_key(|(weight, _)| *weight);
    let mut kept: Vec<PlacedText<'_>> = Vec::new();
    for (_, text) in texts {
        if !kept.iter().any(|known| overlap(known, &text, size)) {
            kept.push(text);
        }
    }
    kept
}

const fn weight(role: Role) -> u8 {
    match role {
        Role::NoteOpen | Role::NoteClosed => 0,
        Role::Name => 1,
        Role::Number => 2,
        _ => 3,
    }
}

fn placed<'a>(
    mark: &'a Mark,
    text: &'a str,
    anchor: Anchor,
    (x, y): (f64, f64),
    size: f64,
) -> PlacedText<'a> {
    let is_bold = matches!(mark.role, Role::Name | Role::WaterCode(_) | Role::NoteOpen);
    let face = if is_bold { Face::Bold } else { Face::Regular };
    let width = font::width(text, face) * size;
    // From the middle of a line to its base line.
    let drop = (ASCENT - DESCENT) / 2.0 * size;
    let gap = size * 0.9;
    let (x, y) = match anchor {
        Anchor::Middle => (x - width / 2.0, y + drop),
        Anchor::Below => (x - width / 2.0, y + drop + (ASCENT + DESCENT) * size),
        Anchor::Above => (x - width / 2.0, y - gap),
        Anchor::Right => (x + gap, y + drop),
    };
    PlacedText {
        mark,
        text,
        x,
        y,
        width,
        face,
    }
}

fn overlap(a: &PlacedText<'_>, b: &PlacedText<'_>, size: f64) -> bool {
    let apart_x = a.x + a.width <= b.x || b.x + b.width <= a.x;
    let apart_y = (a.y - b.y).abs() >= (ASCENT + DESCENT) * size * 0.9;
    !(apart_x || apart_y)
}
