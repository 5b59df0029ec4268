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
struct Strain {
    pub id: Id,
    pub at_rest: Pressure,
    /// What a valve adds that closes in its usual time.
    pub closing: Pressure,
    /// What a sudden stop adds.
    pub sudden: Pressure,
    pub rating: Pressure,
}

impl Strain {
    /// Pressure with a surge, over rating.
    fn share(&self, surge: Pressure) -> f64 {
        (self.at_rest + surge) / self.rating
    }
}

/// Every part with a rating, at its worst over the zones.
fn strains(plan: &Plan, zones: &BTreeMap<Id, ZoneAnalysis>) -> Vec<Strain> {
    let temperature = plan.site.water_temperature.unwrap_or(ASSUMED_TEMPERATURE);
    let mut worst: BTreeMap<Id, Strain> = BTreeMap::new();
    for zone in zones.values() {
        let pressures = at_rest(plan, zone);
        let surges = surges(plan, zone);
        let most = surges
            .iter()
            .map(|surge| (surge.closing, surge.sudden))
            .fold((Pressure::ZERO, Pressure::ZERO), |most, surge| {
                (most.0.max(surge.0), most.1.max(surge.1))
            });
        let mut seen = |id: Id, links: &[usize], surge: (Pressure, Pressure)| {
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
                closing: surge.0,
                sudden: surge.1,
                rating,
            };
            let known = worst.entry(id).or_insert(strain);
            if strain.share(strain.sudden) > known.share(known.sudden) {
                *known = strain;
            }
        };
        for (id, links) in zone.built.pipes.iter().chain(&zone.built.headers) {
            let own = surges.iter().find(|surge| surge.run == *id);
            seen(
                *id,
                links,
                own.map_or_else(Default::default, |surge| (surge.closing, surge.sudden)),
            );
        }
        for (id, link) in &zone.built.devices {
            // What stands before the valve sees the wave of the runs it stands between.
            let surge = if zone.members.contains(id) {
                Default::default()
            } else {
                most
            };
            seen(*id, &[*link], surge);
        }
    }
    worst.into_values().collect()
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

/// Parts that see more than they stand, told together, the weakest first: with a valve that closes in its usual time they
/// must be changed; with one that stops the water at once a person must decide, because nobody knows how fast it is.
pub(super) fn all(plan: &Plan, zones: &BTreeMap<Id, ZoneAnalysis>) -> Vec<Finding> {
    let strains = strains(plan, zones);
    let (over, rest): (Vec<Strain>, Vec<Strain>) = strains
        .into_iter()
        .partition(|strain| strain.share(strain.closing) > 1.0);
    let usual = told("strength.rating", Severity::Stop, over, |strain| {
        strain.closing
    });
    let sudden = told("strength.sudden", Severity::Check, rest, |strain| {
        strain.sudden
    });
    usual.into_iter().chain(sudden).collect()
}

fn told(
    check: &str,
    severity: Severity,
    mut strains: Vec<Strain>,
    surge: fn(&Strain) -> Pressure,
) -> Option<Finding> {
    let share = |strain: &Strain| strain.share(surge(strain));
    strains.retain(|strain| share(strain) > 1.0);
    strains.sort_by(|a, b| share(b).total_cmp(&share(a)).then(a.id.cmp(&b.id)));
    let weakest = *strains.first()?;
    let names: Vec<Id> = strains.iter().map(|strain| strain.id).collect();
    let sees = weakest.at_rest + surge(&weakest);
    let values = vec![
        ("weakest", Value::Ids(vec![weakest.id])),
        ("all", Value::Ids(names.clone())),
        ("sees", Value::Pressure(sees)),
        ("rest", Value::Pressure(weakest.at_rest)),
        ("surge", Value::Pressure(surge(&weakest))),
        ("rating", Value::Pressure(weakest.rating)),
    ];
    Some(Finding {
        measured: Some(Value::Pressure(sees)),
        limit: Some(Value::Pressure(weakest.rating)),
        ..Finding::new(check, severity, names, Message::new(check, values))
    })
}
