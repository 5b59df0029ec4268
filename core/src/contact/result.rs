//! What the rules say about a plan: one ruling a planting, and the findings that follow.

use crate::finding::{Citation, Finding};
use crate::ids::Id;
use crate::rulebook::{Method, Verdict};
use crate::units::Area;

use super::exposure::Contact;

/// The answer to an [`Input`](super::Input).
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Output {
    /// One ruling a planting, in the order of the input.
    pub rulings: Vec<Ruling>,
    /// What to tell, gravest first.
    pub findings: Vec<Finding>,
}

impl Output {
    /// The strictest verdict of a zone; `None` when nothing is planted there.
    #[must_use]
    pub fn worst_of_zone(&self, zone: Id) -> Option<Verdict> {
        self.rulings
            .iter()
            .filter(|ruling| ruling.zone == Some(zone))
            .map(|ruling| ruling.verdict)
            .max()
    }
}

/// A fact that a person would have to tell.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Fact {
    /// The class of the water, in writing.
    WaterClass,
    /// How the crop is eaten.
    Preparation,
    /// The same, where a promise to cook does not hold.
    SharedCooking,
    /// Whether water from a buried line comes to the surface.
    Surfacing,
    /// How far the jet stays below the fruit.
    JetClearance,
    /// Whether the fruit stays on the ridge.
    OnRidge,
    /// How deep the basin stands.
    FloodDepth,
    /// Whether the hose is held at the base.
    HandAtBase,
}

impl Fact {
    /// The key of the words for people.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::WaterClass => "fact.water_class",
            Self::Preparation => "fact.preparation",
            Self::SharedCooking => "fact.shared_cooking",
            Self::Surfacing => "fact.surfacing",
            Self::JetClearance => "fact.jet_clearance",
            Self::OnRidge => "fact.on_ridge",
            Self::FloodDepth => "fact.flood_depth",
            Self::HandAtBase => "fact.hand_at_base",
        }
    }
}

/// A row that fits a planting, for at least one value of what is not known.
#[derive(Clone, PartialEq, Debug, serde::Serialize)]
pub struct Match {
    /// What the row says about it.
    pub verdict: Verdict,
    /// Key of its sentence.
    pub message: String,
    /// Where it stands.
    pub citation: Citation,
    /// True for the default row of a book, where no row of its own answers.
    pub is_default: bool,
    /// Keys of the conditions it brings.
    pub conditions: Vec<String>,
}

/// What the rules say about one planting.
#[derive(Clone, PartialEq, Debug, serde::Serialize)]
pub struct Ruling {
    /// The bed, lawn or tree.
    pub subject: Id,
    /// Which planting of it.
    pub index: usize,
    /// Id of the crop; `None` for lawn and ornamentals.
    pub crop: Option<String>,
    /// Name of the crop, or the key of its word.
    pub name: String,
    /// The zone.
    pub zone: Option<Id>,
    /// How the water comes.
    pub method: Method,
    /// The contact code; `None` for lawn and ornamentals.
    pub contact: Option<Contact>,
    /// How much of it a spray wets.
    pub overlap: Option<Area>,
    /// The word.
    pub verdict: Verdict,
    /// The row that gives it.
    pub decided_by: Match,
    /// Every other binding row that fits, with its own verdict.
    pub also: Vec<Match>,
    /// Advisory rows that fit; they never change the word.
    pub advisory: Vec<Match>,
    /// Keys of the conditions of an allowing verdict, sorted.
    pub conditions: Vec<String>,
    /// Facts that would settle an *ask*.
    pub missing: Vec<Fact>,
    /// Whom to ask.
    pub ask: String,
    /// The word rests on our own reading or judgement.
    pub cautious_reading: bool,
}
