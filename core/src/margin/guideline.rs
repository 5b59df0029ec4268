//! Guidelines that credit measures with powers of ten. One calculation uses one of them: their credits do not mix.

use std::sync::LazyLock;

use crate::catalog::crops::Position;
use crate::finding::Basis;

/// A measure that a guideline may credit.
#[derive(
    Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, serde::Serialize, serde::Deserialize,
)]
#[serde(rename_all = "snake_case")]
pub enum Measure {
    /// Emitter lines, on the soil or under mulch.
    Drip,
    /// Buried emitter lines.
    Subsurface,
    /// Sprays whose drift is held down.
    DriftControl,
    /// Distance between sprays and people.
    Buffer,
    /// Days between the last watering and eating.
    DieOff,
    /// Washing with drinking water.
    Washing,
    /// Disinfecting the produce.
    Disinfecting,
    /// Peeling.
    Peeling,
    /// Cooking.
    Cooking,
}

impl Measure {
    /// Every measure.
    pub const ALL: [Self; 9] = [
        Self::Drip,
        Self::Subsurface,
        Self::DriftControl,
        Self::Buffer,
        Self::DieOff,
        Self::Washing,
        Self::Disinfecting,
        Self::Peeling,
        Self::Cooking,
    ];

    /// The key of the words for people.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Drip => "margin.drip",
            Self::Subsurface => "margin.subsurface",
            Self::DriftControl => "margin.drift_control",
            Self::Buffer => "margin.buffer",
            Self::DieOff => "margin.die_off",
            Self::Washing => "margin.washing",
            Self::Disinfecting => "margin.disinfecting",
            Self::Peeling => "margin.peeling",
            Self::Cooking => "margin.cooking",
        }
    }
}

/// The log-credit table of one guideline.
#[derive(Clone, PartialEq, Debug, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Guideline {
    /// Stable name.
    pub id: String,
    /// Title for people.
    pub title: String,
    /// When it was looked up, `YYYY-MM-DD`.
    pub as_of: String,
    /// What it asks for in all, by where the eaten part sits.
    #[serde(rename = "target")]
    pub targets: Vec<Target>,
    /// What it credits.
    #[serde(rename = "credit")]
    pub credits: Vec<Credit>,
}

/// What is asked for in all.
#[derive(Clone, PartialEq, Debug, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Target {
    /// Where the eaten part sits.
    pub positions: Vec<Position>,
    /// Powers of ten.
    pub log: f64,
    /// Where it stands.
    pub clause: String,
    /// How it is known.
    pub basis: Basis,
    /// From where.
    pub source: String,
}

/// What one measure is credited with.
#[derive(Clone, PartialEq, Debug, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Credit {
    /// The measure.
    pub measure: Measure,
    /// Where the eaten part must sit; empty where it does not matter.
    #[serde(default)]
    pub positions: Vec<Position>,
    /// Least and greatest powers of ten, per day for die-off.
    pub log: [f64; 2],
    /// Where it stands.
    pub clause: String,
    /// How it is known.
    pub basis: Basis,
    /// From where.
    pub source: String,
}

impl Guideline {
    /// What a measure is credited with for a crop.
    #[must_use]
    pub fn credit(&self, measure: Measure, position: Position) -> Option<&Credit> {
        let of_measure = self.credits.iter().filter(|row| row.measure == measure);
        let mut fitting =
            of_measure.filter(|row| row.positions.is_empty() || row.positions.contains(&position));
        fitting.next()
    }

    /// What is asked for in all.
    #[must_use]
    pub fn target(&self, position: Position) -> Option<&Target> {
        let mut targets = self.targets.iter();
        targets.find(|target| target.positions.contains(&position))
    }
}

const TEXTS: [&str; 2] = [
    include_str!("../../data/margin/who-2006.toml"),
    include_str!("../../data/margin/au-2006.toml"),
];

static GUIDELINES: LazyLock<Vec<Guideline>> = LazyLock::new(|| {
    // One that does not parse is left out, which a test reports.
    let read = TEXTS.iter().map(|text| toml::from_str(text));
    read.filter_map(Result::ok).collect()
});

/// The guidelines that come with the program.
#[must_use]
pub fn guidelines() -> &'static [Guideline] {
    &GUIDELINES
}

/// One of them.
#[must_use]
pub fn guideline(id: &str) -> Option<&'static Guideline> {
    guidelines().iter().find(|guideline| guideline.id == id)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::text;

    #[test]
    fn the_tables_are_read_and_every_crop_has_a_target() {
        assert_eq!(guidelines().len(), TEXTS.len());
        for guideline in guidelines() {
            for position in Position::ALL {
                assert!(guideline.target(position).is_some(), "{}", guideline.id);
            }
            for credit in &guideline.credits {
                assert!(credit.log[0] <= credit.log[1] && credit.log[0] > 0.0);
            }
        }
        assert!(Measure::ALL.iter().all(|measure| text::has(measure.key())));
    }
}
