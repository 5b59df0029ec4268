//! Who eats the pressure on the way to one outlet.

use std::collections::BTreeMap;

use crate::analysis::ZoneAnalysis;
use crate::hydraulics::SupplyCase;
use crate::ids::Id;
use crate::model::Plan;
use crate::units::{Length, Pressure};

/// What takes pressure.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Eater {
    /// The supply's own fall with the flow.
    Supply(Id),
    /// A run, line, bed or device.
    Object(Id),
    /// The rise from the supply to the outlet; below zero where it falls.
    Height,
}

/// One share.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct LossShare {
    /// What takes it.
    pub eater: Eater,
    /// How much.
    pub lost: Pressure,
}

/// Shares along the way to an outlet, in the order of the way; together they are what the supply has at rest less what
/// arrives.
#[derive(Clone, PartialEq, Debug)]
pub struct LossShares {
    /// The outlet's name.
    pub outlet: String,
    /// Pressure of the supply at rest.
    pub at_rest: Pressure,
    /// Pressure at the outlet.
    pub arrives: Pressure,
    /// The shares.
    pub shares: Vec<LossShare>,
}

/// Shares on the way to the emission device that gets least of the pressure it needs.
pub(super) fn to_the_worst(
    plan: &Plan,
    zone: &ZoneAnalysis,
    case: SupplyCase,
) -> Option<LossShares> {
    let need = |part: &str| {
        plan.catalog
            .emission(part)
            .map_or(1.0, |part| part.minimum.kilopascals().max(1.0))
    };
    let worst = zone
        .emitters(case)
        .map(|emitter| {
            let share = emitter.pressure.kilopascals() / need(&emitter.point.part);
            (share, emitter)
        })
        .min_by(|a, b| a.0.total_cmp(&b.0))?
        .1;
    let network = &zone.built.network;
    let solution = zone.solution(case);
    let mut path = zone.path_to(worst.junction, case);
    path.reverse();
    let head = |junction: usize| solution.heads.get(junction).copied();
    let owners = owners(zone);
    let mut shares: Vec<LossShare> = Vec::new();
    let mut here = worst.junction;
    for link in path.iter().rev() {
        let link = network.links.get(*link)?;
        here = if link.to == here { link.from } else { link.to };
    }
    let source = network
        .sources
        .iter()
        .position(|source| source.junction == here)?;
    let supply = *zone.built.supplies.get(source)?;
    let water = network.water;
    let level = |junction: usize| network.junctions.get(junction).map(|j| j.level);
    let curve = crate::hydraulics::supply_curve(plan.objects.supplies.get(&supply)?, case);
    let at_rest_head = level(here)? + water.head_of(curve.at_rest);
    let mut add = |eater: Eater, lost: Length| {
        let lost = water.pressure_of(lost);
        match shares.last_mut() {
            Some(last) if last.eater == eater => last.lost += lost,
            _ => shares.push(LossShare { eater, lost }),
        }
    };
    add(Eater::Supply(supply), at_rest_head - head(here)?);
    for index in &path {
        let link = network.links.get(*index)?;
        let next = if link.from == here {
            link.to
        } else {
            link.from
        };
        let lost = head(here)? - head(next)?;
        here = next;
        if let Some(owner) = owners.get(index) {
            add(Eater::Object(*owner), lost);
        }
    }
    add(
        Eater::Height,
        level(worst.junction)? - level(network.sources.get(source)?.junction)?,
    );
    Some(LossShares {
        outlet: worst.point.name(),
        at_rest: curve.at_rest,
        arrives: worst.pressure,
        shares,
    })
}

/// The object that each link belongs to.
fn owners(zone: &ZoneAnalysis) -> BTreeMap<usize, Id> {
    let built = &zone.built;
    let runs = built.pipes.iter().chain(&built.headers);
    let rows = built.rows.iter().map(|((id, _), links)| (id, links));
    runs.chain(rows)
        .flat_map(|(id, links)| links.iter().map(|link| (*link, *id)))
        .chain(
            built
                .devices
                .iter()
                .chain(&built.fall_offs)
                .map(|(id, link)| (*link, *id)),
        )
        .collect()
}
