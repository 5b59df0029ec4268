//! How much salt crops stand, by id of the crop table.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use crate::finding::Basis;
use crate::units::Salinity;

/// Class of tolerance.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, serde::Deserialize)]
pub enum SaltRating {
    /// Sensitive.
    S,
    /// Moderately sensitive.
    MS,
    /// Moderately tolerant.
    MT,
    /// Tolerant.
    T,
}

/// A straight-line response to the salinity of the soil extract.
#[derive(Clone, PartialEq, Debug, serde::Deserialize)]
pub struct SaltTolerance {
    /// Salinity of the soil extract up to which nothing is lost.
    #[serde(rename = "threshold_ds_per_m")]
    pub threshold: Salinity,
    /// Share of the yield lost for each dS/m beyond.
    pub loss_per_ds_per_m: f64,
    /// Class.
    pub rating: SaltRating,
    /// Where the figures are from.
    pub source: String,
    /// How we know.
    pub basis: Basis,
}

const FILE: &str = include_str!("../../data/catalog/salt.toml");

static TABLE: LazyLock<BTreeMap<String, SaltTolerance>> =
    // A file with a mistake leaves the table empty; `the_file_parses` says where the mistake is.
    LazyLock::new(|| toml::from_str(FILE).unwrap_or_default());

/// The tolerance of a crop; `None` where we hold no figures.
#[must_use]
pub fn tolerance(crop: &str) -> Option<&'static SaltTolerance> {
    TABLE.get(crop)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_file_parses() {
        toml::from_str::<BTreeMap<String, SaltTolerance>>(FILE).unwrap();
        assert_eq!(
            tolerance("strawberry").map(|row| row.rating),
            Some(SaltRating::S)
        );
    }
}
