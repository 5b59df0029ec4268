//! Patterns inside areas as strokes of the plan: the same for every sink, cut at the outline by geometry, bounded in number.
//!
//! Verdicts are ruled across the whole outline on a grid of the plan, so that neighbours match. What grows or lies on an
//! area is told by small marks of its own, spread evenly over it, so that even a narrow bed has one.

use super::theme::Hatch;
use crate::coverage::SpotKind;
use crate::geometry::{PlanPoint, PlanVector, Polygon, share_of_nearest};
use crate::units::Angle;

/// Width of hatch lines in millimetres of the output.
pub const HATCH_MM: f64 = 0.18;
/// Radius of a dot in millimetres of the output.
pub const DOT_MM: f64 = 0.3;
/// Radius of a ring in millimetres of the output.
pub const RING_MM: f64 = 0.65;
/// Least distance of a small mark from the outline, in millimetres of the output.
const AIR_MM: f64 = 0.4;
/// Most lines, or rows of dots, of one ruled hatch: a finer one is not seen anyway.
const MOST_LINES: f64 = 2000.0;
/// Most dots of one hatch.
const MOST_DOTS: usize = 20_000;
/// Most marks of one area: closer up they stand further apart.
const MOST_MARKS: f64 = 900.0;

impl Hatch {
    /// What lies over a spot that gets far too little or too much water.
    pub(super) const fn of(spot: SpotKind) -> Self {
        match spot {
            SpotKind::Dry => Self::Diagonal(2.0),
            SpotKind::Flooded => Self::Waves,
        }
    }
}

/// One stroke of a pattern, in the plan.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum HatchStroke {
    /// A straight line.
    Line(PlanPoint, PlanPoint),
    /// A dot of [`DOT_MM`].
    Dot(PlanPoint),
    /// An open ring of [`RING_MM`].
    Ring(PlanPoint),
}

/// The strokes of a pattern in an outline. `rows` is the way its rows run; `metres_per_mm` is how many metres of the plan
/// one millimetre of the output shows.
#[must_use]
pub fn strokes(area: &Polygon, hatch: Hatch, rows: Angle, metres_per_mm: f64) -> Vec<HatchStroke> {
    if !(metres_per_mm.is_finite() && metres_per_mm > 0.0) || area.0.len() < 3 {
        return Vec::new();
    }
    let upright = Angle::ZERO;
    match hatch {
        Hatch::Diagonal(apart) => ruled(area, 1.0, apart * metres_per_mm),
        Hatch::Cross(apart) => {
            let mut both = ruled(area, 1.0, apart * metres_per_mm);
            both.extend(ruled(area, -1.0, apart * metres_per_mm));
            both
        }
        Hatch::Dots(apart) => dotted(area, apart * metres_per_mm),
        Hatch::DotsAndDiagonal(apart) => {
            let mut both = ruled(area, 1.0, apart * metres_per_mm);
            both.extend(dotted(area, apart / 2.0 * metres_per_mm));
            both
        }
        Hatch::Tufts => spread(area, &TUFT, upright, metres_per_mm),
        Hatch::Furrows => spread(area, &FURROW, rows, metres_per_mm),
        Hatch::Rings => spread(area, &RING, upright, metres_per_mm),
        Hatch::Waves => spread(area, &WAVE, upright, metres_per_mm),
        Hatch::Fringe => fringe(area, &SLANTING, metres_per_mm),
        Hatch::Steps => fringe(area, &STEPPING, metres_per_mm),
    }
}

/// A small mark that is repeated over an area; millimetres of the output, y up.
struct Motif {
    /// Straight lines from its middle.
    lines: &'static [[(f64, f64); 2]],
    /// Whether it is an open ring.
    is_ring: bool,
    /// Distance of two along the rows and across them.
    apart: (f64, f64),
}

/// Two blades from one foot.
const TUFT: Motif = Motif {
    lines: &[[(0.0, -0.6), (-0.5, 0.6)], [(0.0, -0.6), (0.45, 0.35)]],
    is_ring: false,
    apart: (6.5, 4.5),
};
/// A short piece of two furrows.
const FURROW: Motif = Motif {
    lines: &[[(-1.7, 0.4), (1.7, 0.4)], [(-1.2, -0.4), (2.2, -0.4)]],
    is_ring: false,
    apart: (8.0, 4.5),
};
/// An open ring.
const RING: Motif = Motif {
    lines: &[],
    is_ring: true,
    apart: (6.5, 5.0),
};
/// A ripple.
const WAVE: Motif = Motif {
    lines: &[
        [(-2.4, 0.0), (-1.2, 0.5)],
        [(-1.2, 0.5), (0.0, 0.0)],
        [(0.0, 0.0), (1.2, 0.5)],
        [(1.2, 0.5), (2.4, 0.0)],
    ],
    is_ring: false,
    apart: (9.0, 5.0),
};

/// A motif all over an area: whole cells, staggered, none where it would touch the outline.
fn spread(area: &Polygon, motif: &Motif, rows: Angle, metres_per_mm: f64) -> Vec<HatchStroke> {
    let (sin, cos) = rows.radians().sin_cos();
    let (along, across) = (PlanVector::new(cos, sin), PlanVector::new(-sin, cos));
    let origin = PlanPoint::new(0.0, 0.0);
    let (low, high) = (area.span(along), area.span(across));
    let (long, wide) = (low.1 - low.0, high.1 - high.0);
    let (mut step_along, mut step_across) =
        (motif.apart.0 * metres_per_mm, motif.apart.1 * metres_per_mm);
    let crowd = (long / step_along).max(1.0) * (wide / step_across).max(1.0) / MOST_MARKS;
    if crowd > 1.0 {
        step_along *= crowd.sqrt();
        step_across *= crowd.sqrt();
    }
    let (columns, lines) = (
        (long / step_along).round().clamp(1.0, MOST_MARKS),
        (wide / step_across).round().clamp(1.0, MOST_MARKS),
    );
    let (step_along, step_across) = (long / columns, wide / lines);
    let mut found = Vec::new();
    let mut line = 0.0;
    while line < lines {
        // Neighbouring lines are shifted against each other; a single one stands in the middle.
        let shift = if lines < 2.0 || columns < 2.0 {
            0.0
        } else if line.rem_euclid(2.0) < 0.5 {
            -0.25
        } else {
            0.25
        };
        let mut column = 0.0;
        while column < columns {
            let middle = origin
                + along * (low.0 + (column + 0.5 + shift) * step_along)
                + across * (high.0 + (line + 0.5) * step_across);
            column += 1.0;
            let lines = motif.lines.iter().map(|ends| {
                ends.map(|(x, y)| {
                    middle + along * (x * metres_per_mm) + across * (y * metres_per_mm)
                })
            });
            if motif.is_ring {
                if clearance(area, middle) > (RING_MM + AIR_MM) * metres_per_mm {
                    found.push(HatchStroke::Ring(middle));
                }
            } else if lines
                .clone()
                .all(|[from, to]| is_within(area, from, to, AIR_MM * metres_per_mm))
            {
                found.extend(lines.map(|[from, to]| HatchStroke::Line(from, to)));
            }
        }
        line += 1.0;
    }
    found
}

/// Distance of a point inside from the nearest edge, in metres; negative outside.
fn clearance(area: &Polygon, point: PlanPoint) -> f64 {
    if !area.contains(point) {
        return -1.0;
    }
    area.sides()
        .map(|(a, b)| (a.lerp(b, share_of_nearest(a, b, point)) - point).norm())
        .fold(f64::INFINITY, f64::min)
}

/// Whether a straight line lies inside, its ends some metres away from every edge.
fn is_within(area: &Polygon, from: PlanPoint, to: PlanPoint, air: f64) -> bool {
    let side = |a: PlanPoint, b: PlanPoint, point: PlanPoint| (b - a).cross(point - a) > 0.0;
    let crosses = |(a, b): (PlanPoint, PlanPoint)| {
        side(from, to, a) != side(from, to, b) && side(a, b, from) != side(a, b, to)
    };
    clearance(area, from) > air && clearance(area, to) > air && !area.sides().any(crosses)
}

/// Strokes inside an edge; millimetres of the output.
struct Edging {
    apart: f64,
    /// Lengths of the strokes, by turns.
    long: [f64; 2],
    /// How far the tip of a stroke of length 1 lies along the edge, and inwards from it.
    lean: (f64, f64),
}

const SLANTING: Edging = Edging {
    apart: 2.6,
    long: [1.9, 1.9],
    lean: (0.5, 0.866),
};
const STEPPING: Edging = Edging {
    apart: 1.5,
    long: [1.8, 0.8],
    lean: (0.0, 1.0),
};

/// Short strokes inside the edge, all along it.
fn fringe(area: &Polygon, edging: &Edging, metres_per_mm: f64) -> Vec<HatchStroke> {
    let round: f64 = area.sides().map(|(a, b)| (b - a).norm()).sum();
    let apart = (edging.apart * metres_per_mm).max(round / MOST_MARKS);
    let mut found = Vec::new();
    for (a, b) in area.sides() {
        let side = b - a;
        let length = side.norm();
        if length < apart {
            continue;
        }
        let along = side * (1.0 / length);
        let across = PlanVector::new(-along.y, along.x);
        let mut station = apart / 2.0;
        let mut lengths = edging.long.iter().cycle();
        while station < length {
            let long = lengths.next().copied().unwrap_or_default() * metres_per_mm;
            let foot = a + along * station;
            // Inside is left or right of the side, as the outline turns.
            let tips = [1.0, -1.0].map(|turn| {
                foot + (along * edging.lean.0 + across * (edging.lean.1 * turn)) * long
            });
            if let Some(tip) = tips.into_iter().find(|tip| area.contains(*tip)) {
                found.push(HatchStroke::Line(foot, tip));
            }
            station += apart;
        }
    }
    found
}

fn ruled(area: &Polygon, slope: f64, step: f64) -> Vec<HatchStroke> {
    let half = std::f64::consts::FRAC_1_SQRT_2;
    let along = PlanVector::new(half, slope * half);
    let across = PlanVector::new(-along.y, along.x);
    let (low, high) = area.span(across);
    let mut found = Vec::new();
    if (high - low) / step >= MOST_LINES {
        return found;
    }
    let mut index = (low / step).ceil();
    while index * step < high {
        let origin = PlanPoint::new(across.x * index * step, across.y * index * step);
        let chords = area.chords(origin, along).into_iter();
        found.extend(chords.map(|(from, to)| {
            HatchStroke::Line(origin + along * from.metres(), origin + along * to.metres())
        }));
        index += 1.0;
    }
    found
}

fn dotted(area: &Polygon, step: f64) -> Vec<HatchStroke> {
    let along = PlanVector::new(1.0, 0.0);
    let (low, high) = area.span(PlanVector::new(0.0, 1.0));
    let mut found = Vec::new();
    if (high - low) / step >= MOST_LINES {
        return found;
    }
    let mut row = (low / step).ceil();
    while row * step < high {
        let shift = if row.rem_euclid(2.0) < 0.5 { 0.0 } else { 0.5 };
        for (from, to) in area.chords(PlanPoint::new(0.0, row * step), along) {
            let mut column = (from.metres() / step - shift).ceil() + shift;
            while column * step < to.metres() && found.len() < MOST_DOTS {
                found.push(HatchStroke::Dot(PlanPoint::new(column * step, row * step)));
                column += 1.0;
            }
        }
        row += 1.0;
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Length;

    const ALL: [Hatch; 10] = [
        Hatch::Diagonal(8.0),
        Hatch::Cross(4.0),
        Hatch::Dots(3.0),
        Hatch::DotsAndDiagonal(6.0),
        Hatch::Tufts,
        Hatch::Furrows,
        Hatch::Rings,
        Hatch::Waves,
        Hatch::Fringe,
        Hatch::Steps,
    ];

    fn outlines() -> [Polygon; 3] {
        let angle = [
            (0.0, 0.0),
            (6.0, 0.0),
            (6.0, 1.5),
            (2.0, 1.5),
            (2.0, 5.0),
            (0.0, 5.0),
        ];
        [
            Polygon::rectangle(
                PlanPoint::new(-3.0, 2.0),
                Length::from_metres(1.2),
                Length::from_metres(3.0),
            ),
            Polygon(angle.map(|(x, y)| PlanPoint::new(x, y)).to_vec()),
            Polygon::sector(
                PlanPoint::new(40.0, -7.0),
                Length::from_metres(2.0),
                Angle::ZERO,
                Angle::from_degrees(360.0),
            ),
        ]
    }

    /// Outside by more than rounding.
    fn is_out(area: &Polygon, point: PlanPoint, reach: f64) -> bool {
        let on_edge = area.boundary().nearest(point).1.metres();
        if area.contains(point) {
            on_edge < reach
        } else {
            on_edge > 1e-6
        }
    }

    #[test]
    fn no_stroke_leaves_its_outline_at_any_scale_and_angle() {
        for area in outlines() {
            for hatch in ALL {
                for metres_per_mm in [0.001, 0.02, 0.12, 0.5] {
                    for rows in [0.0, 30.0, 90.0] {
                        let rows = Angle::from_degrees(rows);
                        for stroke in strokes(&area, hatch, rows, metres_per_mm) {
                            let is_out = match stroke {
                                HatchStroke::Line(from, to) => (0..=8).any(|part| {
                                    let at = from.lerp(to, f64::from(part) / 8.0);
                                    is_out(&area, at, 0.0)
                                }),
                                HatchStroke::Dot(at) => is_out(&area, at, 0.0),
                                HatchStroke::Ring(at) => is_out(&area, at, RING_MM * metres_per_mm),
                            };
                            assert!(!is_out, "{hatch:?} {metres_per_mm}: {stroke:?}");
                        }
                    }
                }
            }
        }
    }

    #[test]
    fn marks_are_few_from_afar_bounded_close_up_and_never_missing_on_a_bed() {
        let bed = &outlines()[0];
        for hatch in [Hatch::Tufts, Hatch::Furrows, Hatch::Rings] {
            let count =
                |metres_per_mm| strokes(bed, hatch, Angle::from_degrees(90.0), metres_per_mm).len();
            // One inch to ten feet, and the bed across the whole screen.
            assert!((1..40).contains(&count(0.12)), "{hatch:?} {}", count(0.12));
            assert!(count(0.0005) <= 2000, "{hatch:?} {}", count(0.0005));
            assert_eq!(count(0.0), 0);
        }
    }
}
