//! What can be read off a solved zone: who eats the pressure, how even it is, rates, longest runs, flushing, surge.
//!
//! Worked out when somebody asks; findings that need one of these figures ask for that one alone.

mod even;
mod flush;
mod path;
mod spread;
mod surge;
mod way;

use std::collections::BTreeMap;

pub use even::EvenReading;
pub use flush::{FlushEnd, FlushReading, OpenedEnd};
pub use path::{Eater, LossShare, LossShares};
pub use spread::{FlowSpread, Heap, flow_spreads};
pub use surge::{SURGE_CLOSING_S, SurgeReading};
pub use way::{Place, Way, WayPoint, place, places, way};

pub(super) use even::of as even_at;
pub(super) use flush::{ENOUGH_TO_FLUSH, of as flush_at, opened};
pub(super) use surge::{at_rest, surges};

use super::{Analysis, ZoneAnalysis};
use crate::agronomy::application_rate;
use crate::catalog::EmissionPartKind;
use crate::hydraulics::{EvenLine, LinkState, SupplyCase};
use crate::ids::Id;
use crate::layout::bed_outline;
use crate::model::{Bed, DeviceKind, Plan};
use crate::units::{DepthRate, Flow, Length, Pressure};

/// The flow variation that longest runs are told for: the end of the desirable band (Wu & Gitlin, from memory).
pub const RUN_VARIATION: f64 = 0.10;

/// Everything that is read off one zone. Lists over cases are in the order of [`SupplyCase::ALL`].
#[derive(Clone, PartialEq, Debug)]
pub struct ZoneReadings {
    /// Shares of the pressure on the way to the outlet that is worst off at low supply.
    pub shares: Option<LossShares>,
    /// How even the outlets are.
    pub even: [Option<EvenReading>; 3],
    /// Water on each planted area, by id.
    pub rates: Vec<(Id, [DepthRate; 3])>,
    /// Longest level run of each product.
    pub longest: Vec<LongestRun>,
    /// Ends that open for rinsing.
    pub flush: Option<FlushReading>,
    /// Surge in each run before the valve.
    pub surges: Vec<SurgeReading>,
    /// Regulators.
    pub regulators: Vec<RegulatorReading>,
    /// Flow against what the supply may give.
    pub supply: Option<SupplyReading>,
}

/// The longest level run of a product at the lowest pressure that one of its lines gets here.
#[derive(Clone, PartialEq, Debug)]
pub struct LongestRun {
    /// Row of the emission catalog.
    pub part: String,
    /// Pressure at the inlet.
    pub inlet: Pressure,
    /// Emitters within [`RUN_VARIATION`].
    pub num: usize,
    /// Length from the inlet to the last of them.
    pub length: Length,
    /// Emitters by the closed form; absent where it does not hold.
    pub closed_form: Option<f64>,
}

/// What a regulator does in each case.
#[derive(Clone, PartialEq, Debug)]
pub struct RegulatorReading {
    /// Which.
    pub id: Id,
    /// Flow through it.
    pub flow: [Flow; 3],
    /// Pressure at its outlet.
    pub outlet: [Pressure; 3],
    /// How it works.
    pub state: [RegulatorState; 3],
}

/// How a regulator works.
#[derive(Clone, Copy, PartialEq, Eq, Debug, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum RegulatorState {
    /// Holds its set pressure.
    Holding,
    /// Its inlet has too little: wide open.
    WideOpen,
    /// Less flow than it works with: it may not hold the pressure down.
    TooLittleFlow,
    /// More flow than it is made for.
    TooMuchFlow,
}

/// Flow against supply.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct SupplyReading {
    /// The supply.
    pub id: Id,
    /// The larger of rated and solved flow.
    pub asked: Flow,
    /// What it may give, where a limit is named.
    pub limit: Option<Flow>,
    /// What is left of its pressure while the zone runs.
    pub pressure: [Pressure; 3],
}

/// Reads everything off a zone; `None` where there is no such zone.
#[must_use]
pub fn readings(plan: &Plan, analysis: &Analysis, zone: Id) -> Option<ZoneReadings> {
    let shares = path::to_the_worst(plan, analysis, zone, SupplyCase::Low);
    let zone = analysis.zones.get(&zone)?;
    Some(ZoneReadings {
        shares,
        even: SupplyCase::ALL.map(|case| even::of(plan, zone, case)),
        rates: rates(plan, zone),
        longest: longest(plan, zone),
        flush: flush::of(plan, zone),
        surges: surges(plan, zone),
        regulators: regulators(plan, zone),
        supply: supply(plan, zone),
    })
}

/// Rate on each planted area that the zone waters: what its devices give over its area. A device that serves several
/// areas gives each its part by their size.
pub(super) fn rates(plan: &Plan, zone: &ZoneAnalysis) -> Vec<(Id, [DepthRate; 3])> {
    let objects = &plan.objects;
    let area = |bed: &Bed| bed_outline(bed).area();
    let mut flows: BTreeMap<Id, [Flow; 3]> = BTreeMap::new();
    for (i, case) in SupplyCase::ALL.into_iter().enumerate() {
        for emitter in zone.emitters(case) {
            let owner = emitter.point.owner;
            let own = [owner];
            let serves: &[Id] = if let Some(line) = objects.lines.get(&owner) {
                &line.serves
            } else if let Some(emission) = objects.emissions.get(&owner) {
                &emission.serves
            } else {
                &own
            };
            let beds: Vec<(Id, f64)> = serves
                .iter()
                .filter_map(|id| Some((*id, area(objects.beds.get(id)?).square_metres())))
                .collect();
            let total: f64 = beds.iter().map(|(_, size)| size).sum();
            for (bed, size) in beds {
                if total > 0.0 {
                    flows.entry(bed).or_default()[i] += emitter.flow * (size / total);
                }
            }
        }
    }
    flows
        .into_iter()
        .filter_map(|(id, flows)| {
            let area = area(objects.beds.get(&id)?);
            Some((id, flows.map(|flow| application_rate(flow, area))))
        })
        .collect()
}

fn longest(plan: &Plan, zone: &ZoneAnalysis) -> Vec<LongestRun> {
    even_lines(plan, zone)
        .into_iter()
        .filter_map(|(key, inlet, line)| {
            let found = line.longest(inlet, RUN_VARIATION)?;
            Some(LongestRun {
                part: key.to_owned(),
                inlet,
                num: found.num,
                length: found.length,
                closed_form: line.longest_by_closed_form(inlet, RUN_VARIATION),
            })
        })
        .collect()
}

/// The line products of a zone, each with the lowest pressure that one of its lines gets at low supply.
pub(super) fn even_lines<'a>(
    plan: &Plan,
    zone: &'a ZoneAnalysis,
) -> Vec<(&'a str, Pressure, EvenLine)> {
    let network = &zone.built.network;
    let pressures = &zone.solution(SupplyCase::Low).pressures;
    let mut inlets: BTreeMap<&str, (Pressure, usize)> = BTreeMap::new();
    let first_outlets: BTreeMap<(Id, usize), usize> = zone
        .built
        .emitters
        .iter()
        .enumerate()
        .filter(|(_, point)| point.number == 1)
        .map(|(i, point)| ((point.owner, point.row), i))
        .collect();
    for (key, links) in &zone.built.rows {
        let found = first_outlets.get(key).and_then(|outlet| {
            let part = zone.built.emitters.get(*outlet)?.part.as_str();
            let from = network.links.get(*links.first()?)?.from;
            Some((part, *pressures.get(from)?, *outlet))
        });
        let Some((part, inlet, outlet)) = found else {
            continue;
        };
        let lowest = inlets.entry(part).or_insert((inlet, outlet));
        if inlet < lowest.0 {
            *lowest = (inlet, outlet);
        }
    }
    inlets
        .into_iter()
        .filter_map(|(key, (inlet, outlet))| {
            let part = plan
                .catalog
                .emission(key)
                .filter(|part| part.kind == EmissionPartKind::EmitterLine)?;
            let line = EvenLine {
                bore: part.bore?,
                roughness: crate::hydraulics::from_plan::SMOOTH_TUBE,
                spacing: part.spacing?,
                obstruction: part.obstruction.unwrap_or(Length::ZERO),
                law: network.outlets.get(outlet)?.law.clone(),
                water: network.water,
                friction: network.law,
            };
            Some((key, inlet, line))
        })
        .collect()
}

fn regulators(plan: &Plan, zone: &ZoneAnalysis) -> Vec<RegulatorReading> {
    let found = zone.built.devices.iter().filter_map(|(id, link)| {
        let device = plan
            .objects
            .devices
            .get(id)
            .filter(|device| device.kind == DeviceKind::PressureRegulator)?;
        let part = plan.catalog.device(&device.part)?;
        let behind = zone.built.fall_offs.get(id).unwrap_or(link);
        let to = zone.built.network.links.get(*behind)?.to;
        let read = SupplyCase::ALL.map(|case| {
            let solution = zone.solution(case);
            let flow = solution.flows.get(*link).copied().unwrap_or_default();
            let outlet = solution.pressures.get(to).copied().unwrap_or_default();
            let state = match solution.states.get(*link) {
                _ if part.minimum.is_some_and(|least| flow < least) => {
                    RegulatorState::TooLittleFlow
                }
                _ if part.maximum.is_some_and(|most| flow > most) => RegulatorState::TooMuchFlow,
                Some(LinkState::Regulating) => RegulatorState::Holding,
                _ => RegulatorState::WideOpen,
            };
            (flow, outlet, state)
        });
        Some(RegulatorReading {
            id: *id,
            flow: read.map(|row| row.0),
            outlet: read.map(|row| row.1),
            state: read.map(|row| row.2),
        })
    });
    found.collect()
}

fn supply(plan: &Plan, zone: &ZoneAnalysis) -> Option<SupplyReading> {
    let id = *zone.built.supplies.first()?;
    let junction = zone.built.network.sources.first()?.junction;
    let flows = SupplyCase::ALL.map(|case| zone.flow(case));
    Some(SupplyReading {
        id,
        asked: flows.into_iter().fold(zone.rated_flow(plan), Flow::max),
        limit: plan.objects.supplies.get(&id)?.limit,
        pressure: SupplyCase::ALL.map(|case| {
            let pressures = &zone.solution(case).pressures;
            pressures.get(junction).copied().unwrap_or_default()
        }),
    })
}
