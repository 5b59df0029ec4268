//! One catalog row of each sort.

use std::collections::BTreeMap;

use super::{Joint, Profile};
use crate::finding::Basis;
use crate::units::{Angle, Flow, Length, Pressure};

type Extra = BTreeMap<String, serde_json::Value>;

/// A pipe or tubing.
#[derive(Clone, PartialEq, Debug, serde::Serialize, serde::Deserialize)]
pub struct PipePart {
    /// As people call it.
    pub name: String,
    /// Rows of one family differ in size only.
    pub family: String,
    /// Outside diameter.
    #[serde(rename = "outside_m")]
    pub outside: Length,
    /// Minimum wall.
    #[serde(rename = "wall_m")]
    pub wall: Length,
    /// Absolute roughness; 0.0015 mm for drawn and plastic tube.
    #[serde(rename = "roughness_m")]
    pub roughness: Length,
    /// Pressure rating at 23 °C.
    #[serde(
        rename = "rating_kpa",
        default,
        skip_serializing_if = "Option::is_none"
    )]
    pub rating: Option<Pressure>,
    /// Price of a metre, relative to 3/4 in PVC Sch 40 in the program's rows (invented, not a quote); in any one
    /// currency where a plan's own rows say it.
    #[serde(
        rename = "relative_price_per_m",
        default,
        skip_serializing_if = "Option::is_none"
    )]
    pub price: Option<f64>,
    /// Its ends.
    pub joint: Joint,
    /// Where the figures are from.
    pub source: String,
    /// How we know.
    pub basis: Basis,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub extra: Extra,
}

impl PipePart {
    /// The bore that friction is computed with: outside less twice the minimum wall.
    #[must_use]
    pub fn bore(&self) -> Length {
        self.outside - self.wall * 2.0
    }
}

/// What sort of emission device a row describes.
#[derive(
    Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, serde::Serialize, serde::Deserialize,
)]
#[serde(rename_all = "snake_case")]
pub enum EmissionPartKind {
    /// Tubing with emitters in it.
    EmitterLine,
    /// A single emitter.
    Emitter,
    /// A bubbler.
    Bubbler,
    /// A micro-spray.
    MicroSpray,
    /// A spray head.
    Spray,
    /// A rotor.
    Rotor,
}

/// How flow follows pressure.
#[derive(
    Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, serde::Serialize, serde::Deserialize,
)]
#[serde(rename_all = "snake_case")]
pub enum EmissionLaw {
    /// q = flow · (p / at)^exponent.
    Power,
    /// Constant from the minimum up.
    Compensating,
    /// Through the points of the row's curve.
    Points,
}

/// A point of an emitter's curve.
#[derive(Clone, PartialEq, Debug, serde::Serialize, serde::Deserialize)]
pub struct FlowPoint {
    /// Pressure at the emitter.
    #[serde(rename = "kpa")]
    pub pressure: Pressure,
    /// What it gives.
    #[serde(rename = "lps")]
    pub flow: Flow,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub extra: Extra,
}

/// A point of a device's loss curve.
#[derive(Clone, PartialEq, Debug, serde::Serialize, serde::Deserialize)]
pub struct LossPoint {
    /// Flow through the device.
    #[serde(rename = "lps")]
    pub flow: Flow,
    /// What is lost.
    #[serde(rename = "kpa")]
    pub loss: Pressure,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub extra: Extra,
}

/// A point of the throw curve.
#[derive(Clone, PartialEq, Debug, serde::Serialize, serde::Deserialize)]
pub struct ThrowPoint {
    /// Pressure at the nozzle.
    #[serde(rename = "kpa")]
    pub pressure: Pressure,
    /// Radius of throw in still air.
    #[serde(rename = "m")]
    pub radius: Length,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub extra: Extra,
}

/// Something that gives water.
#[derive(Clone, PartialEq, Debug, serde::Serialize, serde::Deserialize)]
pub struct EmissionPart {
    /// As people call it.
    pub name: String,
    /// What sort.
    pub kind: EmissionPartKind,
    /// How flow follows pressure.
    pub law: EmissionLaw,
    /// Rated flow of one emitter or head.
    #[serde(rename = "flow_lps")]
    pub flow: Flow,
    /// The pressure of the rated flow.
    #[serde(rename = "at_kpa")]
    pub at: Pressure,
    /// Exponent of the power law.
    #[serde(default = "orifice", skip_serializing_if = "is_orifice")]
    pub exponent: f64,
    /// Least pressure it works at.
    #[serde(rename = "minimum_kpa")]
    pub minimum: Pressure,
    /// Most pressure it stands.
    #[serde(rename = "maximum_kpa")]
    pub maximum: Pressure,
    /// Outside of the tubing, for emitter lines.
    #[serde(rename = "outside_m", default, skip_serializing_if = "Option::is_none")]
    pub outside: Option<Length>,
    /// Bore of the tubing, for emitter lines.
    #[serde(rename = "bore_m", default, skip_serializing_if = "Option::is_none")]
    pub bore: Option<Length>,
    /// Ends of the tubing, for emitter lines.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub joint: Option<Joint>,
    /// Length of plain tubing that loses as much as the body of one emitter, for emitter lines.
    #[serde(
        rename = "obstruction_m",
        default,
        skip_serializing_if = "Option::is_none"
    )]
    pub obstruction: Option<Length>,
    /// Flow over pressure as measured, rising; for the law of points.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub points: Vec<FlowPoint>,
    /// Distance between the emitters, for emitter lines.
    #[serde(rename = "spacing_m", default, skip_serializing_if = "Option::is_none")]
    pub spacing: Option<Length>,
    /// Throw over pressure, rising; for sprays.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub throw: Vec<ThrowPoint>,
    /// How the water is spread along the throw, for sprays; absent means assumed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub profile: Option<Profile>,
    /// Rows of one family water at one rate, whatever their arc.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub family: Option<String>,
    /// The arc that the rated flow is for; a full circle unless told.
    #[serde(rename = "arc_deg", default, skip_serializing_if = "Option::is_none")]
    pub arc: Option<Angle>,
    /// Highest point of the spray above the nozzle; absent means unknown.
    #[serde(rename = "apex_m", default, skip_serializing_if = "Option::is_none")]
    pub apex: Option<Length>,
    /// Coefficient of manufacturing variation.
    #[serde(default)]
    pub variation: f64,
    /// Where the figures are from.
    pub source: String,
    /// How we know.
    pub basis: Basis,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub extra: Extra,
}

const fn orifice() -> f64 {
    0.5
}

#[expect(
    clippy::float_cmp,
    clippy::trivially_copy_pass_by_ref,
    reason = "only the very default is left out; serde passes references"
)]
fn is_orifice(exponent: &f64) -> bool {
    *exponent == 0.5
}

/// A device that water flows through.
#[derive(Clone, PartialEq, Debug, serde::Serialize, serde::Deserialize)]
pub struct DevicePart {
    /// As people call it.
    pub name: String,
    /// The word of the device kind.
    pub kind: String,
    /// Its upstream end.
    pub inlet: Joint,
    /// Its downstream end.
    pub outlet: Joint,
    /// Pressure it takes before anything flows.
    #[serde(
        rename = "opening_kpa",
        default,
        skip_serializing_if = "crate::catalog::parts::is_zero"
    )]
    pub opening: Pressure,
    /// Factor of the square of the flow, kPa per (L/s)².
    #[serde(rename = "loss_kpa_per_lps2")]
    pub loss: f64,
    /// What dirt adds to that factor before the device is cleaned, kPa per (L/s)².
    #[serde(
        rename = "dirt_kpa_per_lps2",
        default,
        skip_serializing_if = "Option::is_none"
    )]
    pub dirt: Option<f64>,
    /// Loss over flow as measured, in place of opening and factor. A device that opens at a pressure has a point at
    /// zero flow.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub points: Vec<LossPoint>,
    /// How far a regulator's outlet falls below its set pressure with the flow, kPa per L/s.
    #[serde(
        rename = "fall_off_kpa_per_lps",
        default,
        skip_serializing_if = "Option::is_none"
    )]
    pub fall_off: Option<f64>,
    /// Lets nothing back.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub one_way: bool,
    /// Set pressure of a regulator.
    #[serde(rename = "set_kpa", default, skip_serializing_if = "Option::is_none")]
    pub set: Option<Pressure>,
    /// Least flow it works at.
    #[serde(
        rename = "minimum_lps",
        default,
        skip_serializing_if = "Option::is_none"
    )]
    pub minimum: Option<Flow>,
    /// Most flow it is made for.
    #[serde(
        rename = "maximum_lps",
        default,
        skip_serializing_if = "Option::is_none"
    )]
    pub maximum: Option<Flow>,
    /// Pressure rating.
    #[serde(
        rename = "rating_kpa",
        default,
        skip_serializing_if = "Option::is_none"
    )]
    pub rating: Option<Pressure>,
    /// Where the figures are from.
    pub source: String,
    /// How we know.
    pub basis: Basis,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub extra: Extra,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde passes references")]
fn is_zero(pressure: &Pressure) -> bool {
    *pressure == Pressure::ZERO
}

/// A part with two unlike ends.
#[derive(Clone, PartialEq, Debug, serde::Serialize, serde::Deserialize)]
pub struct Adapter {
    /// As people call it.
    pub name: String,
    /// Its two ends.
    pub ends: [Joint; 2],
    /// Where the row is from.
    pub source: String,
    /// How we know.
    pub basis: Basis,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub extra: Extra,
}

impl Adapter {
    /// Whether it joins the two ends.
    #[must_use]
    pub fn fits(&self, a: &Joint, b: &Joint) -> bool {
        let [one, other] = &self.ends;
        (one.mates(a) && other.mates(b)) || (one.mates(b) && other.mates(a))
    }
}
