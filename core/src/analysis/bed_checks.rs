//! Judges beds on the drawing: without water, left by their line, lying on each other.

use crate::finding::{Finding, Message, Severity, Value};
use crate::geometry::Polygon;
use crate::ids::Id;
use crate::layout::bed_outline;
use crate::model::{Plan, State};
use crate::units::Area;

/// Beds that share less than this lie side by side: the drawing is no finer.
const TOUCHING: Area = Area::from_square_metres(0.01);

/// Every finding about beds.
pub(super) fn all(plan: &Plan) -> Vec<Finding> {
    let mut findings: Vec<Finding> = unwatered(plan).into_iter().collect();
    findings.extend(left_by_their_line(plan));
    findings.extend(overlapping(plan));
    findings
}

/// Planted beds that no line and no head serves.
fn unwatered(plan: &Plan) -> Option<Finding> {
    let objects = &plan.objects;
    let lines = objects.lines.values().flat_map(|line| &line.serves);
    let heads = objects.emissions.values().flat_map(|head| &head.serves);
    let served: Vec<Id> = lines.chain(heads).copied().collect();
    let beds: Vec<Id> = objects
        .beds
        .iter()
        .filter(|(_, bed)| !bed.plantings.is_empty() && bed.meta.state != State::ToRemove)
        .filter(|(id, bed)| bed.fill.is_none() && !served.contains(id))
        .map(|(id, _)| *id)
        .collect();
    if beds.is_empty() {
        return None;
    }
    let message = Message::new(
        "drawing.unwatered",
        vec![("beds", Value::Ids(beds.clone()))],
    );
    Some(Finding::new(
        "drawing.unwatered",
        Severity::Check,
        beds,
        message,
    ))
}

/// Lines drawn by hand of which no part lies in a bed they serve.
fn left_by_their_line(plan: &Plan) -> Vec<Finding> {
    let objects = &plan.objects;
    let mut findings = Vec::new();
    for (id, line) in &objects.lines {
        for served in &line.serves {
            let Some(bed) = objects.beds.get(served) else {
                continue;
            };
            let outline = bed_outline(bed);
            let lies_there = line
                .vertices
                .0
                .iter()
                .any(|vertex| outline.contains(*vertex))
                || !outline.boundary().crossings(&line.vertices).is_empty();
            if !lies_there {
                let values = vec![
                    ("line", Value::Ids(vec![*id])),
                    ("bed", Value::Ids(vec![*served])),
                ];
                findings.push(Finding::new(
                    "drawing.serves_apart",
                    Severity::Check,
                    vec![*id, *served],
                    Message::new("drawing.serves_apart", values),
                ));
            }
        }
    }
    findings
}

/// Pairs of beds that lie on each other.
fn overlapping(plan: &Plan) -> Vec<Finding> {
    let beds: Vec<(Id, Polygon, [f64; 4])> = plan
        .objects
        .beds
        .iter()
        .filter(|(_, bed)| bed.meta.state != State::ToRemove)
        .map(|(id, bed)| {
            let outline = bed_outline(bed);
            let extent = extent(&outline);
            (*id, outline, extent)
        })
        .collect();
    let mut findings = Vec::new();
    for (index, (a, outline_a, extent_a)) in beds.iter().enumerate() {
        for (b, outline_b, extent_b) in beds.iter().skip(index + 1) {
            if !meet(extent_a, extent_b) {
                continue;
            }
            let area = outline_a.overlap(outline_b);
            if area > TOUCHING {
                let values = vec![
                    ("a", Value::Ids(vec![*a])),
                    ("b", Value::Ids(vec![*b])),
                    ("area", Value::Area(area)),
                ];
                findings.push(Finding::new(
                    "drawing.beds_overlap",
                    Severity::Check,
                    vec![*a, *b],
                    Message::new("drawing.beds_overlap", values),
                ));
            }
        }
    }
    findings
}

/// Left, lower, right, upper: cheap to compare before outlines are cut with each other.
fn extent(outline: &Polygon) -> [f64; 4] {
    let mut extent = [f64::MAX, f64::MAX, f64::MIN, f64::MIN];
    for point in &outline.0 {
        extent[0] = extent[0].min(point.x);
        extent[1] = extent[1].min(point.y);
        extent[2] = extent[2].max(point.x);
        extent[3] = extent[3].max(point.y);
    }
    extent
}

fn meet(a: &[f64; 4], b: &[f64; 4]) -> bool {
    a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3]
}
