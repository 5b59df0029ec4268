//! Who eats the pressure on the way to one place.

use super::way::{Place, WayPoint, way};
use crate::analysis::Analysis;
use crate::hydraulics::{SupplyCase, Water};
use crate::ids::{Id, Kind};
use crate::model::Plan;
use crate::units::Pressure;

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
    analysis: &Analysis,
    zone: Id,
    case: SupplyCase,
) -> Option<LossShares> {
    let need = |part: &str| {
        plan.catalog
            .emission(part)
            .map_or(1.0, |part| part.minimum.kilopascals().max(1.0))
    };
    let worst = analysis
        .zones
        .get(&zone)?
        .emitters(case)
        .map(|emitter| {
            let share = emitter.pressure.kilopascals() / need(&emitter.point.part);
            (share, emitter)
        })
        .min_by(|a, b| a.0.total_cmp(&b.0))?
        .1;
    let place = Place {
        name: worst.point.name(),
        zone,
        is_emitter: true,
        junction: worst.junction,
    };
    let way = way(plan, analysis, &place, case)?;
    Some(LossShares {
        outlet: place.name,
        at_rest: *case.of(&way.at_rest),
        arrives: worst.pressure,
        shares: case.of(&way.shares).clone(),
    })
}

/// The shares along the points of a way: the supply's own, those of the parts, the height.
pub(super) fn shares(
    points: &[WayPoint],
    case: usize,
    at_rest: Pressure,
    water: Water,
) -> Vec<LossShare> {
    let (Some(first), Some(last)) = (points.first(), points.last()) else {
        return Vec::new();
    };
    let mut before = first.level + water.head_of(at_rest);
    let mut found: Vec<LossShare> = Vec::new();
    for point in points {
        // Each point has its three heads.
        let lost = water.pressure_of(before - point.head[case]);
        before = point.head[case];
        let eater = match point.through.kind {
            Kind::Supply => Eater::Supply(point.through),
            _ => Eater::Object(point.through),
        };
        match found.last_mut() {
            Some(last) if last.eater == eater => last.lost += lost,
            _ => found.push(LossShare { eater, lost }),
        }
    }
    found.push(LossShare {
        eater: Eater::Height,
        lost: water.pressure_of(last.level - first.level),
    });
    found
}
