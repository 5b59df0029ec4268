//! How a spray spreads its water along its throw: the word of a row, or points that were measured.

use std::collections::BTreeMap;

/// How the rate of a spray changes from the head (0) to its throw (1). Only the form counts: the water is that of the head.
#[derive(Clone, PartialEq, Debug, serde::Serialize, serde::Deserialize)]
#[serde(untagged)]
pub enum Profile {
    /// A named form.
    Form(ProfileForm),
    /// Straight between points, nothing beyond the last.
    Points(Vec<ProfilePoint>),
}

/// Forms of the profile that have a name (Christiansen 1942, from memory).
#[derive(Clone, Copy, PartialEq, Eq, Debug, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ProfileForm {
    /// The same everywhere within the throw.
    Uniform,
    /// Most at the head, falling in a straight line to nothing at the throw.
    Triangular,
}

/// A point of a measured profile.
#[derive(Clone, PartialEq, Debug, serde::Serialize, serde::Deserialize)]
pub struct ProfilePoint {
    /// Distance from the head as a share of the throw.
    pub share: f64,
    /// Rate there in any unit; negative counts as none.
    pub rate: f64,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub extra: BTreeMap<String, serde_json::Value>,
}

impl Profile {
    /// The form taken where a row has none: most heads give less water far out, which is why they stand a throw apart
    /// (common practice, no source).
    pub const ASSUMED: Self = Self::Form(ProfileForm::Triangular);

    /// The rate at a share of the throw, in the profile's own unit; zero beyond the throw.
    #[must_use]
    pub fn rate(&self, share: f64) -> f64 {
        if !(0.0..=1.0).contains(&share) {
            return 0.0;
        }
        match self {
            Self::Form(ProfileForm::Uniform) => 1.0,
            Self::Form(ProfileForm::Triangular) => 1.0 - share,
            Self::Points(points) => {
                let Some(first) = points.first().filter(|first| share > first.share) else {
                    return points.first().map_or(0.0, |first| first.rate.max(0.0));
                };
                let mut before = first;
                for point in points.iter().skip(1) {
                    if share <= point.share {
                        let along = (share - before.share) / (point.share - before.share);
                        let rate = before.rate + (point.rate - before.rate) * along;
                        return if rate.is_finite() { rate.max(0.0) } else { 0.0 };
                    }
                    before = point;
                }
                0.0
            }
        }
    }
}
