//! What would help emitter lines that are too long or too uneven: feeding them in the middle, other emitters.

use std::sync::Arc;

use super::{Candidate, text};
use crate::catalog::{Catalog, EmissionLaw, EmissionPartKind};
use crate::edit::Edit;
use crate::finding::Value;
use crate::ids::{Id, Kind};
use crate::model::{
    Bed, Document, End, HeaderSide, Line, Meta, NextId, Object, Pipe, PipeRole, Plan, PortRef,
};
use crate::units::Length;

/// Tubing that carries water to the middle of a line.
const FEEDER: &str = "tubing-0.600";

/// Compensating emitters of the same spacing in place of those that are not.
pub(super) fn compensated(plan: &Plan, id: Id) -> Option<Candidate> {
    let part_key = match id.kind {
        Kind::Line => &plan.objects.lines.get(&id)?.part,
        Kind::Bed => &plan.objects.beds.get(&id)?.fill.as_ref()?.line,
        _ => return None,
    };
    let part = plan
        .catalog
        .emission(part_key)
        .filter(|part| part.law != EmissionLaw::Compensating)?;
    let (key, row) = Catalog::built_in()
        .emissions
        .iter()
        .filter(|(_, row)| {
            row.kind == EmissionPartKind::EmitterLine && row.law == EmissionLaw::Compensating
        })
        .filter(|(_, row)| row.spacing == part.spacing)
        .min_by(|a, b| {
            (a.1.flow - part.flow)
                .abs()
                .total_cmp(&(b.1.flow - part.flow).abs())
        })?;
    let object = match id.kind {
        Kind::Line => {
            let mut other = (**plan.objects.lines.get(&id)?).clone();
            key.clone_into(&mut other.part);
            Object::Line(Arc::new(other))
        }
        _ => {
            let mut other = (**plan.objects.beds.get(&id)?).clone();
            key.clone_into(&mut other.fill.as_mut()?.line);
            Object::Bed(Arc::new(other))
        }
    };
    let values = vec![
        ("line", Value::Ids(vec![id])),
        ("part", Value::Text(row.name.clone())),
    ];
    Some((text("compensated", values), Edit::Put { id, object }))
}

/// The line cut in two at its middle, both halves fed there by a run of tubing beside it.
pub(super) fn feed_middle(document: &Document, id: Id) -> Option<Candidate> {
    let line = document.design.objects.lines.get(&id)?;
    let length = line.vertices.length();
    let half = length / 2.0;
    if half <= Length::ZERO {
        return None;
    }
    let mut next_id: NextId = document.next_id.clone();
    let feeder_id = next_id.take(Kind::Pipe);
    let first = line.vertices.between(Length::ZERO, half);
    let mut back = first.clone();
    back.0.reverse();
    let feeder = Pipe {
        role: PipeRole::Lateral,
        part: FEEDER.to_owned(),
        water: line.water,
        vertices: first,
        start: line.start.clone(),
        end: End::At(PortRef::new(id, "start")),
        taps: std::iter::once(("t1".to_owned(), half)).collect(),
        depth: None,
        purple: true,
        utility_main: false,
        meta: Meta::default(),
    };
    let near = Line {
        vertices: back,
        start: End::At(PortRef::new(feeder_id, "t1")),
        end: End::Flush,
        ..(**line).clone()
    };
    let far = Line {
        vertices: line.vertices.between(half, length),
        start: End::Open,
        ..(**line).clone()
    };
    let mut edits = vec![
        Edit::Add(Object::Pipe(Arc::new(feeder))),
        Edit::Put {
            id,
            object: Object::Line(Arc::new(far)),
        },
        Edit::Add(Object::Line(Arc::new(near))),
    ];
    // Where another run names this line's start, that run goes on into the feeder.
    let start = PortRef::new(id, "start");
    for (other, pipe) in &document.design.objects.pipes {
        let renamed = |end: &End| match end {
            End::At(port) if *port == start => End::At(PortRef::new(feeder_id, "start")),
            end => end.clone(),
        };
        let moved = Pipe {
            start: renamed(&pipe.start),
            end: renamed(&pipe.end),
            ..(**pipe).clone()
        };
        if moved != **pipe {
            edits.push(Edit::Put {
                id: *other,
                object: Object::Pipe(Arc::new(moved)),
            });
        }
    }
    Some((
        text("feed_middle", vec![("line", Value::Ids(vec![id]))]),
        Edit::All(edits),
    ))
}

/// The rows of a bed fed from both ends, so that each runs half as far.
pub(super) fn second_header(plan: &Plan, id: Id) -> Option<Candidate> {
    let bed = plan.objects.beds.get(&id)?;
    let mut other: Bed = (**bed).clone();
    let fill = other.fill.as_mut()?;
    if fill.header_side == HeaderSide::Both {
        return None;
    }
    fill.header_side = HeaderSide::Both;
    Some((
        text("loop_header", vec![("bed", Value::Ids(vec![id]))]),
        Edit::Put {
            id,
            object: Object::Bed(Arc::new(other)),
        },
    ))
}
