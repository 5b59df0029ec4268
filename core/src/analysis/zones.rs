//! One zone with its three solutions, and the questions that checks and people ask of it.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::readings::OpenedEnd;
use crate::hydraulics::{EmitterPoint, LinkKind, PlanNetwork, Solution, SupplyCase, velocity_in};
use crate::ids::Id;
use crate::model::{Emission, Plan, PortRef};
use crate::units::{Flow, Length, Pressure, Velocity};
use crate::wetting::{self, Wetted};

/// A zone running alone.
#[derive(Clone, Debug)]
pub struct ZoneAnalysis {
    /// Its valve.
    pub valve: Id,
    /// What lies behind the valve.
    pub members: BTreeSet<Id>,
    /// The network of everything that takes part.
    pub built: PlanNetwork,
    /// Solutions in the order of [`SupplyCase::ALL`].
    pub solutions: [Arc<Solution>; 3],
    /// The end for rinsing that is worst off, opened alone at low supply.
    pub opened: Option<OpenedEnd>,
}

/// One emission device in one case.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct EmitterResult<'a> {
    /// Which.
    pub point: &'a EmitterPoint,
    /// Its junction in the network.
    pub junction: usize,
    /// Pressure at it.
    pub pressure: Pressure,
    /// What it gives.
    pub flow: Flow,
}

impl ZoneAnalysis {
    /// The solution of a case.
    #[must_use]
    pub fn solution(&self, case: SupplyCase) -> &Solution {
        case.of(&self.solutions).as_ref()
    }

    /// Every emission device in a case, in the order of the network.
    pub fn emitters(&self, case: SupplyCase) -> impl Iterator<Item = EmitterResult<'_>> {
        let solution = self.solution(case);
        let outlets = &self.built.network.outlets;
        self.built
            .emitters
            .iter()
            .zip(outlets)
            .zip(&solution.outlet_flows)
            .filter_map(|((point, outlet), flow)| {
                let pressure = *solution.pressures.get(outlet.junction)?;
                Some(EmitterResult {
                    point,
                    junction: outlet.junction,
                    pressure,
                    flow: *flow,
                })
            })
    }

    /// What the zone takes from its supplies.
    #[must_use]
    pub fn flow(&self, case: SupplyCase) -> Flow {
        self.solution(case).source_flows.iter().copied().sum()
    }

    /// The sum of the rated flows of its emission devices.
    #[must_use]
    pub fn rated_flow(&self, plan: &Plan) -> Flow {
        let parts = self
            .built
            .emitters
            .iter()
            .filter_map(|point| plan.catalog.emission(&point.part));
        parts.map(|part| part.flow).sum()
    }

    /// Whether it hangs on a supply; without one every number of it is zero and says nothing.
    #[must_use]
    pub const fn is_fed(&self) -> bool {
        !self.built.supplies.is_empty()
    }

    /// Pressure at a port; `None` where no water comes.
    #[must_use]
    pub fn pressure_at(&self, port: &PortRef, case: SupplyCase) -> Option<Pressure> {
        if !self.is_fed() {
            return None;
        }
        self.solution(case)
            .pressures
            .get(*self.built.ports.get(port)?)
            .copied()
    }

    /// The largest flow in a run, without its sign, and the velocity there.
    #[must_use]
    pub fn fastest(&self, links: &[usize], case: SupplyCase) -> (Flow, Velocity) {
        let solution = self.solution(case);
        let mut fastest = (Flow::ZERO, Velocity::ZERO);
        for link in links {
            let (Some(flow), Some(LinkKind::Pipe(pipe))) = (
                solution.flows.get(*link),
                self.built.network.links.get(*link).map(|link| &link.kind),
            ) else {
                continue;
            };
            let velocity = velocity_in(pipe.bore, *flow);
            if velocity > fastest.1 {
                fastest = (flow.abs(), velocity);
            }
        }
        fastest
    }

    /// Head lost along a run.
    #[must_use]
    pub fn loss(&self, links: &[usize], case: SupplyCase) -> Length {
        let solution = self.solution(case);
        links
            .iter()
            .filter_map(|link| solution.losses.get(*link))
            .map(|loss| loss.abs())
            .sum()
    }

    /// For each junction the link that most of its water came through, and the junction that came from.
    #[must_use]
    pub fn feeding(&self, case: SupplyCase) -> Vec<Option<(usize, usize)>> {
        let solution = self.solution(case);
        let network = &self.built.network;
        let mut best: Vec<Option<(Flow, usize, usize)>> = vec![None; network.junctions.len()];
        for (index, link) in network.links.iter().enumerate() {
            let flow = solution.flows.get(index).copied().unwrap_or_default();
            let (from, into) = if flow < Flow::ZERO {
                (link.to, link.from)
            } else {
                (link.from, link.to)
            };
            if let Some(known) = best.get_mut(into)
                && flow != Flow::ZERO
                && known.is_none_or(|(most, ..)| flow.abs() > most)
            {
                *known = Some((flow.abs(), index, from));
            }
        }
        best.into_iter()
            .map(|found| found.map(|(_, link, from)| (link, from)))
            .collect()
    }

    /// The links that the water of a junction came through, nearest first, following the largest inflow.
    #[must_use]
    pub fn path_to(&self, junction: usize, case: SupplyCase) -> Vec<usize> {
        path_along(&self.feeding(case), junction)
    }
}

/// The links on the way to a junction, nearest first, by what feeds each.
pub(super) fn path_along(feeding: &[Option<(usize, usize)>], junction: usize) -> Vec<usize> {
    let mut path = Vec::new();
    let mut seen = BTreeSet::from([junction]);
    let mut here = junction;
    while let Some((link, from)) = feeding.get(here).copied().flatten() {
        path.push(link);
        if !seen.insert(from) {
            break;
        }
        here = from;
    }
    path
}

/// What one spray wets over the three cases.
#[derive(Clone, PartialEq, Debug)]
pub struct SprayReach {
    /// The zone it belongs to; `None` if it hangs on no zone and its rated pressure is taken.
    pub zone: Option<Id>,
    /// The case of the largest throw.
    pub case: SupplyCase,
    /// The pressure there.
    pub pressure: Pressure,
    /// The largest throw of the three cases: what contact is judged by.
    pub largest: Wetted,
    /// The smallest throw: what coverage is judged by.
    pub smallest: Wetted,
}

/// The reach of a head at its solved pressures.
pub(super) fn spray_reach(
    plan: &Plan,
    id: Id,
    emission: &Emission,
    zones: &BTreeMap<Id, ZoneAnalysis>,
) -> Option<SprayReach> {
    let part = plan.catalog.emission(&emission.part)?;
    let wind = plan.site.design_wind.unwrap_or(wetting::ASSUMED_WIND);
    let zone = zones.iter().find(|(_, zone)| zone.members.contains(&id));
    let pressures: Vec<(SupplyCase, Pressure)> = match zone {
        Some((_, zone)) => SupplyCase::ALL
            .into_iter()
            .filter_map(|case| {
                let found = zone
                    .emitters(case)
                    .find(|emitter| emitter.point.owner == id)?;
                Some((case, found.pressure))
            })
            .collect(),
        None => vec![(SupplyCase::Normal, part.at)],
    };
    let mut reaches: Vec<(SupplyCase, Pressure, Wetted)> = pressures
        .into_iter()
        .filter_map(|(case, pressure)| {
            Some((
                case,
                pressure,
                wetting::wetted(emission, part, pressure, wind)?,
            ))
        })
        .collect();
    reaches.sort_by(|a, b| a.2.throw.total_cmp(&b.2.throw));
    let smallest = reaches.first()?.2.clone();
    let (case, pressure, largest) = reaches.pop()?;
    Some(SprayReach {
        zone: zone.map(|(id, _)| *id),
        case,
        pressure,
        largest,
        smallest,
    })
}
