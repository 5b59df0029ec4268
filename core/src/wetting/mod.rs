//! Where the water of a spray lands: radius of throw at the solved pressure, the sector on the ground, the drift beyond it.
//!
//! Throw comes from the catalog as points over pressure and is never guessed outside them: the nearest point holds there,
//! and the result says so.

use std::sync::Arc;

use crate::catalog::EmissionPart;
use crate::geometry::{Frame, PlanPoint, PlanVector, Polygon, Sector};
use crate::model::Emission;
use crate::units::{Angle, Area, Length, Pressure, Velocity};

/// What one spray wets in one supply case.
#[derive(Clone, Debug)]
pub struct Wetted {
    /// Where the head stands.
    pub at: PlanPoint,
    /// Where its arc starts, and how far it sweeps.
    pub arc: (Angle, Angle),
    /// Radius of throw in still air.
    pub throw: Length,
    /// The pressure lay outside the catalog's points.
    pub clamped: bool,
    /// Drift allowance beyond the throw.
    pub drift: Length,
    /// Highest point of the spray; `None` if the catalog does not say.
    pub apex: Option<Length>,
    outlines: Arc<Outlines>,
}

/// What is wetted, as polygons: they follow from place, arc, throw and drift.
#[derive(Debug)]
struct Outlines {
    still: Polygon,
    drifted: Polygon,
    mist: Polygon,
}

impl PartialEq for Wetted {
    fn eq(&self, other: &Self) -> bool {
        let of = |it: &Self| (it.at, it.arc, it.throw, it.clamped, it.drift, it.apex);
        of(self) == of(other)
    }
}

impl Wetted {
    /// The wetted sector in still air.
    #[must_use]
    pub fn still(&self) -> &Polygon {
        &self.outlines.still
    }

    /// The sector with its drift allowance.
    #[must_use]
    pub fn drifted(&self) -> &Polygon {
        &self.outlines.drifted
    }

    /// The disc around the head that mists even behind a part circle.
    #[must_use]
    pub fn mist(&self) -> &Polygon {
        &self.outlines.mist
    }

    /// The area shared with an outline, drift and mist included.
    #[must_use]
    pub fn overlap(&self, outline: &Polygon) -> Area {
        if !self.may_reach(outline) {
            return Area::ZERO;
        }
        outline.overlap_of_all(self.areas())
    }

    /// Whether an outline lies near enough to be looked at: false only where no water can land.
    #[must_use]
    pub fn may_reach(&self, outline: &Polygon) -> bool {
        // The polygon of a sector reaches a hair beyond its radius, so that areas are true.
        const HAIR: f64 = 1.01;
        let head = Frame {
            low: self.at,
            high: self.at,
        };
        Frame::around(&outline.0)
            .is_some_and(|around| around.gap(head) <= (self.throw + self.drift) * HAIR)
    }

    /// The same, with the head somewhere else.
    #[must_use]
    pub fn moved(&self, by: PlanVector) -> Self {
        Self {
            at: self.at + by,
            outlines: Arc::new(Outlines {
                still: self.still().moved(by),
                drifted: self.drifted().moved(by),
                mist: self.mist().moved(by),
            }),
            ..*self
        }
    }

    /// Everything it wets: the sector with its drift, and the mist around the head where a full circle does not cover it.
    pub fn areas(&self) -> impl Iterator<Item = &Polygon> {
        let [sector, _] = self.sectors();
        let mist = (!sector.is_disc()).then(|| self.mist());
        std::iter::once(self.drifted()).chain(mist)
    }

    /// How far everything it wets stays from the edges of an outline, from inside or from outside; zero where it meets one.
    #[must_use]
    pub fn distance_to_edges(&self, outline: &Polygon) -> Length {
        let corners = outline.boundary();
        let edges = corners.0.windows(2).map(|ends| Polygon(ends.to_vec()));
        let farthest = Length::from_metres(f64::INFINITY);
        edges
            .map(|edge| self.distance(&edge))
            .fold(farthest, Length::min)
    }

    /// How far the still-air edge, and the edge with drift, reach beyond an outline that should hold them.
    #[must_use]
    pub fn beyond(&self, outline: &Polygon) -> (Length, Length) {
        let over = |wetted: &Polygon| {
            wetted
                .0
                .iter()
                .map(|point| outline.distance_to_point(*point))
                .fold(Length::ZERO, Length::max)
        };
        let drifted = over(self.drifted()).max(over(self.mist()));
        (over(self.still()), drifted)
    }

    /// The smallest distance from the wetted edge, drift included, to an outline; zero where they meet.
    #[must_use]
    pub fn distance(&self, outline: &Polygon) -> Length {
        let [sector, mist] = self.sectors();
        sector.distance(outline).min(mist.distance(outline))
    }

    /// The smallest distance from the wetted edge, drift included, to a point.
    #[must_use]
    pub fn distance_to_point(&self, point: PlanPoint) -> Length {
        let [sector, mist] = self.sectors();
        let from_sector = sector.distance_to_point(point);
        from_sector.min(mist.distance_to_point(point))
    }

    /// The sector with its drift, and the disc of mist around the head, which lies within a full one.
    fn sectors(&self) -> [Sector; 2] {
        let sector = |radius, (from, sweep)| Sector {
            centre: self.at,
            radius,
            from,
            sweep,
        };
        [
            sector(self.throw + self.drift, self.arc),
            sector(self.drift, FULL),
        ]
    }
}

/// A full circle: where it starts, and how far it sweeps.
const FULL: (Angle, Angle) = (Angle::ZERO, Angle::from_degrees(360.0));

/// Wind at which drift is judged when the plan does not say: 10 mph (our judgement).
pub const ASSUMED_WIND: Velocity = Velocity::from_metres_per_second(4.5);
/// Least drift allowance (our judgement).
const LEAST_DRIFT: Length = Length::from_metres(1.0);
/// Fall speed of a drop of 0.5 mm, from classic drop-fall measurements (from memory).
const FALL_OF_HALF_MILLIMETRE: Velocity = Velocity::from_metres_per_second(2.1);
/// Height from which drops are taken to fall when the catalog does not say.
const ASSUMED_APEX: Length = Length::from_metres(1.0);

/// How far fine drops drift beyond the throw: wind × height / fall speed of a 0.5 mm drop, and 1 m at least.
///
/// *Source*: own derivation; fall speed from memory.
#[must_use]
pub fn drift_allowance(wind: Velocity, apex: Option<Length>) -> Length {
    let height = apex.unwrap_or(ASSUMED_APEX);
    (height * (wind / FALL_OF_HALF_MILLIMETRE)).max(LEAST_DRIFT)
}

/// Radius of throw at a pressure, and whether the pressure lay outside the catalog's points. Zero without points.
#[must_use]
pub fn throw(part: &EmissionPart, pressure: Pressure) -> (Length, bool) {
    let points = &part.throw;
    let (Some(first), Some(last)) = (points.first(), points.last()) else {
        return (Length::ZERO, true);
    };
    if pressure < first.pressure {
        // Below the least pressure of the table the throw only shrinks: the table's end is the careful answer.
        return (first.radius, true);
    }
    if pressure > last.pressure {
        return (last.radius, true);
    }
    let radius = points
        .windows(2)
        .find(|pair| pressure <= pair[1].pressure)
        .map_or(last.radius, |pair| {
            let share = (pressure - pair[0].pressure) / (pair[1].pressure - pair[0].pressure);
            pair[0].radius + (pair[1].radius - pair[0].radius) * share
        });
    (radius, false)
}

/// What a head wets at a pressure under a wind; `None` for devices that do not spray.
#[must_use]
pub fn wetted(
    emission: &Emission,
    part: &EmissionPart,
    pressure: Pressure,
    wind: Velocity,
) -> Option<Wetted> {
    if !emission.kind.sprays() {
        return None;
    }
    let (catalog_throw, clamped) = throw(part, pressure);
    // A radius set on the head scales the curve: it holds at the rated pressure.
    let (rated, _) = throw(part, part.at);
    let throw = match emission.radius {
        Some(radius) if rated > Length::ZERO => catalog_throw * (radius / rated),
        Some(radius) => radius,
        None => catalog_throw,
    };
    let drift = drift_allowance(wind, part.apex);
    let sector =
        |radius| Polygon::sector(emission.at, radius, emission.arc_from, emission.arc_sweep);
    Some(Wetted {
        at: emission.at,
        arc: (emission.arc_from, emission.arc_sweep),
        throw,
        clamped,
        drift,
        apex: part.apex,
        outlines: Arc::new(Outlines {
            still: sector(throw),
            drifted: sector(throw + drift),
            mist: Polygon::sector(emission.at, drift, FULL.0, FULL.1),
        }),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalog::Catalog;
    use crate::ids::{Id, Kind};
    use crate::model::{EmissionKind, End, Meta};

    #[test]
    fn throw_is_read_between_the_points_and_clamped_outside() {
        let spray = Catalog::built_in().emission("spray-12").unwrap();
        let at = |psi: f64| throw(spray, Pressure::from_psi(psi));
        assert!((at(30.0).0.feet() - 12.0).abs() < 1e-3);
        assert!((at(35.0).0.feet() - 12.3).abs() < 1e-3);
        assert!(at(10.0).1 && (at(10.0).0.feet() - 9.5).abs() < 1e-3);
        assert!(at(80.0).1 && (at(80.0).0.feet() - 13.0).abs() < 1e-3);
    }

    #[test]
    fn drift_is_a_metre_in_calm_air_and_grows_with_wind_and_height() {
        let calm = drift_allowance(Velocity::ZERO, Some(Length::from_metres(2.0)));
        assert!((calm.metres() - 1.0).abs() < 1e-12);
        // The worked figure of the derivation: 1 m high, 4.5 m/s, 0.5 mm drops land 2.1 m away.
        let windy = drift_allowance(ASSUMED_WIND, Some(Length::from_metres(1.0)));
        assert!((windy.metres() - 2.143).abs() < 1e-3);
    }

    #[test]
    fn the_way_to_the_edges_is_what_the_corners_of_the_outline_say() {
        let spray = Catalog::built_in().emission("spray-12").unwrap();
        let yard = Polygon(
            [
                (0.0, 0.0),
                (20.0, 0.0),
                (20.0, 12.0),
                (9.0, 14.0),
                (0.0, 12.0),
            ]
            .map(|(x, y)| PlanPoint::new(x, y))
            .to_vec(),
        );
        for (x, y, from, sweep) in [
            (10.0, 6.0, 0.0, 360.0),
            (8.0, 7.0, 30.0, 90.0),
            (6.5, 6.0, 200.0, 180.0),
            (30.0, 6.0, 45.0, 270.0),
            (2.0, 6.0, 0.0, 360.0),
        ] {
            let head = Emission {
                kind: EmissionKind::Spray,
                part: "spray-12".to_owned(),
                water: Id::new(Kind::Water, 1),
                at: PlanPoint::new(x, y),
                inlet: End::Open,
                arc_from: Angle::from_degrees(from),
                arc_sweep: Angle::from_degrees(sweep),
                radius: None,
                low_trajectory: false,
                serves: Vec::new(),
                meta: Meta::default(),
            };
            let wetted = wetted(&head, spray, spray.at, Velocity::ZERO).unwrap();
            let edges = yard.boundary();
            let by_corners = wetted
                .areas()
                .flat_map(|area| &area.0)
                .map(|corner| edges.nearest(*corner).1)
                .fold(Length::from_metres(f64::INFINITY), Length::min);
            let exact = wetted.distance_to_edges(&yard);
            let (still, drifted) = wetted.beyond(&yard);
            if still > Length::ZERO || drifted > Length::ZERO {
                // What reaches over an edge meets it, unless it lies beyond as a whole.
                assert!(exact == Length::ZERO || !yard.contains(head.at), "{x} {y}");
            } else {
                let gap = (exact - by_corners).metres().abs();
                assert!(gap < 0.02, "{x} {y}: {exact:?} {by_corners:?}");
            }
        }
    }
}
