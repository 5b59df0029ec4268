//! Which letters stand where at a scale: measured with the widths of the type family, so that no two cover each other.

use super::font::{self, ASCENT, DESCENT, Face};
use super::{Anchor, Drawing, Mark, Role, Shape, Symbol};
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

/// A text that asks for a place: weight, mark, words, anchor, place in the output.
type Wanted<'a> = (u8, &'a Mark, &'a str, Anchor, (f64, f64));

/// Places the texts of a drawing: `to_output` gives the place of a plan point in the output, `size` the type size there.
/// Names weigh more than numbers, numbers more than codes. A text that would cover one of greater weight moves to another
/// side of its place, then shrinks to its first word if it is the name of a planted area, and is left out when that does
/// not help; first it tries to keep off symbols too.
pub fn place(
    drawing: &Drawing,
    to_output: impl Fn(PlanPoint) -> (f64, f64),
    size: f64,
) -> Vec<PlacedText<'_>> {
    let mut texts: Vec<Wanted<'_>> = drawing
        .marks()
        .filter_map(|mark| {
            let Shape::Text { at, text, anchor } = &mark.shape else {
                return None;
            };
            Some((
                weight(mark.role),
                mark,
                text.as_str(),
                *anchor,
                to_output(*at),
            ))
        })
        .collect();
    // Stable: texts of one weight keep the order of the drawing.
    texts.sort_by_key(|(weight, ..)| *weight);
    let symbols: Vec<(bool, (f64, f64))> = drawing
        .marks()
        .filter_map(|mark| match &mark.shape {
            Shape::Symbol { at, symbol, .. } => {
                Some((matches!(symbol, Symbol::Verdict(_)), to_output(*at)))
            }
            _ => None,
        })
        .collect();
    let mut kept: Vec<PlacedText<'_>> = Vec::new();
    for (_, mark, text, anchor, at) in texts {
        let candidates = candidates(mark, text, anchor, at, size);
        let is_free = |text: &PlacedText<'_>| !kept.iter().any(|known| overlap(known, text, size));
        let keeps_off = |text: &PlacedText<'_>, verdicts_only: bool| {
            let mut known = symbols
                .iter()
                .filter(|(verdict, _)| *verdict || !verdicts_only);
            !known.any(|(_, at)| covers(text, *at, size))
        };
        // Rather over a device than over a verdict; only the name of the judged place itself may come that near.
        let best = candidates
            .iter()
            .find(|text| is_free(text) && keeps_off(text, false))
            .or_else(|| {
                candidates
                    .iter()
                    .find(|text| is_free(text) && keeps_off(text, true))
            })
            .or_else(|| {
                candidates
                    .iter()
                    .find(|text| is_free(text) && anchor == Anchor::Middle && weight(mark.role) < 3)
            });
        kept.extend(best.cloned());
    }
    kept
}

/// The places a text may take, best first.
fn candidates<'a>(
    mark: &'a Mark,
    text: &'a str,
    anchor: Anchor,
    at: (f64, f64),
    size: f64,
) -> Vec<PlacedText<'a>> {
    let mut found = vec![placed(mark, text, anchor, at, size)];
    match anchor {
        Anchor::Right => {
            let right = &found[0];
            let mut left = right.clone();
            left.x = at.0 - size * GAP - right.width;
            let above = placed(mark, text, Anchor::Above, at, size);
            let mut below = above.clone();
            below.y = at.1 + size * (GAP + ASCENT - DESCENT);
            found.extend([left, above, below]);
        }
        Anchor::Middle if mark.role == Role::Name => {
            if let Some((first, _)) = text.split_once(' ') {
                found.push(placed(mark, first, anchor, at, size));
                let right = placed(mark, first, Anchor::Right, at, size);
                let mut left = right.clone();
                left.x = at.0 - size * GAP - right.width;
                found.extend([left, right]);
            }
        }
        Anchor::Middle | Anchor::Below | Anchor::Above => {}
    }
    found
}

/// Whether a text lies over a symbol, which is about as high as a line of letters with its space.
fn covers(text: &PlacedText<'_>, (x, y): (f64, f64), size: f64) -> bool {
    let half = size * 0.7;
    let is_beside = x + half <= text.x || text.x + text.width <= x - half;
    let is_apart =
        y + half <= text.y - ASCENT * size * 0.8 || text.y + DESCENT * size * 0.5 <= y - half;
    !(is_beside || is_apart)
}

/// Space between a place and a text beside it, over the type size.
const GAP: f64 = 0.9;

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
    let gap = size * GAP;
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
    let space = size * 0.3;
    let apart_x = a.x + a.width + space <= b.x || b.x + b.width + space <= a.x;
    let apart_y = (a.y - b.y).abs() >= (ASCENT + DESCENT) * size * 0.9;
    !(apart_x || apart_y)
}
