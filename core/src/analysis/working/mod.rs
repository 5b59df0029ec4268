//! How the numbers of a plan come about: formula, inputs, what lies between, result, source, as a small tree.
//!
//! Every result is taken from the solution that the panels and tables show; the inputs are those of the network. Worked
//! out when somebody asks.

mod bounds;
mod devices;
mod emitters;
mod line;
mod pipes;
mod rinsing;
mod zone;

use super::readings::place;
use super::{Analysis, ZoneAnalysis};
use crate::finding::Message;
use crate::hydraulics::SupplyCase;
use crate::ids::{Id, Kind};
use crate::model::Plan;
use crate::units::Amount;

/// Which number of an object.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Number {
    /// Pressure lost in a run, a header, a row or a device.
    Loss,
    /// Velocity.
    Velocity,
    /// Pressure at a place.
    Pressure,
    /// Flow of an emission device or a zone.
    Flow,
    /// What is left of a supply's pressure.
    Supply,
    /// Emission uniformity.
    Emission,
    /// Distribution uniformity of the low quarter.
    LowQuarter,
    /// Flow variation.
    Variation,
    /// Statistical uniformity.
    Statistical,
    /// Christiansen's coefficient.
    Christiansen,
    /// Rate on a planted area.
    Rate,
    /// Surge of a closing valve.
    Surge,
    /// Longest run of a line.
    Longest,
    /// Velocity at an end that opens for rinsing.
    Rinse,
    /// How many ends can be rinsed at once.
    AtOnce,
}

/// A value in a working.
#[derive(Clone, PartialEq, Debug)]
pub struct Quantity {
    /// Its sign in the formula.
    pub symbol: String,
    /// What it is: a key of the text table.
    pub name: &'static str,
    /// How much.
    pub amount: Amount,
}

impl Quantity {
    fn new(symbol: impl Into<String>, name: &'static str, amount: Amount) -> Self {
        Self {
            symbol: symbol.into(),
            name,
            amount,
        }
    }
}

/// One step: a formula with its inputs and its result, and the steps that its inputs come from.
#[derive(Clone, PartialEq, Debug)]
pub struct Step {
    /// What is worked out.
    pub what: Message,
    /// The formula, in the usual signs.
    pub formula: &'static str,
    /// What goes in.
    pub inputs: Vec<Quantity>,
    /// What comes out.
    pub result: Quantity,
    /// Between what it lies where the flow is neither laminar nor turbulent for sure.
    pub band: Option<(Amount, Amount)>,
    /// Where the formula comes from: a key of the text table.
    pub source: &'static str,
    /// Steps before it.
    pub from: Vec<Step>,
}

/// The numbers of an object or place and how they come about.
#[derive(Clone, PartialEq, Debug)]
pub struct Working {
    /// Name of the object or place.
    pub of: String,
    /// The zone that runs.
    pub zone: Id,
    /// The supply case.
    pub case: SupplyCase,
    /// The numbers.
    pub numbers: Vec<(Number, Step)>,
}

/// What the steps of a working are taken from.
struct Bench<'a> {
    plan: &'a Plan,
    analysis: &'a Analysis,
    id: Id,
    zone: &'a ZoneAnalysis,
    case: SupplyCase,
}

/// How the numbers of a run, line, bed, device, zone, supply, emitter or port come about; `None` where nothing is worked out
/// for that name. What several zones use is worked for the zone that [`Analysis::busiest`] names, or the one that leaves a
/// port least pressure.
#[must_use]
pub fn working(plan: &Plan, analysis: &Analysis, name: &str, case: SupplyCase) -> Option<Working> {
    let object: Id = name.split('.').next()?.parse().ok()?;
    let is_part = name.contains('.');
    let at = place(analysis, name, case);
    let zone = match object.kind {
        Kind::Zone => object,
        Kind::Pipe if !is_part => analysis.busiest(object, case)?,
        Kind::Supply => zone::of_supply(analysis, object, case)?,
        _ => at.as_ref().map(|place| place.zone)?,
    };
    let bench = Bench {
        plan,
        analysis,
        id: zone,
        zone: analysis.zones.get(&zone)?,
        case,
    };
    let mut numbers = match object.kind {
        Kind::Zone => zone::numbers(&bench),
        Kind::Supply => zone::supply_pressure(&bench).into_iter().collect(),
        Kind::Pipe if !is_part => pipes::run(&bench, object),
        Kind::Device if !is_part => devices::numbers(&bench, object),
        Kind::Bed | Kind::Line if !is_part => {
            let mut numbers = pipes::area(&bench, object);
            numbers.extend(line::of_object(&bench, object));
            numbers
        }
        _ => Vec::new(),
    };
    // A device and a run stand for themselves; of all else the place is told too.
    let tells_place = is_part || matches!(object.kind, Kind::Bed | Kind::Line | Kind::Emission);
    if let Some(place) = at.filter(|_| tells_place) {
        numbers.extend(emitters::numbers(&bench, &place));
    }
    (!numbers.is_empty()).then(|| Working {
        of: name.to_owned(),
        zone,
        case,
        numbers,
    })
}
