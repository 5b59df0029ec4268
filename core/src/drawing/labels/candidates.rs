//! The places a text may take, with what each costs.

use super::crowd::Frame;
use super::{Anchor, CAP_HEIGHT, DESCENT};
use crate::geometry::{PlanPoint, Polygon};

/// One place for a text, or for the first word of it.
pub(super) struct Candidate<'t> {
    /// What is said there.
    pub text: &'t str,
    /// Left end of the base line.
    pub place: (f64, f64),
    /// Its width.
    pub width: f64,
    /// How much worse than the best place.
    pub rank: f64,
}

/// The area that a text belongs to, on the output.
#[derive(Clone, Copy)]
pub(super) struct Own<'a> {
    pub outline: &'a Polygon,
    pub frame: Frame,
}

impl Own<'_> {
    fn holds(&self, frame: &Frame) -> bool {
        let corners = [
            (frame.left, frame.top),
            (frame.right, frame.top),
            (frame.right, frame.bottom),
            (frame.left, frame.bottom),
        ];
        corners
            .into_iter()
            .all(|(x, y)| self.outline.contains(PlanPoint::new(x, y)))
    }
}

/// Space around letters, over the type size: a little more than their knock-out.
const SPACE: f64 = 0.18;
/// Distance of two lines of letters over the type size.
const LINE: f64 = 1.32;

/// The room of letters with the space around them.
pub(super) fn frame((x, y): (f64, f64), width: f64, letters: f64) -> Frame {
    Frame {
        left: x,
        top: y - CAP_HEIGHT * letters,
        right: x + width,
        // Half a descender: most letters have none.
        bottom: y + DESCENT * letters * 0.5,
    }
    .grown(SPACE * letters)
}

/// Beside, above and below a place with a symbol that reaches `half` from it.
pub(super) fn around_place<'t>(
    text: &'t str,
    (x, y): (f64, f64),
    anchor: Anchor,
    half: f64,
    letters: f64,
    width_of: impl Fn(&str) -> f64,
) -> Vec<Candidate<'t>> {
    let width = width_of(text);
    let cap = CAP_HEIGHT * letters;
    let gap = half + SPACE * 1.8 * letters;
    let (right, middle, left) = (x + gap, x - width / 2.0, x - gap - width);
    let (above, level, below) = (
        y - gap - DESCENT * letters * 0.3,
        y + cap / 2.0,
        y + gap + cap,
    );
    let line = LINE * letters;
    // Over or under a line that leaves sideways.
    let (raised, lowered) = (level - cap, level + cap);
    let beside = |rank: f64| {
        if anchor == Anchor::Above {
            rank + 0.7
        } else {
            rank
        }
    };
    let over = |rank: f64| {
        if anchor == Anchor::Above {
            rank - 0.6
        } else {
            rank
        }
    };
    [
        ((right, level), beside(0.0)),
        ((left, level), beside(0.3)),
        ((middle, above), over(0.6)),
        ((middle, below), over(0.7)),
        ((right, raised), 0.7),
        ((right, lowered), 0.8),
        ((left, raised), 0.8),
        ((left, lowered), 0.9),
        ((right - half, above), 0.9),
        ((left + half, above), 1.0),
        ((right - half, below), 1.0),
        ((left + half, below), 1.1),
        ((middle, above - line), 1.8),
        ((middle, below + line), 1.9),
        ((right, raised - line * 0.6), 1.9),
        ((right, lowered + line * 0.6), 2.0),
        ((left, raised - line * 0.6), 2.0),
        ((left, lowered + line * 0.6), 2.1),
    ]
    .into_iter()
    .map(|(place, rank)| Candidate {
        text,
        place,
        width,
        rank,
    })
    .collect()
}

/// The name of an area: in it if it fits; else close under or over it; else its first word alone.
pub(super) fn in_area<'t>(
    text: &'t str,
    (x, y): (f64, f64),
    own: Option<Own<'_>>,
    letters: f64,
    width_of: impl Fn(&str) -> f64,
) -> Vec<Candidate<'t>> {
    let cap = CAP_HEIGHT * letters;
    let mut found = Vec::new();
    let first = text.split_once(' ').map(|(first, _)| first);
    for (said, worse) in [(Some(text), 0.0), (first, 1.6)] {
        let Some(said) = said else { continue };
        let width = width_of(said);
        let mut add = |place: (f64, f64), rank: f64| {
            found.push(Candidate {
                text: said,
                place,
                width,
                rank: rank + worse,
            });
        };
        let middle = (x - width / 2.0, y + cap / 2.0);
        let Some(own) = own else {
            add(middle, 0.0);
            continue;
        };
        let shifts: [f64; 7] = [0.0, 1.0, -1.0, 2.0, -2.0, 3.0, -3.0];
        for (sideways, rank) in [(0.0, 0.0), (-0.25, 0.5), (0.25, 0.5)] {
            for shift in shifts {
                let reach = sideways * (own.frame.right - own.frame.left);
                let place = (middle.0 + reach, middle.1 + shift * LINE * letters);
                if own.holds(&frame(place, width, letters)) {
                    add(place, rank + shift.abs() * 0.1);
                }
            }
        }
        let centre = f64::midpoint(own.frame.left, own.frame.right) - width / 2.0;
        let gap = SPACE * 1.6 * letters;
        let (over, under) = (
            own.frame.top - gap - DESCENT * letters * 0.5,
            own.frame.bottom + gap + cap,
        );
        add((centre, over), 1.2);
        add((centre, under), 1.3);
        // A narrow area still carries its number across its sides.
        add(middle, if said.len() <= 4 { 0.6 } else { 2.6 });
    }
    found
}

/// A second line, under the name wherever that went; left out where it would hang over the sides of the area.
pub(super) fn under_name<'t>(
    text: &'t str,
    (middle, base): (f64, f64),
    own: Option<Own<'_>>,
    letters: f64,
    width_of: impl Fn(&str) -> f64,
) -> Vec<Candidate<'t>> {
    let width = width_of(text);
    let place = (middle - width / 2.0, base + LINE * letters);
    let fits = own.is_none_or(|own| own.holds(&frame(place, width, letters)));
    fits.then_some(Candidate {
        text,
        place,
        width,
        rank: 0.0,
    })
    .into_iter()
    .collect()
}
