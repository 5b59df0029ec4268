//! What would help emitter lines that are too long or too uneven: feeding them in the middle, other emitters.

use std::sync::Arc;

use super::{Candidate, text};
use crate::catalog::{Catalog, EmissionLaw, EmissionPart, EmissionPartKind};
use crate::edit::Edit;
use crate::finding::Value;
use crate::geometry::Polyline;
use crate::ids::{Id, Kind};
use crate::model::{
    Bed, Document, End, HeaderSide, Line, Meta, NextId, Object, Pipe, PipeRole, Plan, PortRef,
};
use crate::units::Length;

/// Tubing beside a line, and rigid pipe straight to its middle.
const FEEDERS: [&str; 2] = ["tubing-0.600", "pvc-sch40-3/4"];

/// How many other products are tried.
const NUM_PRODUCTS: usize = 3;

/// Compensating emitters of the same spacing in place of those that are not, nearest in flow first.
pub(super) fn compensated(plan: &Plan, id: Id) -> Vec<Candidate> {
    let Some(part) = line_part(plan, id)
        .and_then(|key| plan.catalog.emission(key))
        .filter(|part| part.law != EmissionLaw::Compensating)
    else {
        return Vec::new();
    };
    let mut rows: Vec<_> = Catalog::built_in()
        .emissions
        .iter()
        .filter(|(_, row)| {
            row.kind == EmissionPartKind::EmitterLine
                && row.law == EmissionLaw::Compensating
                && row.spacing == part.spacing
        })
        .collect();
    let apart = |row: &EmissionPart| (row.flow - part.flow).abs();
    rows.sort_by(|a, b| apart(a.1).total_cmp(&apart(b.1)).then(a.0.cmp(b.0)));
    rows.into_iter()
        .take(NUM_PRODUCTS)
        .filter_map(|(key, row)| {
            let values = vec![
                ("line", Value::Ids(vec![id])),
                ("part", Value::Text(row.name.clone())),
            ];
            let object = with_line_part(plan, id, key)?;
            Some((text("compensated", values), Edit::Put { id, object }))
        })
        .collect()
}

/// The emitter line of a line or of a bed's fill.
pub(super) fn line_part(plan: &Plan, id: Id) -> Option<&str> {
    match id.kind {
        Kind::Line => Some(plan.objects.lines.get(&id)?.part.as_str()),
        Kind::Bed => Some(plan.objects.beds.get(&id)?.fill.as_ref()?.line.as_str()),
        _ => None,
    }
}

pub(super) fn with_line_part(plan: &Plan, id: Id, key: &str) -> Option<Object> {
    if id.kind == Kind::Line {
        let mut other = (**plan.objects.lines.get(&id)?).clone();
        key.clone_into(&mut other.part);
        return Some(Object::Line(Arc::new(other)));
    }
    let mut other = (**plan.objects.beds.get(&id)?).clone();
    key.clone_into(&mut other.fill.as_mut()?.line);
    Some(Object::Bed(Arc::new(other)))
}

/// The line cut in two at its middle, both halves fed there by tubing beside it, or by pipe straight to the place.
pub(super) fn feed_middle(document: &Document, id: Id) -> Vec<Candidate> {
    [false, true]
        .into_iter()
        .filter_map(|straight| fed_in_the_middle(document, id, straight))
        .collect()
}

fn fed_in_the_middle(document: &Document, id: Id, straight: bool) -> Option<Candidate> {
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
    let (middle, start) = (*back.0.first()?, *back.0.last()?);
    if middle == start {
        return None;
    }
    let way = if straight {
        Polyline(vec![start, middle])
    } else {
        first
    };
    let reach = way.length();
    let feeder = Pipe {
        role: PipeRole::Lateral,
        part: FEEDERS[usize::from(straight)].to_owned(),
        water: line.water,
        vertices: way,
        start: line.start.clone(),
        end: End::At(PortRef::new(id, "start")),
        taps: std::iter::once(("t1".to_owned(), reach)).collect(),
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
        text(
            if straight {
                "feed_middle_straight"
            } else {
                "feed_middle"
            },
            vec![("line", Value::Ids(vec![id]))],
        ),
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
