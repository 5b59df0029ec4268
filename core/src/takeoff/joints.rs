//! Which ends meet at each joint of the drawing, and what makes them mate.

use std::collections::BTreeSet;

use crate::catalog::Joint;
use crate::ids::{Id, Kind};
use crate::model::{Plan, PortRef, State, integrity};

/// Two ends that no part of the catalog joins.
#[derive(Clone, PartialEq, Debug)]
pub struct Mismatch {
    /// What is joined.
    pub by: Id,
    /// What it is joined to.
    pub to: Id,
    /// The one end.
    pub end: Joint,
    /// The other end.
    pub port: Joint,
}

/// An adapter that a joint needs: row, name, and the object whose end it is put on.
pub(super) type Needed = (String, String, Id);

/// The adapters that joints need, and the joints that none makes.
pub(super) fn check(plan: &Plan) -> (Vec<Needed>, Vec<Mismatch>) {
    let mut needed = Vec::new();
    let mut mismatches = Vec::new();
    for (by, end) in integrity::joints(&plan.objects) {
        let Some(port) = end.port() else { continue };
        let (Some(own), Some(other)) = (end_of(plan, by), port_joint(plan, port)) else {
            continue;
        };
        if own.mates(&other) || accepts(plan, port, &own) {
            continue;
        }
        match plan.catalog.adapter_between(&own, &other) {
            Some((key, adapter)) => {
                let is_bought = plan
                    .objects
                    .get(by)
                    .is_some_and(|object| object.meta().state == State::Proposed);
                if is_bought {
                    needed.push((key.to_owned(), adapter.name.clone(), by));
                }
            }
            None => mismatches.push(Mismatch {
                by,
                to: port.object,
                end: own,
                port: other,
            }),
        }
    }
    (needed, mismatches)
}

/// Objects of which an end has a hose thread, whatever it is joined to.
pub(crate) fn hose_joints(plan: &Plan) -> BTreeSet<Id> {
    let is_hose = |end: &Joint| matches!(end, Joint::HoseFemale(_) | Joint::HoseMale(_));
    let mut found = BTreeSet::new();
    for (by, end) in integrity::joints(&plan.objects) {
        let own = end_of(plan, by).filter(is_hose);
        let port = end.port();
        let other = port.and_then(|port| port_joint(plan, port)).filter(is_hose);
        match (own, other, port) {
            (Some(_), _, _) => found.insert(by),
            (None, Some(_), Some(port)) => found.insert(port.object),
            _ => false,
        };
    }
    found
}

/// The end of the object that names the joint; `None` for things that come with their own connection.
fn end_of(plan: &Plan, by: Id) -> Option<Joint> {
    let objects = &plan.objects;
    match by.kind {
        Kind::Pipe => Some(
            plan.catalog
                .pipe(&objects.pipes.get(&by)?.part)?
                .joint
                .clone(),
        ),
        Kind::Line => plan
            .catalog
            .emission(&objects.lines.get(&by)?.part)?
            .joint
            .clone(),
        Kind::Device => Some(
            plan.catalog
                .device(&objects.devices.get(&by)?.part)?
                .inlet
                .clone(),
        ),
        _ => None,
    }
}

/// The end type of a port.
fn port_joint(plan: &Plan, port: &PortRef) -> Option<Joint> {
    let objects = &plan.objects;
    let id = port.object;
    match id.kind {
        Kind::Supply => objects.supplies.get(&id)?.joint.parse().ok(),
        Kind::Device => {
            let part = plan.catalog.device(&objects.devices.get(&id)?.part)?;
            Some(if port.port == "in" {
                part.inlet.clone()
            } else {
                part.outlet.clone()
            })
        }
        Kind::Bed => {
            let fill = objects.beds.get(&id)?.fill.as_ref()?;
            Some(plan.catalog.pipe(&fill.header)?.joint.clone())
        }
        Kind::Line => plan
            .catalog
            .emission(&objects.lines.get(&id)?.part)?
            .joint
            .clone(),
        Kind::Pipe => {
            let own = plan
                .catalog
                .pipe(&objects.pipes.get(&id)?.part)?
                .joint
                .clone();
            let is_tap = !matches!(port.port.as_str(), "start" | "end");
            // A tee of rigid pipe offers a socket; tubing is tapped by a barb that takes any tubing.
            Some(match own {
                Joint::SlipSpigot(size) if is_tap => Joint::SlipSocket(size),
                Joint::SolderSpigot(size) if is_tap => Joint::SolderSocket(size),
                own => own,
            })
        }
        _ => None,
    }
}

/// Whether the fitting that a tap is made with takes this end as it is: tees come with reduced branches.
fn accepts(plan: &Plan, port: &PortRef, own: &Joint) -> bool {
    if port.object.kind != Kind::Pipe || matches!(port.port.as_str(), "start" | "end") {
        return false;
    }
    matches!(
        (port_joint(plan, port), own),
        (Some(Joint::SlipSocket(_)), Joint::SlipSpigot(_))
            | (Some(Joint::SolderSocket(_)), Joint::SolderSpigot(_))
            | (Some(Joint::Tube { .. }), Joint::Tube { .. })
    )
}
