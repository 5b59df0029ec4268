//! Judges beds on the drawing: without water, left by their line, lying on each other, on what is no ground to plant or
//! over the property line.

use crate::finding::{Finding, Message, Severity, Value};
use crate::geometry::{PlanVector, Polygon};
use crate::ids::Id;
use crate::layout::bed_outline;
use crate::model::{FeatureKind, Plan, State};
use crate::units::Area;

/// Beds that share less than this lie side by side: the drawing is no finer.
const TOUCHING: Area = Area::from_square_metres(0.01);

/// Every finding about beds.
pub(super) fn all(plan: &Plan) -> Vec<Finding> {
    let mut findings: Vec<Finding> = unwatered(plan).into_iter().collect();
    findings.extend(left_by_their_line(plan));
    findings.extend(overlapping(plan));
    findings.extend(outside(plan));
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

/// An area on the ground, with its spans: cheap to compare before outlines are cut with each other.
struct Placed {
    id: Id,
    outline: Polygon,
    spans: [(f64, f64); 2],
}

impl Placed {
    fn new(id: Id, outline: Polygon) -> Self {
        let axes = [PlanVector::new(1.0, 0.0), PlanVector::new(0.0, 1.0)];
        let spans = axes.map(|axis| outline.span(axis));
        Self { id, outline, spans }
    }

    fn may_meet(&self, other: &Self) -> bool {
        let mut spans = self.spans.iter().zip(&other.spans);
        spans.all(|(a, b)| a.0 < b.1 && b.0 < a.1)
    }
}

/// Pairs of beds that lie on each other, and beds that lie on a building, in water or on somebody else's land. Raised beds do stand
/// on paving.
fn overlapping(plan: &Plan) -> Vec<Finding> {
    let objects = &plan.objects;
    let beds: Vec<Placed> = objects
        .beds
        .iter()
        .filter(|(_, bed)| bed.meta.state != State::ToRemove)
        .map(|(id, bed)| Placed::new(*id, bed_outline(bed)))
        .collect();
    let taken: Vec<Placed> = objects
        .features
        .iter()
        .filter(|(_, feature)| feature.meta.state != State::ToRemove)
        .filter(|(_, feature)| {
            matches!(
                feature.kind,
                FeatureKind::Building
                    | FeatureKind::Pool
                    | FeatureKind::WaterBody
                    | FeatureKind::NeighbourLand
            )
        })
        .map(|(id, feature)| Placed::new(*id, feature.outline.clone()))
        .collect();
    let pairs = beds.iter().enumerate().flat_map(|(index, a)| {
        let others = beds.iter().skip(index + 1).chain(&taken);
        others.map(move |b| (a, b))
    });
    let mut findings = Vec::new();
    for (a, b) in pairs.filter(|(a, b)| a.may_meet(b)) {
        let area = a.outline.overlap(&b.outline);
        if area > TOUCHING {
            let values = vec![
                ("a", Value::Ids(vec![a.id])),
                ("b", Value::Ids(vec![b.id])),
                ("area", Value::Area(area)),
            ];
            findings.push(Finding::new(
                "drawing.beds_overlap",
                Severity::Check,
                vec![a.id, b.id],
                Message::new("drawing.beds_overlap", values),
            ));
        }
    }
    findings
}

/// Beds that reach over the property line, where one is drawn.
fn outside(plan: &Plan) -> Vec<Finding> {
    let yard = &plan.site.outline;
    if yard.area() <= TOUCHING {
        return Vec::new();
    }
    let mut findings = Vec::new();
    for (id, bed) in &plan.objects.beds {
        if bed.meta.state == State::ToRemove {
            continue;
        }
        let outline = bed_outline(bed);
        let area = outline.area() - outline.overlap(yard);
        if area > TOUCHING {
            let values = vec![("bed", Value::Ids(vec![*id])), ("area", Value::Area(area))];
            findings.push(Finding::new(
                "drawing.bed_outside",
                Severity::Check,
                vec![*id],
                Message::new("drawing.bed_outside", values),
            ));
        }
    }
    findings
}
