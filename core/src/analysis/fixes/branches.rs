//! What would help a zone as a whole: an air valve at its high point, a valve of its own for what does not belong.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::chain::{new_device, put_pipe};
use super::{Candidate, text, zone_of};
use crate::analysis::{Analysis, ZoneAnalysis};
use crate::edit::Edit;
use crate::finding::{Finding, Value};
use crate::geometry::{PlanPoint, Polyline};
use crate::ids::{Id, Kind};
use crate::layout::Ground;
use crate::model::Joints;
use crate::model::{
    Device, DeviceKind, Document, End, Meta, NextId, Object, Objects, Pipe, PipeRole, Plan,
    PortRef, Zone,
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

/// The drip of a mixed zone on a valve of its own: its branch is cut off and fed from the main.
pub(super) fn split_zone(
    document: &Document,
    now: &Analysis,
    finding: &Finding,
) -> Option<Candidate> {
    let plan = &document.design;
    let zone = zone_of(now, finding)?;
    let drips: BTreeSet<Id> = finding
        .subjects
        .iter()
        .copied()
        .filter(|id| is_drip(zone, plan, *id))
        .collect();
    let branch = branch_of(plan, zone, &drips)?;
    let mut objects = plan.objects.clone();
    taken_off(&mut objects, branch, |pipe| &mut pipe.start)?;
    let mut next_id = document.next_id.clone();
    on_own_valve(&mut objects, &mut next_id, zone, branch)?;
    let drips: Vec<Id> = drips.into_iter().collect();
    Some((
        text("split_zone", vec![("drips", Value::Ids(drips))]),
        between(&plan.objects, &objects),
    ))
}

/// Opens one end of a run, and takes out the tap that it leaves.
pub(super) fn taken_off(
    objects: &mut Objects,
    run: Id,
    end: impl Fn(&mut Pipe) -> &mut End,
) -> Option<()> {
    let pipe = Arc::make_mut(objects.pipes.get_mut(&run)?);
    let left = std::mem::replace(end(pipe), End::Open);
    if let Some(port) = left.port()
        && let Some(parent) = objects.pipes.get_mut(&port.object)
    {
        Arc::make_mut(parent).taps.remove(&port.port);
    }
    Some(())
}

/// The edit that makes other objects of those that are there. Names of new ones must have been given out in order.
pub(super) fn between(before: &Objects, after: &Objects) -> Edit {
    let differences = after.differences(before).into_iter();
    let edits = differences.map(|id| match after.get(id) {
        Some(object) if before.contains(id) => Edit::Put { id, object },
        Some(object) => Edit::Add(object),
        None => Edit::Remove(vec![id]),
    });
    Edit::All(edits.collect())
}

/// How much farther than its open end another place of a run may be fed, for the tee that it takes.
const WORTH_A_TEE_M: f64 = 1.0;
/// How far from the main the new valve stands, and the devices from each other.
const APART_M: f64 = 0.15;

/// Feeds a run, which has an open end where it was taken off, by a new valve on the main of a zone. The valve has a filter
/// and a regulator behind it like the zone's, if that has them. Answers with the run that is tapped.
pub(super) fn on_own_valve(
    objects: &mut Objects,
    next_id: &mut NextId,
    zone: &ZoneAnalysis,
    run: Id,
) -> Option<Id> {
    let valve = objects.devices.get(&zone.valve)?.clone();
    let piece = objects.pipes.get(&run)?.clone();
    let main_id = main_of(objects, zone.valve)?;
    let main = objects.pipes.get(&main_id)?.clone();
    let place = feeding_place(&main, &piece)?;
    let (from, to) = (main.vertices.point_at(place.main)?, place.at);
    let reach = from.distance(to).metres();
    let wanted: Vec<Device> = [DeviceKind::Filter, DeviceKind::PressureRegulator]
        .into_iter()
        .filter_map(|kind| {
            let mut members = zone.members.iter().filter_map(|id| objects.devices.get(id));
            members.find(|device| device.kind == kind)
        })
        .map(|device| (**device).clone())
        .collect();
    let apart = APART_M.min(reach / (wanted.len() + 2) as f64);
    if apart < APART_M / 5.0 {
        return None;
    }
    let along = |distance: f64| from.lerp(to, distance / reach);

    let mut tapped = (*main).clone();
    let tap = free_tap(&tapped);
    tapped.taps.insert(tap.clone(), place.main);
    objects.pipes.insert(main_id, Arc::new(tapped));

    let new_valve = next_id.take(Kind::Device);
    let mut last = (new_valve, apart);
    objects.devices.insert(
        new_valve,
        Arc::new(Device {
            at: along(apart),
            inlet: End::Open,
            meta: Meta::default(),
            ..(*valve).clone()
        }),
    );
    for device in wanted {
        let id = next_id.take(Kind::Device);
        let placed = Device {
            at: along(last.1 + apart),
            inlet: End::At(PortRef::new(last.0, "out")),
            meta: Meta::default(),
            ..device
        };
        objects.devices.insert(id, Arc::new(placed));
        last = (id, last.1 + apart);
    }
    let stub = Pipe {
        role: PipeRole::Main,
        vertices: Polyline(vec![from, along(apart)]),
        start: End::At(PortRef::new(main_id, tap)),
        end: End::At(PortRef::new(new_valve, "in")),
        taps: BTreeMap::new(),
        meta: Meta::default(),
        ..(*main).clone()
    };
    let (mut piece, name) = ((*piece).clone(), place.end);
    let port = if let Some(name) = name {
        name.to_owned()
    } else {
        let name = free_tap(&piece);
        piece.taps.insert(name.clone(), place.station);
        for end in [&mut piece.start, &mut piece.end] {
            if *end == End::Open {
                *end = End::Cap;
            }
        }
        name
    };
    let feeder = Pipe {
        role: PipeRole::Lateral,
        vertices: Polyline(vec![along(last.1), to]),
        start: End::At(PortRef::new(last.0, "out")),
        end: End::At(PortRef::new(run, port)),
        taps: BTreeMap::new(),
        meta: Meta::default(),
        ..piece.clone()
    };
    objects.pipes.insert(run, Arc::new(piece));
    for pipe in [stub, feeder] {
        objects
            .pipes
            .insert(next_id.take(Kind::Pipe), Arc::new(pipe));
    }
    let opened = Zone {
        valve: new_valve,
        meta: Meta::default(),
    };
    objects
        .zones
        .insert(next_id.take(Kind::Zone), Arc::new(opened));
    Some(main_id)
}

/// The main that a valve hangs on, directly or by a stub.
fn main_of(objects: &Objects, valve: Id) -> Option<Id> {
    let into = PortRef::new(valve, "in");
    let end_there = objects
        .pipes
        .iter()
        .find(|(_, pipe)| pipe.end.port() == Some(&into));
    let inlet = &objects.devices.get(&valve)?.inlet;
    let Some((stub, pipe)) = end_there else {
        return inlet
            .port()
            .map(|port| port.object)
            .filter(|id| id.kind == Kind::Pipe);
    };
    let parent = pipe.start.port().map(|port| port.object);
    Some(parent.filter(|id| id.kind == Kind::Pipe).unwrap_or(*stub))
}

/// Where a run is fed from a main by the shortest way.
struct FeedingPlace {
    /// Station on the main.
    main: Length,
    /// Station on the run.
    station: Length,
    /// Its place.
    at: PlanPoint,
    /// The name of the run's end, if it is fed there.
    end: Option<&'static str>,
}

fn feeding_place(main: &Pipe, piece: &Pipe) -> Option<FeedingPlace> {
    let length = piece.vertices.length();
    let ends = [
        ("start", &piece.start, Length::ZERO),
        ("end", &piece.end, length),
    ];
    let open = ends
        .into_iter()
        .filter(|(_, end, _)| **end == End::Open)
        .map(|(name, _, station)| (Some(name), station));
    let corners = piece
        .vertices
        .0
        .iter()
        .map(|at| piece.vertices.nearest(*at).0);
    let facing = main
        .vertices
        .0
        .iter()
        .map(|at| piece.vertices.nearest(*at).0);
    let others = corners.chain(facing).map(|station| (None, station));
    open.chain(others)
        .filter_map(|(end, station)| {
            let at = piece.vertices.point_at(station)?;
            let (on_main, away) = main.vertices.nearest(at);
            let tee = if end.is_some() { 0.0 } else { WORTH_A_TEE_M };
            let place = FeedingPlace {
                main: on_main,
                station,
                at,
                end,
            };
            Some((away.metres() + tee, place))
        })
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, place)| place)
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
fn branch_of(plan: &Plan, zone: &ZoneAnalysis, drips: &BTreeSet<Id>) -> Option<Id> {
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
        (giving == *drips).then_some(*id)
    })
}
