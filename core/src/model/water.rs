//! The waters of a plan and where each comes in.

use std::collections::BTreeMap;

use super::{Meta, is_default};
use crate::geometry::PlanPoint;
use crate::ids::Id;
use crate::units::{Concentration, Flow, Length, Pressure, Salinity};

/// What sort of water it is. Waters of different kinds share no pipe, port, manifold or box.
#[derive(
    Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, serde::Serialize, serde::Deserialize,
)]
#[serde(rename_all = "snake_case")]
pub enum WaterKind {
    /// Treated, delivered in the purple pipe.
    Reclaimed,
    /// Drinking water.
    Potable,
    /// Rain, well or other water that is not for drinking.
    OtherNonPotable,
}

/// One water. Its class is what the supplier wrote, never guessed from colour or place.
#[derive(Clone, PartialEq, Debug, serde::Serialize, serde::Deserialize)]
pub struct Water {
    /// What sort.
    pub kind: WaterKind,
    /// The class in the words of the rulebook, or `unknown`.
    #[serde(default = "unknown")]
    pub class: String,
    /// The class in the words of other books, by book: a guideline sorts waters its own way.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub class_by_book: BTreeMap<String, String>,
    /// Who said so, and when.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub class_stated_by: String,
    /// Who supplies it.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub supplier: String,
    /// What a laboratory found in it.
    #[serde(default, skip_serializing_if = "is_default")]
    pub report: WaterReport,
    /// Label, state, phase.
    #[serde(flatten)]
    pub meta: Meta,
}

fn unknown() -> String {
    "unknown".to_owned()
}

/// A laboratory report; what was not measured is absent.
#[derive(Clone, PartialEq, Debug, Default, serde::Serialize, serde::Deserialize)]
pub struct WaterReport {
    /// Electrical conductivity.
    #[serde(
        rename = "ec_ds_per_m",
        default,
        skip_serializing_if = "Option::is_none"
    )]
    pub salinity: Option<Salinity>,
    /// Sodium adsorption ratio.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sar: Option<f64>,
    /// Chloride.
    #[serde(
        rename = "chloride_mg_per_l",
        default,
        skip_serializing_if = "Option::is_none"
    )]
    pub chloride: Option<Concentration>,
    /// Boron.
    #[serde(
        rename = "boron_mg_per_l",
        default,
        skip_serializing_if = "Option::is_none"
    )]
    pub boron: Option<Concentration>,
    /// Everything else on the sheet, kept as it came.
    #[serde(flatten)]
    pub extra: super::Extra,
}

/// A point of connection: where a water comes in, and what a test showed there.
#[derive(Clone, PartialEq, Debug, serde::Serialize, serde::Deserialize)]
pub struct Supply {
    /// Which water.
    pub water: Id,
    /// Where.
    #[serde(rename = "at_m")]
    pub at: PlanPoint,
    /// Pressure with nothing running.
    #[serde(rename = "static_kpa")]
    pub at_rest: Pressure,
    /// Pressure while the test flow ran.
    #[serde(rename = "residual_kpa")]
    pub residual: Pressure,
    /// The flow of the test.
    #[serde(rename = "test_flow_lps")]
    pub test_flow: Flow,
    /// Exponent of the loss over flow; 2 unless a second test says otherwise.
    #[serde(default = "square", skip_serializing_if = "is_square")]
    pub loss_exponent: f64,
    /// Lowest pressure at rest that the supplier names.
    #[serde(rename = "low_kpa", default, skip_serializing_if = "Option::is_none")]
    pub low: Option<Pressure>,
    /// Highest pressure at rest that the supplier names.
    #[serde(rename = "high_kpa", default, skip_serializing_if = "Option::is_none")]
    pub high: Option<Pressure>,
    /// The most that may be drawn; judged, it never bends the curve.
    #[serde(rename = "limit_lps", default, skip_serializing_if = "Option::is_none")]
    pub limit: Option<Flow>,
    /// End type of the stub at the kerb, such as `slip 1`.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub joint: String,
    /// Who read the gauge, and when; empty means the figures are assumed.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub read_by: String,
    /// Height of the gauge above the ground, if it matters.
    #[serde(rename = "gauge_height_m", default, skip_serializing_if = "is_default")]
    pub gauge_height: Length,
    /// Label, state, phase.
    #[serde(flatten)]
    pub meta: Meta,
}

const fn square() -> f64 {
    2.0
}

#[expect(
    clippy::float_cmp,
    clippy::trivially_copy_pass_by_ref,
    reason = "only the very default is left out; serde passes references"
)]
fn is_square(exponent: &f64) -> bool {
    *exponent == 2.0
}
