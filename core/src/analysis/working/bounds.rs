//! What a place gets if the flow on its way is laminar or turbulent where nobody knows which: the zone solved twice more.

use super::Bench;
use crate::analysis::readings::Place;
use crate::hydraulics::{FactorReading, FrictionLaw, LinkKind, Regime, factor_reading, solve};
use crate::units::{Flow, Pressure};

/// The least and the most of a pressure and of a flow.
pub(super) struct Bounds {
    pub(super) pressure: (Pressure, Pressure),
    /// Of the emission device there; zero at a port.
    pub(super) flow: (Flow, Flow),
}

/// The bounds of a place; `None` where no stretch on its way is uncertain, or a bound was not found.
pub(super) fn of(bench: &Bench<'_>, place: &Place) -> Option<Bounds> {
    if !is_uncertain(bench, place) {
        return None;
    }
    let solution = bench.zone.solution(bench.case);
    let outlet = bench
        .zone
        .built
        .emitters
        .iter()
        .position(|point| point.name() == place.name);
    let flow = |flows: &[Flow]| outlet.and_then(|index| flows.get(index)).copied();
    let used = *solution.pressures.get(place.junction)?;
    let given = flow(&solution.outlet_flows).unwrap_or_default();
    let mut bounds = Bounds {
        pressure: (used, used),
        flow: (given, given),
    };
    for regime in [Regime::Laminar, Regime::Turbulent] {
        let mut network = bench.zone.built.in_case(bench.plan, bench.case);
        network.law = FrictionLaw::Held(regime);
        let held = solve(&network);
        if !held.convergence.converged {
            return None;
        }
        let pressure = *held.pressures.get(place.junction)?;
        bounds.pressure.0 = bounds.pressure.0.min(pressure);
        bounds.pressure.1 = bounds.pressure.1.max(pressure);
        let given = flow(&held.outlet_flows).unwrap_or_default();
        bounds.flow.0 = bounds.flow.0.min(given);
        bounds.flow.1 = bounds.flow.1.max(given);
    }
    Some(bounds)
}

/// Whether a stretch that the water of the place came through is neither surely laminar nor surely turbulent.
fn is_uncertain(bench: &Bench<'_>, place: &Place) -> bool {
    let network = &bench.zone.built.network;
    let flows = &bench.zone.solution(bench.case).flows;
    let path = bench.zone.path_to(place.junction, bench.case);
    path.into_iter().any(|index| {
        let (Some(link), Some(flow)) = (network.links.get(index), flows.get(index)) else {
            return false;
        };
        let LinkKind::Pipe(pipe) = &link.kind else {
            return false;
        };
        factor_reading(pipe, network.water, network.law, flow.abs())
            .is_some_and(|read: FactorReading| read.is_uncertain())
    })
}
