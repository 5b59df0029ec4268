//! What backflow devices do and do not do, and what else lies between reclaimed water and the tap.

use std::collections::BTreeMap;

use super::agronomic_checks::is_watered;
use super::chain_checks::ways;
use super::contact_input::{SMALLEST_OVERLAP, is_service_protected};
use super::{SprayReach, ZoneAnalysis};
use crate::catalog::strength::Material;
use crate::finding::{Finding, Message, Severity, Value};
use crate::ids::Id;
use crate::layout::{Ground, bed_outline};
use crate::model::{BedUse, DeviceKind, MarkKind, Plan, Premise, WaterKind, integrity};
use crate::units::Length;

/// An atmospheric vacuum breaker stands this much above every outlet behind it (6 in). *Source*: a city copy of the Texas rule, read.
const ABOVE_ATMOSPHERIC: Length = Length::from_metres(0.1524);
/// A pressure vacuum breaker stands this much above every outlet behind it (12 in). *Source*: the same.
const ABOVE_PRESSURE: Length = Length::from_metres(0.3048);

/// Every finding about devices against backflow and the drinking-water side. That the service lacks protection may be told
/// by a rule already.
pub(super) fn all(
    plan: &Plan,
    zones: &BTreeMap<Id, ZoneAnalysis>,
    sprays: &BTreeMap<Id, SprayReach>,
    is_service_told: bool,
) -> Vec<Finding> {
    let mut findings = Vec::new();
    findings.extend(on_reclaimed(plan));
    findings.extend(breakers(plan, zones));
    findings.extend(unprotected(plan, zones));
    findings.extend(wetted_by_reclaimed(plan, sprays));
    findings.extend(in_the_sun(plan));
    findings.extend(premises(plan, is_service_told));
    findings
}

const fn is_against_backflow(kind: DeviceKind) -> bool {
    kind.against_backflow().is_some()
}

/// Whether a valve opens drinking water.
fn opens_drinking(plan: &Plan, valve: Id) -> bool {
    let valve = plan.objects.devices.get(&valve);
    valve.is_some_and(|valve| plan.water_kind(valve.water) == Some(WaterKind::Potable))
}

fn told(check: &str, severity: Severity, subjects: Vec<Id>) -> Finding {
    told_with(check, severity, subjects, Vec::new())
}

fn told_with(
    check: &str,
    severity: Severity,
    subjects: Vec<Id>,
    more: Vec<(&'static str, Value)>,
) -> Finding {
    let mut values = vec![("ids", Value::Ids(subjects.clone()))];
    values.extend(more);
    Finding::new(check, severity, subjects, Message::new(check, values))
}

/// A device on the purple side comforts falsely: it keeps beds from the main, and nothing from the tap.
fn on_reclaimed(plan: &Plan) -> Option<Finding> {
    let devices = plan.objects.devices.iter();
    let found: Vec<Id> = devices
        .filter(|(_, device)| is_against_backflow(device.kind))
        .filter(|(_, device)| plan.water_kind(device.water) != Some(WaterKind::Potable))
        .map(|(id, _)| *id)
        .collect();
    (!found.is_empty()).then(|| told("backflow.on_reclaimed", Severity::Note, found))
}

/// Vacuum breakers against the height of what they feed.
fn breakers(plan: &Plan, zones: &BTreeMap<Id, ZoneAnalysis>) -> Vec<Finding> {
    let ground = Ground::of(&plan.objects);
    let mut highest: BTreeMap<Id, Length> = BTreeMap::new();
    for zone in zones.values() {
        let levels = zone.built.emitters.iter();
        let Some(top) = levels.map(|it| ground.level(it.at)).reduce(Length::max) else {
            continue;
        };
        for id in ways(zone).into_iter().flatten() {
            let known = highest.entry(id).or_insert(top);
            *known = known.max(top);
        }
    }
    let mut findings = Vec::new();
    for (id, device) in &plan.objects.devices {
        let limit = match device.kind {
            DeviceKind::BackflowAtmosphericVacuumBreaker => ABOVE_ATMOSPHERIC,
            DeviceKind::BackflowPressureVacuumBreaker => ABOVE_PRESSURE,
            _ => continue,
        };
        let limit_value = ("limit", Value::Length(limit));
        let subjects = vec![*id];
        if device.kind == DeviceKind::BackflowAtmosphericVacuumBreaker {
            findings.push(told("breaker.hours", Severity::Note, subjects.clone()));
        }
        let Some(height) = device.height else {
            let check = "breaker.height_unknown";
            let more = vec![limit_value];
            findings.push(told_with(check, Severity::Check, subjects, more));
            continue;
        };
        if let Some(top) = highest.get(id) {
            // A hair of slack, so that exactly the limit passes.
            const HAIR: Length = Length::from_metres(1e-9);
            let above = ground.level(device.at) + height - *top;
            if above < limit - HAIR {
                let more = vec![limit_value, ("above", Value::Distance(above))];
                findings.push(Finding {
                    measured: Some(Value::Distance(above)),
                    limit: Some(Value::Length(limit)),
                    ..told_with("breaker.low", Severity::Fix, subjects, more)
                });
            }
        }
    }
    findings
}

/// Zones of drinking water without a device of their own on the way.
fn unprotected(plan: &Plan, zones: &BTreeMap<Id, ZoneAnalysis>) -> Option<Finding> {
    let protects = |id: &Id| {
        let device = plan.objects.devices.get(id);
        device.is_some_and(|device| is_against_backflow(device.kind))
    };
    let bare: Vec<Id> = zones
        .iter()
        .filter(|(_, zone)| opens_drinking(plan, zone.valve))
        .filter(|(_, zone)| {
            let ways = ways(zone);
            !ways.is_empty() && !ways.iter().all(|way| way.iter().any(protects))
        })
        .map(|(id, _)| *id)
        .collect();
    (!bare.is_empty()).then(|| told("backflow.drinking_zone", Severity::Fix, bare))
}

/// Food beds that get drinking water only, and a spray of reclaimed water reaches them.
fn wetted_by_reclaimed(plan: &Plan, sprays: &BTreeMap<Id, SprayReach>) -> Vec<Finding> {
    let of_kind = |is_potable: bool| {
        let waters = plan.objects.waters.iter();
        waters
            .filter(move |(_, water)| (water.kind == WaterKind::Potable) == is_potable)
            .map(|(id, _)| *id)
    };
    let gets =
        |bed: Id, is_potable: bool| of_kind(is_potable).any(|water| is_watered(plan, bed, water));
    let beds = plan.objects.beds.iter();
    let beds = beds
        .filter(|(_, bed)| bed.use_ == BedUse::Food)
        .filter(|(id, _)| gets(**id, true) && !gets(**id, false));
    let reclaimed = |head: &Id| {
        let water = integrity::water_of(&plan.objects, *head);
        water.and_then(|water| plan.water_kind(water)) == Some(WaterKind::Reclaimed)
    };
    let mut findings = Vec::new();
    for (bed_id, bed) in beds {
        let outline = bed_outline(bed);
        let heads: Vec<Id> = sprays
            .iter()
            .filter(|(head, _)| reclaimed(head))
            .filter(|(_, reach)| reach.largest.overlap(&outline) > SMALLEST_OVERLAP)
            .map(|(head, _)| *head)
            .collect();
        if !heads.is_empty() {
            let more = vec![("heads", Value::Ids(heads.clone()))];
            let subjects = [vec![*bed_id], heads].concat();
            let check = "backflow.bed_wetted";
            let mut finding = told_with(check, Severity::Stop, subjects, more);
            finding.message.values[0].1 = Value::Ids(vec![*bed_id]);
            findings.push(finding);
        }
    }
    findings
}

/// Rigid plastic above the ground: the sun makes it brittle (common practice, no source).
fn in_the_sun(plan: &Plan) -> Option<Finding> {
    let pipes = plan.objects.pipes.iter();
    let above = pipes.filter(|(_, pipe)| pipe.depth.is_some_and(|depth| depth <= Length::ZERO));
    let rigid: Vec<Id> = above
        .filter(|(_, pipe)| {
            let part = plan.catalog.pipe(&pipe.part);
            part.is_some_and(|part| part.material() == Material::Pvc)
        })
        .map(|(id, _)| *id)
        .collect();
    (!rigid.is_empty()).then(|| told("pipe.sun", Severity::Check, rigid))
}

/// The questions about the drinking-water side: those that are open, and answers that somebody has to look at.
fn premises(plan: &Plan, is_service_told: bool) -> Vec<Finding> {
    let waters = plan.objects.waters.values();
    if !waters
        .into_iter()
        .any(|water| water.kind == WaterKind::Reclaimed)
    {
        return Vec::new();
    }
    let answers = &plan.site.premises;
    let mut open = Vec::new();
    let mut looked = Vec::new();
    for question in Premise::ALL {
        let words = crate::text::get(question.key()).to_owned();
        match answers.get(question) {
            None => open.push(words),
            Some(answer) if answer == question.good() || is_drawn(plan, question) => {}
            Some(_)
                if question == Premise::MeterProtection
                    && (is_service_told || is_service_protected(plan)) => {}
            Some(_) => {
                looked.push(crate::text::get(question.found_key()).to_owned());
            }
        }
    }
    let finding = |check: &str, rows: Vec<String>| {
        let count = ("count", Value::Count(rows.len()));
        let rows = ("rows", Value::Text(rows.join(" ")));
        let message = Message::new(check, vec![count, rows]);
        Finding::new(check, Severity::Check, Vec::new(), message)
    };
    let mut findings = Vec::new();
    if !open.is_empty() {
        findings.push(finding("premises.open", open));
    }
    if !looked.is_empty() {
        findings.push(finding("premises.found", looked));
    }
    findings
}

/// What is drawn is judged by its own rules.
fn is_drawn(plan: &Plan, question: Premise) -> bool {
    let objects = &plan.objects;
    match question {
        Premise::WashPoint => {
            let mut outlets = objects.outlets.values();
            outlets.any(|outlet| outlet.kind.is_wash_place())
        }
        // One drawn well says nothing of others, unless they were looked for.
        Premise::Well => {
            plan.site.wells_surveyed
                && objects.marks.values().any(|mark| {
                    matches!(
                        mark.kind,
                        MarkKind::DomesticWell | MarkKind::PublicWell | MarkKind::OtherWell
                    )
                })
        }
        Premise::DrinkingIrrigation => {
            let mut zones = objects.zones.values();
            zones.any(|zone| opens_drinking(plan, zone.valve))
        }
        _ => false,
    }
}
