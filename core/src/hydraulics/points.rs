//! Curves through measured points that never fall: monotone between the points, straight with the last slope beyond them.

use std::sync::Arc;

/// A curve through points that starts at zero and never falls: a piecewise cubic whose slopes are limited so that it rises
/// wherever the points do (Fritsch & Carlson 1980, SIAM J. Numer. Anal. 17:238, from memory).
#[derive(Clone, PartialEq, Debug)]
pub struct PointCurve {
    x: Vec<f64>,
    y: Vec<f64>,
    slope: Vec<f64>,
}

/// Why points make no curve. Points are counted from 1, as they stand in the row.
#[derive(Clone, Copy, PartialEq, Eq, Debug, thiserror::Error)]
pub enum PointsError {
    /// None at all beyond zero.
    #[error("a curve needs at least one point beyond zero")]
    TooFew,
    /// A number that is none, or below zero.
    #[error("point {0} has a number that is not finite or is below zero")]
    NotANumber(usize),
    /// The first number of each point must rise.
    #[error(
        "point {0} does not lie beyond the one before it; sort the points and give each place once"
    )]
    NotAhead(usize),
    /// The second number of each point must not fall.
    #[error("the curve falls at point {0}; it must not fall, or two solutions may exist")]
    Falls(usize),
}

impl PointCurve {
    /// The curve through points (x, y), x rising and y not falling, both zero or more. Without a point at x = 0 it starts
    /// at (0, 0).
    ///
    /// # Errors
    /// Points that do not make such a curve, with the number of the first that is wrong.
    ///
    /// ```
    /// use aubergine_core::hydraulics::{PointCurve, PointsError};
    /// let curve = PointCurve::new(&[(1.0, 2.0), (2.0, 8.0)])?;
    /// assert!((curve.at(1.0).0 - 2.0).abs() < 1e-12);
    /// assert_eq!(PointCurve::new(&[(1.0, 2.0), (2.0, 1.0)]), Err(PointsError::Falls(2)));
    /// # Ok::<(), PointsError>(())
    /// ```
    pub fn new(points: &[(f64, f64)]) -> Result<Self, PointsError> {
        for (i, (x, y)) in points.iter().enumerate() {
            let sound = |value: f64| value >= 0.0 && value.is_finite();
            if !(sound(*x) && sound(*y)) {
                return Err(PointsError::NotANumber(i + 1));
            }
        }
        for (i, pair) in points.windows(2).enumerate() {
            if pair[1].0 <= pair[0].0 {
                return Err(PointsError::NotAhead(i + 2));
            }
            if pair[1].1 < pair[0].1 {
                return Err(PointsError::Falls(i + 2));
            }
        }
        let (mut x, mut y): (Vec<f64>, Vec<f64>) = points.iter().copied().unzip();
        if x.first().is_none_or(|first| *first > 0.0) {
            x.insert(0, 0.0);
            y.insert(0, 0.0);
        }
        if x.len() < 2 {
            return Err(PointsError::TooFew);
        }
        let slope = limited_slopes(&x, &y);
        Ok(Self { x, y, slope })
    }

    /// The same curve in other units.
    #[must_use]
    pub fn scaled(&self, x_factor: f64, y_factor: f64) -> Self {
        Self {
            x: self.x.iter().map(|x| x * x_factor).collect(),
            y: self.y.iter().map(|y| y * y_factor).collect(),
            slope: self
                .slope
                .iter()
                .map(|slope| slope * y_factor / x_factor)
                .collect(),
        }
    }

    /// Value at x = 0.
    #[must_use]
    pub fn start(&self) -> f64 {
        self.y.first().copied().unwrap_or(0.0)
    }

    /// Value and slope at x; below zero as at zero.
    #[must_use]
    pub fn at(&self, x: f64) -> (f64, f64) {
        let x = x.max(0.0);
        let last = self.x.len() - 1;
        if x >= self.x[last] {
            return (
                self.y[last] + self.slope[last] * (x - self.x[last]),
                self.slope[last],
            );
        }
        // Proof for the indices: the curve has two points at least, and `i` is the piece that holds x.
        let i = self.x.partition_point(|knot| *knot <= x).max(1) - 1;
        let step = self.x[i + 1] - self.x[i];
        let t = (x - self.x[i]) / step;
        let (m0, m1) = (self.slope[i] * step, self.slope[i + 1] * step);
        let rise = self.y[i + 1] - self.y[i];
        let (a, b) = (m0 + m1 - 2.0 * rise, 3.0 * rise - 2.0 * m0 - m1);
        (
            self.y[i] + t * (m0 + t * (b + t * a)),
            (m0 + t * (2.0 * b + t * 3.0 * a)) / step,
        )
    }

    /// The least x at which the curve reaches y, and the slope there; infinite where it never does.
    #[must_use]
    pub fn reaches(&self, y: f64) -> (f64, f64) {
        let last = self.x.len() - 1;
        if y <= self.start() {
            return (0.0, self.slope[0]);
        }
        if y > self.y[last] {
            let slope = self.slope[last];
            return if slope > 0.0 {
                (self.x[last] + (y - self.y[last]) / slope, slope)
            } else {
                (f64::INFINITY, 0.0)
            };
        }
        let i = self.y.partition_point(|knot| *knot < y).max(1) - 1;
        let (mut low, mut high) = (self.x[i], self.x[i + 1]);
        let mut x = 0.5 * (low + high);
        // Newton kept between bounds that close in: ends at rounding.
        for _ in 0..80 {
            let (value, slope) = self.at(x);
            if value < y {
                low = x;
            } else {
                high = x;
            }
            let next = x - (value - y) / slope;
            let next = if next > low && next < high {
                next
            } else {
                0.5 * (low + high)
            };
            if (next - x).abs() <= 1e-16 * x.abs() {
                break;
            }
            x = next;
        }
        (x, self.at(x).1)
    }
}

/// Three-point slopes, held where the curve would otherwise overshoot.
fn limited_slopes(x: &[f64], y: &[f64]) -> Vec<f64> {
    let secants: Vec<(f64, f64)> = x
        .windows(2)
        .zip(y.windows(2))
        .map(|(x, y)| (x[1] - x[0], (y[1] - y[0]) / (x[1] - x[0])))
        .collect();
    let mut slopes = vec![0.0; x.len()];
    let ends = |(h0, d0): (f64, f64), (h1, d1): (f64, f64)| {
        let slope = ((2.0 * h0 + h1) * d0 - h0 * d1) / (h0 + h1);
        slope.clamp(0.0, 3.0 * d0)
    };
    if let [only] = secants[..] {
        return vec![only.1; 2];
    }
    for (i, pair) in secants.windows(2).enumerate() {
        let ((h0, d0), (h1, d1)) = (pair[0], pair[1]);
        if d0 > 0.0 && d1 > 0.0 {
            // Harmonic mean weighted by the lengths of the pieces: never more than three times the flatter one.
            let (w0, w1) = (2.0 * h1 + h0, h1 + 2.0 * h0);
            slopes[i + 1] = (w0 + w1) / (w0 / d0 + w1 / d1);
        }
    }
    let n = secants.len();
    slopes[0] = ends(secants[0], secants[1]);
    slopes[n] = ends(secants[n - 1], secants[n - 2]);
    slopes
}

/// Points as people give them, in the units of two quantities.
pub(crate) fn curve(
    points: impl Iterator<Item = (f64, f64)>,
) -> Result<Arc<PointCurve>, PointsError> {
    let points: Vec<(f64, f64)> = points.collect();
    PointCurve::new(&points).map(Arc::new)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_curve_meets_its_points_and_never_falls_between_them() {
        let points = [(0.5, 1.0), (1.0, 1.0), (2.0, 5.0), (2.2, 30.0), (4.0, 31.0)];
        let curve = PointCurve::new(&points).unwrap();
        for (x, y) in points {
            assert!((curve.at(x).0 - y).abs() < 1e-12);
        }
        let mut before = 0.0;
        for i in 0..600 {
            let (value, slope) = curve.at(f64::from(i) * 0.01);
            assert!(value >= before - 1e-12 && slope >= -1e-12, "{i}");
            before = value;
        }
        let (y, slope) = curve.at(4.0);
        assert!((curve.at(6.0).0 - (y + 2.0 * slope)).abs() < 1e-12);
    }

    #[test]
    fn the_slope_is_that_of_the_curve() {
        let curve = PointCurve::new(&[(1.0, 1.0), (2.0, 4.0), (3.0, 9.0), (4.0, 16.0)]).unwrap();
        for x in [0.3, 1.2, 2.5, 3.9, 5.0] {
            let numeric = (curve.at(x + 1e-6).0 - curve.at(x - 1e-6).0) / 2e-6;
            assert!((curve.at(x).1 - numeric).abs() < 1e-6, "{x}");
            // Close to the parabola that the points lie on.
            if x > 1.0 && x < 4.0 {
                assert!((curve.at(x).0 / (x * x) - 1.0).abs() < 0.05, "{x}");
            }
        }
    }

    #[test]
    fn where_it_reaches_a_value_it_has_that_value() {
        let curve = PointCurve::new(&[(1.0, 2.0), (2.0, 2.0), (3.0, 7.0)]).unwrap();
        for y in [0.1, 1.0, 1.999, 3.0, 6.9, 9.0] {
            let (x, _) = curve.reaches(y);
            assert!((curve.at(x).0 - y).abs() < 1e-12, "{y}");
        }
        let flat = PointCurve::new(&[(1.0, 2.0), (2.0, 2.0)]).unwrap();
        assert!(flat.reaches(2.5).0.is_infinite());
    }

    #[test]
    fn points_without_sense_are_refused_by_number() {
        use PointsError::{Falls, NotANumber, NotAhead, TooFew};
        assert_eq!(PointCurve::new(&[]), Err(TooFew));
        assert_eq!(PointCurve::new(&[(0.0, 3.0)]), Err(TooFew));
        assert_eq!(PointCurve::new(&[(1.0, 1.0), (1.0, 2.0)]), Err(NotAhead(2)));
        assert_eq!(PointCurve::new(&[(0.1, 80.0), (0.3, 74.0)]), Err(Falls(2)));
        assert_eq!(PointCurve::new(&[(f64::NAN, 1.0)]), Err(NotANumber(1)));
        assert_eq!(PointCurve::new(&[(1.0, -1.0)]), Err(NotANumber(1)));
    }
}
