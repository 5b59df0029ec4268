//! What would help the chain of devices: another order, a regulator put in, another size, stronger pipe.

use std::collections::BTreeSet;
use std::sync::Arc;

use super::{Candidate, pipe_changes, text, zone_of};
use crate::analysis::Analysis;
use crate::catalog::strength::Material;
use crate::catalog::{Catalog, DevicePart};
use crate::edit::Edit;
use crate::finding::{Finding, Value};
use crate::hydraulics::SupplyCase;
use crate::ids::{Id, Kind};
use crate::model::{Device, DeviceKind, Document, End, Meta, Object, Pipe, Plan, PortRef};
use crate::units::{Flow, Length, Pressure};

pub(super) fn put_device(id: Id, device: Device) -> Edit {
    Edit::Put {
        id,
        object: Object::Device(Arc::new(device)),
    }
}

pub(super) fn put_pipe(id: Id, pipe: Pipe) -> Edit {
    Edit::Put {
        id,
        object: Object::Pipe(Arc::new(pipe)),
    }
}

/// Two devices change places: each takes the other's place and joints.
pub(super) fn swapped(plan: &Plan, finding: &Finding) -> Option<Candidate> {
    let &[a, b] = &finding.subjects[..] else {
        return None;
    };
    let (first, second) = (plan.objects.devices.get(&a)?, plan.objects.devices.get(&b)?);
    let at_place_of = |device: &Device, place: &Device| Device {
        at: place.at,
        inlet: place.inlet.clone(),
        ..device.clone()
    };
    let values = vec![
        ("first", Value::Ids(vec![a])),
        ("then", Value::Ids(vec![b])),
    ];
    // The ids stay with the places, so that everything that is joined to them stays joined.
    let edit = Edit::All(vec![
        put_device(a, at_place_of(second, first)),
        put_device(b, at_place_of(first, second)),
    ]);
    Some((text("swap", values), edit))
}

/// A breaker that may stay under pressure in place of one that may not.
pub(super) fn pressure_breaker(plan: &Plan, finding: &Finding) -> Option<Candidate> {
    let kind = DeviceKind::BackflowAtmosphericVacuumBreaker;
    let (id, device) = finding
        .subjects
        .iter()
        .filter_map(|id| Some((*id, plan.objects.devices.get(id)?)))
        .find(|(_, device)| device.kind == kind)?;
    let size = &plan.catalog.device(&device.part)?.inlet;
    let (key, row) = Catalog::built_in()
        .devices
        .iter()
        .find(|(_, row)| row.kind == "backflow_pressure_vacuum_breaker" && row.inlet == *size)?;
    let other = Device {
        kind: DeviceKind::BackflowPressureVacuumBreaker,
        part: key.clone(),
        ..(**device).clone()
    };
    let values = vec![
        ("device", Value::Ids(vec![id])),
        ("part", Value::Text(row.name.clone())),
    ];
    Some((text("other_part", values), put_device(id, other)))
}

/// Rigid pipe in place of tubing that sees the main's pressure.
pub(super) fn rigid_pipe(plan: &Plan, finding: &Finding) -> Option<Candidate> {
    let id = *finding.subjects.iter().find(|id| id.kind == Kind::Pipe)?;
    let pipe = plan.objects.pipes.get(&id)?;
    let bore = plan.catalog.pipe(&pipe.part)?.bore();
    stronger_row(bore, |row| row.family == "PVC Sch 40").map(|(key, _)| {
        let changes = pipe_changes(plan, &[(id, key.clone())]);
        let other = Pipe {
            part: key,
            ..(**pipe).clone()
        };
        (
            text("rigid_pipe", vec![("changes", changes)]),
            put_pipe(id, other),
        )
    })
}

/// The smallest row that is at least as wide.
fn stronger_row(
    bore: Length,
    is_wanted: impl Fn(&crate::catalog::PipePart) -> bool,
) -> Option<(String, String)> {
    Catalog::built_in()
        .pipes
        .iter()
        .filter(|(_, row)| is_wanted(row) && row.bore() >= bore * 0.97)
        .min_by(|a, b| a.1.bore().total_cmp(&b.1.bore()))
        .map(|(key, row)| (key.clone(), row.name.clone()))
}

/// Stronger rows for every run over its rating.
pub(super) fn stronger_pipes(plan: &Plan, finding: &Finding) -> Option<Candidate> {
    let Some(Value::Pressure(limit)) = finding.measured else {
        return None;
    };
    let mut edits = Vec::new();
    let mut runs = Vec::new();
    for id in finding.subjects.iter().filter(|id| id.kind == Kind::Pipe) {
        let pipe = plan.objects.pipes.get(id)?;
        let present = plan.catalog.pipe(&pipe.part)?;
        let material = match present.material() {
            Material::Polyethylene => Material::Pvc,
            other => other,
        };
        let temperature = plan
            .site
            .water_temperature
            .unwrap_or(crate::hydraulics::from_plan::ASSUMED_TEMPERATURE);
        let found = stronger_row(present.bore(), |row| {
            row.material() == material
                && row
                    .rating_at(temperature)
                    .is_some_and(|rating| rating > limit * 1.05)
        });
        if let Some((part, _)) = found {
            runs.push((*id, part.clone()));
            edits.push(put_pipe(
                *id,
                Pipe {
                    part,
                    ..(**pipe).clone()
                },
            ));
        }
    }
    (!edits.is_empty()).then(|| {
        (
            text(
                "stronger_pipes",
                vec![("changes", pipe_changes(plan, &runs))],
            ),
            Edit::All(edits),
        )
    })
}

/// A regulator behind the point of connection, for parts that the supply itself overloads.
pub(super) fn regulate_main(plan: &Plan, now: &Analysis, finding: &Finding) -> Option<Candidate> {
    let Some(Value::Pressure(sees)) = finding.measured else {
        return None;
    };
    let zone = now.zones.values().next()?;
    let supply = *zone.built.supplies.first()?;
    let out = PortRef::new(supply, "out");
    let (pipe, run) = plan
        .objects
        .pipes
        .iter()
        .find(|(_, pipe)| pipe.start.port() == Some(&out))?;
    let flow = now
        .zones
        .values()
        .map(|zone| zone.rated_flow(plan))
        .fold(Flow::ZERO, Flow::max);
    let (key, row) = regulator_for(Pressure::from_psi(60.0), flow, sees)?;
    let device = new_device(
        DeviceKind::PressureRegulator,
        key,
        run.water,
        run.vertices.0.first().copied()?,
        End::Open,
    );
    let values = vec![
        ("part", Value::Text(row.name.clone())),
        ("place", Value::Ids(vec![*pipe])),
    ];
    let edit = Edit::InsertDevice {
        pipe: *pipe,
        station: run.vertices.length() / 2.0,
        device: Arc::new(device),
    };
    Some((text("regulator_in", values), edit))
}

pub(super) fn new_device(
    kind: DeviceKind,
    part: &str,
    water: Id,
    at: crate::geometry::PlanPoint,
    inlet: End,
) -> Device {
    Device {
        kind,
        part: part.to_owned(),
        water,
        at,
        inlet,
        set: None,
        closed: false,
        height: None,
        purple: false,
        meta: Meta::default(),
    }
}

/// A regulator of the highest setting up to `most` that works at a flow and stands a pressure.
fn regulator_for(
    most: Pressure,
    flow: Flow,
    stands: Pressure,
) -> Option<(&'static str, &'static DevicePart)> {
    Catalog::built_in()
        .devices
        .iter()
        .filter(|(_, row)| {
            row.kind == "pressure_regulator"
                && (stands <= Pressure::ZERO || row.rating.is_some_and(|rating| rating >= stands))
                && row.set.is_some_and(|set| set <= most * 1.001)
                && row.minimum.is_none_or(|least| least <= flow)
                && row.maximum.is_none_or(|largest| largest >= flow)
        })
        .max_by(|a, b| {
            let key = |row: &DevicePart| row.set.unwrap_or_default();
            key(a.1).total_cmp(&key(b.1)).then(b.0.cmp(a.0))
        })
        .map(|(key, row)| (key.as_str(), row.as_ref()))
}

/// A regulator at the end of the devices behind the zone valve.
pub(super) fn regulate_zone(
    document: &Document,
    now: &Analysis,
    finding: &Finding,
) -> Option<Candidate> {
    let plan = &document.design;
    let zone = zone_of(now, finding)?;
    let most = zone
        .built
        .emitters
        .iter()
        .filter_map(|point| plan.catalog.emission(&point.part))
        .map(|part| part.maximum)
        .reduce(Pressure::min)?;
    let (key, row) = regulator_for(most, zone.rated_flow(plan), Pressure::ZERO)?;
    let values = vec![
        ("part", Value::Text(row.name.clone())),
        ("place", Value::Ids(vec![zone.valve])),
    ];
    let edit = behind_chain(document, zone.valve, DeviceKind::PressureRegulator, key)?;
    Some((text("regulator_in", values), edit))
}

/// Puts a device behind the last of those that stand directly behind a valve.
fn behind_chain(document: &Document, valve: Id, kind: DeviceKind, part: &str) -> Option<Edit> {
    let objects = &document.design.objects;
    let mut last = valve;
    let mut seen = BTreeSet::from([valve]);
    while let Some((next, _)) = objects
        .devices
        .iter()
        .find(|(_, device)| device.inlet.port() == Some(&PortRef::new(last, "out")))
    {
        if !seen.insert(*next) {
            return None;
        }
        last = *next;
    }
    let behind = PortRef::new(last, "out");
    let water = objects.devices.get(&last)?.water;
    let at = objects.devices.get(&last)?.at;
    let device = new_device(kind, part, water, at, End::Open);
    if let Some((id, pipe)) = objects
        .pipes
        .iter()
        .find(|(_, pipe)| pipe.start.port() == Some(&behind))
    {
        return Some(Edit::InsertDevice {
            pipe: *id,
            station: Length::from_metres(0.3).min(pipe.vertices.length() / 2.0),
            device: Arc::new(device),
        });
    }
    // A line that starts at the device itself.
    let (id, line) = objects
        .lines
        .iter()
        .find(|(_, line)| line.start.port() == Some(&behind))?;
    let mut next_id = document.next_id.clone();
    let new_id = next_id.take(Kind::Device);
    let mut moved = (**line).clone();
    moved.start = End::At(PortRef::new(new_id, "out"));
    let placed = Device {
        inlet: End::At(behind),
        ..device
    };
    Some(Edit::All(vec![
        Edit::Put {
            id: *id,
            object: Object::Line(Arc::new(moved)),
        },
        Edit::Add(Object::Device(Arc::new(placed))),
    ]))
}

/// Another size of the same device that is made for the flow.
pub(super) fn fitting_size(plan: &Plan, now: &Analysis, finding: &Finding) -> Vec<Candidate> {
    let (Some(zone), Some(id)) = (
        zone_of(now, finding),
        finding.subjects.iter().find(|id| id.kind == Kind::Device),
    ) else {
        return Vec::new();
    };
    let Some(device) = plan.objects.devices.get(id) else {
        return Vec::new();
    };
    let (Some(part), Some(link)) = (
        plan.catalog.device(&device.part),
        zone.built.devices.get(id),
    ) else {
        return Vec::new();
    };
    let flows = SupplyCase::ALL.map(|case| {
        let flow = zone.solution(case).flows.get(*link);
        flow.map_or(Flow::ZERO, |flow| flow.abs())
    });
    let fits = |row: &DevicePart| {
        flows.iter().all(|flow| {
            row.minimum.is_none_or(|least| *flow >= least)
                && row.maximum.is_none_or(|most| *flow <= most)
        })
    };
    Catalog::built_in()
        .devices
        .iter()
        .filter(|(key, row)| {
            **key != device.part && row.kind == part.kind && row.set == part.set && fits(row)
        })
        .map(|(key, row)| {
            let other = Device {
                part: key.clone(),
                ..(**device).clone()
            };
            let values = vec![
                ("device", Value::Ids(vec![*id])),
                ("part", Value::Text(row.name.clone())),
            ];
            (text("other_part", values), put_device(*id, other))
        })
        .collect()
}
