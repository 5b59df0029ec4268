//! A rulebook and its rows as they stand in TOML, and as JSON inside a plan.

use super::condition::{UNKNOWN_CLASS, When};
use super::kinds::{
    BackflowDevice, Confidence, ContactTest, Layer, Limit, MarkedPart, OutletTrait, Place,
    Prepared, Relief, SignPlace, SiteKind, Verdict,
};
use crate::finding::{Basis, Citation};

/// The rules of one jurisdiction, supplier or guideline.
#[derive(Clone, PartialEq, Debug, serde::Serialize, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Rulebook {
    /// Stable name.
    pub id: String,
    /// Title for people.
    pub title: String,
    /// Where it holds.
    pub jurisdiction: String,
    /// Who wrote it.
    pub layer: Layer,
    /// Binding books give the verdict; the others advise beside it.
    pub binding: bool,
    /// When its texts were last read, `YYYY-MM-DD`.
    pub as_of: String,
    /// Whom to ask for a binding answer, in words that fit after "ask".
    pub ask: String,
    /// Which question it asks about contact.
    pub contact_test: ContactTest,
    /// True for a book that only adds rows to other books and is silent where none of them fits.
    #[serde(default)]
    pub overlay: bool,
    /// True for a book whose rows judge a class nobody has told; in every other book all classes are tried.
    #[serde(default)]
    pub judges_unknown: bool,
    /// The classes of water it knows.
    #[serde(rename = "water_class", default)]
    pub water_classes: Vec<WaterClass>,
    /// What its rows were taken from.
    #[serde(rename = "source", default)]
    pub sources: Vec<Source>,
    /// Crop × method × class × site.
    #[serde(rename = "rule", default)]
    pub rules: Vec<Rule>,
    /// Setbacks and separations.
    #[serde(rename = "distance", default)]
    pub distances: Vec<DistanceRule>,
    /// Hose outlets.
    #[serde(rename = "outlet", default)]
    pub outlets: Vec<OutletRule>,
    /// Signs.
    #[serde(rename = "sign", default)]
    pub signs: Vec<SignRule>,
    /// What the drinking-water service needs.
    #[serde(default)]
    pub backflow: Vec<BackflowRule>,
    /// Purple parts.
    #[serde(default)]
    pub marking: Vec<MarkingRule>,
    /// Cells that the default row may answer.
    #[serde(default)]
    pub uncovered: Vec<Uncovered>,
    /// Changes of the text that were known when it was read.
    #[serde(rename = "change", default, skip_serializing_if = "Vec::is_empty")]
    pub changes: Vec<KnownChange>,
}

/// A change of the text that was announced when it was read.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub struct KnownChange {
    /// The day it comes into force, `YYYY-MM-DD`.
    pub from: String,
    /// What it is.
    pub what: String,
}

/// A class of water.
#[derive(Clone, PartialEq, Debug, serde::Serialize, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WaterClass {
    /// Stable name in plans.
    pub id: String,
    /// Name for people.
    pub label: String,
}

/// A text that rows were taken from.
#[derive(Clone, PartialEq, Debug, serde::Serialize, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Source {
    /// Short name that rows use.
    pub key: String,
    /// What it is.
    pub what: String,
    /// Where it was found.
    pub address: String,
}

/// Where a row comes from and how far it can be trusted.
#[derive(Clone, PartialEq, Debug, serde::Serialize, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Origin {
    /// The clause as printed.
    pub clause: String,
    /// Key of a source of the book.
    pub source: String,
    /// Date of the text, `YYYY-MM-DD`, `YYYY-MM` or `YYYY`.
    pub as_of: String,
    /// How it is known.
    pub basis: Basis,
    /// How sure we are.
    pub confidence: Confidence,
    /// True where the text does not say so outright and the row is our reading.
    #[serde(default)]
    pub interpretation: bool,
    /// Key of the sentence.
    pub message: String,
}

/// A verdict for some cases.
#[derive(Clone, PartialEq, Debug, serde::Serialize, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Rule {
    /// Unique in the book.
    pub id: String,
    /// What it says.
    pub verdict: Verdict,
    /// Where it comes from.
    pub origin: Origin,
    /// When it applies.
    #[serde(default)]
    pub when: When,
    /// Keys of the conditions that come with an allowing verdict.
    #[serde(default)]
    pub conditions: Vec<String>,
    /// Preparations that, once declared, turn `if_processed` into `conditions`.
    #[serde(default)]
    pub processed_by: Vec<Prepared>,
}

impl Rule {
    /// What the row may say after its trust is weighed: only a text that was read may give a plain allowance.
    #[must_use]
    pub fn verdict_for(&self, prepared: Option<Prepared>) -> Verdict {
        let declared = prepared.is_some_and(|done| self.processed_by.contains(&done));
        match self.verdict {
            Verdict::IfProcessed if declared => Verdict::Conditions,
            Verdict::NoConflict if self.origin.is_weak() => Verdict::Conditions,
            verdict => verdict,
        }
    }
}

impl Origin {
    /// Not read, not even in a summary, or read into the text by us.
    #[must_use]
    pub const fn is_weak(&self) -> bool {
        self.interpretation || !self.is_read()
    }

    /// The text or a summary of it was read.
    #[must_use]
    pub const fn is_read(&self) -> bool {
        matches!(self.basis, Basis::Read | Basis::Summary)
    }

    /// The condition that a weak row adds to an allowance.
    #[must_use]
    pub const fn caution(&self) -> Option<&'static str> {
        if matches!(self.basis, Basis::Memory) {
            Some("condition.confirm_memory")
        } else if self.is_weak() {
            Some("condition.confirm_reading")
        } else {
            None
        }
    }
}

/// A least distance between two kinds of place, or a place that must not be entered (a least distance of zero).
#[derive(Clone, PartialEq, Debug, serde::Serialize, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DistanceRule {
    /// Unique in the book.
    pub id: String,
    /// Where it comes from.
    pub origin: Origin,
    /// Classes and sites it holds for.
    #[serde(default)]
    pub when: When,
    /// Where it starts.
    pub from: Vec<Place>,
    /// Where it ends.
    pub to: Vec<Place>,
    /// Other ends that the text does not bind, but where a person should ask when they are nearer.
    #[serde(default)]
    pub ask_to: Vec<Place>,
    /// The least distance.
    pub minimum: Limit,
    /// How far the drinking water must lie above.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub above: Option<Limit>,
    /// `above` is asked only where the horizontal distance is under this.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub above_within: Option<Limit>,
    /// Either pipe may be the upper one: `above` is the clear height between them.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub either_way: bool,
    /// True for pipes that cross: only `above` counts.
    #[serde(default)]
    pub crossing: bool,
    /// What its unmet state is: `stop`, or `check` where a person must decide.
    #[serde(default)]
    pub severity: PlaceSeverity,
    /// What releases from it.
    #[serde(default)]
    pub relieved_by: Vec<Relief>,
}

/// How grave an unmet row is.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PlaceSeverity {
    /// The rule forbids it.
    #[default]
    Stop,
    /// A person must decide.
    Check,
}

/// What a reclaimed-water outlet must be.
#[derive(Clone, PartialEq, Debug, serde::Serialize, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OutletRule {
    /// Unique in the book.
    pub id: String,
    /// Where it comes from.
    pub origin: Origin,
    /// Classes and sites it holds for.
    #[serde(default)]
    pub when: When,
    /// True where only outlets above the ground are meant.
    #[serde(default)]
    pub only_above_ground: bool,
    /// The ways to meet it: all traits of at least one list.
    pub any_of: Vec<Vec<OutletTrait>>,
    /// What a label on it must say.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub label: Option<Label>,
    /// How grave.
    #[serde(default)]
    pub severity: PlaceSeverity,
}

/// Words, languages and symbol of a sign or label.
#[derive(Clone, PartialEq, Debug, Default, serde::Serialize, serde::Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Label {
    /// Wordings that must stand on it; where a list has several, any one of them.
    pub words: Vec<Vec<String>>,
    /// Languages, as codes.
    pub languages: Vec<String>,
    /// The do-not-drink symbol.
    pub symbol: bool,
}

/// A sign that must stand somewhere.
#[derive(Clone, PartialEq, Debug, serde::Serialize, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SignRule {
    /// Unique in the book.
    pub id: String,
    /// Where it comes from.
    pub origin: Origin,
    /// Classes and sites it holds for.
    #[serde(default)]
    pub when: When,
    /// Where.
    pub place: SignPlace,
    /// No sign need stand there, but one that does says this.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub only_if_present: bool,
    /// What it says.
    pub label: Label,
    /// Least width.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub width: Option<Limit>,
    /// Least height.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub height: Option<Limit>,
}

/// What must protect the drinking-water service.
#[derive(Clone, PartialEq, Debug, serde::Serialize, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BackflowRule {
    /// Unique in the book.
    pub id: String,
    /// Where it comes from.
    pub origin: Origin,
    /// Classes and sites it holds for.
    #[serde(default)]
    pub when: When,
    /// Any one of these.
    pub devices: Vec<BackflowDevice>,
    /// How grave.
    #[serde(default)]
    pub severity: PlaceSeverity,
}

/// Which parts must be purple.
#[derive(Clone, PartialEq, Debug, serde::Serialize, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MarkingRule {
    /// Unique in the book.
    pub id: String,
    /// Where it comes from.
    pub origin: Origin,
    /// Classes and sites it holds for.
    #[serde(default)]
    pub when: When,
    /// Parts it names.
    pub parts: Vec<MarkedPart>,
    /// Parts it does not name, which are asked about rather than thought free.
    #[serde(default)]
    pub ask_about: Vec<MarkedPart>,
}

/// Cells where the text we hold is silent and the default row answers *ask*.
#[derive(Clone, PartialEq, Debug, serde::Serialize, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Uncovered {
    /// Unique in the book.
    pub id: String,
    /// Where the silence was found.
    pub origin: Origin,
    /// Which cells.
    pub when: When,
}

impl Rulebook {
    /// Whether the book knows a class.
    #[must_use]
    pub fn knows_class(&self, class: &str) -> bool {
        self.water_classes.iter().any(|known| known.id == class)
    }

    /// The classes to try for what a plan says: the class itself, or every class when the book does not know it.
    #[must_use]
    pub fn classes_for<'a>(&'a self, class: &'a str) -> Vec<&'a str> {
        if self.knows_class(class) || self.water_classes.is_empty() {
            vec![class]
        } else if self.judges_unknown {
            vec![UNKNOWN_CLASS]
        } else {
            self.water_classes
                .iter()
                .map(|known| known.id.as_str())
                .collect()
        }
    }

    /// The full citation of a row.
    #[must_use]
    pub fn cite(&self, row: &str, origin: &Origin) -> Citation {
        let source = self
            .sources
            .iter()
            .find(|source| source.key == origin.source)
            .map_or_else(
                || origin.source.clone(),
                |source| format!("{} ({})", source.what, source.address),
            );
        Citation {
            book: self.id.clone(),
            rule: row.to_owned(),
            clause: origin.clause.clone(),
            source,
            as_of: origin.as_of.clone(),
            basis: origin.basis,
            interpretation: origin.interpretation,
            ask: self.ask.clone(),
        }
    }

    /// Id and origin of every row, in order.
    pub fn origins(&self) -> impl Iterator<Item = (&str, &Origin)> {
        let rules = self.rules.iter().map(|row| (&row.id, &row.origin));
        let distances = self.distances.iter().map(|row| (&row.id, &row.origin));
        let outlets = self.outlets.iter().map(|row| (&row.id, &row.origin));
        let signs = self.signs.iter().map(|row| (&row.id, &row.origin));
        let backflow = self.backflow.iter().map(|row| (&row.id, &row.origin));
        let marking = self.marking.iter().map(|row| (&row.id, &row.origin));
        let uncovered = self.uncovered.iter().map(|row| (&row.id, &row.origin));
        rules
            .chain(distances)
            .chain(outlets)
            .chain(signs)
            .chain(backflow)
            .chain(marking)
            .chain(uncovered)
            .map(|(id, origin)| (id.as_str(), origin))
    }

    /// The place conditions of every row but the crop rules.
    pub(super) fn place_conditions(&self) -> impl Iterator<Item = (&str, &When)> {
        let distances = self.distances.iter().map(|row| (&row.id, &row.when));
        let outlets = self.outlets.iter().map(|row| (&row.id, &row.when));
        let signs = self.signs.iter().map(|row| (&row.id, &row.when));
        let backflow = self.backflow.iter().map(|row| (&row.id, &row.when));
        let marking = self.marking.iter().map(|row| (&row.id, &row.when));
        distances
            .chain(outlets)
            .chain(signs)
            .chain(backflow)
            .chain(marking)
            .map(|(id, when)| (id.as_str(), when))
    }
}

/// A least distance that some book in force asks for, so that the caller can measure how long a run lies under it.
#[must_use]
pub fn limits(books: &[&Rulebook], site: SiteKind, from: Place, to: Place) -> Vec<Limit> {
    let mut limits: Vec<Limit> = books
        .iter()
        .flat_map(|book| &book.distances)
        .filter(|row| row.when.sites.is_empty() || row.when.sites.contains(&site))
        .filter(|row| {
            row.from.contains(&from) && (row.to.contains(&to) || row.ask_to.contains(&to))
        })
        .map(|row| row.minimum)
        .collect();
    limits.sort_by(|a, b| a.length().total_cmp(&b.length()));
    limits.dedup();
    limits
}
