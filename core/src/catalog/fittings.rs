//! What fittings lose, as lengths of their own pipe: one table for all elbows, tees, adapters and barbs.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use crate::finding::Basis;
use crate::units::Length;

/// A fitting that is counted from the drawing.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, serde::Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Fitting {
    /// A bend of more than 60°.
    #[serde(rename = "elbow_90")]
    Elbow90,
    /// A bend of 10° to 60°.
    #[serde(rename = "elbow_45")]
    Elbow45,
    /// Past the branch of a tee.
    TeeRun,
    /// Into the branch of a tee.
    TeeBranch,
    /// A gate valve.
    GateValve,
    /// From a socket to a thread.
    Adapter,
    /// A barb in tubing.
    Insert,
}

/// One row of the table.
#[derive(Clone, PartialEq, Debug, serde::Deserialize)]
pub struct FittingRow {
    /// Bores, rising.
    #[serde(rename = "bore_m")]
    pub bores: Vec<Length>,
    /// Length of pipe that loses as much, by bore.
    #[serde(rename = "equivalent_m")]
    pub equivalents: Vec<Length>,
    /// Where the figures are from.
    pub source: String,
    /// How we know.
    pub basis: Basis,
}

const FITTINGS: &str = include_str!("../../data/catalog/fittings.toml");

static TABLE: LazyLock<BTreeMap<Fitting, FittingRow>> =
    // A mistake leaves the table empty; `the_table_reads` says where it is.
    LazyLock::new(|| toml::from_str(FITTINGS).unwrap_or_default());

impl Fitting {
    /// Its row.
    #[must_use]
    pub fn row(self) -> Option<&'static FittingRow> {
        TABLE.get(&self)
    }

    /// The length of pipe of that bore that loses as much as the fitting: interpolated between the bores of the table,
    /// the same number of bores beyond them.
    ///
    /// ```
    /// use aubergine_core::catalog::fittings::Fitting;
    /// use aubergine_core::units::Length;
    /// let elbow = Fitting::Elbow90.equivalent(Length::from_inches(0.824));
    /// assert!((elbow.feet() - 2.0).abs() < 1e-3);
    /// ```
    #[must_use]
    pub fn equivalent(self, bore: Length) -> Length {
        let Some(row) = self.row() else {
            return Length::ZERO;
        };
        let pairs: Vec<(Length, Length)> = row
            .bores
            .iter()
            .copied()
            .zip(row.equivalents.iter().copied())
            .collect();
        let (Some(first), Some(last)) = (pairs.first(), pairs.last()) else {
            return Length::ZERO;
        };
        if bore <= first.0 {
            return first.1 * (bore / first.0);
        }
        for pair in pairs.windows(2) {
            let ((bore_0, length_0), (bore_1, length_1)) = (pair[0], pair[1]);
            if bore <= bore_1 {
                return length_0 + (length_1 - length_0) * ((bore - bore_0) / (bore_1 - bore_0));
            }
        }
        last.1 * (bore / last.0)
    }
}

/// Loss coefficient of a sudden change of bore, on the velocity head of the smaller: (1/C_c − 1)² into the smaller with
/// C_c = 0.63 + 0.37 (A₂/A₁)³ (Weisbach), (1 − A₁/A₂)² out of it (Borda–Carnot). *Source*: from memory.
///
/// ```
/// use aubergine_core::catalog::fittings::change_of_bore;
/// use aubergine_core::units::Length;
/// let (small, large) = (Length::from_inches(0.5), Length::from_inches(1.0));
/// assert!((change_of_bore(small, large) - 0.5625).abs() < 1e-12);
/// ```
#[must_use]
pub fn change_of_bore(from: Length, to: Length) -> f64 {
    let share = (from.min(to) / from.max(to)).powi(2);
    if from < to {
        (1.0 - share).powi(2)
    } else {
        let contracted = 0.63 + 0.37 * share.powi(3);
        (1.0 / contracted - 1.0).powi(2)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_reads() {
        let table: BTreeMap<Fitting, FittingRow> = toml::from_str(FITTINGS).unwrap();
        assert_eq!(table.len(), 7);
        for (fitting, row) in &table {
            assert_eq!(row.bores.len(), row.equivalents.len(), "{fitting:?}");
            assert!(
                row.bores.is_sorted() && !row.source.is_empty(),
                "{fitting:?}"
            );
        }
    }

    #[test]
    fn between_two_bores_the_length_lies_between() {
        let feet = |inches| {
            Fitting::TeeBranch
                .equivalent(Length::from_inches(inches))
                .feet()
        };
        assert!((feet(0.936_5) - 5.5).abs() < 1e-3);
        assert!((feet(0.311) - 2.0).abs() < 1e-3);
        assert!((feet(8.052) - 44.0).abs() < 1e-2);
    }

    #[test]
    fn the_same_bore_changes_nothing() {
        let bore = Length::from_inches(0.6);
        assert!(change_of_bore(bore, bore) < 1e-15);
    }
}
