//! The plan as plain data: what the user drew and declared, nothing derived from it.
//!
//! The same structs are the plan file (see `file`): keys carry their unit, and fields that this version does not know
//! are kept in `extra` at every depth and written back. Nothing here computes.

pub mod areas;
pub mod document;
pub mod ends;
pub mod integrity;
pub mod joints;
pub mod network;
pub mod object;
pub mod plan;
pub mod site;
mod uses;
pub mod water;

use std::collections::BTreeMap;
use std::sync::Arc;

pub use areas::{
    Bed, BedUse, Feature, FeatureKind, Fill, HeaderSide, Pattern, Planting, Preparation, Tree,
};
pub use document::{Document, NextId, OptionLayer, Owner, Review, Settlement, Thread};
pub use ends::{End, PortRef};
pub use joints::Joints;
pub use network::{
    Crossing, Device, DeviceKind, Emission, EmissionKind, Line, Outlet, OutletKind, Pipe, PipeRole,
    Placement, ValveBox, Zone,
};
pub use object::{Object, Objects};
pub use plan::{BUILT_IN, EmbeddedBook, Plan, RuleChoice};
pub use site::{Hours, Mark, MarkKind, Premise, Premises, Sign, Site, Soil, SpotHeight};
pub use uses::Uses;
pub use water::{Supply, Water, WaterKind, WaterReport};

/// Objects of one kind, by id. Shared, so that a copy of a plan costs pointers only.
pub type Table<T> = BTreeMap<crate::ids::Id, Arc<T>>;

/// Fields of a newer program, kept as they came.
pub type Extra = BTreeMap<String, serde_json::Value>;

/// What every object has besides its own fields.
#[derive(Clone, PartialEq, Debug, Default, serde::Serialize, serde::Deserialize)]
pub struct Meta {
    /// A free name beside the id.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub label: String,
    /// Whether it is there already.
    #[serde(default, skip_serializing_if = "is_default")]
    pub state: State,
    /// When it is to be built, if the work is split.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub phase: String,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub extra: Extra,
}

/// Whether an object exists.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum State {
    /// To be built.
    #[default]
    Proposed,
    /// There already.
    Existing,
    /// There, and to be taken out.
    ToRemove,
}

/// Whether a field can be left out of the file.
pub(crate) fn is_default<T: Default + PartialEq>(value: &T) -> bool {
    *value == T::default()
}
