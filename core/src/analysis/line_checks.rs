//! Emitter lines on uneven ground without compensation, and ends for rinsing that run too slowly.

use std::collections::{BTreeMap, BTreeSet};

use super::ZoneAnalysis;
use super::readings::ENOUGH_TO_FLUSH;
use crate::catalog::{EmissionLaw, EmissionPartKind};
use crate::finding::{Finding, Message, Severity, Value};
use crate::hydraulics::SupplyCase;
use crate::ids::Id;
use crate::model::Plan;
use crate::units::Length;

/// The flow variation that the ground alone may bring: the end of the desirable band (Wu & Gitlin, from memory).
const BY_GROUND: f64 = 0.10;

pub(super) fn all(plan: &Plan, zones: &BTreeMap<Id, ZoneAnalysis>) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (id, zone) in zones {
        findings.extend(uneven_ground(plan, *id, zone));
        findings.extend(slow_flush(*id, zone));
    }
    findings
}

/// Emitters without compensation at levels so different that the ground alone makes their flows vary.
fn uneven_ground(plan: &Plan, id: Id, zone: &ZoneAnalysis) -> Option<Finding> {
    let network = &zone.built.network;
    let mut owners: BTreeSet<Id> = BTreeSet::new();
    let mut levels: Option<(Length, Length)> = None;
    let mut head = Length::ZERO;
    let mut exponent = 0.0_f64;
    for emitter in zone.emitters(SupplyCase::Normal) {
        let drips = plan.catalog.emission(&emitter.point.part).filter(|part| {
            part.law == EmissionLaw::Power
                && matches!(
                    part.kind,
                    EmissionPartKind::EmitterLine | EmissionPartKind::Emitter
                )
        });
        let (Some(part), Some(junction)) = (drips, network.junctions.get(emitter.junction)) else {
            continue;
        };
        owners.insert(emitter.point.owner);
        head = head.max(network.water.head_of(emitter.pressure));
        exponent = exponent.max(part.exponent);
        let (low, high) = levels.unwrap_or((junction.level, junction.level));
        levels = Some((low.min(junction.level), high.max(junction.level)));
    }
    let (low, high) = levels?;
    let rise = high - low;
    // The lowest emitter has the head, the highest that much less.
    let left = (1.0 - rise / head).max(0.0);
    let variation = 1.0 - left.powf(exponent);
    if !(head > Length::ZERO && variation > BY_GROUND) {
        return None;
    }
    let owners: Vec<Id> = owners.into_iter().collect();
    let values = vec![
        ("lines", Value::Ids(owners.clone())),
        ("rise", Value::Length(rise)),
        ("variation", Value::Share(variation)),
        ("limit", Value::Share(BY_GROUND)),
    ];
    let mut subjects = owners;
    subjects.push(id);
    Some(Finding {
        measured: Some(Value::Share(variation)),
        limit: Some(Value::Share(BY_GROUND)),
        ..Finding::new(
            "hydraulics.uneven_ground",
            Severity::Fix,
            subjects,
            Message::new("hydraulics.uneven_ground", values),
        )
    })
}

/// The end for rinsing that is worst off runs too slowly even when it is opened alone.
fn slow_flush(id: Id, zone: &ZoneAnalysis) -> Option<Finding> {
    let opened = zone.opened.as_ref()?;
    if opened.velocity >= ENOUGH_TO_FLUSH {
        return None;
    }
    let values = vec![
        ("end", Value::Text(opened.end.name.clone())),
        ("velocity", Value::Velocity(opened.velocity)),
        ("limit", Value::Velocity(ENOUGH_TO_FLUSH)),
        ("needs", Value::Flow(opened.end.needs)),
    ];
    Some(Finding {
        measured: Some(Value::Velocity(opened.velocity)),
        limit: Some(Value::Velocity(ENOUGH_TO_FLUSH)),
        ..Finding::new(
            "hydraulics.flush_velocity",
            Severity::Fix,
            vec![opened.end.owner, id],
            Message::new("hydraulics.flush_velocity", values),
        )
    })
}
