//! Whether parts stand what they see: pressure at rest at high supply, and the surge of a closing valve, against ratings.

use std::collections::BTreeMap;

use super::ZoneAnalysis;
use super::readings::{at_rest, surges};
use crate::finding::{Finding, Message, Severity, Value};
use crate::hydraulics::from_plan::ASSUMED_TEMPERATURE;
use crate::ids::Id;
use crate::model::Plan;
use crate::units::{Pressure, Temperature};

/// What one part sees and stands.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Strain {
    pub id: Id,
    pub at_rest: Pressure,
    pub surge: Pressure,
    pub rating: Pressure,
}

impl Strain {
    /// Pressure over rating.
    pub fn share(&self) -> f64 {
        (self.at_rest + self.surge) / self.rating
    }
}

/// Every part with a rating, the one nearest to it first. A sudden stop is assumed: how fast a valve closes is not known.
pub(super) fn strains(plan: &Plan, zones: &BTreeMap<Id, ZoneAnalysis>) -> Vec<Strain> {
    let temperature = plan.site.water_temperature.unwrap_or(ASSUMED_TEMPERATURE);
    let mut worst: BTreeMap<Id, Strain> = BTreeMap::new();
    for zone in zones.values() {
        let pressures = at_rest(plan, zone);
        let surges = surges(plan, zone);
        let most = surges
            .iter()
            .map(|surge| surge.sudden)
            .fold(Pressure::ZERO, Pressure::max);
        let mut seen = |id: Id, links: &[usize], surge: Pressure| {
            let Some(rating) = rating(plan, id, temperature) else {
                return;
            };
            let ends = links
                .iter()
                .filter_map(|link| zone.built.network.links.get(*link));
            let pressure = ends
                .flat_map(|link| [link.from, link.to])
                .filter_map(|junction| pressures.get(junction).copied().flatten())
                .reduce(Pressure::max);
            let Some(at_rest) = pressure else { return };
            let strain = Strain {
                id,
                at_rest,
                surge,
                rating,
            };
            let known = worst.entry(id).or_insert(strain);
            if strain.share() > known.share() {
                *known = strain;
            }
        };
        for (id, links) in zone.built.pipes.iter().chain(&zone.built.headers) {
            let own = surges.iter().find(|surge| surge.run == *id);
            seen(*id, links, own.map_or(Pressure::ZERO, |surge| surge.sudden));
        }
        for (id, link) in &zone.built.devices {
            // What stands before the valve sees the wave of the runs it stands between.
            let surge = if zone.members.contains(id) {
                Pressure::ZERO
            } else {
                most
            };
            seen(*id, &[*link], surge);
        }
    }
    let mut all: Vec<Strain> = worst.into_values().collect();
    all.sort_by(|a, b| b.share().total_cmp(&a.share()).then(a.id.cmp(&b.id)));
    all
}

/// What a run, header or device stands at a temperature.
fn rating(plan: &Plan, id: Id, temperature: Temperature) -> Option<Pressure> {
    let objects = &plan.objects;
    if let Some(pipe) = objects.pipes.get(&id) {
        return plan.catalog.pipe(&pipe.part)?.rating_at(temperature);
    }
    if let Some(bed) = objects.beds.get(&id) {
        let header = &bed.fill.as_ref()?.header;
        return plan.catalog.pipe(header)?.rating_at(temperature);
    }
    plan.catalog.device(&objects.devices.get(&id)?.part)?.rating
}

/// Parts that see more than they stand, told together, the weakest first.
pub(super) fn all(plan: &Plan, zones: &BTreeMap<Id, ZoneAnalysis>) -> Option<Finding> {
    let over: Vec<Strain> = strains(plan, zones)
        .into_iter()
        .filter(|strain| strain.share() > 1.0)
        .collect();
    let weakest = *over.first()?;
    let names: Vec<Id> = over.iter().map(|strain| strain.id).collect();
    let sees = weakest.at_rest + weakest.surge;
    let values = vec![
        ("weakest", Value::Ids(vec![weakest.id])),
        ("all", Value::Ids(names.clone())),
        ("sees", Value::Pressure(sees)),
        ("rest", Value::Pressure(weakest.at_rest)),
        ("surge", Value::Pressure(weakest.surge)),
        ("rating", Value::Pressure(weakest.rating)),
    ];
    Some(Finding {
        measured: Some(Value::Pressure(sees)),
        limit: Some(Value::Pressure(weakest.rating)),
        ..Finding::new(
            "strength.rating",
            Severity::Stop,
            names,
            Message::new("strength.rating", values),
        )
    })
}
