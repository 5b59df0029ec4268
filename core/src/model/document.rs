//! Everything in a plan file: the design, its options, and what is kept beside it.

use std::collections::BTreeMap;

use super::{Extra, Objects, Plan};
use crate::geometry::PlanPoint;
use crate::ids::{Id, Kind};

/// A whole plan file.
#[derive(Clone, PartialEq, Debug, Default, serde::Serialize, serde::Deserialize)]
pub struct Document {
    /// The design that options build on.
    #[serde(default)]
    pub design: Plan,
    /// Other ways to do it, as layers over the design.
    #[serde(default)]
    pub options: BTreeMap<String, OptionLayer>,
    /// Earlier states, each object stored once by its hash.
    #[serde(default)]
    pub revisions: Extra,
    /// Remarks of reviewers.
    #[serde(default)]
    pub review: Review,
    /// What was measured and done over the seasons.
    #[serde(default)]
    pub season: Extra,
    /// What belongs to the owner alone: prices, remarks.
    #[serde(default)]
    pub owner: Owner,
    /// The next free number of each kind; only grows.
    #[serde(default)]
    pub next_id: NextId,
    /// Pictures and files by hash.
    #[serde(default)]
    pub assets: BTreeMap<String, serde_json::Value>,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub extra: Extra,
}

impl Document {
    /// The design with an option's layer laid over it; the design itself when no option is named, `None` when there is
    /// no option of that name.
    #[must_use]
    pub fn resolve(&self, option: Option<&str>) -> Option<Plan> {
        let mut plan = self.design.clone();
        if let Some(name) = option {
            let layer = self.options.get(name)?;
            for id in &layer.removes {
                plan.objects.remove(*id);
            }
            for id in layer.adds.ids() {
                plan.objects.put(id, layer.adds.get(id)?);
            }
            for id in layer.replaces.ids() {
                plan.objects.put(id, layer.replaces.get(id)?);
            }
        }
        Some(plan)
    }
}

/// One other way to do it.
#[derive(Clone, PartialEq, Debug, Default, serde::Serialize, serde::Deserialize)]
pub struct OptionLayer {
    /// What people call it.
    #[serde(default)]
    pub label: String,
    /// Objects it adds.
    #[serde(default)]
    pub adds: Objects,
    /// Objects it puts in place of the design's.
    #[serde(default)]
    pub replaces: Objects,
    /// Objects it leaves out.
    #[serde(default)]
    pub removes: Vec<Id>,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub extra: Extra,
}

/// What people wrote beside the design: remarks, and decisions about findings.
#[derive(Clone, PartialEq, Debug, Default, serde::Serialize, serde::Deserialize)]
pub struct Review {
    /// Remarks, each a thread.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub threads: BTreeMap<Id, Thread>,
    /// Findings that somebody has settled, by the finding's id.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub settled: BTreeMap<String, Settlement>,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub extra: Extra,
}

/// One remark, pinned to an object or a place.
#[derive(Clone, PartialEq, Debug, Default, serde::Serialize, serde::Deserialize)]
pub struct Thread {
    /// Who wrote it.
    #[serde(default)]
    pub author: String,
    /// What is wanted: `required`, `recommended`, `question`, `note`.
    #[serde(default)]
    pub kind: String,
    /// Where it stands: `open`, `answered`, `closed`.
    #[serde(default)]
    pub status: String,
    /// The object it is pinned to.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub object: Option<Id>,
    /// The place it is pinned to, and where the object was when it goes.
    #[serde(rename = "at_m", default, skip_serializing_if = "Option::is_none")]
    pub at: Option<PlanPoint>,
    /// What it says.
    #[serde(default)]
    pub text: String,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub extra: Extra,
}

/// A decision about a finding: it stays, and somebody answers for that.
#[derive(Clone, PartialEq, Debug, Default, serde::Serialize, serde::Deserialize)]
pub struct Settlement {
    /// Why it may stay.
    pub reason: String,
    /// Who decided.
    pub name: String,
    /// When, `YYYY-MM-DD`.
    pub on: String,
    /// What shows it: a letter, a file, a conversation.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub evidence: String,
    /// What the finding said then; it stands open again once this changes.
    pub facts: String,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub extra: Extra,
}

/// What belongs to the owner and never to the design.
#[derive(Clone, PartialEq, Debug, Default, serde::Serialize, serde::Deserialize)]
pub struct Owner {
    /// The owner's name.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub name: String,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub extra: Extra,
}

/// The next free number of each kind.
#[derive(Clone, PartialEq, Eq, Debug, Default, serde::Serialize, serde::Deserialize)]
#[serde(transparent)]
pub struct NextId(BTreeMap<String, u32>);

impl NextId {
    /// Takes the next free name of a kind.
    pub fn take(&mut self, kind: Kind) -> Id {
        let next = self.0.entry(kind.letter().to_string()).or_insert(1);
        let id = Id::new(kind, *next);
        *next = next.saturating_add(1);
        id
    }

    /// Makes sure that a name in use is never given again.
    pub fn note(&mut self, id: Id) {
        let next = self.0.entry(id.kind.letter().to_string()).or_insert(1);
        *next = (*next).max(id.number.saturating_add(1));
    }
}
