//! Everything water flows through: devices, pipe runs, emitter lines, single emission devices, outlets.

use std::collections::BTreeMap;

use super::{End, Meta, is_default};
use crate::geometry::{PlanPoint, Polyline};
use crate::ids::Id;
use crate::rulebook::BackflowDevice;
use crate::units::{Angle, Length, Pressure};

/// What a device does. The words are those of the file.
#[derive(
    Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, serde::Serialize, serde::Deserialize,
)]
#[serde(rename_all = "snake_case")]
pub enum DeviceKind {
    /// Shuts by hand.
    IsolationValve,
    /// Counts what flows.
    Meter,
    /// Reduced-pressure backflow assembly.
    BackflowReducedPressure,
    /// Double-check backflow assembly.
    BackflowDoubleCheck,
    /// Dual check.
    BackflowDualCheck,
    /// Pressure vacuum breaker: may stay under pressure.
    BackflowPressureVacuumBreaker,
    /// Atmospheric vacuum breaker: nothing behind it may shut.
    BackflowAtmosphericVacuumBreaker,
    /// An open gap that keeps two waters apart.
    AirGap,
    /// Opens the whole system.
    MasterValve,
    /// Opens one zone.
    ZoneValve,
    /// Holds back particles.
    Filter,
    /// Holds the pressure behind it at a set value.
    PressureRegulator,
    /// Lets water through one way only.
    CheckValve,
    /// Lets air in and out at a high point; nothing hangs behind it.
    AirRelief,
    /// Joins several devices.
    Manifold,
}

impl DeviceKind {
    /// What it is against backflow; `None` for everything else.
    #[must_use]
    pub const fn against_backflow(self) -> Option<BackflowDevice> {
        Some(match self {
            Self::AirGap => BackflowDevice::AirGap,
            Self::BackflowReducedPressure => BackflowDevice::ReducedPressure,
            Self::BackflowDoubleCheck => BackflowDevice::DoubleCheck,
            Self::BackflowDualCheck => BackflowDevice::DualCheck,
            Self::BackflowPressureVacuumBreaker | Self::BackflowAtmosphericVacuumBreaker => {
                BackflowDevice::VacuumBreaker
            }
            _ => return None,
        })
    }
}

/// A device with an inlet port `in` and an outlet port `out`.
#[derive(Clone, PartialEq, Debug, serde::Serialize, serde::Deserialize)]
pub struct Device {
    /// What it does.
    pub kind: DeviceKind,
    /// Row of the device catalog.
    pub part: String,
    /// Which water flows through it.
    pub water: Id,
    /// Where it stands.
    #[serde(rename = "at_m")]
    pub at: PlanPoint,
    /// What its inlet is screwed to directly; a pipe that ends in the inlet names it from its own side.
    #[serde(default, skip_serializing_if = "is_default")]
    pub inlet: End,
    /// Another set pressure than the catalog row's, for a regulator.
    #[serde(rename = "set_kpa", default, skip_serializing_if = "Option::is_none")]
    pub set: Option<Pressure>,
    /// A hand valve that is closed.
    #[serde(default, skip_serializing_if = "is_default")]
    pub closed: bool,
    /// How high it stands above the ground; asked of vacuum breakers.
    #[serde(rename = "height_m", default, skip_serializing_if = "Option::is_none")]
    pub height: Option<Length>,
    /// Purple, or with a purple tag.
    #[serde(default, skip_serializing_if = "is_default")]
    pub purple: bool,
    /// Label, state, phase.
    #[serde(flatten)]
    pub meta: Meta,
}

/// What a pipe run is for: it decides the line on paper and the checks.
#[derive(
    Clone,
    Copy,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Debug,
    Default,
    serde::Serialize,
    serde::Deserialize,
)]
#[serde(rename_all = "snake_case")]
pub enum PipeRole {
    /// From the kerb to the first device.
    Service,
    /// Always under pressure.
    Main,
    /// Behind a zone valve.
    #[default]
    Lateral,
}

/// A run of pipe from one end to the other, with taps along it for other runs.
#[derive(Clone, PartialEq, Debug, serde::Serialize, serde::Deserialize)]
pub struct Pipe {
    /// What it is for.
    #[serde(default)]
    pub role: PipeRole,
    /// Row of the pipe catalog.
    pub part: String,
    /// Which water flows in it.
    pub water: Id,
    /// The bends, ends included.
    #[serde(rename = "vertices_m")]
    pub vertices: Polyline,
    /// Joint of the first vertex.
    #[serde(default)]
    pub start: End,
    /// Joint of the last vertex.
    #[serde(default)]
    pub end: End,
    /// Where other runs and devices tap it: port name → distance from the start.
    #[serde(rename = "taps_m", default, skip_serializing_if = "BTreeMap::is_empty")]
    pub taps: BTreeMap<String, Length>,
    /// Depth of cover; absent means not told.
    #[serde(rename = "depth_m", default, skip_serializing_if = "Option::is_none")]
    pub depth: Option<Length>,
    /// Purple pipe, or purple tape or wrap along it.
    #[serde(default, skip_serializing_if = "is_default")]
    pub purple: bool,
    /// A utility's main, not a private yard line.
    #[serde(default, skip_serializing_if = "is_default")]
    pub utility_main: bool,
    /// Label, state, phase.
    #[serde(flatten)]
    pub meta: Meta,
}

impl Pipe {
    /// The same run drawn the other way: from its end to its start, its taps where they were.
    #[must_use]
    pub fn turned(&self) -> Self {
        let length = self.vertices.length();
        let mut turned = self.clone();
        turned.vertices.0.reverse();
        std::mem::swap(&mut turned.start, &mut turned.end);
        for tap in turned.taps.values_mut() {
            *tap = length - *tap;
        }
        turned
    }
}

/// How an emitter line lies.
#[derive(
    Clone,
    Copy,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Debug,
    Default,
    serde::Serialize,
    serde::Deserialize,
)]
#[serde(rename_all = "snake_case")]
pub enum Placement {
    /// On bare soil.
    #[default]
    OnSoil,
    /// On soil, mulch above it.
    UnderMulch,
    /// In the soil.
    Buried,
}

/// An emitter line drawn by hand, with ports `start` and `end`.
#[derive(Clone, PartialEq, Debug, serde::Serialize, serde::Deserialize)]
pub struct Line {
    /// Row of the emission catalog.
    pub part: String,
    /// Which water.
    pub water: Id,
    /// The bends, ends included.
    #[serde(rename = "vertices_m")]
    pub vertices: Polyline,
    /// Joint of the first vertex.
    #[serde(default)]
    pub start: End,
    /// Joint of the last vertex.
    #[serde(default)]
    pub end: End,
    /// How it lies.
    #[serde(default)]
    pub placement: Placement,
    /// The planted areas it waters; several where it snakes through more than one.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub serves: Vec<Id>,
    /// Purple, or striped, or tagged purple.
    #[serde(default, skip_serializing_if = "is_default")]
    pub purple: bool,
    /// Label, state, phase.
    #[serde(flatten)]
    pub meta: Meta,
}

/// A device that gives water at one place.
#[derive(
    Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, serde::Serialize, serde::Deserialize,
)]
#[serde(rename_all = "snake_case")]
pub enum EmissionKind {
    /// Drops at one point.
    Emitter,
    /// Floods a basin.
    Bubbler,
    /// A small jet near the ground.
    MicroSpray,
    /// A fixed spray head.
    Spray,
    /// A turning head.
    Rotor,
}

impl EmissionKind {
    /// Whether it throws water through the air.
    #[must_use]
    pub const fn sprays(self) -> bool {
        matches!(self, Self::MicroSpray | Self::Spray | Self::Rotor)
    }
}

/// A single emission device.
#[derive(Clone, PartialEq, Debug, serde::Serialize, serde::Deserialize)]
pub struct Emission {
    /// What sort.
    pub kind: EmissionKind,
    /// Row of the emission catalog.
    pub part: String,
    /// Which water.
    pub water: Id,
    /// Where.
    #[serde(rename = "at_m")]
    pub at: PlanPoint,
    /// What feeds it.
    #[serde(default, skip_serializing_if = "is_default")]
    pub inlet: End,
    /// Direction in which the wetted sector begins, anticlockwise from +x.
    #[serde(rename = "arc_from_deg", default, skip_serializing_if = "is_default")]
    pub arc_from: Angle,
    /// How wide the sector is; a full circle unless told.
    #[serde(
        rename = "arc_sweep_deg",
        default = "full_circle",
        skip_serializing_if = "is_full_circle"
    )]
    pub arc_sweep: Angle,
    /// Another radius than the catalog's, as set on the head, at its rated pressure.
    #[serde(rename = "radius_m", default, skip_serializing_if = "Option::is_none")]
    pub radius: Option<Length>,
    /// A spray whose nozzle keeps the jet low and the drops large, as its maker says.
    #[serde(default, skip_serializing_if = "is_default")]
    pub low_trajectory: bool,
    /// The planted areas and plants it is there for.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub serves: Vec<Id>,
    /// Label, state, phase.
    #[serde(flatten)]
    pub meta: Meta,
}

const fn full_circle() -> Angle {
    Angle::from_degrees(360.0)
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde passes references")]
fn is_full_circle(sweep: &Angle) -> bool {
    *sweep == full_circle()
}

/// What a person can do at an outlet.
#[derive(
    Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, serde::Serialize, serde::Deserialize,
)]
#[serde(rename_all = "snake_case")]
pub enum OutletKind {
    /// A tap for a hose.
    HoseBibb,
    /// A coupling for a key.
    QuickCoupler,
    /// A place to wash hands and produce.
    HandWash,
    /// A drinking fountain.
    DrinkingFountain,
}

impl OutletKind {
    /// Whether people drink or wash their hands there: no spray may reach it.
    #[must_use]
    pub const fn is_wash_place(self) -> bool {
        matches!(self, Self::DrinkingFountain | Self::HandWash)
    }
}

/// An outlet that a person opens.
#[derive(Clone, PartialEq, Debug, serde::Serialize, serde::Deserialize)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is a separate question on the reviewer's list"
)]
pub struct Outlet {
    /// What sort.
    pub kind: OutletKind,
    /// Which water.
    pub water: Id,
    /// Where.
    #[serde(rename = "at_m")]
    pub at: PlanPoint,
    /// What feeds it.
    #[serde(default, skip_serializing_if = "is_default")]
    pub inlet: End,
    /// Behind a lock.
    #[serde(default)]
    pub locked: bool,
    /// Worked only by a special tool.
    #[serde(default)]
    pub special_tool: bool,
    /// Takes a standard hose.
    #[serde(default)]
    pub hose_thread: bool,
    /// In a box of its own.
    #[serde(default)]
    pub in_box: bool,
    /// Above the ground.
    #[serde(default)]
    pub above_ground: bool,
    /// Purple.
    #[serde(default)]
    pub purple: bool,
    /// Words on it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub words: Vec<String>,
    /// Languages of the words, as codes: `en`, `es`.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub languages: Vec<String>,
    /// The do-not-drink symbol is on it.
    #[serde(default)]
    pub symbol: bool,
    /// Label, state, phase.
    #[serde(flatten)]
    pub meta: Meta,
}

/// What one valve opens. Its members follow from the pipes behind the valve.
#[derive(Clone, PartialEq, Debug, serde::Serialize, serde::Deserialize)]
pub struct Zone {
    /// The zone valve.
    pub valve: Id,
    /// Label, state, phase.
    #[serde(flatten)]
    pub meta: Meta,
}

/// A box in the ground with devices of one water.
#[derive(Clone, PartialEq, Debug, serde::Serialize, serde::Deserialize)]
pub struct ValveBox {
    /// Which water.
    pub water: Id,
    /// Where.
    #[serde(rename = "at_m")]
    pub at: PlanPoint,
    /// What is in it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub contents: Vec<Id>,
    /// Its lid is locked.
    #[serde(default, skip_serializing_if = "is_default")]
    pub locked: bool,
    /// Its lid is purple.
    #[serde(default, skip_serializing_if = "is_default")]
    pub purple: bool,
    /// Label, state, phase.
    #[serde(flatten)]
    pub meta: Meta,
}

/// A place where two pipes cross without joining, marked on the plan with its detail.
#[derive(Clone, PartialEq, Debug, serde::Serialize, serde::Deserialize)]
pub struct Crossing {
    /// The upper pipe.
    pub over: Id,
    /// The lower pipe.
    pub under: Id,
    /// Where.
    #[serde(rename = "at_m")]
    pub at: PlanPoint,
    /// Clear height between them; absent means not told.
    #[serde(
        rename = "vertical_gap_m",
        default,
        skip_serializing_if = "Option::is_none"
    )]
    pub vertical_gap: Option<Length>,
    /// The lower pipe runs in a sleeve here.
    #[serde(default, skip_serializing_if = "is_default")]
    pub sleeved: bool,
    /// Label, state, phase.
    #[serde(flatten)]
    pub meta: Meta,
}
