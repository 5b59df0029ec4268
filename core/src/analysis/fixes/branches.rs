//! What would help a zone as a whole: an air valve at its high point, a valve of its own for what does not belong.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::chain::{new_device, put_pipe};
use super::{Candidate, text, zone_of};
use crate::analysis::{Analysis, ZoneAnalysis};
use crate::edit::Edit;
use crate::finding::{Finding, Value};
use crate::hydraulics::Joints;
use crate::ids::{Id, Kind};
use crate::layout::Ground;
use crate::model::{
    Device, DeviceKind, Document, End, Meta, Object, Pipe, PipeRole, Plan, PortRef, Zone,
};
use crate::units::Length;

/// An air valve at the highest point of the runs that feed a zone.
pub(super) fn air_valve(
    document: &Document,
    now: &Analysis,
    finding: &Finding,
) -> Option<Candidate> {
    let plan = &document.design;
    let zone = zone_of(now, finding)?;
    let ground = Ground::of(&plan.objects);
    let (id, station, at, _) = zone
        .built
        .pipes
        .keys()
        .filter(|id| zone.members.contains(id))
        .filter_map(|id| Some((*id, plan.objects.pipes.get(id)?)))
        .flat_map(|(id, pipe)| {
            let mut station = Length::ZERO;
            let mut last = None;
            let stations: Vec<_> = pipe
                .vertices
                .0
                .iter()
                .map(|at| {
                    if let Some(last) = last.replace(*at) {
                        station += at.distance(last);
                    }
                    (id, station, *at, ground.level(*at))
                })
                .collect();
            stations
        })
        .max_by(|a, b| a.3.total_cmp(&b.3).then(b.0.cmp(&a.0)))?;
    let run = plan.objects.pipes.get(&id)?;
    let mut tapped = (**run).clone();
    let name = free_tap(&tapped);
    tapped.taps.insert(name.clone(), station);
    let device = new_device(
        DeviceKind::AirRelief,
        "air-relief-1/2",
        run.water,
        at,
        End::At(PortRef::new(id, name)),
    );
    let edit = Edit::All(vec![
        put_pipe(id, tapped),
        Edit::Add(Object::Device(Arc::new(device))),
    ]);
    Some((text("air_valve", vec![("run", Value::Ids(vec![id]))]), edit))
}

fn free_tap(pipe: &Pipe) -> String {
    (1..)
        .map(|number| format!("t{number}"))
        .find(|name| !pipe.taps.contains_key(name))
        .unwrap_or_default()
}

/// The drip of a mixed zone on a valve of its own: its branch is cut off and fed from the main, with a regulator like the
/// zone's if it has one.
pub(super) fn split_zone(
    document: &Document,
    now: &Analysis,
    finding: &Finding,
) -> Option<Candidate> {
    let plan = &document.design;
    let objects = &plan.objects;
    let zone = zone_of(now, finding)?;
    let valve = objects.devices.get(&zone.valve)?;
    let into = PortRef::new(zone.valve, "in");
    let drips: BTreeSet<Id> = finding
        .subjects
        .iter()
        .copied()
        .filter(|id| is_drip(zone, plan, *id))
        .collect();
    let (branch, run) = branch_of(plan, zone, &drips)?;
    let corner = run.vertices.0.first().copied()?;
    // The main that the old valve hangs on, directly or by a stub.
    let (mut main_id, mut main) = objects
        .pipes
        .iter()
        .find(|(_, pipe)| pipe.end.port() == Some(&into))?;
    if let Some(port) = main
        .start
        .port()
        .filter(|port| port.object.kind == Kind::Pipe)
        && let Some((id, pipe)) = objects.pipes.get_key_value(&port.object)
    {
        (main_id, main) = (id, pipe);
    }
    let (station, _) = main.vertices.nearest(corner);
    let mut tapped = (**main).clone();
    let tap = free_tap(&tapped);
    tapped.taps.insert(tap.clone(), station);
    let mut next_id = document.next_id.clone();
    let new_valve = next_id.take(Kind::Device);
    let mut last = PortRef::new(new_valve, "out");
    let mut edits = vec![
        put_pipe(*main_id, tapped),
        Edit::Add(Object::Device(Arc::new(Device {
            at: corner,
            inlet: End::Open,
            ..(**valve).clone()
        }))),
        Edit::Add(Object::Pipe(Arc::new(Pipe {
            role: PipeRole::Main,
            vertices: crate::geometry::Polyline(vec![main.vertices.point_at(station)?, corner]),
            start: End::At(PortRef::new(*main_id, tap)),
            end: End::At(PortRef::new(new_valve, "in")),
            taps: BTreeMap::new(),
            meta: Meta::default(),
            ..(**main).clone()
        }))),
        Edit::Add(Object::Zone(Arc::new(Zone {
            valve: new_valve,
            meta: Meta::default(),
        }))),
    ];
    for wanted in [DeviceKind::Filter, DeviceKind::PressureRegulator] {
        let known = zone
            .members
            .iter()
            .filter_map(|id| objects.devices.get(id))
            .find(|device| device.kind == wanted);
        if let Some(device) = known {
            let id = next_id.take(Kind::Device);
            edits.push(Edit::Add(Object::Device(Arc::new(Device {
                at: corner,
                inlet: End::At(last),
                ..(**device).clone()
            }))));
            last = PortRef::new(id, "out");
        }
    }
    edits.push(put_pipe(
        branch,
        Pipe {
            start: End::At(last),
            ..run
        },
    ));
    let drips: Vec<Id> = drips.into_iter().collect();
    Some((
        text("split_zone", vec![("drips", Value::Ids(drips))]),
        Edit::All(edits),
    ))
}

fn is_drip(zone: &ZoneAnalysis, plan: &Plan, id: Id) -> bool {
    use crate::catalog::EmissionPartKind::{Emitter, EmitterLine};
    zone.built.emitters.iter().any(|point| {
        point.owner == id
            && plan
                .catalog
                .emission(&point.part)
                .is_some_and(|part| matches!(part.kind, EmitterLine | Emitter))
    })
}

/// The run off a tap that leads to all of the drip and to nothing else.
fn branch_of(plan: &Plan, zone: &ZoneAnalysis, drips: &BTreeSet<Id>) -> Option<(Id, Pipe)> {
    let joints = Joints::of(&plan.objects);
    zone.members.iter().find_map(|id| {
        let pipe = plan.objects.pipes.get(id)?;
        let parent = pipe.start.port()?.object;
        if parent.kind != Kind::Pipe {
            return None;
        }
        let behind = joints.reached([*id], &BTreeSet::from([parent]));
        let giving: BTreeSet<Id> = zone
            .built
            .emitters
            .iter()
            .map(|point| point.owner)
            .filter(|owner| behind.contains(owner))
            .collect();
        (giving == *drips).then(|| (*id, (**pipe).clone()))
    })
}
