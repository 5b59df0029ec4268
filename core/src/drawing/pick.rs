//! What lies under a point: all of it, nearest first, so that repeated clicks can go through.

use super::{Drawing, Shape};
use crate::geometry::PlanPoint;
use crate::ids::Id;
use crate::units::Length;

/// One object under a point.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Hit {
    /// The object.
    pub subject: Id,
    /// How far from the point: zero inside areas.
    pub distance: Length,
}

/// Every object within `slack` of a point: symbols first, then lines, then areas; in each the nearest, then the topmost.
#[must_use]
pub fn at(drawing: &Drawing, point: PlanPoint, slack: Length) -> Vec<Hit> {
    let mut found: Vec<(u8, usize, Hit)> = Vec::new();
    for (order, mark) in drawing.marks().enumerate() {
        let Some(subject) = mark.subject else {
            continue;
        };
        let (rank, distance) = match &mark.shape {
            Shape::Symbol { at, .. } => (0, at.distance(point)),
            Shape::Line(line) => (1, line.nearest(point).1),
            Shape::Dots(points) => {
                let far = Length::from_metres(f64::INFINITY);
                (
                    1,
                    points
                        .iter()
                        .map(|dot| dot.distance(point))
                        .fold(far, Length::min),
                )
            }
            Shape::Area(area) => (2, area.distance_to_point(point)),
            Shape::Text { .. } => continue,
        };
        // Symbols are as large as a finger, lines as their slack, areas end at their edge.
        let reach = match rank {
            0 => slack * 1.6,
            1 => slack,
            _ => Length::ZERO,
        };
        if distance <= reach {
            found.push((rank, order, Hit { subject, distance }));
        }
    }
    found.sort_by(|a, b| {
        a.0.cmp(&b.0)
            .then(a.2.distance.total_cmp(&b.2.distance))
            .then(b.1.cmp(&a.1))
    });
    let mut hits: Vec<Hit> = Vec::new();
    for (_, _, hit) in found {
        if !hits.iter().any(|known| known.subject == hit.subject) {
            hits.push(hit);
        }
    }
    hits
}
