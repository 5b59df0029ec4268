//! Discs and sectors of discs, measured exactly; as outlines they are polygons.

use super::{PlanPoint, PlanVector, Polygon, share_of_nearest};
use crate::units::{Angle, Length};

/// A disc, or a sector of one.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Sector {
    /// Its middle.
    pub centre: PlanPoint,
    /// Its radius.
    pub radius: Length,
    /// Where it starts, anticlockwise from the right.
    pub from: Angle,
    /// How far it sweeps; a whole turn is a disc.
    pub sweep: Angle,
}

impl Sector {
    /// As a polygon of the same area.
    #[must_use]
    pub fn outline(&self) -> Polygon {
        Polygon::sector(self.centre, self.radius, self.from, self.sweep)
    }

    /// Whether it is a whole disc.
    #[must_use]
    pub fn is_disc(&self) -> bool {
        self.sweep.degrees() >= 360.0
    }

    /// The distance to a point: zero inside.
    #[must_use]
    pub fn distance_to_point(&self, point: PlanPoint) -> Length {
        if self.looks_at(point) {
            return (self.centre.distance(point) - self.radius).max(Length::ZERO);
        }
        let [first, last] = self.edges();
        let to_edge = |(a, b): (PlanPoint, PlanPoint)| {
            a.lerp(b, share_of_nearest(a, b, point)).distance(point)
        };
        to_edge(first).min(to_edge(last))
    }

    /// The smallest distance to an outline: zero where they meet, infinite from nothing.
    #[must_use]
    pub fn distance(&self, outline: &Polygon) -> Length {
        if self.is_disc() {
            let from_centre = outline.distance_to_point(self.centre);
            return (from_centre - self.radius).max(Length::ZERO);
        }
        // The straight edges, and of the arc what faces the outline: the foot of the perpendicular on each side, and
        // the corners. Where a side leaves the view of the arc it crosses an edge's line, and the edge is as near.
        let straight = self
            .edges()
            .map(|(a, b)| Polygon(vec![a, b]).distance(outline));
        let feet = outline
            .sides()
            .map(|(a, b)| a.lerp(b, share_of_nearest(a, b, self.centre)));
        let faced = feet
            .chain(outline.0.iter().copied())
            .filter(|point| self.looks_at(*point));
        let from_arc = faced.map(|point| self.centre.distance(point) - self.radius);
        straight
            .into_iter()
            .chain(from_arc)
            .reduce(Length::min)
            .unwrap_or_else(|| Length::from_metres(f64::INFINITY))
            .max(Length::ZERO)
    }

    /// Whether a point lies in the direction of its arc.
    fn looks_at(&self, point: PlanPoint) -> bool {
        if self.is_disc() {
            return true;
        }
        let to = point - self.centre;
        let turn = to.y.atan2(to.x).to_degrees() - self.from.degrees();
        turn.rem_euclid(360.0) <= self.sweep.degrees()
    }

    fn edges(&self) -> [(PlanPoint, PlanPoint); 2] {
        [
            self.from.degrees(),
            self.from.degrees() + self.sweep.degrees(),
        ]
        .map(|degrees| {
            let (sine, cosine) = degrees.to_radians().sin_cos();
            let along = PlanVector::new(cosine, sine) * self.radius.metres();
            (self.centre, self.centre + along)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const MILLIMETRE: f64 = 1e-3;

    fn sector(radius: f64, from: f64, sweep: f64) -> Sector {
        Sector {
            centre: PlanPoint::new(1.0, 2.0),
            radius: Length::from_metres(radius),
            from: Angle::from_degrees(from),
            sweep: Angle::from_degrees(sweep),
        }
    }

    #[test]
    fn distances_of_a_disc_are_those_of_its_radius() {
        let disc = sector(15.0, 0.0, 360.0);
        for turn in [0.0_f64, 0.7, 1.9, 4.0] {
            let away = PlanVector::new(turn.cos(), turn.sin()) * 20.0;
            let far = disc.centre + away;
            assert!((disc.distance_to_point(far).metres() - 5.0).abs() < 1e-9);
        }
        let side = Length::from_metres(4.0);
        let beside = Polygon::rectangle(PlanPoint::new(20.0, 0.0), side, side);
        assert!((disc.distance(&beside).metres() - 4.0).abs() < 1e-9);
        assert_eq!(
            disc.distance(&beside.moved(PlanVector::new(-4.1, 0.0))),
            Length::ZERO
        );
    }

    #[test]
    fn a_quarter_is_measured_from_its_arc_where_it_faces_and_from_its_edges_elsewhere() {
        let quarter = sector(3.0, 0.0, 90.0);
        let at = |x: f64, y: f64| quarter.distance_to_point(PlanPoint::new(1.0 + x, 2.0 + y));
        assert!((at(4.0, 4.0).metres() - (32.0_f64.sqrt() - 3.0)).abs() < 1e-9);
        assert!((at(2.0, -1.5).metres() - 1.5).abs() < 1e-9);
        assert!((at(-3.0, -4.0).metres() - 5.0).abs() < 1e-9);
        assert_eq!(at(1.0, 1.0), Length::ZERO);
    }

    /// Against many points of both shapes: never more than the least of them, and within their spacing of it.
    #[test]
    fn distances_to_outlines_are_those_of_the_nearest_of_many_points() {
        let side = Length::from_metres(1.7);
        for sweep in [40.0, 90.0, 200.0, 300.0, 360.0] {
            let own = sector(2.5, 25.0, sweep);
            for step in 0..24 {
                let turn = f64::from(step) * 15.0_f64.to_radians();
                let corner = own.centre + PlanVector::new(turn.cos(), turn.sin()) * 4.3;
                let outline = Polygon::rectangle(corner, side, side);
                let boundary = outline.boundary();
                let mut nearest = f64::INFINITY;
                for place in 0..7000 {
                    let station = Length::from_metres(f64::from(place) * MILLIMETRE);
                    let Some(point) = boundary.point_at(station) else {
                        continue;
                    };
                    nearest = nearest.min(own.distance_to_point(point).metres());
                }
                let found = own.distance(&outline).metres();
                assert!(found <= nearest + 1e-9, "{sweep} {step}: {found} {nearest}");
                assert!(
                    found >= nearest - MILLIMETRE,
                    "{sweep} {step}: {found} {nearest}"
                );
            }
        }
    }
}
