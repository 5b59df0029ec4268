//! Putting a device into a run: the run keeps its name up to the device, a new run goes on behind it.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::EditError;
use crate::geometry::{PlanPoint, Polyline};
use crate::ids::{Id, Kind};
use crate::model::{
    Device, DeviceKind, End, Joints, NextId, Object, Objects, Pipe, PipeRole, Plan, PortRef,
    integrity,
};
use crate::units::Length;

/// Cuts a pipe at a station and puts the device there.
///
/// Water is taken to flow from the start of the run to its end; a run that was drawn towards its supply is turned first, or
/// the device would stand the wrong way round.
pub(super) fn device(
    plan: &mut Plan,
    next_id: &mut NextId,
    pipe_id: Id,
    station: Length,
    device: &Device,
    added: &mut Vec<Id>,
) -> Result<(), EditError> {
    let find = |objects: &Objects| objects.pipes.get(&pipe_id).cloned();
    let drawn = find(&plan.objects).ok_or(EditError::NotThere(pipe_id))?;
    let length = drawn.vertices.length();
    let (pipe, station) = if is_drawn_upstream(&plan.objects, pipe_id, &drawn) {
        turn(&mut plan.objects, pipe_id, &drawn);
        (find(&plan.objects).unwrap_or(drawn), length - station)
    } else {
        (drawn, station)
    };
    let no_room = EditError::NoRoom(pipe_id);
    if !(station > Length::ZERO && station < length) {
        return Err(no_room);
    }
    let at = pipe.vertices.point_at(station).ok_or(no_room)?;
    let device_id = next_id.take(Kind::Device);
    let rest_id = next_id.take(Kind::Pipe);
    let (front, back) = cut(&pipe.vertices, station, at);
    let (front_taps, back_taps): (BTreeMap<_, _>, BTreeMap<_, _>) = pipe
        .taps
        .iter()
        .map(|(name, tap)| (name.clone(), *tap))
        .partition(|(_, tap)| *tap <= station);
    let moved_taps: Vec<String> = back_taps.keys().cloned().collect();
    let rest = Pipe {
        vertices: back,
        start: End::At(PortRef::new(device_id, "out")),
        taps: back_taps
            .into_iter()
            .map(|(name, tap)| (name, tap - station))
            .collect(),
        ..(*pipe).clone()
    };
    let kept = Pipe {
        vertices: front,
        end: End::At(PortRef::new(device_id, "in")),
        taps: front_taps,
        ..(*pipe).clone()
    };
    let placed = Device {
        at,
        inlet: End::Open,
        water: pipe.water,
        ..device.clone()
    };
    plan.objects.put(pipe_id, Object::Pipe(Arc::new(kept)));
    plan.objects.put(rest_id, Object::Pipe(Arc::new(rest)));
    plan.objects
        .put(device_id, Object::Device(Arc::new(placed)));
    for port in moved_taps.iter().map(String::as_str).chain(["end"]) {
        rename_joints(
            &mut plan.objects,
            &PortRef::new(pipe_id, port),
            &PortRef::new(rest_id, port),
        );
    }
    if device.kind == DeviceKind::ZoneValve {
        mains_up_from(&mut plan.objects, pipe_id);
    }
    added.extend([device_id, rest_id]);
    Ok(())
}

/// Whether only the end of a run hangs on a supply.
fn is_drawn_upstream(objects: &Objects, id: Id, pipe: &Pipe) -> bool {
    let joints = Joints::of(objects);
    let is_fed = |end: &End, port: &str| {
        let own = PortRef::new(id, port);
        let others = integrity::joints(objects)
            .filter(|(_, end)| end.port() == Some(&own))
            .map(|(other, _)| other);
        let ends = end.port().map(|port| port.object).into_iter();
        let reached = joints.reached(ends.chain(others), &BTreeSet::from([id]));
        reached.iter().any(|id| id.kind == Kind::Supply)
    };
    is_fed(&pipe.end, "end") && !is_fed(&pipe.start, "start")
}

/// Turns a run and keeps what is joined to its ends.
fn turn(objects: &mut Objects, id: Id, pipe: &Pipe) {
    objects.put(id, Object::Pipe(Arc::new(pipe.turned())));
    let port = |name: &str| PortRef::new(id, name);
    // By way of a name that no port has, so that the two do not run together.
    for (from, to) in [("start", "turning"), ("end", "start"), ("turning", "end")] {
        rename_joints(objects, &port(from), &port(to));
    }
}

/// What leads to a zone valve is under pressure all the time: laterals on the way up to the supply become mains. Where another
/// zone valve stands on that way, they stay what they are.
fn mains_up_from(objects: &mut Objects, first: Id) {
    let mut on_the_way = Vec::new();
    let mut next = Some(first);
    while let Some(id) = next.filter(|id| !on_the_way.contains(id)) {
        on_the_way.push(id);
        let above = match (objects.pipes.get(&id), objects.devices.get(&id)) {
            (Some(pipe), _) => pipe.start.port(),
            (None, Some(device)) if device.kind == DeviceKind::ZoneValve => return,
            (None, Some(device)) => device.inlet.port(),
            (None, None) => None,
        };
        let inlet = PortRef::new(id, "in");
        let mut runs = objects.pipes.iter();
        let fed_by = || {
            let run = runs.find(|(_, pipe)| pipe.end.port() == Some(&inlet));
            run.map(|(id, _)| *id)
        };
        next = above.map(|port| port.object).or_else(fed_by);
    }
    for id in on_the_way {
        if let Some(pipe) = objects.pipes.get(&id)
            && pipe.role == PipeRole::Lateral
        {
            let role = PipeRole::Main;
            let pipe = Pipe {
                role,
                ..(**pipe).clone()
            };
            objects.put(id, Object::Pipe(Arc::new(pipe)));
        }
    }
}

fn cut(vertices: &Polyline, station: Length, at: PlanPoint) -> (Polyline, Polyline) {
    let mut front = Vec::new();
    let mut back = vec![at];
    let mut passed = Length::ZERO;
    let mut previous: Option<PlanPoint> = None;
    for vertex in &vertices.0 {
        if let Some(previous) = previous {
            passed += previous.distance(*vertex);
        }
        if passed < station {
            front.push(*vertex);
        } else {
            back.push(*vertex);
        }
        previous = Some(*vertex);
    }
    front.push(at);
    // A cut in a bend would leave that point twice in the rear half.
    if back.len() > 2 && back[0] == back[1] {
        back.remove(1);
    }
    (Polyline(front), Polyline(back))
}

/// Lets everything that is joined to one port be joined to another instead.
pub(crate) fn rename_joints(objects: &mut Objects, from: &PortRef, to: &PortRef) {
    let joined: Vec<Id> = integrity::joints(objects)
        .filter(|(_, end)| end.port() == Some(from))
        .map(|(id, _)| id)
        .collect();
    let rename = |end: &mut End| {
        if end.port() == Some(from) {
            *end = End::At(to.clone());
        }
    };
    for id in joined {
        if let Some(pipe) = objects.pipes.get_mut(&id) {
            let pipe = Arc::make_mut(pipe);
            rename(&mut pipe.start);
            rename(&mut pipe.end);
        } else if let Some(line) = objects.lines.get_mut(&id) {
            let line = Arc::make_mut(line);
            rename(&mut line.start);
            rename(&mut line.end);
        } else if let Some(device) = objects.devices.get_mut(&id) {
            rename(&mut Arc::make_mut(device).inlet);
        } else if let Some(emission) = objects.emissions.get_mut(&id) {
            rename(&mut Arc::make_mut(emission).inlet);
        } else if let Some(outlet) = objects.outlets.get_mut(&id) {
            rename(&mut Arc::make_mut(outlet).inlet);
        }
    }
}
