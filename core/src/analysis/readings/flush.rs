//! How fast water runs out of ends that open for rinsing.

use crate::analysis::ZoneAnalysis;
use crate::hydraulics::{
    LinkKind, Network, OutletLaw, PlanNetwork, Solution, SupplyCase, flow_through, solve,
    velocity_in,
};
use crate::ids::Id;
use crate::model::{End, Plan, PortRef};
use crate::units::{Flow, Length, Pressure, Velocity};

/// Water carries grit out of a line from this velocity at its end: 1 ft/s. *Source*: read, micromaintain.ucanr.edu,
/// flushing; tested velocities in the literature are 0.23 to 0.61 m/s (read: Puig-Bargués and others).
pub(in crate::analysis) const ENOUGH_TO_FLUSH: Velocity = Velocity::from_feet_per_second(1.0);

/// An end that opens for rinsing.
#[derive(Clone, PartialEq, Debug)]
pub struct FlushEnd {
    /// The run, line or bed.
    pub owner: Id,
    /// Its name; rows of a bed are numbered.
    pub name: String,
    /// Bore there.
    pub bore: Length,
    /// The flow of 1 ft/s there.
    pub needs: Flow,
    junction: usize,
}

/// One end opened while the zone runs, at low supply.
#[derive(Clone, PartialEq, Debug)]
pub struct OpenedEnd {
    /// Which: the one with the least pressure while all are shut.
    pub end: FlushEnd,
    /// Velocity there.
    pub velocity: Velocity,
    /// What the water has left there: all of it becomes velocity.
    pub pressure: Pressure,
}

impl OpenedEnd {
    /// Reads an end off the solution of the network of [`opened`]; `None` where that was not found.
    pub(in crate::analysis) fn read(end: FlushEnd, solution: &Solution) -> Option<Self> {
        let flow = *solution.outlet_flows.last()?;
        let pressure = *solution.pressures.get(end.junction)?;
        let velocity = velocity_in(end.bore, flow);
        solution.convergence.converged.then_some(Self {
            end,
            velocity,
            pressure,
        })
    }
}

/// The ends of a zone.
#[derive(Clone, PartialEq, Debug)]
pub struct FlushReading {
    /// All of them, worst off first.
    pub ends: Vec<FlushEnd>,
    /// The worst one, opened alone.
    pub worst: OpenedEnd,
    /// How many, from the worst on, run at 1 ft/s or more when opened together.
    pub at_once: usize,
    /// The least velocity over those; absent where not even one runs that fast.
    pub together: Option<Velocity>,
    /// The least velocity with one more open; absent where all are, or where no solution was found.
    pub beyond: Option<Velocity>,
}

/// The ends of a zone that open, the one with the least pressure first.
fn ends(plan: &Plan, zone: &ZoneAnalysis) -> Vec<FlushEnd> {
    let built = &zone.built;
    let objects = &plan.objects;
    let mut found = Vec::new();
    let mut add = |owner: Id, name: String, junction: usize, bore: Length| {
        found.push(FlushEnd {
            owner,
            name,
            bore,
            needs: flow_through(bore, ENOUGH_TO_FLUSH),
            junction,
        });
    };
    for (id, links) in &built.pipes {
        let (Some(pipe), Some(bore)) = (objects.pipes.get(id), bore_at(built, links.last())) else {
            continue;
        };
        for (end, port) in [(&pipe.start, "start"), (&pipe.end, "end")] {
            let junction = built.ports.get(&PortRef::new(*id, port));
            if let (End::Flush, Some(junction)) = (end, junction) {
                add(*id, id.to_string(), *junction, bore);
            }
        }
    }
    for ((id, row), links) in &built.rows {
        let Some(bore) = bore_at(built, links.last()) else {
            continue;
        };
        if let Some(line) = objects.lines.get(id) {
            for (end, port) in [(&line.start, "start"), (&line.end, "end")] {
                let junction = built.ports.get(&PortRef::new(*id, port));
                if let (End::Flush, Some(junction)) = (end, junction) {
                    add(*id, id.to_string(), *junction, bore);
                }
            }
        } else if objects
            .beds
            .get(id)
            .and_then(|bed| bed.fill.as_ref())
            .is_some_and(|fill| fill.flush_ends)
            && let Some(last) = links.last().and_then(|link| built.network.links.get(*link))
        {
            add(*id, format!("{id}.{row}"), last.to, bore);
        }
    }
    let pressures = &zone.solution(SupplyCase::Low).pressures;
    let pressure = |end: &FlushEnd| pressures.get(end.junction).copied().unwrap_or_default();
    found.sort_by(|a, b| {
        pressure(a)
            .total_cmp(&pressure(b))
            .then(a.name.cmp(&b.name))
    });
    found
}

fn bore_at(built: &PlanNetwork, link: Option<&usize>) -> Option<Length> {
    match &built.network.links.get(*link?)?.kind {
        LinkKind::Pipe(pipe) => Some(pipe.bore),
        _ => None,
    }
}

/// The network at low supply with some ends open to the air: what leaves has its velocity head left, V²/2g.
fn with_open(plan: &Plan, zone: &ZoneAnalysis, open: &[FlushEnd]) -> Network {
    let mut network = zone.built.in_case(plan, SupplyCase::Low);
    for end in open {
        let one = Length::from_metres(1.0);
        let free = (2.0 * crate::units::GRAVITY_MPS2 * one.metres()).sqrt();
        let law = OutletLaw::Power {
            flow: flow_through(end.bore, Velocity::from_metres_per_second(free)),
            at: network.water.pressure_of(one),
            exponent: 0.5,
        };
        network.add_outlet(end.junction, law);
    }
    network
}

/// The least velocity over ends opened together.
fn slowest(plan: &Plan, zone: &ZoneAnalysis, open: &[FlushEnd]) -> Option<Velocity> {
    let solution = solve(&with_open(plan, zone, open));
    if !solution.convergence.converged {
        return None;
    }
    let first = solution.outlet_flows.len() - open.len();
    open.iter()
        .zip(&solution.outlet_flows[first..])
        .map(|(end, flow)| velocity_in(end.bore, *flow))
        .min_by(Velocity::total_cmp)
}

/// The end that is worst off, and the network in which it is open.
pub(in crate::analysis) fn opened(plan: &Plan, zone: &ZoneAnalysis) -> Option<(FlushEnd, Network)> {
    let end = ends(plan, zone).into_iter().next()?;
    let network = with_open(plan, zone, std::slice::from_ref(&end));
    Some((end, network))
}

pub(in crate::analysis) fn of(plan: &Plan, zone: &ZoneAnalysis) -> Option<FlushReading> {
    let ends = ends(plan, zone);
    let first = ends.first()?;
    let alone = solve(&with_open(plan, zone, std::slice::from_ref(first)));
    let worst = OpenedEnd::read(first.clone(), &alone)?;
    // The more are open, the slower each: the last number that runs is found by halving.
    let (mut good, mut bad) = ((0, None), (ends.len() + 1, None));
    while good.0 + 1 < bad.0 {
        let tried = good.0.midpoint(bad.0);
        let velocity = ends.get(..tried).and_then(|open| slowest(plan, zone, open));
        if velocity.is_some_and(|velocity| velocity >= ENOUGH_TO_FLUSH) {
            good = (tried, velocity);
        } else {
            bad = (tried, velocity);
        }
    }
    Some(FlushReading {
        worst,
        ends,
        at_once: good.0,
        together: good.1,
        beyond: bad.1,
    })
}
