//! The row of each zone in tables: flow, pressures at valve and emitters, how even the emitters are.

use crate::analysis::{Analysis, ZoneAnalysis};
use crate::hydraulics::SupplyCase;
use crate::hydraulics::uniformity::Uniformity;
use crate::ids::Id;
use crate::model::{Plan, PortRef};
use crate::units::{Flow, Pressure};

/// A value in the three supply cases.
pub type Cases<T> = [T; 3];

/// What a table says about one zone.
#[derive(Clone, PartialEq, Debug)]
pub struct ZoneSummary {
    /// The zone.
    pub id: Id,
    /// Its label.
    pub label: String,
    /// Whether it hangs on a supply; without one it has no pressures.
    pub is_fed: bool,
    /// Flow it takes.
    pub flow: Cases<Flow>,
    /// Sum of the rated flows.
    pub rated: Flow,
    /// Pressure behind the valve.
    pub at_valve: Cases<Option<Pressure>>,
    /// Highest pressure at an emission device: its first one, as a rule.
    pub first: Cases<Option<Pressure>>,
    /// Lowest pressure at an emission device: its last one, as a rule.
    pub last: Cases<Option<Pressure>>,
    /// Number of emission devices.
    pub num_emitters: usize,
    /// Low-quarter distribution uniformity of the emitter flows, each over its rated flow; hydraulic only.
    pub uniformity: Cases<Option<f64>>,
}

/// The summary of every zone, by id.
#[must_use]
pub fn zone_summaries(plan: &Plan, analysis: &Analysis) -> Vec<ZoneSummary> {
    let label = |id: &Id| {
        plan.objects
            .zones
            .get(id)
            .map(|zone| zone.meta.label.clone())
            .unwrap_or_default()
    };
    analysis
        .zones
        .iter()
        .map(|(id, zone)| summary(plan, *id, label(id), zone))
        .collect()
}

fn summary(plan: &Plan, id: Id, label: String, zone: &ZoneAnalysis) -> ZoneSummary {
    let valve = PortRef::new(zone.valve, "out");
    let extreme = |case: SupplyCase, pick: fn(Pressure, Pressure) -> Pressure| {
        zone.emitters(case)
            .filter(|_| zone.is_fed())
            .map(|emitter| emitter.pressure)
            .reduce(pick)
    };
    // Devices of different ratings share a zone: what counts is how far each is from its own rating.
    let even = |case: SupplyCase| {
        let shares: Option<Vec<Flow>> = zone
            .emitters(case)
            .map(|emitter| {
                let rated = plan.catalog.emission(&emitter.point.part)?.flow;
                Some(Flow::from_litres_per_second(emitter.flow / rated))
            })
            .collect();
        Uniformity::of(&shares?).map(|even| even.low_quarter)
    };
    ZoneSummary {
        id,
        label,
        is_fed: zone.is_fed(),
        flow: SupplyCase::ALL.map(|case| zone.flow(case)),
        rated: zone.rated_flow(plan),
        at_valve: SupplyCase::ALL.map(|case| zone.pressure_at(&valve, case)),
        first: SupplyCase::ALL.map(|case| extreme(case, Pressure::max)),
        last: SupplyCase::ALL.map(|case| extreme(case, Pressure::min)),
        num_emitters: zone.built.emitters.len(),
        uniformity: SupplyCase::ALL.map(even),
    }
}
