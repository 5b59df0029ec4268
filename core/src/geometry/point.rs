//! Points and vectors of the plan.

use crate::units::Length;

/// A place on the plan, in metres from its origin. Written as `[x, y]`.
#[derive(Clone, Copy, PartialEq, Debug, Default, serde::Serialize, serde::Deserialize)]
#[serde(into = "[f64; 2]", try_from = "[f64; 2]")]
pub struct PlanPoint {
    /// Metres to the right.
    pub x: f64,
    /// Metres up the sheet.
    pub y: f64,
}

/// A displacement on the plan, in metres.
#[derive(Clone, Copy, PartialEq, Debug, Default, serde::Serialize, serde::Deserialize)]
#[serde(into = "[f64; 2]", try_from = "[f64; 2]")]
pub struct PlanVector {
    /// Metres to the right.
    pub x: f64,
    /// Metres up the sheet.
    pub y: f64,
}

impl PlanPoint {
    /// A point from metres.
    #[must_use]
    pub const fn new(x: f64, y: f64) -> Self {
        Self { x, y }
    }

    /// The straight distance to another point.
    #[must_use]
    pub fn distance(self, other: Self) -> Length {
        Length::from_metres((self - other).norm())
    }

    /// The point `share` of the way to `other`; 0 is here, 1 is there.
    #[must_use]
    pub fn lerp(self, other: Self, share: f64) -> Self {
        self + (other - self) * share
    }
}

impl PlanVector {
    /// A vector from metres.
    #[must_use]
    pub const fn new(x: f64, y: f64) -> Self {
        Self { x, y }
    }

    /// Its length in metres.
    #[must_use]
    pub fn norm(self) -> f64 {
        self.x.hypot(self.y)
    }

    /// The dot product, in square metres.
    #[must_use]
    pub fn dot(self, other: Self) -> f64 {
        self.x * other.x + self.y * other.y
    }

    /// The z part of the cross product, in square metres: positive when `other` lies to the left.
    #[must_use]
    pub fn cross(self, other: Self) -> f64 {
        self.x * other.y - self.y * other.x
    }
}

impl std::ops::Sub for PlanPoint {
    type Output = PlanVector;
    fn sub(self, other: Self) -> PlanVector {
        PlanVector::new(self.x - other.x, self.y - other.y)
    }
}

impl std::ops::Add<PlanVector> for PlanPoint {
    type Output = Self;
    fn add(self, by: PlanVector) -> Self {
        Self::new(self.x + by.x, self.y + by.y)
    }
}

impl std::ops::Mul<f64> for PlanVector {
    type Output = Self;
    fn mul(self, factor: f64) -> Self {
        Self::new(self.x * factor, self.y * factor)
    }
}

impl std::ops::Add for PlanVector {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self::new(self.x + other.x, self.y + other.y)
    }
}

impl std::ops::Neg for PlanVector {
    type Output = Self;
    fn neg(self) -> Self {
        Self::new(-self.x, -self.y)
    }
}

impl From<PlanPoint> for [f64; 2] {
    fn from(point: PlanPoint) -> Self {
        [point.x, point.y]
    }
}

impl From<PlanVector> for [f64; 2] {
    fn from(vector: PlanVector) -> Self {
        [vector.x, vector.y]
    }
}

/// A coordinate that is not a finite number, or farther out than any yard.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("a coordinate must be a number between -100 000 and 100 000 m")]
pub struct CoordinateOutOfRange;

/// Far beyond the 2 km of the largest site, so that surveys in a local grid fit, and small enough to keep every
/// product of coordinates exact to well below a millimetre.
const FARTHEST_M: f64 = 100_000.0;

impl TryFrom<[f64; 2]> for PlanPoint {
    type Error = CoordinateOutOfRange;
    fn try_from([x, y]: [f64; 2]) -> Result<Self, CoordinateOutOfRange> {
        if x.abs() <= FARTHEST_M && y.abs() <= FARTHEST_M {
            Ok(Self { x, y })
        } else {
            Err(CoordinateOutOfRange)
        }
    }
}

impl TryFrom<[f64; 2]> for PlanVector {
    type Error = CoordinateOutOfRange;
    fn try_from(parts: [f64; 2]) -> Result<Self, CoordinateOutOfRange> {
        PlanPoint::try_from(parts).map(|point| Self {
            x: point.x,
            y: point.y,
        })
    }
}
