//! The order of what stands on the way of the water: isolation, zone valve, filter, regulator, tubing.

use std::collections::{BTreeMap, BTreeSet};

use super::ZoneAnalysis;
use super::hydraulic_checks::has_device;
use super::zones::path_along;
use crate::catalog::strength::Material;
use crate::finding::{Finding, Message, Severity, Value};
use crate::hydraulics::SupplyCase;
use crate::ids::{Id, Kind};
use crate::layout::Ground;
use crate::model::{DeviceKind, Placement, Plan};
use crate::units::Length;

/// Ground that rises less than this within a zone has no high point worth an air valve (our judgement).
const NO_HIGH_POINT: Length = Length::from_metres(0.15);

/// One finding a pair of parts, whatever the zones that see it.
pub(super) fn all(plan: &Plan, zones: &BTreeMap<Id, ZoneAnalysis>) -> Vec<Finding> {
    let mut findings: BTreeMap<(String, Vec<Id>), Finding> = BTreeMap::new();
    for (id, zone) in zones {
        for way in ways(zone) {
            for finding in order(plan, zone, &way) {
                let key = (finding.check.clone(), finding.subjects.clone());
                findings.insert(key, finding);
            }
        }
        if let Some(finding) = no_air(plan, *id, zone) {
            findings.insert((finding.check.clone(), finding.subjects.clone()), finding);
        }
    }
    findings.into_values().collect()
}

/// Runs and devices on the way to the first emitter of each owner, from the supply on; each way once.
pub(super) fn ways(zone: &ZoneAnalysis) -> BTreeSet<Vec<Id>> {
    let built = &zone.built;
    let feeding = zone.feeding(SupplyCase::Normal);
    let owner_of: BTreeMap<usize, Id> = built
        .pipes
        .iter()
        .flat_map(|(id, links)| links.iter().map(|link| (*link, *id)))
        .chain(built.devices.iter().map(|(id, link)| (*link, *id)))
        .collect();
    let mut seen: BTreeSet<Id> = BTreeSet::new();
    let firsts = built
        .emitters
        .iter()
        .zip(&built.network.outlets)
        .filter(|(point, _)| seen.insert(point.owner));
    firsts
        .map(|(_, outlet)| {
            let mut way: Vec<Id> = path_along(&feeding, outlet.junction)
                .iter()
                .rev()
                .filter_map(|link| owner_of.get(link).copied())
                .collect();
            way.dedup();
            way
        })
        .collect()
}

fn order(plan: &Plan, zone: &ZoneAnalysis, way: &[Id]) -> Vec<Finding> {
    let kind = |id: &Id| plan.objects.devices.get(id).map(|device| device.kind);
    let is_tubing = |id: &Id| {
        let part = plan
            .objects
            .pipes
            .get(id)
            .and_then(|pipe| plan.catalog.pipe(&pipe.part));
        part.is_some_and(|part| part.material() == Material::Polyethylene)
    };
    let mut findings = Vec::new();
    let mut told = |check: &str, severity: Severity, first: Id, then: Id| {
        let values = vec![
            ("first", Value::Ids(vec![first])),
            ("then", Value::Ids(vec![then])),
        ];
        findings.push(Finding::new(
            check,
            severity,
            vec![first, then],
            Message::new(check, values),
        ));
    };
    for (i, first) in way.iter().enumerate() {
        for then in &way[i + 1..] {
            match (kind(first), kind(then)) {
                // A regulator of the whole main may stand before the filters of the zones.
                (Some(DeviceKind::PressureRegulator), Some(DeviceKind::Filter))
                    if zone.members.contains(first) =>
                {
                    told(
                        "order.regulator_before_filter",
                        Severity::Fix,
                        *first,
                        *then,
                    );
                }
                (
                    Some(DeviceKind::BackflowAtmosphericVacuumBreaker),
                    Some(
                        DeviceKind::IsolationValve
                        | DeviceKind::ZoneValve
                        | DeviceKind::MasterValve,
                    ),
                ) => told(
                    "order.shut_off_after_breaker",
                    Severity::Stop,
                    *first,
                    *then,
                ),
                // Poly pipe of a rated class may carry main pressure; thin tubing may not.
                (None, Some(DeviceKind::PressureRegulator))
                    if is_tubing(first) && is_thin(plan, *first) =>
                {
                    told(
                        "order.tubing_before_regulator",
                        Severity::Fix,
                        *first,
                        *then,
                    );
                }
                _ => {}
            }
        }
    }
    findings
}

/// Tubing without a rating, or with one that is below that of the weakest poly pipe class (80 psi).
fn is_thin(plan: &Plan, id: Id) -> bool {
    let part = plan
        .objects
        .pipes
        .get(&id)
        .and_then(|pipe| plan.catalog.pipe(&pipe.part));
    part.is_some_and(|part| part.rating.is_none_or(|rating| rating.psi() < 79.0))
}

/// Buried lines on ground with a high point, and nothing that lets air in there: soil is drawn into the emitters.
fn no_air(plan: &Plan, id: Id, zone: &ZoneAnalysis) -> Option<Finding> {
    let is_buried = |owner: &Id| {
        let objects = &plan.objects;
        match owner.kind {
            Kind::Line => objects
                .lines
                .get(owner)
                .is_some_and(|line| line.placement == Placement::Buried),
            Kind::Bed => objects
                .beds
                .get(owner)
                .and_then(|bed| bed.fill.as_ref())
                .is_some_and(|fill| fill.placement == Placement::Buried),
            _ => false,
        }
    };
    let ground = Ground::of(&plan.objects);
    let mut owners: BTreeSet<Id> = BTreeSet::new();
    let mut levels: Option<(Length, Length)> = None;
    for point in &zone.built.emitters {
        if !is_buried(&point.owner) {
            continue;
        }
        owners.insert(point.owner);
        let level = ground.level(point.at);
        let (low, high) = levels.unwrap_or((level, level));
        levels = Some((low.min(level), high.max(level)));
    }
    let (low, high) = levels?;
    let rise = high - low;
    if rise < NO_HIGH_POINT || has_device(plan, zone, DeviceKind::AirRelief) {
        return None;
    }
    let owners: Vec<Id> = owners.into_iter().collect();
    let values = vec![
        ("lines", Value::Ids(owners.clone())),
        ("rise", Value::Length(rise)),
    ];
    let mut subjects = owners;
    subjects.push(id);
    Some(Finding::new(
        "order.no_air",
        Severity::Fix,
        subjects,
        Message::new("order.no_air", values),
    ))
}
