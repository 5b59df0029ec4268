//! What would help the hydraulics: larger pipe, emitters that compensate, a filter.

use std::sync::Arc;

use super::{Candidate, lines, pipe_changes, text, zone_of};
use crate::analysis::Analysis;
use crate::analysis::hydraulic_checks::{FASTEST, most_lost_in};
use crate::edit::Edit;
use crate::finding::{Finding, Value};
use crate::hydraulics::{SupplyCase, velocity_in};
use crate::ids::{Id, Kind};
use crate::model::{Device, DeviceKind, Document, End, Meta, Object, Plan, PortRef};
use crate::units::Length;

pub(super) fn low_pressure(plan: &Plan, now: &Analysis, finding: &Finding) -> Vec<Candidate> {
    let Some(zone) = zone_of(now, finding) else {
        return Vec::new();
    };
    let worst = SupplyCase::ALL
        .into_iter()
        .flat_map(|case| zone.emitters(case).map(move |emitter| (case, emitter)))
        .filter(|(_, emitter)| finding.subjects.contains(&emitter.point.owner))
        .min_by(|a, b| a.1.pressure.total_cmp(&b.1.pressure));
    let Some((case, emitter)) = worst else {
        return Vec::new();
    };
    let mut found = Vec::new();
    if let Some((run, _)) = most_lost_in(zone, emitter.junction, case)
        && let Some(candidate) = larger_pipe(plan, run)
    {
        found.push(candidate);
    }
    found.extend(lines::compensated(plan, emitter.point.owner));
    found
}

/// The next larger size for a run.
fn larger_pipe(plan: &Plan, id: Id) -> Option<Candidate> {
    let pipe = plan.objects.pipes.get(&id)?;
    let (key, _) = plan.catalog.next_larger_pipe(&pipe.part)?;
    let mut larger = (**pipe).clone();
    key.clone_into(&mut larger.part);
    let changes = pipe_changes(plan, &[(id, key.to_owned())]);
    Some((
        text("larger_pipes", vec![("changes", changes)]),
        Edit::Put {
            id,
            object: Object::Pipe(Arc::new(larger)),
        },
    ))
}

/// Every run that is too fast in as many sizes as bring its present flow under the limit.
pub(super) fn larger_pipes(plan: &Plan, now: &Analysis, finding: &Finding) -> Option<Candidate> {
    let zone = zone_of(now, finding)?;
    let mut edits = Vec::new();
    let mut runs = Vec::new();
    for id in finding.subjects.iter().filter(|id| id.kind == Kind::Pipe) {
        let pipe = plan.objects.pipes.get(id)?;
        let links = zone.built.pipes.get(id)?;
        let flow = SupplyCase::ALL
            .map(|case| zone.fastest(links, case).0)
            .into_iter()
            .fold(Default::default(), crate::units::Flow::max);
        let mut part = pipe.part.clone();
        while let Some((key, row)) = plan.catalog.next_larger_pipe(&part) {
            key.clone_into(&mut part);
            // A larger pipe also lets more through: a tenth is kept in hand.
            if velocity_in(row.bore(), flow * 1.1) <= FASTEST {
                break;
            }
        }
        if part != pipe.part {
            runs.push((*id, part.clone()));
            edits.push(Edit::Put {
                id: *id,
                object: Object::Pipe(Arc::new(crate::model::Pipe {
                    part,
                    ..(**pipe).clone()
                })),
            });
        }
    }
    (!edits.is_empty()).then(|| {
        (
            text("larger_pipes", vec![("changes", pipe_changes(plan, &runs))]),
            Edit::All(edits),
        )
    })
}

/// A filter behind the valve of each zone that has none.
pub(super) fn filters(document: &Document, finding: &Finding) -> Option<Candidate> {
    let plan = &document.design;
    let objects = &plan.objects;
    let mut next_id = document.next_id.clone();
    let mut edits = Vec::new();
    for zone in finding
        .subjects
        .iter()
        .filter_map(|id| objects.zones.get(id))
    {
        let valve = objects.devices.get(&zone.valve)?;
        let behind = PortRef::new(zone.valve, "out");
        let mut filter = Device {
            kind: DeviceKind::Filter,
            part: "filter-120-3/4".to_owned(),
            water: valve.water,
            at: valve.at,
            inlet: End::Open,
            set: None,
            closed: false,
            height: None,
            purple: false,
            meta: Meta::default(),
        };
        let next_device = objects
            .devices
            .iter()
            .find(|(_, device)| device.inlet.port() == Some(&behind));
        let next_pipe = objects
            .pipes
            .iter()
            .find(|(_, pipe)| pipe.start.port() == Some(&behind));
        if let Some((id, device)) = next_device {
            // Chained devices: the next one is moved from the valve onto the filter.
            let filter_id = next_id.take(Kind::Device);
            filter.inlet = End::At(behind);
            let mut moved = (**device).clone();
            moved.inlet = End::At(PortRef::new(filter_id, "out"));
            edits.push(Edit::Add(Object::Device(Arc::new(filter))));
            edits.push(Edit::Put {
                id: *id,
                object: Object::Device(Arc::new(moved)),
            });
        } else if let Some((id, pipe)) = next_pipe {
            next_id.take(Kind::Device);
            let station = Length::from_metres(0.3).min(pipe.vertices.length() / 2.0);
            edits.push(Edit::InsertDevice {
                pipe: *id,
                station,
                device: Arc::new(filter),
            });
        }
    }
    (!edits.is_empty()).then(|| {
        (
            text(
                "filter",
                vec![("zones", Value::Ids(finding.subjects.clone()))],
            ),
            Edit::All(edits),
        )
    })
}
