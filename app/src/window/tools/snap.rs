//! What an end catches: a free port of its own water, or the side of a run, which gets a tap there. Other waters are named
//! and refused.

use std::collections::BTreeSet;
use std::sync::Arc;

use aubergine_core::edit::Edit;
use aubergine_core::geometry::PlanPoint;
use aubergine_core::ids::{Id, Kind};
use aubergine_core::layout::{bed_outline, port_place};
use aubergine_core::model::integrity::{joints, ports, water_of};
use aubergine_core::model::{End, Object, Plan, PortRef};
use aubergine_core::text;
use aubergine_core::units::Length;

use crate::window::panels::describe;

/// What was caught.
#[derive(Clone, PartialEq, Debug)]
pub struct Snap {
    /// The place.
    pub at: PlanPoint,
    /// Why, at the pointer.
    pub word: String,
    /// What the end is joined to.
    pub joint: Joint,
    /// It carries another water and cannot be joined.
    pub is_refused: bool,
}

impl Snap {
    /// Whether it was caught at the side of this run.
    fn is_of(&self, id: Id) -> bool {
        matches!(self.joint, Joint::Tap { pipe, .. } if pipe == id)
    }
}

/// What an end is joined to.
#[derive(Clone, PartialEq, Debug)]
pub enum Joint {
    /// A port that is there.
    Port(PortRef),
    /// A new tap in the side of a run.
    Tap {
        /// The run.
        pipe: Id,
        /// How far along it.
        station: Length,
    },
}

/// How much farther than other things the places catch that wait for a run.
const FAR: f64 = 2.5;

/// The nearest thing that an inlet can be joined to; ports before sides of runs.
#[must_use]
pub fn snap(
    plan: &Plan,
    water: Id,
    near: PlanPoint,
    reach: Length,
    not: Option<Id>,
) -> Option<Snap> {
    port_near(plan, water, near, reach, not)
        .or_else(|| side_near(plan, water, near, reach, not).map(|(_, side)| side))
}

/// What the end of a run or line can be joined to: ports and sides of runs as everywhere; from farther off the places that
/// wait for a run; and anywhere in a bed its free inlet.
#[must_use]
pub fn snap_end(
    plan: &Plan,
    water: Id,
    near: PlanPoint,
    reach: Length,
    not: Option<Id>,
) -> Option<Snap> {
    if let Some(port) = port_near(plan, water, near, reach, not) {
        return Some(port);
    }
    let waiting = waiting(plan, water, not);
    let by_distance = waiting
        .iter()
        .map(|(port, at)| (at.distance(near), port, *at));
    let inviting = by_distance
        .filter(|(distance, ..)| *distance <= reach * FAR)
        .min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(b.1)));
    match (inviting, side_near(plan, water, near, reach, not)) {
        // A run that is pointed at is meant, unless it is the one that ends there.
        (Some((distance, port, at)), side)
            if side.as_ref().is_none_or(|(beside, side)| {
                side.is_of(port.object) || distance <= *beside * FAR
            }) =>
        {
            Some(caught(plan, water, port.clone(), at))
        }
        (_, Some((_, side))) => Some(side),
        (_, None) => {
            let holds = |id: Id| {
                let bed = plan.objects.beds.get(&id);
                bed.is_some_and(|bed| bed_outline(bed).contains(near))
            };
            // The topmost bed, which is drawn last.
            let around = waiting
                .into_iter()
                .rev()
                .find(|(port, _)| holds(port.object));
            around.map(|(port, at)| caught(plan, water, port, at))
        }
    }
}

/// Free inlets of beds and free ends of runs of a water: what waits for a run.
#[must_use]
pub fn waiting(plan: &Plan, water: Id, not: Option<Id>) -> Vec<(PortRef, PlanPoint)> {
    free_ports(plan, not)
        .filter(|port| matches!(port.object.kind, Kind::Bed | Kind::Pipe))
        .filter(|port| water_of(&plan.objects, port.object) == Some(water))
        .filter(|port| port.object.kind == Kind::Bed || is_run_end(port))
        .filter_map(|port| {
            let at = port_place(&plan.objects, &plan.catalog, &port)?;
            Some((port, at))
        })
        .collect()
}

fn is_run_end(port: &PortRef) -> bool {
    matches!(port.port.as_str(), "start" | "end")
}

/// Ports that nothing is joined to, as if one object were not there.
fn free_ports(plan: &Plan, not: Option<Id>) -> impl Iterator<Item = PortRef> {
    let objects = &plan.objects;
    let taken: BTreeSet<&PortRef> = joints(objects)
        .filter(|(by, _)| Some(*by) != not)
        .filter_map(|(_, end)| end.port())
        .collect();
    let of_objects = objects.ids().into_iter().filter(move |id| Some(*id) != not);
    of_objects
        .flat_map(|id| {
            ports(objects, id)
                .into_iter()
                .map(move |port| PortRef::new(id, port))
        })
        .filter(move |port| !taken.contains(port) && is_loose(plan, port, not))
}

fn port_near(
    plan: &Plan,
    water: Id,
    near: PlanPoint,
    reach: Length,
    not: Option<Id>,
) -> Option<Snap> {
    let nearest = free_ports(plan, not)
        .filter_map(|port| {
            let at = port_place(&plan.objects, &plan.catalog, &port)?;
            let distance = at.distance(near);
            (distance <= reach).then_some((distance, at, port))
        })
        .min_by(|a, b| a.0.total_cmp(&b.0).then(a.2.cmp(&b.2)));
    let (_, at, port) = nearest?;
    Some(caught(plan, water, port, at))
}

/// A port that was caught, in words.
fn caught(plan: &Plan, water: Id, port: PortRef, at: PlanPoint) -> Snap {
    let is_refused = water_of(&plan.objects, port.object).is_some_and(|other| other != water);
    let key = match port.port.as_str() {
        _ if is_refused => "window.other_water",
        "in" => "window.inlet_of",
        "out" => "window.outlet_of",
        "start" => "window.start_of",
        "end" => "window.end_of",
        _ => "window.tap_of",
    };
    let values = [
        ("what", named(plan, port.object)),
        ("port", port.port.clone()),
    ];
    Snap {
        at,
        word: text::fill(key, values),
        joint: Joint::Port(port),
        is_refused,
    }
}

/// `bed B7`.
fn named(plan: &Plan, id: Id) -> String {
    format!("{} {id}", describe::kind_word(plan, id).to_lowercase())
}

/// The nearest side of a run, and how far off it is.
fn side_near(
    plan: &Plan,
    water: Id,
    near: PlanPoint,
    reach: Length,
    not: Option<Id>,
) -> Option<(Length, Snap)> {
    let pipes = &plan.objects.pipes;
    let sides = pipes.iter().filter(|(id, _)| Some(**id) != not);
    let (distance, id, pipe, station) = sides
        .map(|(id, pipe)| {
            let (station, distance) = pipe.vertices.nearest(near);
            (distance, *id, pipe, station)
        })
        .min_by(|a, b| a.0.total_cmp(&b.0))?;
    if distance > reach || station <= Length::ZERO || station >= pipe.vertices.length() {
        return None;
    }
    let is_refused = pipe.water != water;
    let key = if is_refused {
        "window.other_water"
    } else {
        "window.tap_in"
    };
    let side = Snap {
        at: pipe.vertices.point_at(station)?,
        word: text::fill(key, [("what", named(plan, id))]),
        joint: Joint::Tap { pipe: id, station },
        is_refused,
    };
    Some((distance, side))
}

/// Whether nothing is joined from the port's own side: an inlet or a run's end that names its partner is not loose.
fn is_loose(plan: &Plan, port: &PortRef, not: Option<Id>) -> bool {
    let own: Option<&End> = match (port.object.kind, port.port.as_str()) {
        (Kind::Device, "in") => plan
            .objects
            .devices
            .get(&port.object)
            .map(|device| &device.inlet),
        (Kind::Emission, _) => plan
            .objects
            .emissions
            .get(&port.object)
            .map(|emission| &emission.inlet),
        (Kind::Outlet, _) => plan
            .objects
            .outlets
            .get(&port.object)
            .map(|outlet| &outlet.inlet),
        (Kind::Pipe, "start") => plan.objects.pipes.get(&port.object).map(|pipe| &pipe.start),
        (Kind::Pipe, "end") => plan.objects.pipes.get(&port.object).map(|pipe| &pipe.end),
        (Kind::Line, "start") => plan.objects.lines.get(&port.object).map(|line| &line.start),
        (Kind::Line, "end") => plan.objects.lines.get(&port.object).map(|line| &line.end),
        _ => None,
    };
    own.is_none_or(|end| match end {
        End::Open => true,
        End::At(partner) => Some(partner.object) == not,
        End::Cap | End::Flush => false,
    })
}

/// The end for what was caught, and the edit that makes the tap where one is needed.
#[must_use]
pub fn join(plan: &Plan, snap: &Snap) -> Option<(End, Option<Edit>)> {
    match &snap.joint {
        Joint::Port(port) => Some((End::At(port.clone()), None)),
        Joint::Tap { pipe: id, station } => {
            let pipe = plan.objects.pipes.get(id)?;
            let name = (1..)
                .map(|number| format!("t{number}"))
                .find(|name| !pipe.taps.contains_key(name))?;
            let mut tapped = Arc::clone(pipe);
            Arc::make_mut(&mut tapped)
                .taps
                .insert(name.clone(), *station);
            let edit = Edit::Put {
                id: *id,
                object: Object::Pipe(tapped),
            };
            Some((End::At(PortRef::new(*id, name)), Some(edit)))
        }
    }
}
