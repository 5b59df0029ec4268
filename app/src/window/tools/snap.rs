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

use super::starts::water_of_new;
use super::{CATCH_PX, Pointer};
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

/// Where an inlet or an end looks for what it can be joined to.
#[derive(Clone, Copy, Debug)]
pub struct Seek<'a> {
    /// The plan.
    pub plan: &'a Plan,
    /// The water it carries.
    pub water: Id,
    /// Where it is held.
    pub near: PlanPoint,
    /// How far it reaches.
    pub reach: Length,
    /// The object it belongs to, which it cannot be joined to.
    pub not: Option<Id>,
}

impl<'a> Seek<'a> {
    /// What is within the reach of the pointer.
    #[must_use]
    pub fn under(plan: &'a Plan, water: Id, pointer: &Pointer, not: Option<Id>) -> Self {
        Self {
            plan,
            water,
            near: pointer.at,
            reach: pointer.px(CATCH_PX),
            not,
        }
    }

    /// The nearest thing that an inlet can be joined to: what water comes out of, ports before sides of runs.
    #[must_use]
    pub fn inlet(&self) -> Option<Snap> {
        let mut free = free_places(self.plan, self.not);
        free.retain(|(port, _)| port.port != "in");
        self.port(&free)
            .or_else(|| self.side().map(|(_, side)| side))
    }

    /// The nearest port or side of a run, without the farther catch of a dragged end.
    #[must_use]
    pub fn nearest(&self) -> Option<Snap> {
        self.port(&free_places(self.plan, self.not))
            .or_else(|| self.side().map(|(_, side)| side))
    }

    /// What the end of a run or line can be joined to: ports and sides of runs as everywhere; from farther off the places
    /// that wait for a run; and anywhere in a bed its free inlet.
    #[must_use]
    pub fn end(&self) -> Option<Snap> {
        let mut free = free_places(self.plan, self.not);
        if let Some(port) = self.port(&free) {
            return Some(port);
        }
        free.retain(|(port, _)| waits(self.plan, self.water, port));
        let waiting = free;
        let by_distance = waiting
            .iter()
            .map(|(port, at)| (at.distance(self.near), port, *at));
        let inviting = by_distance
            .filter(|(distance, ..)| *distance <= self.reach * FAR)
            .min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(b.1)));
        match (inviting, self.side()) {
            // A run that is pointed at is meant, unless it is the one that ends there.
            (Some((distance, port, at)), side)
                if side.as_ref().is_none_or(|(beside, side)| {
                    side.is_of(port.object) || distance <= *beside * FAR
                }) =>
            {
                Some(self.caught(port.clone(), at))
            }
            (_, Some((_, side))) => Some(side),
            (_, None) => {
                let holds = |id: Id| {
                    let bed = self.plan.objects.beds.get(&id);
                    bed.is_some_and(|bed| bed_outline(bed).contains(self.near))
                };
                // The topmost bed, which is drawn last.
                let around = waiting
                    .into_iter()
                    .rev()
                    .find(|(port, _)| holds(port.object));
                around.map(|(port, at)| self.caught(port, at))
            }
        }
    }

    /// The nearest of the free ports within reach.
    fn port(&self, free: &[(PortRef, PlanPoint)]) -> Option<Snap> {
        let by_distance = free
            .iter()
            .map(|(port, at)| (at.distance(self.near), port, *at));
        let nearest = by_distance
            .filter(|(distance, ..)| *distance <= self.reach)
            .min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(b.1)));
        let (_, port, at) = nearest?;
        Some(self.caught(port.clone(), at))
    }

    /// A port that was caught, in words.
    fn caught(&self, port: PortRef, at: PlanPoint) -> Snap {
        let of = water_of(&self.plan.objects, port.object);
        let is_refused = of.is_some_and(|other| other != self.water);
        let key = match port.port.as_str() {
            _ if is_refused => "window.other_water",
            "in" => "window.inlet_of",
            "out" => "window.outlet_of",
            "start" => "window.start_of",
            "end" => "window.end_of",
            _ => "window.tap_of",
        };
        let values = [
            ("what", named(self.plan, port.object)),
            ("port", port.port.clone()),
        ];
        Snap {
            at,
            word: text::fill(key, values),
            joint: Joint::Port(port),
            is_refused,
        }
    }

    /// The nearest side of a run, and how far off it is.
    fn side(&self) -> Option<(Length, Snap)> {
        let pipes = &self.plan.objects.pipes;
        let sides = pipes.iter().filter(|(id, _)| Some(**id) != self.not);
        let (distance, id, pipe, station) = sides
            .map(|(id, pipe)| {
                let (station, distance) = pipe.vertices.nearest(self.near);
                (distance, *id, pipe, station)
            })
            .min_by(|a, b| a.0.total_cmp(&b.0))?;
        let is_beyond = station <= Length::ZERO || station >= pipe.vertices.length();
        if distance > self.reach || is_beyond {
            return None;
        }
        let is_refused = pipe.water != self.water;
        let key = if is_refused {
            "window.other_water"
        } else {
            "window.tap_in"
        };
        let side = Snap {
            at: pipe.vertices.point_at(station)?,
            word: text::fill(key, [("what", named(self.plan, id))]),
            joint: Joint::Tap { pipe: id, station },
            is_refused,
        };
        Some((distance, side))
    }
}

/// The water of a run that begins under the pointer: that of what it can be joined to there, else that of new things.
pub(super) fn water_here(plan: &Plan, pointer: &Pointer) -> Option<Id> {
    let usual = water_of_new(plan)?;
    let waters = plan.objects.waters.keys().copied();
    let joins = |water: &Id| {
        let caught = Seek::under(plan, *water, pointer, None).end();
        caught.is_some_and(|caught| !caught.is_refused)
    };
    std::iter::once(usual)
        .chain(waters)
        .filter(|_| !pointer.free)
        .find(joins)
        .or(Some(usual))
}

/// Free inlets of beds and free ends of runs of a water: what waits for a run.
#[must_use]
pub fn waiting(plan: &Plan, water: Id, not: Option<Id>) -> Vec<(PortRef, PlanPoint)> {
    let mut free = free_places(plan, not);
    free.retain(|(port, _)| waits(plan, water, port));
    free
}

fn waits(plan: &Plan, water: Id, port: &PortRef) -> bool {
    let is_open_to_runs = match port.object.kind {
        Kind::Bed => true,
        Kind::Pipe => matches!(port.port.as_str(), "start" | "end"),
        _ => false,
    };
    is_open_to_runs && water_of(&plan.objects, port.object) == Some(water)
}

/// Ports that nothing is joined to, as if one object were not there, and where they are.
fn free_places(plan: &Plan, not: Option<Id>) -> Vec<(PortRef, PlanPoint)> {
    let objects = &plan.objects;
    let taken: BTreeSet<&PortRef> = joints(objects)
        .filter(|(by, _)| Some(*by) != not)
        .filter_map(|(_, end)| end.port())
        .collect();
    let of_objects = objects.ids().into_iter().filter(|id| Some(*id) != not);
    of_objects
        .flat_map(|id| {
            ports(objects, id)
                .into_iter()
                .map(move |port| PortRef::new(id, port))
        })
        .filter(|port| !taken.contains(port) && is_loose(plan, port, not))
        .filter_map(|port| {
            let at = port_place(objects, &plan.catalog, &port)?;
            Some((port, at))
        })
        .collect()
}

/// `bed B7`.
fn named(plan: &Plan, id: Id) -> String {
    format!("{} {id}", describe::kind_word(plan, id).to_lowercase())
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
