//! First agronomic checks: sprays faster than the soil drinks, and water too salty for what is planted.

use std::collections::{BTreeMap, BTreeSet};

use super::ZoneAnalysis;
use crate::agronomy::{application_rate, relative_yield};
use crate::catalog::salt::{self, SaltRating};
use crate::finding::{Basis, Citation, Finding, Message, Severity, Value};
use crate::hydraulics::SupplyCase;
use crate::ids::Id;
use crate::layout::bed_outline;
use crate::model::{Plan, WaterKind, integrity};
use crate::units::{DepthRate, Flow};

/// Yield that a sensitive crop should keep (our judgement: a tenth is what a gardener notices).
const YIELD_TO_KEEP: f64 = 0.9;

/// Every agronomic finding.
pub(super) fn all(plan: &Plan, zones: &BTreeMap<Id, ZoneAnalysis>) -> Vec<Finding> {
    let mut findings = salt(plan);
    findings.extend(faster_than_intake(plan, zones));
    findings
}

/// Sprays on planted areas against the intake of their soil, told together. The rate is that of the rated flows, or of the
/// solved ones where they are larger: a supply that falls short does not make the design gentler.
fn faster_than_intake(plan: &Plan, zones: &BTreeMap<Id, ZoneAnalysis>) -> Option<Finding> {
    let mut fast: Vec<Id> = Vec::new();
    let mut worst: Option<(Id, DepthRate, DepthRate)> = None;
    for (bed_id, bed) in &plan.objects.beds {
        let Some(intake) = bed.intake.or(plan.site.soil.intake) else {
            continue;
        };
        let rate = application_rate(spray_flow(plan, zones, *bed_id), bed_outline(bed).area());
        if rate <= intake {
            continue;
        }
        fast.push(*bed_id);
        if worst.is_none_or(|(_, known, known_intake)| rate / intake > known / known_intake) {
            worst = Some((*bed_id, rate, intake));
        }
    }
    let (bed, rate, intake) = worst?;
    let values = vec![
        ("beds", Value::Ids(fast.clone())),
        ("bed", Value::Ids(vec![bed])),
        ("rate", Value::Rate(rate)),
        ("intake", Value::Rate(intake)),
        ("times", Value::Ratio(rate / intake)),
    ];
    Some(Finding {
        measured: Some(Value::Rate(rate)),
        limit: Some(Value::Rate(intake)),
        ..Finding::new(
            "agronomy.intake",
            Severity::Check,
            fast,
            Message::new("agronomy.intake", values),
        )
    })
}

/// What the sprays that serve a planted area give.
fn spray_flow(plan: &Plan, zones: &BTreeMap<Id, ZoneAnalysis>, bed: Id) -> Flow {
    let serving: BTreeSet<Id> = plan
        .objects
        .emissions
        .iter()
        .filter(|(_, emission)| emission.kind.sprays() && emission.serves.contains(&bed))
        .map(|(id, _)| *id)
        .collect();
    let parts = serving
        .iter()
        .filter_map(|id| plan.catalog.emission(&plan.objects.emissions.get(id)?.part));
    let rated: Flow = parts.map(|part| part.flow).sum();
    let solved = SupplyCase::ALL.map(|case| {
        let emitters = zones.values().flat_map(|zone| zone.emitters(case));
        emitters
            .filter(|emitter| serving.contains(&emitter.point.owner))
            .map(|emitter| emitter.flow)
            .sum::<Flow>()
    });
    solved.into_iter().fold(rated, Flow::max)
}

/// Salt-sensitive crops that lose more than a tenth under the water they get; one finding a water.
fn salt(plan: &Plan) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (water_id, water) in plan
        .objects
        .waters
        .iter()
        .filter(|(_, water)| water.kind != WaterKind::Potable)
    {
        let Some(salinity) = water.report.salinity else {
            continue;
        };
        let mut crops: BTreeMap<&str, f64> = BTreeMap::new();
        let mut beds: Vec<Id> = Vec::new();
        for (bed_id, bed) in &plan.objects.beds {
            if !is_watered(plan, *bed_id, *water_id) {
                continue;
            }
            for planting in &bed.plantings {
                let Some(tolerance) = salt::tolerance(&planting.crop) else {
                    continue;
                };
                let kept = relative_yield(tolerance, salinity);
                if tolerance.rating == SaltRating::S && kept < YIELD_TO_KEEP {
                    let name = plan
                        .catalog
                        .crop(&planting.crop)
                        .map_or(planting.crop.as_str(), |crop| crop.name.as_str());
                    crops.insert(name, kept);
                    beds.push(*bed_id);
                }
            }
        }
        let Some(worst) = crops.values().copied().min_by(f64::total_cmp) else {
            continue;
        };
        let names = crate::finding::listed(crops.keys().map(|name| (*name).to_owned()));
        let values = vec![
            ("crops", Value::Text(names)),
            ("salinity", Value::Salinity(salinity)),
            ("kept", Value::Share(worst)),
            ("count", Value::Count(crops.len())),
        ];
        beds.push(*water_id);
        findings.push(Finding {
            measured: Some(Value::Salinity(salinity)),
            citation: Some(Citation {
                book: "salt".to_owned(),
                rule: "SALT-S".to_owned(),
                clause: "FAO Irrigation and Drainage Paper 29 rev. 1, table 4".to_owned(),
                source: "crop salt table of the program".to_owned(),
                as_of: "1994".to_owned(),
                basis: Basis::Memory,
                interpretation: false,
                ask: "an agricultural extension office".to_owned(),
            }),
            ..Finding::new(
                "agronomy.salt",
                Severity::Check,
                beds,
                Message::new("agronomy.salt", values),
            )
        });
    }
    findings
}

/// Whether a planted area gets a water by its fill, a line or a device.
pub(super) fn is_watered(plan: &Plan, bed: Id, water: Id) -> bool {
    let objects = &plan.objects;
    integrity::water_of(objects, bed) == Some(water)
        || objects
            .lines
            .values()
            .any(|line| line.water == water && line.serves.contains(&bed))
        || objects
            .emissions
            .values()
            .any(|emission| emission.water == water && emission.serves.contains(&bed))
}
