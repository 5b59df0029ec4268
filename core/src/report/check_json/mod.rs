//! The result of a check for machines: SI with the unit in the key, objects in arrays sorted by id, id first; a section
//! that was not computed is absent. The schema lies in `core/data/check.schema.json`.

mod coverage;
mod readings;
mod rows;
mod verdicts;

use std::collections::BTreeMap;

use serde::Serialize;
use serde_json::Value as Json;

use super::summary::{Cases, zone_summaries};
use super::{Checked, Shown};
use crate::analysis::settled::{Standing, standing};
use crate::analysis::{Fix, Progress, ZoneAnalysis};
use crate::drawing::notice::{aged_rules, rules_in_force};
use crate::file::fingerprint;
use crate::finding::{Finding, Value};
use crate::hydraulics::SupplyCase;
use crate::ids::Id;
use crate::takeoff::Quantity;
use crate::units::{Flow, Length, Pressure, Velocity};
use rows::{
    AssumptionRow, ByCase, CheckDocument, DeviceRow, FindingRow, FixRow, MeasureRow, Named,
    NodeRow, PartRow, PipeRow, PlanRow, RulesRow, SettledRow, SupplyRow, ZoneRow,
};

/// The schema of [`check_json`], as JSON.
pub const SCHEMA: &str = include_str!("../../../data/check.schema.json");

/// Version of the schema.
const VERSION: u32 = 1;

/// The check as canonical JSON, with a final line break.
#[must_use]
pub fn check_json(checked: &Checked<'_>) -> Vec<u8> {
    let mut bytes = crate::file::canonical(&document(checked));
    bytes.push(b'\n');
    bytes
}

fn document(checked: &Checked<'_>) -> CheckDocument {
    let analysis = checked.analysis;
    CheckDocument {
        schema: "aubergine-check",
        version: VERSION,
        date: checked.date.to_owned(),
        case: match checked.shown {
            Shown::Case(case) => case.word(),
            Shown::Worst => "worst",
        },
        plan: PlanRow {
            name: checked.plan.name.clone(),
            fingerprint: fingerprint(checked.plan),
        },
        rules: rules(checked),
        supply: supplies(checked),
        zones: zones(checked),
        nodes: by_id(checked, nodes),
        pipes: by_id(checked, pipes),
        devices: by_id(checked, devices),
        coverage: coverage::rows(checked),
        verdicts: verdicts::rows(checked),
        findings: findings(checked),
        parts: parts(checked),
        assumptions: analysis
            .assumptions
            .iter()
            .map(|assumption| AssumptionRow {
                id: assumption.key,
                subjects: assumption.subjects.clone(),
                sentence: assumption.message.sentence(checked.units),
            })
            .collect(),
        cautions: super::cautions().into_iter().map(str::to_owned).collect(),
    }
}

fn rules(checked: &Checked<'_>) -> Vec<RulesRow> {
    let aged = aged_rules(checked.plan, checked.date);
    let in_force = rules_in_force(checked.plan).into_iter();
    in_force
        .map(|rule| RulesRow {
            aged: aged.contains(&rule),
            title: rule.title,
            as_of: rule.as_of,
            ask: rule.ask,
        })
        .collect()
}

/// Rows of every zone, sorted by id and then by zone: `P2` before `P10`, `B1.2` before `B1.10`.
fn by_id<Row: Named>(
    checked: &Checked<'_>,
    of_zone: fn(Shown, Id, &ZoneAnalysis) -> Vec<Row>,
) -> Vec<Row> {
    let zones = &checked.analysis.zones;
    let mut rows: Vec<Row> = zones
        .iter()
        .flat_map(|(id, zone)| of_zone(checked.shown, *id, zone))
        .collect();
    rows.sort_by_cached_key(|row| (natural(row.id()), row.zone()));
    rows
}

/// An id in parts that sort as people count: letters as letters, numbers as numbers.
fn natural(id: &str) -> Vec<(String, u64)> {
    id.split('.')
        .map(|part| {
            let digits = part
                .find(|letter: char| letter.is_ascii_digit())
                .unwrap_or(part.len());
            let (letters, number) = part.split_at(digits);
            (letters.to_owned(), number.parse().unwrap_or(0))
        })
        .collect()
}

/// Pressures to 0.1 Pa, flows to 1 µL/s, and so on: below what the solver stands for, above the noise of arithmetic.
fn rounded(value: f64, decimals: i32) -> f64 {
    let factor = 10_f64.powi(decimals);
    let rounded = (value * factor).round() / factor;
    // No negative zero.
    if rounded == 0.0 { 0.0 } else { rounded }
}

fn kpa(pressure: Pressure) -> f64 {
    rounded(pressure.kilopascals(), 4)
}

fn lps(flow: Flow) -> f64 {
    rounded(flow.litres_per_second(), 8)
}

fn mps(velocity: Velocity) -> f64 {
    rounded(velocity.metres_per_second(), 6)
}

fn metres(length: Length) -> f64 {
    rounded(length.metres(), 6)
}

fn by_case([low, normal, high]: Cases<Option<f64>>) -> ByCase {
    ByCase { low, normal, high }
}

fn word(value: &impl Serialize) -> Json {
    serde_json::to_value(value).unwrap_or(Json::Null)
}

fn supplies(checked: &Checked<'_>) -> Vec<SupplyRow> {
    let objects = &checked.plan.objects;
    objects
        .supplies
        .iter()
        .filter_map(|(id, supply)| {
            let water = objects.waters.get(&supply.water)?;
            let static_kpa = [
                supply.low.unwrap_or(supply.at_rest),
                supply.at_rest,
                supply.high.unwrap_or(supply.at_rest),
            ];
            Some(SupplyRow {
                id: *id,
                water: supply.water,
                kind: word(&water.kind),
                class: water.class.clone(),
                static_kpa: by_case(static_kpa.map(|pressure| Some(kpa(pressure)))),
                limit_lps: supply.limit.map(lps),
            })
        })
        .collect()
}

fn zones(checked: &Checked<'_>) -> Vec<ZoneRow> {
    zone_summaries(checked.plan, checked.analysis)
        .into_iter()
        .filter_map(|row| {
            let zone = checked.analysis.zones.get(&row.id)?;
            let pressures =
                |cases: Cases<Option<Pressure>>| by_case(cases.map(|pressure| pressure.map(kpa)));
            Some(ZoneRow {
                id: row.id,
                label: row.label,
                valve: zone.valve,
                members: zone.members.iter().copied().collect(),
                flow_lps: by_case(row.flow.map(|flow| Some(lps(flow)))),
                rated_flow_lps: lps(row.rated),
                valve_pressure_kpa: pressures(row.at_valve),
                first_emitter_kpa: pressures(row.first),
                last_emitter_kpa: pressures(row.last),
                num_emitters: row.num_emitters,
                low_quarter_uniformity: by_case(
                    row.uniformity
                        .map(|share| share.map(|share| rounded(share, 6))),
                ),
                readings: readings::row(checked.plan, checked.analysis, row.id),
                converged: zone
                    .solutions
                    .iter()
                    .all(|solution| solution.convergence.converged),
            })
        })
        .collect()
}

/// The case that a number is shown in: the one asked for, or the one in which a measure is least.
fn shown_case(shown: Shown, measure: impl Fn(SupplyCase) -> f64) -> SupplyCase {
    match shown {
        Shown::Case(case) => case,
        Shown::Worst => SupplyCase::ALL
            .into_iter()
            .min_by(|a, b| measure(*a).total_cmp(&measure(*b)))
            .unwrap_or_default(),
    }
}

fn nodes(shown: Shown, zone_id: Id, zone: &ZoneAnalysis) -> Vec<NodeRow> {
    zone.built
        .ports
        .iter()
        .filter_map(|(port, junction)| {
            let pressure = |case| zone.solution(case).pressures.get(*junction).copied();
            let case = shown_case(shown, |case| {
                pressure(case).map_or(0.0, Pressure::kilopascals)
            });
            let pressure_kpa = kpa(pressure(case)?);
            Some(NodeRow {
                id: port.to_string(),
                zone: zone_id,
                pressure_kpa,
                case: case.word(),
            })
        })
        .collect()
}

fn pipes(shown: Shown, zone_id: Id, zone: &ZoneAnalysis) -> Vec<PipeRow> {
    let runs = zone
        .built
        .pipes
        .iter()
        .map(|(id, links)| (id.to_string(), links));
    let headers = zone
        .built
        .headers
        .iter()
        .map(|(id, links)| (format!("{id}.header"), links));
    let mut rows: Vec<PipeRow> = runs
        .chain(headers)
        .map(|(id, links)| {
            let case = shown_case(shown, |case| {
                -zone.fastest(links, case).1.metres_per_second()
            });
            let (flow, velocity) = zone.fastest(links, case);
            PipeRow {
                id,
                zone: zone_id,
                flow_lps: lps(flow),
                velocity_mps: mps(velocity),
                headloss_m: metres(zone.loss(links, case)),
                case: case.word(),
            }
        })
        .collect();
    for ((id, row), links) in &zone.built.rows {
        let case = shown_case(shown, |case| {
            -zone.fastest(links, case).1.metres_per_second()
        });
        let (flow, velocity) = zone.fastest(links, case);
        rows.push(PipeRow {
            id: if *row == 0 {
                id.to_string()
            } else {
                format!("{id}.{row}")
            },
            zone: zone_id,
            flow_lps: lps(flow),
            velocity_mps: mps(velocity),
            headloss_m: metres(zone.loss(links, case)),
            case: case.word(),
        });
    }
    rows
}

/// Emission devices, those of one row or line together.
fn devices(shown: Shown, zone_id: Id, zone: &ZoneAnalysis) -> Vec<DeviceRow> {
    let lowest = |case| {
        zone.emitters(case)
            .map(|emitter| emitter.pressure.kilopascals())
            .fold(f64::INFINITY, f64::min)
    };
    let case = shown_case(shown, lowest);
    let mut rows: BTreeMap<(Id, usize), DeviceRow> = BTreeMap::new();
    for emitter in zone.emitters(case) {
        let key = (emitter.point.owner, emitter.point.row);
        let row = rows.entry(key).or_insert_with(|| DeviceRow {
            id: if key.1 == 0 {
                key.0.to_string()
            } else {
                format!("{}.{}", key.0, key.1)
            },
            zone: zone_id,
            part: emitter.point.part.clone(),
            pressure_kpa: Vec::new(),
            flow_lps: Vec::new(),
            case: case.word(),
        });
        row.pressure_kpa.push(kpa(emitter.pressure));
        row.flow_lps.push(lps(emitter.flow));
    }
    rows.into_values().collect()
}

fn measure(value: &Value) -> Option<MeasureRow> {
    value.number().map(|(value, unit)| MeasureRow {
        value: rounded(value, 6),
        unit,
    })
}

fn findings(checked: &Checked<'_>) -> Vec<FindingRow> {
    let mut rows: Vec<FindingRow> = checked
        .analysis
        .findings
        .iter()
        .map(|finding| finding_row(checked, finding))
        .collect();
    rows.sort_by(|a, b| a.id.cmp(&b.id));
    rows
}

fn finding_row(checked: &Checked<'_>, finding: &Finding) -> FindingRow {
    let id = finding.id();
    let fixes = checked
        .fixes
        .iter()
        .find(|(known, _)| *known == id)
        .map(|(_, fixes)| fixes);
    FindingRow {
        check: finding.check.clone(),
        severity: word(&finding.severity),
        subjects: finding.subjects.clone(),
        sentence: finding.message.sentence(checked.units),
        measured: finding.measured.as_ref().and_then(measure),
        limit: finding.limit.as_ref().and_then(measure),
        citation: finding.citation.clone(),
        settled: settled_row(checked, finding),
        fixes: fixes.map(|fixes| fixes.iter().map(|fix| fix_row(checked, fix)).collect()),
        id,
    }
}

fn settled_row(checked: &Checked<'_>, finding: &Finding) -> Option<SettledRow> {
    let (stands, settled) = match standing(checked.review, finding) {
        Standing::Open => return None,
        Standing::Settled(settled) => (true, settled),
        Standing::Reopened(settled) => (false, settled),
    };
    Some(SettledRow {
        stands,
        reason: settled.reason.clone(),
        name: settled.name.clone(),
        on: settled.on.clone(),
        evidence: settled.evidence.clone(),
    })
}

fn fix_row(checked: &Checked<'_>, fix: &Fix) -> FixRow {
    let (outcome, then) = match &fix.progress {
        Progress::Gone => ("gone", None),
        Progress::Better(then) => ("better", then.measured.as_ref().and_then(measure)),
        Progress::NoBetter => ("no_better", None),
    };
    FixRow {
        what: fix.message.sentence(checked.units),
        outcome,
        then,
        brings: super::brought(fix, checked.units),
    }
}

fn parts(checked: &Checked<'_>) -> Vec<PartRow> {
    let mut rows: Vec<PartRow> = checked
        .analysis
        .parts
        .lines
        .iter()
        .map(|line| {
            let (pieces, length_m) = match line.quantity {
                Quantity::Pieces(pieces) => (Some(pieces), None),
                Quantity::Run(length) => (None, Some(metres(length))),
            };
            PartRow {
                id: line.key.clone(),
                group: line.group,
                name: line.name.clone(),
                pieces,
                length_m,
                objects: line.objects.clone(),
            }
        })
        .collect();
    rows.sort_by(|a, b| a.id.cmp(&b.id));
    rows
}
