//! Open chains of straight segments: pipe runs, emitter lines, fences.

use super::{PlanPoint, PlanVector, frame};
use crate::units::Length;

/// Points joined in order. May be empty or a single point; then its length is zero.
#[derive(Clone, PartialEq, Debug, Default, serde::Serialize, serde::Deserialize)]
#[serde(transparent)]
pub struct Polyline(pub Vec<PlanPoint>);

/// Where two segments meet.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Crossing {
    /// The common point.
    pub at: PlanPoint,
    /// Station along the first polyline.
    pub station: Length,
    /// Index of the segment of the first polyline.
    pub segment: usize,
    /// Index of the segment of the second polyline.
    pub other_segment: usize,
}

impl Polyline {
    /// Its segments as pairs of ends.
    pub fn segments(&self) -> impl Iterator<Item = (PlanPoint, PlanPoint)> + '_ {
        self.0.windows(2).map(|pair| (pair[0], pair[1]))
    }

    /// The length along it.
    #[must_use]
    pub fn length(&self) -> Length {
        self.segments().map(|(a, b)| a.distance(b)).sum()
    }

    /// The point at a station from the start, clamped to the ends; `None` when there is no point at all.
    #[must_use]
    pub fn point_at(&self, station: Length) -> Option<PlanPoint> {
        let mut left = station.metres().max(0.0);
        for (a, b) in self.segments() {
            let length = (b - a).norm();
            if left <= length && length > 0.0 {
                return Some(a.lerp(b, left / length));
            }
            left -= length;
        }
        self.0.last().copied()
    }

    /// The part between two stations, bends included.
    #[must_use]
    pub fn between(&self, from: Length, to: Length) -> Self {
        let mut part: Vec<PlanPoint> = self.point_at(from).into_iter().collect();
        let mut station = Length::ZERO;
        for (a, b) in self.segments() {
            station += a.distance(b);
            if station > from && station < to {
                part.push(b);
            }
        }
        part.extend(self.point_at(to));
        Self(part)
    }

    /// The station of the point on it that is nearest to `point`, and the distance to it; zero and infinite when empty.
    #[must_use]
    pub fn nearest(&self, point: PlanPoint) -> (Length, Length) {
        if let [only] = self.0[..] {
            return (Length::ZERO, only.distance(point));
        }
        // Squares order like distances; roots are taken once the nearest place is known.
        let places = self.segments().map(|(a, b)| {
            let share = share_of_nearest(a, b, point);
            let place = a.lerp(b, share);
            let away = place - point;
            (away.dot(away), share, place)
        });
        let nearest = places
            .enumerate()
            .reduce(|best, next| if next.1.0 < best.1.0 { next } else { best });
        let Some((index, (_, share, place))) = nearest else {
            return (Length::ZERO, Length::from_metres(f64::INFINITY));
        };
        let mut station = Length::ZERO;
        for (segment, (a, b)) in self.segments().enumerate().take(index + 1) {
            let length = a.distance(b);
            station += if segment == index {
                length * share
            } else {
                length
            };
        }
        (station, place.distance(point))
    }

    /// Proper crossings with another polyline, in order along this one. Touching ends count.
    #[must_use]
    pub fn crossings(&self, other: &Self) -> Vec<Crossing> {
        let mut found: Vec<Crossing> = Vec::new();
        if !frame::meet(&self.0, &other.0) {
            return found;
        }
        let mut station = Length::ZERO;
        for (segment, (a, b)) in self.segments().enumerate() {
            for (other_segment, (c, d)) in other.segments().enumerate() {
                if let Some(share) = crossing_share(a, b, c, d) {
                    let at = a.lerp(b, share);
                    // A crossing in a shared vertex is met by both neighbours: keep it once.
                    if found
                        .iter()
                        .all(|known| known.at.distance(at).metres() > super::RESOLUTION_M)
                    {
                        found.push(Crossing {
                            at,
                            station: station + a.distance(b) * share,
                            segment,
                            other_segment,
                        });
                    }
                }
            }
            station += a.distance(b);
        }
        found.sort_by(|a, b| a.station.total_cmp(&b.station));
        found
    }

    /// The same chain moved as a whole.
    #[must_use]
    pub fn moved(&self, by: PlanVector) -> Self {
        Self(self.0.iter().map(|point| *point + by).collect())
    }
}

/// How far along `a`–`b` the nearest point to `point` lies: 0 at `a`, 1 at `b`.
#[must_use]
pub fn share_of_nearest(a: PlanPoint, b: PlanPoint, point: PlanPoint) -> f64 {
    let along = b - a;
    let length_squared = along.dot(along);
    if length_squared > 0.0 {
        ((point - a).dot(along) / length_squared).clamp(0.0, 1.0)
    } else {
        0.0
    }
}

/// The share along `a`–`b` at which it meets `c`–`d`, if it does; parallel segments never do.
fn crossing_share(a: PlanPoint, b: PlanPoint, c: PlanPoint, d: PlanPoint) -> Option<f64> {
    let first = b - a;
    let second = d - c;
    let determinant = first.cross(second);
    if determinant == 0.0 {
        return None;
    }
    let share = (c - a).cross(second) / determinant;
    let other = (c - a).cross(first) / determinant;
    ((0.0..=1.0).contains(&share) && (0.0..=1.0).contains(&other)).then_some(share)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(points: &[(f64, f64)]) -> Polyline {
        Polyline(points.iter().map(|(x, y)| PlanPoint::new(*x, *y)).collect())
    }

    #[test]
    fn stations_run_along_the_bends() {
        let bent = line(&[(0.0, 0.0), (3.0, 0.0), (3.0, 4.0)]);
        assert_eq!(bent.length(), Length::from_metres(7.0));
        assert_eq!(
            bent.point_at(Length::from_metres(5.0)),
            Some(PlanPoint::new(3.0, 2.0))
        );
        assert_eq!(
            bent.nearest(PlanPoint::new(4.0, 2.0)),
            (Length::from_metres(5.0), Length::from_metres(1.0))
        );
    }

    #[test]
    fn a_crossing_in_a_shared_vertex_counts_once() {
        let bent = line(&[(0.0, 0.0), (2.0, 0.0), (4.0, 0.0)]);
        let across = line(&[(2.0, -1.0), (2.0, 1.0)]);
        assert_eq!(bent.crossings(&across).len(), 1);
    }
}
