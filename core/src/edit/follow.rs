//! Moving objects, and letting joined ends follow the ports they are joined to.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::catalog::Catalog;
use crate::geometry::{PlanPoint, PlanVector, Polygon};
use crate::ids::Id;
use crate::layout::{bed_outline, port_place};
use crate::model::{End, Object, Objects, Plan};

/// The object moved as a whole. Waters and zones have no place and stay as they are.
pub(super) fn moved(object: Object, by: PlanVector) -> Object {
    /// Moves one point field of a shared object.
    macro_rules! shift {
        ($Variant:ident, $object:ident, $field:ident) => {{
            let mut changed = $object;
            let inner = Arc::make_mut(&mut changed);
            inner.$field = inner.$field + by;
            Object::$Variant(changed)
        }};
    }
    /// Moves one outline or chain of a shared object.
    macro_rules! shift_chain {
        ($Variant:ident, $object:ident, $field:ident) => {{
            let mut changed = $object;
            let inner = Arc::make_mut(&mut changed);
            inner.$field = inner.$field.moved(by);
            Object::$Variant(changed)
        }};
    }
    match object {
        Object::Bed(bed) => shift!(Bed, bed, at),
        Object::Crossing(crossing) => shift!(Crossing, crossing, at),
        Object::Device(device) => shift!(Device, device, at),
        Object::Emission(emission) => shift!(Emission, emission, at),
        Object::Sign(sign) => shift!(Sign, sign, at),
        Object::Height(height) => shift!(Height, height, at),
        Object::Mark(mark) => shift!(Mark, mark, at),
        Object::Outlet(outlet) => shift!(Outlet, outlet, at),
        Object::Supply(supply) => shift!(Supply, supply, at),
        Object::Tree(tree) => shift!(Tree, tree, at),
        Object::Box(valve_box) => shift!(Box, valve_box, at),
        Object::Feature(feature) => shift_chain!(Feature, feature, outline),
        Object::Line(line) => shift_chain!(Line, line, vertices),
        Object::Pipe(pipe) => shift_chain!(Pipe, pipe, vertices),
        other @ (Object::Water(_) | Object::Zone(_)) => other,
    }
}

/// Carries along what lies in a bed that is about to move: the corners of lines drawn by hand that serve it. Lines that
/// move as a whole are not touched.
pub(super) fn lines_within(plan: &mut Plan, moving: &[Id], by: PlanVector) {
    // A corner on the edge of a bed belongs to it, whatever rounding says.
    const ON_EDGE_M: f64 = 1e-3;
    let outlines: BTreeMap<Id, Polygon> = moving
        .iter()
        .filter_map(|id| Some((*id, bed_outline(plan.objects.beds.get(id)?))))
        .collect();
    if outlines.is_empty() {
        return;
    }
    for (id, line) in &mut plan.objects.lines {
        if moving.contains(id) {
            continue;
        }
        let around: Vec<&Polygon> = line
            .serves
            .iter()
            .filter_map(|served| outlines.get(served))
            .collect();
        let is_carried = |vertex: &PlanPoint| {
            around
                .iter()
                .any(|bed| bed.distance_to_point(*vertex).metres() <= ON_EDGE_M)
        };
        if line.vertices.0.iter().any(is_carried) {
            for vertex in &mut Arc::make_mut(line).vertices.0 {
                if is_carried(vertex) {
                    *vertex = *vertex + by;
                }
            }
        }
    }
}

/// Puts the ends of runs and lines where the ports are that they are joined to. A run that follows moves its own taps,
/// and what is joined to those follows in turn.
pub(super) fn joined_ends(plan: &mut Plan) {
    // Each pass carries a move one run further; a chain cannot be longer than there are runs.
    for _ in 0..=plan.objects.pipes.len() + plan.objects.lines.len() {
        if !one_pass(plan) {
            return;
        }
    }
}

fn one_pass(plan: &mut Plan) -> bool {
    let mut changes: Vec<(Id, bool, PlanPoint)> = Vec::new();
    let (objects, catalog) = (&plan.objects, &plan.catalog);
    for (id, pipe) in &objects.pipes {
        let first = displaced(objects, catalog, &pipe.start, pipe.vertices.0.first());
        let last = displaced(objects, catalog, &pipe.end, pipe.vertices.0.last());
        changes.extend(first.map(|at| (*id, true, at)));
        changes.extend(last.map(|at| (*id, false, at)));
    }
    for (id, line) in &objects.lines {
        let first = displaced(objects, catalog, &line.start, line.vertices.0.first());
        let last = displaced(objects, catalog, &line.end, line.vertices.0.last());
        changes.extend(first.map(|at| (*id, true, at)));
        changes.extend(last.map(|at| (*id, false, at)));
    }
    for (id, at_start, place) in &changes {
        let vertices = if let Some(pipe) = plan.objects.pipes.get_mut(id) {
            &mut Arc::make_mut(pipe).vertices.0
        } else if let Some(line) = plan.objects.lines.get_mut(id) {
            &mut Arc::make_mut(line).vertices.0
        } else {
            continue;
        };
        let vertex = if *at_start {
            vertices.first_mut()
        } else {
            vertices.last_mut()
        };
        if let Some(vertex) = vertex {
            *vertex = *place;
        }
    }
    !changes.is_empty()
}

/// Where an end belongs, if it is not there.
fn displaced(
    objects: &Objects,
    catalog: &Catalog,
    end: &End,
    vertex: Option<&PlanPoint>,
) -> Option<PlanPoint> {
    let place = port_place(objects, catalog, end.port()?)?;
    // Places are computed from stations, and files keep micrometres: a difference far below the drawing's resolution is
    // no move, or the first edit of a plan would shift runs that nobody touched.
    const SAME_M: f64 = 1e-5;
    vertex
        .is_some_and(|vertex| vertex.distance(place).metres() > SAME_M)
        .then_some(place)
}
