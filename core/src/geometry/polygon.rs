//! Simple closed outlines: beds, lawns, buildings, wetted areas.

use std::cell::LazyCell;

use geo::{Area as _, BooleanOps as _, Buffer as _, Validation as _};

use super::{PlanPoint, PlanVector, Polyline, frame};
use crate::units::{Angle, Area, Length};

/// A closed outline; the last point joins the first. Fewer than three points enclose nothing.
#[derive(Clone, PartialEq, Debug, Default, serde::Serialize, serde::Deserialize)]
#[serde(transparent)]
pub struct Polygon(pub Vec<PlanPoint>);

impl Polygon {
    /// A rectangle from its lower left corner.
    #[must_use]
    pub fn rectangle(corner: PlanPoint, width: Length, height: Length) -> Self {
        let (w, h) = (width.metres(), height.metres());
        Self(vec![
            corner,
            corner + PlanVector::new(w, 0.0),
            corner + PlanVector::new(w, h),
            corner + PlanVector::new(0.0, h),
        ])
    }

    /// A disc, or a sector of `sweep` degrees starting at `from` (anticlockwise from +x), as an inscribed-and-widened
    /// polygon whose area equals that of the true shape. 96 sides keep the outline within 0.11 % of the radius.
    #[must_use]
    pub fn sector(centre: PlanPoint, radius: Length, from: Angle, sweep: Angle) -> Self {
        const SIDES_OF_FULL_CIRCLE: f64 = 96.0;
        let sweep = sweep.degrees().clamp(0.0, 360.0);
        if sweep <= 0.0 || radius.metres() <= 0.0 {
            return Self::default();
        }
        let sides = (SIDES_OF_FULL_CIRCLE * sweep / 360.0).ceil().max(2.0);
        let step = (sweep / sides).to_radians();
        // A regular polygon has sin(step)/step of the disc's area; the radius is stretched to make up for it.
        let stretched = radius.metres() * (step / step.sin()).sqrt();
        let start = from.degrees().to_radians();
        let mut points = Vec::new();
        let mut index = 0.0;
        let is_full = sweep >= 360.0;
        if !is_full {
            points.push(centre);
        }
        while index < sides || (!is_full && index <= sides) {
            let (sine, cosine) = (start + step * index).sin_cos();
            points.push(centre + PlanVector::new(stretched * cosine, stretched * sine));
            index += 1.0;
        }
        Self(points)
    }

    /// Its sides, the closing one included.
    pub fn sides(&self) -> impl Iterator<Item = (PlanPoint, PlanPoint)> + '_ {
        let count = self.0.len();
        (0..count).map(move |index| (self.0[index], self.0[(index + 1) % count]))
    }

    /// Whether it encloses something and never touches or crosses itself.
    #[must_use]
    pub fn is_simple(&self) -> bool {
        self.0.len() >= 3 && self.area().square_metres() > 1e-9 && self.to_geo().is_valid()
    }

    /// The enclosed area.
    #[must_use]
    pub fn area(&self) -> Area {
        Area::from_square_metres(self.to_geo().unsigned_area())
    }

    /// Whether a point lies inside: even-odd rule, half-open edges. An outline of fewer than three points holds nothing.
    #[must_use]
    pub fn contains(&self, point: PlanPoint) -> bool {
        let mut inside = false;
        for (a, b) in self.sides() {
            if (a.y > point.y) != (b.y > point.y) {
                let x = a.x + (point.y - a.y) / (b.y - a.y) * (b.x - a.x);
                inside ^= point.x < x;
            }
        }
        inside
    }

    /// The area shared with another outline.
    #[must_use]
    pub fn overlap(&self, other: &Self) -> Area {
        if !self.is_region() || !other.is_region() || !frame::meet(&self.0, &other.0) {
            return Area::ZERO;
        }
        Area::from_square_metres(self.to_geo().intersection(&other.to_geo()).unsigned_area())
    }

    /// The parts shared with another outline. Both are taken to be simple, so that no part has a hole.
    #[must_use]
    pub fn shared(&self, other: &Self) -> Vec<Self> {
        if !self.is_region() || !other.is_region() || !frame::meet(&self.0, &other.0) {
            return Vec::new();
        }
        let shared = self.to_geo().intersection(&other.to_geo());
        let parts = shared.0.iter();
        parts.map(|part| Self::of_ring(part.exterior())).collect()
    }

    fn of_ring(ring: &geo::LineString<f64>) -> Self {
        let mut points = ring.0.clone();
        // The closing point is not written twice here.
        points.pop();
        Self(points.iter().map(|at| PlanPoint::new(at.x, at.y)).collect())
    }

    /// The area outside another outline.
    #[must_use]
    pub fn outside(&self, other: &Self) -> Area {
        self.area() - self.overlap(other)
    }

    /// The area that several outlines together share with another.
    #[must_use]
    pub fn overlap_of_all<'a>(&self, others: impl IntoIterator<Item = &'a Self>) -> Area {
        if !self.is_region() {
            return Area::ZERO;
        }
        let own = LazyCell::new(|| self.to_geo());
        let shared = others
            .into_iter()
            .filter(|other| other.is_region() && frame::meet(&self.0, &other.0))
            .map(|other| own.intersection(&other.to_geo()))
            .reduce(|all, next| all.union(&next));
        shared.map_or(Area::ZERO, |shared| {
            Area::from_square_metres(shared.unsigned_area())
        })
    }

    /// The distance to a point: zero inside, infinite from nothing. A point or a line is an outline here, too.
    #[must_use]
    pub fn distance_to_point(&self, point: PlanPoint) -> Length {
        if self.contains(point) {
            return Length::ZERO;
        }
        self.boundary().nearest(point).1
    }

    /// The smallest distance to another outline: zero when they meet, infinite from nothing.
    #[must_use]
    pub fn distance(&self, other: &Self) -> Length {
        let touches = |a: &Self, b: &Self| a.0.first().is_some_and(|point| b.contains(*point));
        let (own, others) = (self.boundary(), other.boundary());
        if touches(self, other) || touches(other, self) || !own.crossings(&others).is_empty() {
            return Length::ZERO;
        }
        // Between outlines that do not meet, the nearest place is a corner of one of them.
        let farthest = Length::from_metres(f64::INFINITY);
        let from_own = self.0.iter().map(|corner| others.nearest(*corner).1);
        let from_other = other.0.iter().map(|corner| own.nearest(*corner).1);
        from_own.chain(from_other).fold(farthest, Length::min)
    }

    /// The outline as a closed chain.
    #[must_use]
    pub fn boundary(&self) -> Polyline {
        Polyline(self.0.iter().chain(self.0.first()).copied().collect())
    }

    /// The edges of the ground within a distance, for the eye: what is rounded has corners. A point or a line is an outline
    /// here, too.
    #[must_use]
    pub fn grown(&self, by: Length) -> Vec<Self> {
        if let [centre] = self.0[..] {
            return vec![Self::sector(
                centre,
                by,
                Angle::ZERO,
                Angle::from_degrees(360.0),
            )];
        }
        let by = by.metres();
        let grown = if self.is_region() {
            self.to_geo().buffer(by)
        } else {
            let points = self.0.iter().map(|point| (point.x, point.y));
            geo::LineString::from(points.collect::<Vec<_>>()).buffer(by)
        };
        grown
            .into_iter()
            .map(|part| Self::of_ring(part.exterior()))
            .collect()
    }

    /// The mean of the corners: a place to hang a label on.
    #[must_use]
    pub fn centre(&self) -> PlanPoint {
        let count = self.0.len().max(1) as f64;
        let (x, y) = self
            .0
            .iter()
            .fold((0.0, 0.0), |(x, y), point| (x + point.x, y + point.y));
        PlanPoint::new(x / count, y / count)
    }

    /// The same outline moved as a whole.
    #[must_use]
    pub fn moved(&self, by: PlanVector) -> Self {
        Self(self.0.iter().map(|point| *point + by).collect())
    }

    /// The least and the greatest reach of the corners along an axis through the origin; infinite and swapped of nothing.
    #[must_use]
    pub fn span(&self, axis: PlanVector) -> (f64, f64) {
        let reaches = self
            .0
            .iter()
            .map(|corner| (*corner - PlanPoint::default()).dot(axis));
        reaches.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), reach| {
            (low.min(reach), high.max(reach))
        })
    }

    /// The parts of the straight line through `origin` along the unit vector `along` that lie inside, as pairs of
    /// distances from `origin`, in order. Used to lay rows across any outline.
    #[must_use]
    pub fn chords(&self, origin: PlanPoint, along: PlanVector) -> Vec<(Length, Length)> {
        let mut cuts: Vec<f64> = Vec::new();
        for (a, b) in self.sides() {
            let (from, to) = (along.cross(a - origin), along.cross(b - origin));
            // Half-open, so that a row through a corner is cut once.
            if (from > 0.0) != (to > 0.0) {
                let point = a.lerp(b, from / (from - to));
                cuts.push((point - origin).dot(along));
            }
        }
        cuts.sort_by(f64::total_cmp);
        cuts.chunks_exact(2)
            .map(|pair| (Length::from_metres(pair[0]), Length::from_metres(pair[1])))
            .collect()
    }

    pub(crate) fn is_region(&self) -> bool {
        self.0.len() >= 3
    }

    fn to_geo(&self) -> geo::Polygon<f64> {
        let ring = self
            .0
            .iter()
            .map(|point| (point.x, point.y))
            .collect::<Vec<_>>();
        geo::Polygon::new(geo::LineString::from(ring), Vec::new())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_disc_has_the_area_of_a_disc() {
        let disc = Polygon::sector(
            PlanPoint::new(1.0, 2.0),
            Length::from_metres(3.0),
            Angle::ZERO,
            Angle::from_degrees(360.0),
        );
        assert!((disc.area().square_metres() - std::f64::consts::PI * 9.0).abs() < 1e-9);
        let quarter = Polygon::sector(
            PlanPoint::new(0.0, 0.0),
            Length::from_metres(2.0),
            Angle::ZERO,
            Angle::from_degrees(90.0),
        );
        assert!((quarter.area().square_metres() - std::f64::consts::PI).abs() < 1e-9);
    }

    #[test]
    fn overlap_of_two_squares() {
        let square = Polygon::rectangle(
            PlanPoint::new(0.0, 0.0),
            Length::from_metres(2.0),
            Length::from_metres(2.0),
        );
        let moved = square.moved(PlanVector::new(1.0, 1.0));
        assert!((square.overlap(&moved).square_metres() - 1.0).abs() < 1e-12);
        assert_eq!(
            square.overlap(&square.moved(PlanVector::new(5.0, 0.0))),
            Area::ZERO
        );
    }

    #[test]
    fn points_and_lines_are_outlines_for_distances() {
        let square = Polygon::rectangle(
            PlanPoint::new(0.0, 0.0),
            Length::from_metres(2.0),
            Length::from_metres(2.0),
        );
        let point = Polygon(vec![PlanPoint::new(5.0, 1.0)]);
        let line = Polygon(vec![PlanPoint::new(3.0, -1.0), PlanPoint::new(3.0, 5.0)]);
        assert_eq!(square.distance(&point), Length::from_metres(3.0));
        assert_eq!(square.distance(&line), Length::from_metres(1.0));
        assert_eq!(
            square.distance(&Polygon(vec![PlanPoint::new(1.0, 1.0)])),
            Length::ZERO
        );
        assert!(!square.distance(&Polygon::default()).is_finite());
        assert_eq!(square.overlap(&line), Area::ZERO);
    }

    #[test]
    fn shared_areas_are_counted_once() {
        let square = Polygon::rectangle(
            PlanPoint::new(0.0, 0.0),
            Length::from_metres(2.0),
            Length::from_metres(2.0),
        );
        let half = square.moved(PlanVector::new(1.0, 0.0));
        assert!((square.overlap_of_all([&half, &half]).square_metres() - 2.0).abs() < 1e-9);
    }

    #[test]
    fn a_row_through_a_notched_bed_is_cut_in_two() {
        let notched = Polygon(
            [
                (0.0, 0.0),
                (6.0, 0.0),
                (6.0, 2.0),
                (4.0, 2.0),
                (4.0, 1.0),
                (2.0, 1.0),
                (2.0, 2.0),
                (0.0, 2.0),
            ]
            .map(|(x, y)| PlanPoint::new(x, y))
            .to_vec(),
        );
        let chords = notched.chords(PlanPoint::new(0.0, 1.5), PlanVector::new(1.0, 0.0));
        let metres: Vec<_> = chords
            .iter()
            .map(|(a, b)| (a.metres(), b.metres()))
            .collect();
        assert_eq!(metres, [(0.0, 2.0), (4.0, 6.0)]);
    }
}
