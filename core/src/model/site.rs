//! The yard itself: its outline, soil, wind, what was told about it, and the points that rules speak of.

use super::{Extra, Meta, is_default};
use crate::geometry::{PlanPoint, Polygon};
use crate::ids::Id;
use crate::rulebook::SiteKind;
use crate::units::{Angle, DepthRate, Length, Temperature, UnitSystem, Velocity};

/// Facts of the whole site.
#[derive(Clone, PartialEq, Debug, Default, serde::Serialize, serde::Deserialize)]
pub struct Site {
    /// The property line.
    #[serde(rename = "outline_m", default)]
    pub outline: Polygon,
    /// Town or valley, free words.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub place: String,
    /// What sort of site the rules see.
    #[serde(default)]
    pub kind: SiteKind,
    /// Units that people read on this plan.
    #[serde(default)]
    pub units: UnitSystem,
    /// Direction of true north, clockwise from the top of the sheet.
    #[serde(rename = "north_deg", default, skip_serializing_if = "is_default")]
    pub north: Angle,
    /// The soil.
    #[serde(default, skip_serializing_if = "is_default")]
    pub soil: Soil,
    /// Water temperature; 20 °C is assumed when absent.
    #[serde(
        rename = "water_temperature_c",
        default,
        skip_serializing_if = "Option::is_none"
    )]
    pub water_temperature: Option<Temperature>,
    /// Wind at which spray drift is judged; 4.5 m/s is assumed when absent.
    #[serde(
        rename = "design_wind_mps",
        default,
        skip_serializing_if = "Option::is_none"
    )]
    pub design_wind: Option<Velocity>,
    /// When watering is allowed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hours: Option<Hours>,
    /// Somebody looked for wells on and around the site and drew what there is.
    #[serde(default, skip_serializing_if = "is_default")]
    pub wells_surveyed: bool,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub extra: Extra,
}

/// The soil of the site.
#[derive(Clone, PartialEq, Debug, Default, serde::Serialize, serde::Deserialize)]
pub struct Soil {
    /// In words: sandy loam, clay.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub texture: String,
    /// How fast it takes water in.
    #[serde(
        rename = "intake_mm_per_h",
        default,
        skip_serializing_if = "Option::is_none"
    )]
    pub intake: Option<DepthRate>,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub extra: Extra,
}

/// A span of the day, `HH:MM`, over midnight if the end is earlier.
#[derive(Clone, PartialEq, Debug, Default, serde::Serialize, serde::Deserialize)]
pub struct Hours {
    /// First minute.
    pub from: String,
    /// Last minute.
    pub to: String,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub extra: Extra,
}

/// What stands at a point.
#[derive(
    Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, serde::Serialize, serde::Deserialize,
)]
#[serde(rename_all = "snake_case")]
pub enum MarkKind {
    /// A well that a household drinks from.
    DomesticWell,
    /// A well of a public water system.
    PublicWell,
    /// A well nobody drinks from.
    OtherWell,
    /// Where people come in: a gate, a path.
    Entry,
    /// A numbered place for measuring.
    TestPoint,
}

/// A point of the site.
#[derive(Clone, PartialEq, Debug, serde::Serialize, serde::Deserialize)]
pub struct Mark {
    /// What stands there.
    pub kind: MarkKind,
    /// Where.
    #[serde(rename = "at_m")]
    pub at: PlanPoint,
    /// Every condition of the rule's exemption for this well is met, the owner's written consent included.
    #[serde(default, skip_serializing_if = "is_default")]
    pub exemption_met: bool,
    /// Label, state, phase.
    #[serde(flatten)]
    pub meta: Meta,
}

/// A sign on the site.
#[derive(Clone, PartialEq, Debug, serde::Serialize, serde::Deserialize)]
pub struct Sign {
    /// Where.
    #[serde(rename = "at_m")]
    pub at: PlanPoint,
    /// The entry it stands at.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub entry: Option<Id>,
    /// Words on it, one line an entry.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub words: Vec<String>,
    /// Languages of the words, as codes: `en`, `es`.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub languages: Vec<String>,
    /// The do-not-drink symbol is on it.
    #[serde(default)]
    pub symbol: bool,
    /// Its width.
    #[serde(rename = "width_m", default, skip_serializing_if = "Option::is_none")]
    pub width: Option<Length>,
    /// Its height.
    #[serde(rename = "height_m", default, skip_serializing_if = "Option::is_none")]
    pub height: Option<Length>,
    /// Label, state, phase.
    #[serde(flatten)]
    pub meta: Meta,
}

/// A measured level.
#[derive(Clone, PartialEq, Debug, serde::Serialize, serde::Deserialize)]
pub struct SpotHeight {
    /// Where.
    #[serde(rename = "at_m")]
    pub at: PlanPoint,
    /// The level there.
    #[serde(rename = "level_m")]
    pub level: Length,
    /// Label, state, phase.
    #[serde(flatten)]
    pub meta: Meta,
}
