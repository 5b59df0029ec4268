//! Upright frames around shapes: what lies far apart is told apart before anything exact is worked out.

use super::PlanPoint;
use crate::units::Length;

/// The smallest upright rectangle around some points.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Frame {
    /// Lower left corner.
    pub low: PlanPoint,
    /// Upper right corner.
    pub high: PlanPoint,
}

impl Frame {
    /// Around points; `None` around nothing.
    #[must_use]
    pub fn around(points: &[PlanPoint]) -> Option<Self> {
        let (first, rest) = points.split_first()?;
        let start = Self {
            low: *first,
            high: *first,
        };
        Some(rest.iter().fold(start, |frame, point| Self {
            low: PlanPoint::new(frame.low.x.min(point.x), frame.low.y.min(point.y)),
            high: PlanPoint::new(frame.high.x.max(point.x), frame.high.y.max(point.y)),
        }))
    }

    /// How far two frames lie apart: never more than what lies in them does, and zero where they meet.
    #[must_use]
    pub fn gap(self, other: Self) -> Length {
        let between = |low: f64, high: f64, other_low: f64, other_high: f64| {
            (other_low - high).max(low - other_high).max(0.0)
        };
        let right = between(self.low.x, self.high.x, other.low.x, other.high.x);
        let up = between(self.low.y, self.high.y, other.low.y, other.high.y);
        Length::from_metres(right.hypot(up))
    }

    /// Whether two frames have a point in common.
    #[must_use]
    pub fn meets(self, other: Self) -> bool {
        self.low.x <= other.high.x
            && other.low.x <= self.high.x
            && self.low.y <= other.high.y
            && other.low.y <= self.high.y
    }
}

/// Whether the frames of two sets of points meet.
pub(super) fn meet(one: &[PlanPoint], other: &[PlanPoint]) -> bool {
    match (Frame::around(one), Frame::around(other)) {
        (Some(one), Some(other)) => one.meets(other),
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Polygon;

    #[test]
    fn a_gap_is_the_distance_of_the_rectangles() {
        let square = |x: f64, y: f64| {
            let side = Length::from_metres(2.0);
            let outline = Polygon::rectangle(PlanPoint::new(x, y), side, side);
            (Frame::around(&outline.0).unwrap(), outline)
        };
        let (own, outline) = square(0.0, 0.0);
        for (x, y) in [(5.0, 0.0), (-7.0, 1.0), (5.0, 6.0), (2.0, 2.0), (1.0, 1.0)] {
            let (other, other_outline) = square(x, y);
            assert_eq!(own.gap(other), outline.distance(&other_outline), "{x} {y}");
            assert_eq!(own.meets(other), own.gap(other) == Length::ZERO);
        }
        assert!(Frame::around(&[]).is_none());
    }
}
