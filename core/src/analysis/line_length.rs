//! Emitter lines too long for their bore: at the flow they are rated for, friction would use up all the pressure there is.
//!
//! The solved pressures of such a line look milder than it is, because its last emitters starve and the line carries less.

use std::collections::{BTreeMap, BTreeSet};

use super::ZoneAnalysis;
use crate::finding::{Finding, Message, Severity, Value};
use crate::hydraulics::{LinkKind, Network, Pipe, PipeFriction, SupplyCase};
use crate::ids::Id;
use crate::model::Plan;
use crate::units::{Flow, Length, Pressure};

/// One finding a line or bed.
pub(super) fn too_long(plan: &Plan, zones: &BTreeMap<Id, ZoneAnalysis>) -> Vec<Finding> {
    let mut findings = Vec::new();
    let mut laws = Laws::default();
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
            let Some((lost, available)) = at_rated_flow(zone, rated, links, &gives, &mut laws)
            else {
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

/// The friction of a metre of each bore and wall: setting a law up costs more than using it.
#[derive(Default)]
struct Laws(Vec<(Length, Length, Option<PipeFriction>)>);

impl Laws {
    fn of(&mut self, pipe: &Pipe, network: &Network) -> Option<&PipeFriction> {
        let (bore, roughness) = (pipe.bore, pipe.roughness);
        let same = |known: &(Length, Length, _)| known.0 == bore && known.1 == roughness;
        let place = self.0.iter().position(same).unwrap_or_else(|| {
            let metre = Pipe::plain(Length::from_metres(1.0), bore, roughness);
            let law = PipeFriction::new(&metre, network.water, network.law);
            self.0.push((bore, roughness, law));
            self.0.len() - 1
        });
        self.0.get(place)?.2.as_ref()
    }
}

/// Pressure lost along a row if every emitter gave its rated flow, and the most pressure at its inlet.
fn at_rated_flow(
    zone: &ZoneAnalysis,
    rated: Flow,
    links: &[usize],
    gives: &[bool],
    laws: &mut Laws,
) -> Option<(Pressure, Pressure)> {
    let network = &zone.built.network;
    let mut carried = Flow::ZERO;
    let mut lost = Length::ZERO;
    // From the far end on: each stretch carries what the emitters beyond it give.
    for link in links.iter().rev() {
        let link = network.links.get(*link)?;
        if gives.get(link.to) == Some(&true) {
            carried += rated;
        }
        let LinkKind::Pipe(pipe) = link.kind else {
            continue;
        };
        if let Some(friction) = laws.of(&pipe, network) {
            lost += friction.at(carried).loss * (pipe.length + pipe.equivalent).metres();
        }
    }
    let inlet = network.links.get(*links.first()?)?.from;
    let pressures = SupplyCase::ALL.map(|case| zone.solution(case).pressures.get(inlet).copied());
    let available = pressures.into_iter().flatten().reduce(Pressure::max)?;
    Some((network.water.pressure_of(lost), available))
}
