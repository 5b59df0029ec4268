//! What an end catches: a free port of its own water, or the side of a run, which gets a tap there. Other waters are named
//! and refused.

use std::collections::BTreeSet;
use std::sync::Arc;

use aubergine_core::edit::Edit;
use aubergine_core::geometry::PlanPoint;
use aubergine_core::ids::{Id, Kind};
use aubergine_core::layout::port_place;
use aubergine_core::model::integrity::{joints, ports, water_of};
use aubergine_core::model::{End, Object, Plan, PortRef};
use aubergine_core::units::Length;

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

/// The nearest thing that an end can be joined to; ports before sides of runs.
#[must_use]
pub fn snap(
    plan: &Plan,
    water: Id,
    near: PlanPoint,
    reach: Length,
    not: Option<Id>,
) -> Option<Snap> {
    let objects = &plan.objects;
    let taken: BTreeSet<&PortRef> = joints(objects)
        .filter(|(by, _)| Some(*by) != not)
        .filter_map(|(_, end)| end.port())
        .collect();
    let of_objects = objects.ids().into_iter().filter(|id| Some(*id) != not);
    let free_ports = of_objects
        .flat_map(|id| {
            ports(objects, id)
                .into_iter()
                .map(move |port| PortRef::new(id, port))
        })
        .filter(|port| !taken.contains(port) && is_loose(plan, port, not));
    let nearest = free_ports
        .filter_map(|port| {
            let at = port_place(objects, &plan.catalog, &port)?;
            let distance = at.distance(near);
            (distance <= reach).then_some((distance, at, port))
        })
        .min_by(|a, b| a.0.total_cmp(&b.0).then(a.2.cmp(&b.2)));
    if let Some((_, at, port)) = nearest {
        let is_refused = water_of(objects, port.object).is_some_and(|other| other != water);
        let word = if is_refused {
            format!("{port} carries another water")
        } else {
            format!("port {port}")
        };
        return Some(Snap {
            at,
            word,
            joint: Joint::Port(port),
            is_refused,
        });
    }
    let sides = objects.pipes.iter().filter(|(id, _)| Some(**id) != not);
    let (distance, id, station) = sides
        .map(|(id, pipe)| {
            let (station, distance) = pipe.vertices.nearest(near);
            (distance, *id, station)
        })
        .min_by(|a, b| a.0.total_cmp(&b.0))?;
    let pipe = objects.pipes.get(&id)?;
    if distance > reach || station <= Length::ZERO || station >= pipe.vertices.length() {
        return None;
    }
    let is_refused = pipe.water != water;
    Some(Snap {
        at: pipe.vertices.point_at(station)?,
        word: if is_refused {
            format!("{id} carries another water")
        } else {
            format!("tap into {id}")
        },
        joint: Joint::Tap { pipe: id, station },
        is_refused,
    })
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
