//! What an analysis has to say about a plan: a stable name, how grave it is, which objects, the measured value and the
//! limit, the rule behind it, and one plain sentence.
//!
//! Findings are data: the sentence is written out only when somebody reads it, in that person's units. What would help
//! is not known here; `analysis` adds it.

use sha2::{Digest, Sha256};

use crate::ids::{self, Id};
use crate::text;
use crate::units::{
    Area, DepthRate, Flow, Length, Pressure, Salinity, UnitSystem, Velocity, display,
};

/// How grave a finding is; the gravest sorts first.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Severity {
    /// A rule we hold forbids it, or it cannot work or be built.
    Stop,
    /// It will not work well, or a duty to mark is not met.
    Fix,
    /// A person must decide.
    Check,
    /// To know.
    Note,
}

impl Severity {
    /// Gravest first.
    pub const ALL: [Self; 4] = [Self::Stop, Self::Fix, Self::Check, Self::Note];

    /// The word on screen and paper.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Stop => "Stop",
            Self::Fix => "Fix",
            Self::Check => "Check",
            Self::Note => "Note",
        }
    }

    /// `1 Note`, `6 Fixes`: a number of findings of this severity.
    #[must_use]
    pub fn counted(self, count: usize) -> String {
        let plural = match self {
            _ if count == 1 => "",
            Self::Fix => "es",
            Self::Stop | Self::Check | Self::Note => "s",
        };
        format!("{count} {}{plural}", self.word())
    }
}

/// How we know what a rule or a number says.
#[derive(
    Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, serde::Serialize, serde::Deserialize,
)]
#[serde(rename_all = "snake_case")]
pub enum Basis {
    /// The text itself was read.
    Read,
    /// A summary of the text by somebody else was read.
    Summary,
    /// Recalled, not read.
    Memory,
    /// Computed by a program.
    Computed,
    /// Common practice of the trade; no source.
    CommonPractice,
    /// Our own judgement.
    Judgement,
}

/// The rule or source behind a finding or a verdict.
#[derive(Clone, PartialEq, Debug, serde::Serialize)]
pub struct Citation {
    /// The book or document, by its id.
    pub book: String,
    /// The row in it.
    pub rule: String,
    /// The clause as printed.
    pub clause: String,
    /// Where the text was found.
    pub source: String,
    /// The date of the text, `YYYY-MM-DD` or `YYYY`.
    pub as_of: String,
    /// How we know.
    pub basis: Basis,
    /// True where the row is our reading of a text that does not say so outright.
    pub interpretation: bool,
    /// Whom to ask for a binding answer.
    pub ask: String,
}

/// A value inside a sentence. It keeps its type, so that it can be shown in either family of units.
#[derive(Clone, PartialEq, Debug)]
pub enum Value {
    /// Words that need no translation, such as the name of a crop.
    Text(String),
    /// The text under a key of the text table.
    Key(String),
    /// Object names, listed.
    Ids(Vec<Id>),
    /// A whole number.
    Count(usize),
    /// A share, shown in percent.
    Share(f64),
    /// A plain ratio, one decimal.
    Ratio(f64),
    /// A length, to the nearest step.
    Length(Length),
    /// A measured distance, rounded down.
    Distance(Length),
    /// A bore.
    Bore(Length),
    /// An area.
    Area(Area),
    /// A pressure.
    Pressure(Pressure),
    /// A flow in a pipe.
    Flow(Flow),
    /// The flow of one emitter.
    EmitterFlow(Flow),
    /// A velocity.
    Velocity(Velocity),
    /// A rate of water on soil.
    Rate(DepthRate),
    /// A salinity.
    Salinity(Salinity),
}

impl Value {
    /// As a person reads it.
    #[must_use]
    pub fn shown(&self, units: UnitSystem) -> String {
        match self {
            Self::Text(text) => text.clone(),
            Self::Key(key) => text::get(key).to_owned(),
            Self::Ids(ids) => named(ids),
            Self::Count(count) => count.to_string(),
            Self::Share(share) => display::percent(*share),
            Self::Ratio(ratio) => display::fixed(*ratio, 1),
            Self::Length(length) => units.length(*length),
            Self::Distance(length) => units.distance(*length),
            Self::Bore(length) => units.bore(*length),
            Self::Area(area) => units.area(*area),
            Self::Pressure(pressure) => units.pressure(*pressure),
            Self::Flow(flow) => units.flow(*flow),
            Self::EmitterFlow(flow) => units.emitter_flow(*flow),
            Self::Velocity(velocity) => units.velocity(*velocity),
            Self::Rate(rate) => units.rate(*rate),
            Self::Salinity(salinity) => display::salinity(*salinity),
        }
    }

    /// The number and its SI unit for machines; `None` for words.
    #[must_use]
    pub fn number(&self) -> Option<(f64, &'static str)> {
        match self {
            Self::Text(_) | Self::Key(_) | Self::Ids(_) => None,
            #[expect(
                clippy::cast_precision_loss,
                reason = "counts of plan objects are far below 2^52"
            )]
            Self::Count(count) => Some((*count as f64, "count")),
            Self::Share(share) => Some((*share, "share")),
            Self::Ratio(ratio) => Some((*ratio, "ratio")),
            Self::Length(length) | Self::Distance(length) | Self::Bore(length) => {
                Some((length.metres(), "m"))
            }
            Self::Area(area) => Some((area.square_metres(), "m2")),
            Self::Pressure(pressure) => Some((pressure.kilopascals(), "kpa")),
            Self::Flow(flow) | Self::EmitterFlow(flow) => Some((flow.litres_per_second(), "lps")),
            Self::Velocity(velocity) => Some((velocity.metres_per_second(), "mps")),
            Self::Rate(rate) => Some((rate.millimetres_per_hour(), "mm_per_h")),
            Self::Salinity(salinity) => Some((salinity.decisiemens_per_metre(), "ds_per_m")),
        }
    }
}

/// Names of objects in a sentence: `B1–B9 and B11`.
#[must_use]
pub fn named(ids: &[Id]) -> String {
    listed(ids::ranges(ids.iter().copied()))
}

/// `B1`, `B1 and B2`, `B1, B2 and B3`.
#[must_use]
pub fn listed(items: impl IntoIterator<Item = String>) -> String {
    let mut items: Vec<String> = items.into_iter().collect();
    match items.pop() {
        None => String::new(),
        Some(last) if items.is_empty() => last,
        Some(last) => format!("{} and {last}", items.join(", ")),
    }
}

/// A sentence of the text table with the values for its gaps.
#[derive(Clone, PartialEq, Debug)]
pub struct Message {
    /// Key of the text table.
    pub key: String,
    /// Values by the name of the gap.
    pub values: Vec<(&'static str, Value)>,
}

impl Message {
    /// A message with its values.
    #[must_use]
    pub fn new(key: impl Into<String>, values: Vec<(&'static str, Value)>) -> Self {
        Self {
            key: key.into(),
            values,
        }
    }

    /// The sentence in a person's units. It begins with a capital, also where a crop's name comes first.
    #[must_use]
    pub fn sentence(&self, units: UnitSystem) -> String {
        let values = self.values.iter();
        let filled = text::fill(
            &self.key,
            values.map(|(name, value)| (*name, value.shown(units))),
        );
        let mut rest = filled.chars();
        let first = rest.next().into_iter().flat_map(char::to_uppercase);
        first.chain(rest).collect()
    }
}

/// One thing to say about a plan.
#[derive(Clone, PartialEq, Debug)]
pub struct Finding {
    /// Which check speaks: stable, part of the id.
    pub check: String,
    /// How grave it is.
    pub severity: Severity,
    /// The objects it is about, sorted.
    pub subjects: Vec<Id>,
    /// What was measured.
    pub measured: Option<Value>,
    /// What it was measured against.
    pub limit: Option<Value>,
    /// The rule behind it.
    pub citation: Option<Citation>,
    /// What it says.
    pub message: Message,
}

impl Finding {
    /// A finding without measure or rule; add those by struct update.
    #[must_use]
    pub fn new(
        check: impl Into<String>,
        severity: Severity,
        mut subjects: Vec<Id>,
        message: Message,
    ) -> Self {
        subjects.sort_unstable();
        subjects.dedup();
        Self {
            check: check.into(),
            severity,
            subjects,
            measured: None,
            limit: None,
            citation: None,
            message,
        }
    }

    /// All that it says, on one line in SI, with the rule and its date: what a decision about it was made upon.
    #[must_use]
    pub fn facts(&self) -> String {
        let units = UnitSystem::Metric;
        let mut parts = vec![format!(
            "{}: {}",
            self.severity.word(),
            self.message.sentence(units)
        )];
        let measures = [("measured", &self.measured), ("limit", &self.limit)];
        for (name, value) in measures {
            parts.extend(value.iter().map(|it| format!("{name} {}", it.shown(units))));
        }
        parts.extend(
            self.citation
                .iter()
                .map(|rule| format!("{} {}, as of {}", rule.book, rule.rule, rule.as_of)),
        );
        parts.join("; ")
    }

    /// A name that stays the same as long as the same check speaks about the same objects: a hash of both.
    #[must_use]
    pub fn id(&self) -> String {
        let mut hash = Sha256::new();
        hash.update(self.check.as_bytes());
        for subject in &self.subjects {
            hash.update(b" ");
            hash.update(subject.to_string().as_bytes());
        }
        let digest = hash.finalize();
        digest
            .iter()
            .take(4)
            .map(|byte| format!("{byte:02x}"))
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ids::Kind;

    #[test]
    fn the_id_does_not_depend_on_the_order_of_the_subjects() {
        let (a, b) = (Id::new(Kind::Bed, 1), Id::new(Kind::Pipe, 2));
        let message = Message::new("x", vec![]);
        let one = Finding::new("check", Severity::Fix, vec![a, b], message.clone());
        let other = Finding::new("check", Severity::Fix, vec![b, a, a], message);
        assert_eq!(one.id(), other.id());
        assert_eq!(one.id().len(), 8);
    }
}
