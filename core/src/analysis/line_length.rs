//! Emitter lines too long for their bore: at the flow they are rated for, friction would use up all the pressure there is.
//!
//! The solved pressures of such a line look milder than it is, because its last emitters starve and the line carries less.

use std::collections::{BTreeMap, BTreeSet};

use super::ZoneAnalysis;
use crate::finding::{Finding, Message, Severity, Value};
use crate::hydraulics::{LinkKind, PipeFriction, SupplyCase};
use crate::ids::Id;
use crate::model::Plan;
use crate::units::{Flow, Length, Pressure};

/// One finding a line or bed.
pub(super) fn too_long(plan: &Plan, zones: &BTreeMap<Id, ZoneAnalysis>) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (zone_id, zone) in zones {
        let mut worst: BTreeMap<Id, (Pressure, Pressure)> = BTreeMap::new();
        for ((owner, row), links) in &zone.built.rows {
            let Some((lost, available)) = at_rated_flow(plan, zone, *owner, *row, links) else {
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

/// Pressure lost along a row if every emitter gave its rated flow, and the most pressure at its inlet.
fn at_rated_flow(
    plan: &Plan,
    zone: &ZoneAnalysis,
    owner: Id,
    row: usize,
    links: &[usize],
) -> Option<(Pressure, Pressure)> {
    let network = &zone.built.network;
    let key = &zone
        .built
        .emitters
        .iter()
        .find(|point| point.owner == owner && point.row == row)?
        .part;
    let rated = plan.catalog.emission(key)?.flow;
    let mut carried = Flow::ZERO;
    let mut lost = Length::ZERO;
    // From the far end on: each stretch carries what the emitters beyond it give.
    for link in links.iter().rev() {
        let link = network.links.get(*link)?;
        if network
            .outlets
            .iter()
            .any(|outlet| outlet.junction == link.to)
        {
            carried += rated;
        }
        if let LinkKind::Pipe(pipe) = link.kind
            && let Some(friction) = PipeFriction::new(&pipe, network.water, network.law)
        {
            lost += friction.at(carried).loss;
        }
    }
    let inlet = network.links.get(*links.first()?)?.from;
    let pressures = SupplyCase::ALL.map(|case| zone.solution(case).pressures.get(inlet).copied());
    let available = pressures.into_iter().flatten().reduce(Pressure::max)?;
    Some((network.water.pressure_of(lost), available))
}
