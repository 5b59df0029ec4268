//! The level of the ground: one plane through the spot heights.
//!
//! No spot height: flat at zero. One or two: flat at their mean. Three or more: the plane of least squares, which goes
//! through the points exactly when they lie in a plane.

use crate::geometry::PlanPoint;
use crate::model::Objects;
use crate::units::Length;

/// A plane over the site.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct Ground {
    origin: PlanPoint,
    level_m: f64,
    slope_x: f64,
    slope_y: f64,
}

impl Ground {
    /// The ground of a plan.
    #[must_use]
    pub fn of(objects: &Objects) -> Self {
        let points: Vec<(PlanPoint, f64)> = objects
            .heights
            .values()
            .map(|height| (height.at, height.level.metres()))
            .collect();
        if points.is_empty() {
            return Self::default();
        }
        #[expect(clippy::cast_precision_loss, reason = "a count of spot heights")]
        let count = points.len() as f64;
        let mean = |of: fn(&(PlanPoint, f64)) -> f64| points.iter().map(of).sum::<f64>() / count;
        let origin = PlanPoint::new(mean(|(at, _)| at.x), mean(|(at, _)| at.y));
        let level_m = mean(|(_, level)| *level);
        let (mut xx, mut xy, mut yy, mut xz, mut yz) = (0.0, 0.0, 0.0, 0.0, 0.0);
        for (at, level) in &points {
            let (x, y, z) = (at.x - origin.x, at.y - origin.y, level - level_m);
            xx += x * x;
            xy += x * y;
            yy += y * y;
            xz += x * z;
            yz += y * z;
        }
        let determinant = xx * yy - xy * xy;
        // Points on one line carry a slope along it only; the least-squares plane is then undefined, and flat is honest.
        const FLATTEST: f64 = 1e-9;
        if points.len() < 3 || determinant <= FLATTEST * (xx + yy).powi(2) {
            return Self {
                origin,
                level_m,
                slope_x: 0.0,
                slope_y: 0.0,
            };
        }
        let slope_x = (xz * yy - yz * xy) / determinant;
        let slope_y = (yz * xx - xz * xy) / determinant;
        Self {
            origin,
            level_m,
            slope_x,
            slope_y,
        }
    }

    /// The level at a place.
    #[must_use]
    pub fn level(&self, at: PlanPoint) -> Length {
        let from_origin = at - self.origin;
        Length::from_metres(
            self.level_m + self.slope_x * from_origin.x + self.slope_y * from_origin.y,
        )
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::ids::{Id, Kind};
    use crate::model::SpotHeight;

    fn ground(points: &[(f64, f64, f64)]) -> Ground {
        let mut objects = Objects::default();
        for (number, (x, y, level)) in (1..).zip(points) {
            let height = SpotHeight {
                at: PlanPoint::new(*x, *y),
                level: Length::from_metres(*level),
                meta: Default::default(),
            };
            objects
                .heights
                .insert(Id::new(Kind::Height, number), Arc::new(height));
        }
        Ground::of(&objects)
    }

    #[test]
    fn a_plane_is_met_exactly() {
        let plane = |x: f64, y: f64| 3.0 - 0.05 * x + 0.02 * y;
        let corners =
            [(0.0, 0.0), (20.0, 0.0), (20.0, 30.0), (0.0, 30.0)].map(|(x, y)| (x, y, plane(x, y)));
        let ground = ground(&corners);
        assert!(
            (ground.level(PlanPoint::new(7.0, 11.0)).metres() - plane(7.0, 11.0)).abs() < 1e-12
        );
    }

    #[test]
    fn too_few_heights_are_flat() {
        assert_eq!(ground(&[]).level(PlanPoint::new(1.0, 1.0)), Length::ZERO);
        let two = ground(&[(0.0, 0.0, 1.0), (1.0, 0.0, 3.0)]);
        assert_eq!(
            two.level(PlanPoint::new(9.0, 9.0)),
            Length::from_metres(2.0)
        );
        let in_line = ground(&[(0.0, 0.0, 1.0), (1.0, 0.0, 2.0), (2.0, 0.0, 3.0)]);
        assert_eq!(
            in_line.level(PlanPoint::new(9.0, 9.0)),
            Length::from_metres(2.0)
        );
    }
}
