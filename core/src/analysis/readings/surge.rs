//! Pressure at rest, and what a closing zone valve adds in the runs before it.

use std::collections::VecDeque;

use crate::analysis::ZoneAnalysis;
use crate::hydraulics::{
    LinkKind, SupplyCase, closing_surge, sudden_surge, supply_curve, wave_speed,
};
use crate::ids::Id;
use crate::model::Plan;
use crate::units::{Length, Pressure, Velocity};

/// How long an electric valve takes to close: a second (common practice, no source).
pub const SURGE_CLOSING_S: f64 = 1.0;

/// Surge in one run when the zone valve closes, at high supply.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct SurgeReading {
    /// The run.
    pub run: Id,
    /// Velocity that is stopped.
    pub velocity: Velocity,
    /// Speed of the pressure wave.
    pub speed: Velocity,
    /// What stopping at once adds.
    pub sudden: Pressure,
    /// What a valve adds that closes in [`SURGE_CLOSING_S`].
    pub closing: Pressure,
}

/// The runs between supply and valve.
pub(in crate::analysis) fn surges(plan: &Plan, zone: &ZoneAnalysis) -> Vec<SurgeReading> {
    let before = |id: &Id| !zone.members.contains(id);
    let runs: Vec<_> = zone
        .built
        .pipes
        .iter()
        .filter(|(id, links)| {
            before(id) && zone.fastest(links, SupplyCase::High).1 > Velocity::ZERO
        })
        .collect();
    // The wave runs back and forth over the whole way.
    let way: Length = runs
        .iter()
        .filter_map(|(id, _)| plan.objects.pipes.get(id))
        .map(|pipe| pipe.vertices.length())
        .sum();
    let water = zone.built.network.water;
    runs.into_iter()
        .filter_map(|(id, links)| {
            let part = plan.catalog.pipe(&plan.objects.pipes.get(id)?.part)?;
            let velocity = zone.fastest(links, SupplyCase::High).1;
            let speed = wave_speed(part.bore(), part.wall, part.material().modulus(), water)?;
            let sudden = sudden_surge(speed, velocity, water);
            Some(SurgeReading {
                run: *id,
                velocity,
                speed,
                sudden,
                closing: closing_surge(sudden, speed, way, SURGE_CLOSING_S),
            })
        })
        .collect()
}

/// Pressure of each junction with nothing flowing and the zone valve open, at high supply; regulators hold it down.
pub(in crate::analysis) fn at_rest(plan: &Plan, zone: &ZoneAnalysis) -> Vec<Option<Pressure>> {
    let network = &zone.built.network;
    let water = network.water;
    let mut heads: Vec<Option<Length>> = vec![None; network.junctions.len()];
    let mut ahead = VecDeque::new();
    for (source, id) in network.sources.iter().zip(&zone.built.supplies) {
        if let (Some(junction), Some(supply)) = (
            network.junctions.get(source.junction),
            plan.objects.supplies.get(id),
        ) {
            let at_rest = supply_curve(supply, SupplyCase::High).at_rest;
            heads[source.junction] = Some(junction.level + water.head_of(at_rest));
            ahead.push_back(source.junction);
        }
    }
    let mut at: Vec<Vec<usize>> = vec![Vec::new(); network.junctions.len()];
    for (index, link) in network.links.iter().enumerate() {
        for end in [link.from, link.to] {
            if let Some(list) = at.get_mut(end) {
                list.push(index);
            }
        }
    }
    // A place takes the largest head that reaches it; it only ever rises, so this ends.
    while let Some(here) = ahead.pop_front() {
        let Some(head) = heads.get(here).copied().flatten() else {
            continue;
        };
        for index in at.get(here).into_iter().flatten() {
            let Some(link) = network.links.get(*index) else {
                continue;
            };
            let forward = link.from == here;
            let other = if forward { link.to } else { link.from };
            let passed = match &link.kind {
                LinkKind::Closed => continue,
                LinkKind::Device(loss) if loss.lets_nothing_back() && !forward => continue,
                LinkKind::Regulator { .. } if !forward => continue,
                LinkKind::Regulator { set, .. } => {
                    let level = network.junctions.get(other).map(|j| j.level);
                    level.map_or(head, |level| head.min(level + water.head_of(*set)))
                }
                LinkKind::Device(_) | LinkKind::Pipe(_) => head,
            };
            if let Some(known) = heads.get_mut(other)
                && known.is_none_or(|known| passed > known + Length::from_metres(1e-9))
            {
                *known = Some(passed);
                ahead.push_back(other);
            }
        }
    }
    heads
        .into_iter()
        .zip(&network.junctions)
        .map(|(head, junction)| Some(water.pressure_of(head? - junction.level)))
        .collect()
}
