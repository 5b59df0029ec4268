//! The level of the ground: spot heights joined to triangles, and terraces.
//!
//! A terrace whose level is told is flat at that level, its edge included; the ground steps there. Where terraces overlap,
//! that of the higher number counts. Everywhere else spot heights decide, those on terraces among them.
//!
//! Inside the surveyed area the level is that of the triangle a place lies in (Delaunay, so that triangles are as compact as
//! the survey allows). Outside it is that of the nearest surveyed place: the ground is taken as level there, which is an
//! assumption and is told as one. Without a spot height everything is at zero.

use std::collections::BTreeMap;

use spade::handles::{FaceHandle, InnerTag};
use spade::{DelaunayTriangulation, HasPosition, Point2, PositionInTriangulation, Triangulation};

use crate::geometry::{PlanPoint, Polygon};
use crate::model::{FeatureKind, Objects};
use crate::units::{Angle, Length};

/// How far outside the outermost triangle a place still counts as surveyed: the drawing's resolution.
const RESOLUTION_M: f64 = 1e-4;

/// A spot height.
#[derive(Clone, Copy, Debug)]
struct Spot {
    at: Point2<f64>,
    level_m: f64,
}

impl HasPosition for Spot {
    type Scalar = f64;

    fn position(&self) -> Point2<f64> {
        self.at
    }
}

/// The surface over the site.
#[derive(Clone, Debug, Default)]
pub struct Ground {
    triangles: DelaunayTriangulation<Spot>,
    /// Outlines and levels, the topmost last.
    terraces: Vec<(Polygon, Length)>,
}

/// The slope of one triangle.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Slope {
    /// The corners of the triangle.
    pub corners: [PlanPoint; 3],
    /// Its middle.
    pub at: PlanPoint,
    /// Rise over run towards the right.
    pub to_right: f64,
    /// Rise over run upwards on the drawing.
    pub upwards: f64,
}

impl Slope {
    /// The steepest rise over run.
    #[must_use]
    pub fn grade(&self) -> f64 {
        self.to_right.hypot(self.upwards)
    }

    /// The way water runs off, anticlockwise from the right.
    #[must_use]
    pub fn downhill(&self) -> Angle {
        Angle::from_radians((-self.upwards).atan2(-self.to_right))
    }
}

impl Ground {
    /// The ground of a plan. Heights at one place count with their mean; heights that are no numbers are left out.
    #[must_use]
    pub fn of(objects: &Objects) -> Self {
        let mut places: BTreeMap<[u64; 2], (Point2<f64>, f64, f64)> = BTreeMap::new();
        for height in objects.heights.values() {
            let (x, y, level) = (height.at.x, height.at.y, height.level.metres());
            if !(x.is_finite() && y.is_finite() && level.is_finite()) {
                continue;
            }
            // Adding zero makes one number of the two zeros.
            let key = [(x + 0.0).to_bits(), (y + 0.0).to_bits()];
            let place = places.entry(key).or_insert((Point2::new(x, y), 0.0, 0.0));
            place.1 += level;
            place.2 += 1.0;
        }
        let mut triangles = DelaunayTriangulation::new();
        for (at, sum, count) in places.into_values() {
            let level_m = sum / count;
            // What the library cannot hold (places beyond any yard) is left out rather than guessed.
            let _ = triangles.insert(Spot { at, level_m });
        }
        let terraces = objects
            .features
            .values()
            .filter(|feature| feature.kind == FeatureKind::Terrace)
            .filter_map(|feature| Some((feature.outline.clone(), feature.level?)))
            .collect();
        Self {
            triangles,
            terraces,
        }
    }

    /// The level of the terrace that a place lies on.
    fn terrace(&self, at: PlanPoint) -> Option<Length> {
        let is_on = |outline: &Polygon| outline.distance_to_point(at).metres() <= RESOLUTION_M;
        let mut from_top = self.terraces.iter().rev();
        from_top
            .find(|(outline, _)| is_on(outline))
            .map(|(_, level)| *level)
    }

    /// The level at a place.
    #[must_use]
    pub fn level(&self, at: PlanPoint) -> Length {
        if let Some(level) = self.terrace(at) {
            return level;
        }
        let point = Point2::new(at.x, at.y);
        let inside = match self.located(point) {
            PositionInTriangulation::OnFace(face) => {
                Some(in_triangle(self.triangles.face(face), point))
            }
            PositionInTriangulation::OnVertex(vertex) => {
                Some(self.triangles.vertex(vertex).data().level_m)
            }
            PositionInTriangulation::OnEdge(edge) => {
                let [from, to] = self.triangles.directed_edge(edge).vertices();
                Some(on_edge(*from.data(), *to.data(), point).0)
            }
            PositionInTriangulation::OutsideOfConvexHull(_)
            | PositionInTriangulation::NoTriangulation => None,
        };
        Length::from_metres(inside.unwrap_or_else(|| self.nearest(point).0))
    }

    /// Whether a place lies within the spot heights or on a terrace of known level; elsewhere the level is assumed.
    #[must_use]
    pub fn is_surveyed(&self, at: PlanPoint) -> bool {
        if self.terrace(at).is_some() {
            return true;
        }
        let point = Point2::new(at.x, at.y);
        match self.located(point) {
            PositionInTriangulation::OutsideOfConvexHull(_)
            | PositionInTriangulation::NoTriangulation => self.nearest(point).1 <= RESOLUTION_M,
            _ => true,
        }
    }

    /// The slope of each triangle, in an order that depends on the heights only.
    #[must_use]
    pub fn slopes(&self) -> Vec<Slope> {
        let mut slopes: Vec<Slope> = self
            .triangles
            .inner_faces()
            .map(|face| {
                let middle = face.center();
                let (to_right, upwards) = gradient(face);
                Slope {
                    corners: face
                        .vertices()
                        .map(|spot| PlanPoint::new(spot.position().x, spot.position().y)),
                    at: PlanPoint::new(middle.x, middle.y),
                    to_right,
                    upwards,
                }
            })
            .collect();
        slopes.sort_by(|a, b| a.at.x.total_cmp(&b.at.x).then(a.at.y.total_cmp(&b.at.y)));
        slopes
    }

    /// The edge of the surveyed area, anticlockwise; empty for fewer than three spot heights that are not in line.
    #[must_use]
    pub fn surveyed_area(&self) -> Polygon {
        if self.triangles.num_inner_faces() == 0 {
            return Polygon(Vec::new());
        }
        let corners = self.triangles.convex_hull().map(|edge| {
            let at = edge.from().position();
            PlanPoint::new(at.x, at.y)
        });
        let mut corners: Vec<PlanPoint> = corners.collect();
        // One beginning whatever the library's: the corner furthest to the left, the lowest of those.
        let first = (0..corners.len()).min_by(|a, b| {
            let (a, b) = (corners[*a], corners[*b]);
            a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y))
        });
        corners.rotate_left(first.unwrap_or_default());
        Polygon(corners)
    }

    fn located(&self, point: Point2<f64>) -> PositionInTriangulation {
        if point.x.is_finite() && point.y.is_finite() {
            self.triangles.locate(point)
        } else {
            PositionInTriangulation::NoTriangulation
        }
    }

    /// The level at the nearest surveyed place, and how far away it is.
    fn nearest(&self, point: Point2<f64>) -> (f64, f64) {
        let along_edges = self.triangles.convex_hull().map(|edge| {
            let [from, to] = edge.vertices();
            on_edge(*from.data(), *to.data(), point)
        });
        let at_spots = self
            .triangles
            .vertices()
            .filter(|_| self.triangles.num_vertices() == 1)
            .map(|spot| on_edge(*spot.data(), *spot.data(), point));
        along_edges
            .chain(at_spots)
            .min_by(|a, b| a.1.total_cmp(&b.1))
            .unwrap_or((0.0, f64::INFINITY))
    }
}

type Face<'a> = FaceHandle<'a, InnerTag, Spot, (), (), ()>;

fn in_triangle(face: Face<'_>, point: Point2<f64>) -> f64 {
    let spots = face.vertices().map(|vertex| *vertex.data());
    let (to_right, upwards) = gradient(face);
    spots[0].level_m + to_right * (point.x - spots[0].at.x) + upwards * (point.y - spots[0].at.y)
}

/// Rise over run to the right and upwards.
fn gradient(face: Face<'_>) -> (f64, f64) {
    let [a, b, c] = face.vertices().map(|vertex| *vertex.data());
    let (ux, uy, uz) = (b.at.x - a.at.x, b.at.y - a.at.y, b.level_m - a.level_m);
    let (vx, vy, vz) = (c.at.x - a.at.x, c.at.y - a.at.y, c.level_m - a.level_m);
    let twice_area = ux * vy - uy * vx;
    if twice_area <= 0.0 {
        return (0.0, 0.0);
    }
    (
        (uz * vy - vz * uy) / twice_area,
        (vz * ux - uz * vx) / twice_area,
    )
}

/// The level at the nearest place of an edge, and how far away it is.
fn on_edge(from: Spot, to: Spot, point: Point2<f64>) -> (f64, f64) {
    let (dx, dy) = (to.at.x - from.at.x, to.at.y - from.at.y);
    let squared = dx * dx + dy * dy;
    let share = if squared > 0.0 {
        (((point.x - from.at.x) * dx + (point.y - from.at.y) * dy) / squared).clamp(0.0, 1.0)
    } else {
        0.0
    };
    let away = (point.x - from.at.x - share * dx).hypot(point.y - from.at.y - share * dy);
    (from.level_m + share * (to.level_m - from.level_m), away)
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::ids::{Id, Kind};
    use crate::model::{Feature, SpotHeight};

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
    fn outside_the_survey_the_nearest_surveyed_place_counts() {
        assert_eq!(ground(&[]).level(PlanPoint::new(1.0, 1.0)), Length::ZERO);
        assert!(!ground(&[]).is_surveyed(PlanPoint::new(1.0, 1.0)));
        let one = ground(&[(0.0, 0.0, 1.5)]);
        assert_eq!(
            one.level(PlanPoint::new(9.0, 9.0)),
            Length::from_metres(1.5)
        );
        let in_line = ground(&[(0.0, 0.0, 1.0), (1.0, 0.0, 2.0), (2.0, 0.0, 3.0)]);
        let level = |x, y| in_line.level(PlanPoint::new(x, y)).metres();
        assert!((level(9.0, 9.0) - 3.0).abs() < 1e-12);
        assert!((level(1.25, 4.0) - 2.25).abs() < 1e-12);
        assert!(!in_line.is_surveyed(PlanPoint::new(1.25, 4.0)));
        let square = ground(&[
            (0.0, 0.0, 0.0),
            (4.0, 0.0, 0.0),
            (4.0, 4.0, 4.0),
            (0.0, 4.0, 4.0),
        ]);
        assert!((square.level(PlanPoint::new(7.0, 1.0)).metres() - 1.0).abs() < 1e-12);
        assert!(square.is_surveyed(PlanPoint::new(4.0, 1.0)));
        assert!(square.is_surveyed(PlanPoint::new(3.9, 0.1)));
        assert!(!square.is_surveyed(PlanPoint::new(4.01, 1.0)));
    }

    /// A square of spot heights of a step over 20 m, from a formula.
    fn surveyed(step: f64, level: impl Fn(f64, f64) -> f64) -> Ground {
        let mut points = Vec::new();
        let mut y = 0.0;
        while y <= 20.0 {
            let mut x = 0.0;
            while x <= 20.0 {
                points.push((x, y, level(x, y)));
                x += step;
            }
            y += step;
        }
        ground(&points)
    }

    /// The largest error over a fine raster.
    fn error(ground: &Ground, level: impl Fn(f64, f64) -> f64) -> f64 {
        let places = (0..=200).flat_map(|i| (0..=200).map(move |j| (i, j)));
        places
            .map(|(i, j)| {
                let (x, y) = (f64::from(i) * 0.1, f64::from(j) * 0.1);
                (ground.level(PlanPoint::new(x, y)).metres() - level(x, y)).abs()
            })
            .fold(0.0, f64::max)
    }

    #[test]
    fn a_saddle_is_met_within_the_error_of_straight_triangles() {
        // Linear interpolation errs by at most step squared over eight times the largest second derivative along a side,
        // here 2·c along a diagonal of √2·step: c·step²/2.
        let saddle = |x: f64, y: f64| 0.01 * (x - 10.0) * (y - 10.0);
        for step in [1.0, 2.0, 4.0] {
            let largest = error(&surveyed(step, saddle), saddle);
            assert!(
                largest <= 0.01 * step * step / 2.0 + 1e-12,
                "{step}: {largest}"
            );
            assert!(largest > 0.01 * step * step / 8.0, "{step}: {largest}");
        }
    }

    #[test]
    fn a_cone_is_met_within_its_curvature_away_from_the_tip() {
        // The tip is a spot height; elsewhere the second derivative is slope over radius, largest one step from the tip.
        let cone = |x: f64, y: f64| 5.0 - 0.1 * (x - 10.0).hypot(y - 10.0);
        let largest = error(&surveyed(1.0, cone), cone);
        assert!(largest <= 0.1 * 0.3, "{largest}");
        let finer = error(&surveyed(0.5, cone), cone);
        assert!(finer < 0.6 * largest, "{finer} against {largest}");
    }

    #[test]
    fn slopes_point_where_the_ground_rises() {
        let slopes = ground(&[(0.0, 0.0, 0.0), (10.0, 0.0, 0.5), (0.0, 10.0, 0.0)]).slopes();
        assert_eq!(slopes.len(), 1);
        assert!((slopes[0].to_right - 0.05).abs() < 1e-12);
        assert!(slopes[0].upwards.abs() < 1e-12);
        assert!((slopes[0].grade() - 0.05).abs() < 1e-12);
        // It rises to the right, so water runs to the left.
        assert!((slopes[0].downhill().degrees().abs() - 180.0).abs() < 1e-9);
    }

    #[test]
    fn the_surveyed_area_is_the_hull_of_the_spot_heights() {
        let corners = [
            (0.0, 0.0, 1.0),
            (9.0, 0.0, 1.0),
            (9.0, 6.0, 2.0),
            (0.0, 6.0, 2.0),
        ];
        let mut spots = corners.to_vec();
        spots.push((4.0, 3.0, 1.2));
        let hull = ground(&spots).surveyed_area();
        assert_eq!(hull.0.len(), 4);
        assert_eq!(hull.0[0], PlanPoint::new(0.0, 0.0));
        assert!((hull.area().square_metres() - 54.0).abs() < 1e-12);
        assert!(ground(&corners[..2]).surveyed_area().0.is_empty());
    }

    #[test]
    fn a_terrace_is_flat_and_steps_at_its_edge() {
        let plane = |x: f64, y: f64| 10.0 - 0.1 * x + 0.0 * y;
        let corners = [(0.0, 0.0), (20.0, 0.0), (20.0, 20.0), (0.0, 20.0)];
        let mut objects = Objects::default();
        for (number, (x, y)) in (1..).zip(corners) {
            let height = SpotHeight {
                at: PlanPoint::new(x, y),
                level: Length::from_metres(plane(x, y)),
                meta: Default::default(),
            };
            objects
                .heights
                .insert(Id::new(Kind::Height, number), Arc::new(height));
        }
        let terrace = |from: f64, to: f64, level: Option<f64>| {
            Arc::new(Feature {
                kind: FeatureKind::Terrace,
                level: level.map(Length::from_metres),
                holds_reclaimed: false,
                outline: Polygon::rectangle(
                    PlanPoint::new(from, 5.0),
                    Length::from_metres(to - from),
                    Length::from_metres(4.0),
                ),
                meta: Default::default(),
            })
        };
        let features = [
            terrace(4.0, 10.0, Some(12.5)),
            // On top of the first, and one whose level nobody told.
            terrace(8.0, 10.0, Some(13.0)),
            terrace(15.0, 18.0, None),
        ];
        for (number, feature) in (1..).zip(features) {
            objects
                .features
                .insert(Id::new(Kind::Feature, number), feature);
        }
        let ground = Ground::of(&objects);
        let level = |x: f64, y: f64| ground.level(PlanPoint::new(x, y)).metres();
        for (x, y, expected) in [
            (5.0, 6.0, 12.5),
            (4.0, 5.0, 12.5),
            (7.9, 9.0, 12.5),
            (9.0, 7.0, 13.0),
            (16.0, 7.0, plane(16.0, 7.0)),
            (3.9, 7.0, plane(3.9, 7.0)),
        ] {
            assert!((level(x, y) - expected).abs() < 1e-12, "{x} {y}");
        }
        objects.heights.clear();
        let bare = Ground::of(&objects);
        assert!(bare.is_surveyed(PlanPoint::new(5.0, 6.0)));
        assert!(!bare.is_surveyed(PlanPoint::new(3.0, 6.0)));
    }

    #[test]
    fn heights_at_one_place_and_heights_that_are_no_numbers_do_no_harm() {
        let twice = ground(&[(1.0, 1.0, 1.0), (1.0, 1.0, 3.0), (f64::NAN, 0.0, 9.0)]);
        assert_eq!(
            twice.level(PlanPoint::new(1.0, 1.0)),
            Length::from_metres(2.0)
        );
        let nowhere = twice.level(PlanPoint::new(f64::NAN, 1.0));
        assert_eq!(nowhere, twice.level(PlanPoint::new(2.0, f64::NAN)));
    }
}
