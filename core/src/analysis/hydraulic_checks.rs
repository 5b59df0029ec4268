//! Judges the solved zones: is there water, does each device get the pressure it works at, is the water slow enough, does
//! the supply carry it, does each device see a flow it is made for.

use std::collections::{BTreeMap, BTreeSet};

use super::zones::EmitterResult;
use super::{ZoneAnalysis, line_length};
use crate::catalog::EmissionPart;
use crate::finding::{Finding, Message, Severity, Value};
use crate::hydraulics::SupplyCase;
use crate::ids::Id;
use crate::model::{DeviceKind, Plan};
use crate::units::{Flow, Length, Pressure, Velocity};

/// Water faster than this wears pipes and hammers valves: 5 ft/s in mains and laterals. *Source*: Jarrett, Water
/// Management, 2nd ed. 2000, p. 336, as cited by a page that was read.
pub const FASTEST: Velocity = Velocity::from_feet_per_second(5.0);

/// Below this share of its least working pressure a device gives no useful water (our judgement).
const HOPELESS_SHARE: f64 = 0.5;

/// Every hydraulic finding, zone by zone.
pub(super) fn all(plan: &Plan, zones: &BTreeMap<Id, ZoneAnalysis>) -> Vec<Finding> {
    let mut findings = line_length::too_long(plan, zones);
    let told = line_length::told(&findings);
    for (id, zone) in zones {
        if let Some(finding) = not_solved(*id, zone) {
            findings.push(finding);
            continue;
        }
        findings.extend(demand(plan, *id, zone));
        findings.extend(velocity(*id, zone));
        findings.extend(low_pressure(plan, *id, zone, &told));
        findings.extend(high_pressure(plan, *id, zone));
        findings.extend(static_pressure(plan, *id, zone));
        findings.extend(device_flows(plan, *id, zone));
    }
    findings
}

/// No supply, no water at some device, or no solution: nothing else can be said then.
fn not_solved(id: Id, zone: &ZoneAnalysis) -> Option<Finding> {
    if zone.built.network.sources.is_empty() {
        let message = Message::new("hydraulics.no_supply", vec![("zone", ids(&[id]))]);
        return Some(Finding::new(
            "hydraulics.no_supply",
            Severity::Stop,
            vec![id, zone.valve],
            message,
        ));
    }
    let solution = zone.solution(SupplyCase::Low);
    let dry: BTreeSet<Id> = zone
        .emitters(SupplyCase::Low)
        .filter(|emitter| solution.supplied.get(emitter.junction) == Some(&false))
        .map(|emitter| emitter.point.owner)
        .collect();
    if !dry.is_empty() {
        let dry: Vec<Id> = dry.into_iter().collect();
        let message = Message::new("hydraulics.not_supplied", vec![("ids", ids(&dry))]);
        return Some(Finding::new(
            "hydraulics.not_supplied",
            Severity::Stop,
            dry,
            message,
        ));
    }
    let stuck = SupplyCase::ALL
        .into_iter()
        .find(|case| !zone.solution(*case).convergence.converged)?;
    let case = Value::Text(stuck.word().to_owned());
    let message = Message::new(
        "hydraulics.no_convergence",
        vec![("zone", ids(&[id])), ("case", case)],
    );
    Some(Finding::new(
        "hydraulics.no_convergence",
        Severity::Stop,
        vec![id],
        message,
    ))
}

/// The flow a zone asks for against the limit of its supply.
fn demand(plan: &Plan, id: Id, zone: &ZoneAnalysis) -> Option<Finding> {
    let supply_id = *zone.built.supplies.first()?;
    let limit = plan.objects.supplies.get(&supply_id)?.limit?;
    let solved = SupplyCase::ALL
        .map(|case| zone.flow(case))
        .into_iter()
        .fold(Flow::ZERO, Flow::max);
    // A zone is laid out for its rated flow; that the supply falls short of giving it is no merit.
    let asked = zone.rated_flow(plan).max(solved);
    if asked <= limit {
        return None;
    }
    let values = vec![
        ("zone", ids(&[id])),
        ("asked", Value::Flow(asked)),
        ("solved", Value::Flow(solved)),
        ("limit", Value::Flow(limit)),
        ("supply", ids(&[supply_id])),
    ];
    Some(Finding {
        measured: Some(Value::Flow(asked)),
        limit: Some(Value::Flow(limit)),
        ..Finding::new(
            "hydraulics.demand",
            Severity::Stop,
            vec![id, supply_id],
            Message::new("hydraulics.demand", values),
        )
    })
}

/// Runs in which the water is too fast, in the worst case.
fn velocity(id: Id, zone: &ZoneAnalysis) -> Option<Finding> {
    let mut fast: Vec<Id> = Vec::new();
    let mut worst = (Velocity::ZERO, Flow::ZERO);
    let runs = zone.built.pipes.iter().chain(&zone.built.headers);
    for (run, links) in runs {
        for case in SupplyCase::ALL {
            let (flow, velocity) = zone.fastest(links, case);
            if velocity > FASTEST {
                fast.push(*run);
                if velocity > worst.0 {
                    worst = (velocity, flow);
                }
            }
        }
    }
    if fast.is_empty() {
        return None;
    }
    fast.sort_unstable();
    fast.dedup();
    let values = vec![
        ("ids", ids(&fast)),
        ("velocity", Value::Velocity(worst.0)),
        ("flow", Value::Flow(worst.1)),
        ("limit", Value::Velocity(FASTEST)),
    ];
    fast.push(id);
    Some(Finding {
        measured: Some(Value::Velocity(worst.0)),
        limit: Some(Value::Velocity(FASTEST)),
        ..Finding::new(
            "hydraulics.velocity",
            Severity::Fix,
            fast,
            Message::new("hydraulics.velocity", values),
        )
    })
}

/// Devices that get too little, in the worst case; they are told together, with the run that eats most of the pressure.
fn low_pressure(plan: &Plan, id: Id, zone: &ZoneAnalysis, told: &BTreeSet<Id>) -> Option<Finding> {
    let mut short: BTreeSet<Id> = BTreeSet::new();
    let mut worst: Option<(SupplyCase, EmitterResult<'_>, &EmissionPart)> = None;
    for case in SupplyCase::ALL {
        for emitter in zone.emitters(case) {
            let Some(part) = plan.catalog.emission(&emitter.point.part) else {
                continue;
            };
            if emitter.pressure >= part.minimum || told.contains(&emitter.point.owner) {
                continue;
            }
            short.insert(emitter.point.owner);
            let is_worse = worst.is_none_or(|(_, known, known_part)| {
                emitter.pressure / part.minimum < known.pressure / known_part.minimum
            });
            if is_worse {
                worst = Some((case, emitter, part));
            }
        }
    }
    let (case, emitter, part) = worst?;
    let is_hopeless = emitter.pressure < part.minimum * HOPELESS_SHARE;
    let eater = most_lost_in(zone, emitter.junction, case);
    let mut values = vec![
        ("device", Value::Text(emitter.point.name())),
        ("pressure", Value::Pressure(emitter.pressure)),
        ("minimum", Value::Pressure(part.minimum)),
        ("case", Value::Text(case.word().to_owned())),
    ];
    let mut subjects: Vec<Id> = short.into_iter().collect();
    subjects.push(id);
    let key = if let Some((run, lost)) = eater {
        values.push(("run", ids(&[run])));
        let water = zone.built.network.water;
        values.push(("lost", Value::Pressure(water.pressure_of(lost))));
        "hydraulics.low_pressure"
    } else {
        "hydraulics.low_pressure_supply"
    };
    Some(Finding {
        measured: Some(Value::Pressure(emitter.pressure)),
        limit: Some(Value::Pressure(part.minimum)),
        ..Finding::new(
            "hydraulics.low_pressure",
            if is_hopeless {
                Severity::Stop
            } else {
                Severity::Fix
            },
            subjects,
            Message::new(key, values),
        )
    })
}

/// The run, line or row on the way to a junction that loses most.
pub(super) fn most_lost_in(
    zone: &ZoneAnalysis,
    junction: usize,
    case: SupplyCase,
) -> Option<(Id, Length)> {
    let path: BTreeSet<usize> = zone.path_to(junction, case).into_iter().collect();
    let on_path = |links: &[usize]| {
        let links: Vec<usize> = links
            .iter()
            .copied()
            .filter(|link| path.contains(link))
            .collect();
        zone.loss(&links, case)
    };
    let runs = zone
        .built
        .pipes
        .iter()
        .chain(&zone.built.headers)
        .map(|(id, links)| (*id, on_path(links)));
    let rows = zone
        .built
        .rows
        .iter()
        .map(|((id, _), links)| (*id, on_path(links)));
    runs.chain(rows)
        .filter(|(_, lost)| *lost > Length::ZERO)
        .max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0)))
}

/// Devices that get more than they stand.
fn high_pressure(plan: &Plan, id: Id, zone: &ZoneAnalysis) -> Option<Finding> {
    let mut over: BTreeSet<Id> = BTreeSet::new();
    let mut worst: Option<(SupplyCase, EmitterResult<'_>, Pressure)> = None;
    for case in SupplyCase::ALL {
        for emitter in zone.emitters(case) {
            let Some(part) = plan.catalog.emission(&emitter.point.part) else {
                continue;
            };
            if emitter.pressure <= part.maximum {
                continue;
            }
            over.insert(emitter.point.owner);
            if worst.is_none_or(|(_, known, limit)| {
                emitter.pressure - part.maximum > known.pressure - limit
            }) {
                worst = Some((case, emitter, part.maximum));
            }
        }
    }
    let (case, emitter, maximum) = worst?;
    let mut subjects: Vec<Id> = over.into_iter().collect();
    subjects.push(id);
    let values = vec![
        ("device", Value::Text(emitter.point.name())),
        ("pressure", Value::Pressure(emitter.pressure)),
        ("maximum", Value::Pressure(maximum)),
        ("case", Value::Text(case.word().to_owned())),
    ];
    Some(Finding {
        measured: Some(Value::Pressure(emitter.pressure)),
        limit: Some(Value::Pressure(maximum)),
        ..Finding::new(
            "hydraulics.high_pressure",
            Severity::Fix,
            subjects,
            Message::new("hydraulics.high_pressure", values),
        )
    })
}

/// Pressure at the moment the valve opens, before anything flows, where no regulator stands between.
fn static_pressure(plan: &Plan, id: Id, zone: &ZoneAnalysis) -> Option<Finding> {
    if has_device(plan, zone, DeviceKind::PressureRegulator) {
        return None;
    }
    let supply_id = *zone.built.supplies.first()?;
    let supply = plan.objects.supplies.get(&supply_id)?;
    let at_rest = supply.high.unwrap_or(supply.at_rest);
    let network = &zone.built.network;
    let source_level = network
        .junctions
        .get(network.sources.first()?.junction)?
        .level;
    let worst = zone
        .emitters(SupplyCase::High)
        .filter_map(|emitter| {
            let level = network.junctions.get(emitter.junction)?.level;
            let pressure = at_rest + network.water.pressure_of(source_level - level);
            let maximum = plan.catalog.emission(&emitter.point.part)?.maximum;
            (pressure > maximum).then_some((emitter, pressure, maximum))
        })
        .max_by(|a, b| (a.1 - a.2).total_cmp(&(b.1 - b.2)))?;
    let (emitter, pressure, maximum) = worst;
    // Told once: what is too high while running is told by the running pressure.
    if emitter.pressure > maximum {
        return None;
    }
    let values = vec![
        ("zone", ids(&[id])),
        ("device", Value::Text(emitter.point.name())),
        ("pressure", Value::Pressure(pressure)),
        ("maximum", Value::Pressure(maximum)),
    ];
    Some(Finding {
        measured: Some(Value::Pressure(pressure)),
        limit: Some(Value::Pressure(maximum)),
        ..Finding::new(
            "hydraulics.static_pressure",
            Severity::Check,
            vec![id, emitter.point.owner],
            Message::new("hydraulics.static_pressure", values),
        )
    })
}

/// Flow-through devices of the zone outside the flows they are made for.
fn device_flows(plan: &Plan, id: Id, zone: &ZoneAnalysis) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (device_id, link) in &zone.built.devices {
        let Some(device) = plan.objects.devices.get(device_id) else {
            continue;
        };
        let Some(part) = plan.catalog.device(&device.part) else {
            continue;
        };
        let flows = SupplyCase::ALL.map(|case| {
            zone.solution(case)
                .flows
                .get(*link)
                .map_or(Flow::ZERO, |flow| flow.abs())
        });
        let least = flows.into_iter().fold(flows[0], Flow::min);
        let most = flows.into_iter().fold(flows[0], Flow::max);
        let (check, flow, limit) = match (part.minimum, part.maximum) {
            (Some(minimum), _) if least < minimum => ("hydraulics.flow_too_small", least, minimum),
            (_, Some(maximum)) if most > maximum => ("hydraulics.flow_too_large", most, maximum),
            _ => continue,
        };
        let values = vec![
            ("device", ids(&[*device_id])),
            ("name", Value::Text(part.name.clone())),
            ("zone", ids(&[id])),
            ("flow", Value::Flow(flow)),
            ("limit", Value::Flow(limit)),
        ];
        findings.push(Finding {
            measured: Some(Value::Flow(flow)),
            limit: Some(Value::Flow(limit)),
            ..Finding::new(
                check,
                Severity::Fix,
                vec![*device_id, id],
                Message::new(check, values),
            )
        });
    }
    findings
}

/// Whether a device of that kind takes part in the zone.
pub(super) fn has_device(plan: &Plan, zone: &ZoneAnalysis, kind: DeviceKind) -> bool {
    let mut devices = zone.built.devices.keys();
    devices.any(|id| {
        plan.objects
            .devices
            .get(id)
            .is_some_and(|device| device.kind == kind)
    })
}

fn ids(ids: &[Id]) -> Value {
    Value::Ids(ids.to_vec())
}
