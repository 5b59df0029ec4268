//! Emitter lines too long for their bore: at the flow they are rated for, friction would use up all the pressure there is.
//!
//! The solved pressures of such a line look milder than it is, because its last emitters starve and the line carries less.

use std::collections::{BTreeMap, BTreeSet};

use super::ZoneAnalysis;
use crate::finding::{Finding, Message, Severity, Value};
use crate::hydraulics::{LinkKind, Pipe, PipeFriction, SupplyCase};
use crate::ids::Id;
use crate::model::Plan;
use crate::units::{Flow, Length, Pressure};

/// One finding a line or bed.
pub(super) fn too_long(plan: &Plan, zones: &BTreeMap<Id, ZoneAnalysis>) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (zone_id, zone) in zones {
        let mut worst: BTreeMap<Id, (Pressure, Pressure)> = BTreeMap::new();
        let gives = giving_junctions(zone);
        let parts: BTreeMap<(Id, usize), &str> = zone
            .built
            .emitters
            .iter()
            .map(|point| ((point.owner, point.row), point.part.as_str()))
            .collect();
        for ((owner, row), links) in &zone.built.rows {
            let rated = parts
                .get(&(*owner, *row))
                .and_then(|key| plan.catalog.emission(key));
            let Some(rated) = rated.map(|part| part.flow) else {
                continue;
            };
            let Some((lost, available)) = at_rated_flow(zone, rated, links, &gives) else {
                continue;
            };
            if lost > available
                && worst
                    .get(owner)
                    .is_none_or(|known| lost - available > known.0 - known.1)
            {
                worst.insert(*owner, (lost, available));
            }
        }
        findings.extend(worst.into_iter().map(|(owner, (lost, available))| {
            let values = vec![
                ("line", Value::Ids(vec![owner])),
                ("lost", Value::Pressure(lost)),
                ("available", Value::Pressure(available)),
            ];
            Finding {
                measured: Some(Value::Pressure(lost)),
                limit: Some(Value::Pressure(available)),
                ..Finding::new(
                    "hydraulics.line_too_long",
                    Severity::Stop,
                    vec![owner, *zone_id],
                    Message::new("hydraulics.line_too_long", values),
                )
            }
        }));
    }
    findings
}

/// Lines that are told as too long: what their emitters lack is not told again.
pub(super) fn told(findings: &[Finding]) -> BTreeSet<Id> {
    let too_long = findings
        .iter()
        .filter(|finding| finding.check == "hydraulics.line_too_long");
    too_long
        .flat_map(|finding| finding.subjects.iter().copied())
        .collect()
}

/// Whether water leaves at a junction, by its position.
fn giving_junctions(zone: &ZoneAnalysis) -> Vec<bool> {
    let network = &zone.built.network;
    let mut gives = vec![false; network.junctions.len()];
    for outlet in &network.outlets {
        if let Some(known) = gives.get_mut(outlet.junction) {
            *known = true;
        }
    }
    gives
}

/// Pressure lost along a row if every emitter gave its rated flow, and the most pressure at its inlet.
fn at_rated_flow(
    zone: &ZoneAnalysis,
    rated: Flow,
    links: &[usize],
    gives: &[bool],
) -> Option<(Pressure, Pressure)> {
    let network = &zone.built.network;
    let mut carried = Flow::ZERO;
    let mut lost = Length::ZERO;
    // Setting a friction law up costs more than using it; the stretches of a row share bore and wall.
    let mut known: Option<(Length, PipeFriction)> = None;
    // From the far end on: each stretch carries what the emitters beyond it give.
    for link in links.iter().rev() {
        let link = network.links.get(*link)?;
        if gives.get(link.to) == Some(&true) {
            carried += rated;
        }
        let LinkKind::Pipe(pipe) = link.kind else {
            continue;
        };
        if known.as_ref().is_none_or(|(bore, _)| *bore != pipe.bore) {
            let metre = Pipe::plain(Length::from_metres(1.0), pipe.bore, pipe.roughness);
            known =
                PipeFriction::new(&metre, network.water, network.law).map(|law| (pipe.bore, law));
        }
        if let Some((_, friction)) = &known {
            lost += friction.at(carried).loss * (pipe.length + pipe.equivalent).metres();
        }
    }
    let inlet = network.links.get(*links.first()?)?.from;
    let pressures = SupplyCase::ALL.map(|case| zone.solution(case).pressures.get(inlet).copied());
    let available = pressures.into_iter().flatten().reduce(Pressure::max)?;
    Some((network.water.pressure_of(lost), available))
}
