//! Where things are on the ground: outlines of beds, places of ports.

use crate::catalog::Catalog;
use crate::geometry::{PlanPoint, PlanVector, Polygon};
use crate::ids::Kind;
use crate::model::{Bed, Objects, PortRef};

/// A point of a bed on the ground.
pub(super) fn onto_ground(bed: &Bed, point_in_bed: PlanPoint) -> PlanPoint {
    let (sine, cosine) = bed.turn.degrees().to_radians().sin_cos();
    let PlanPoint { x, y } = point_in_bed;
    // Unturned beds keep their coordinates to the last bit.
    if sine == 0.0 && cosine > 0.0 {
        return bed.at + PlanVector::new(x, y);
    }
    bed.at + PlanVector::new(x * cosine - y * sine, x * sine + y * cosine)
}

/// A point of the ground in the coordinates of a bed.
#[must_use]
pub fn into_bed(bed: &Bed, point: PlanPoint) -> PlanPoint {
    let (sine, cosine) = bed.turn.degrees().to_radians().sin_cos();
    let (x, y) = (point.x - bed.at.x, point.y - bed.at.y);
    PlanPoint::new(x * cosine + y * sine, y * cosine - x * sine)
}

/// The outline of a bed on the ground.
#[must_use]
pub fn bed_outline(bed: &Bed) -> Polygon {
    Polygon(
        bed.outline
            .0
            .iter()
            .map(|corner| onto_ground(bed, *corner))
            .collect(),
    )
}

/// Unit vectors along and across the rows of a bed, in bed coordinates. Rows run along the longer extent of the outline,
/// or across it; a square counts as longer in y.
pub(super) fn along_across(bed: &Bed, rows_along: bool) -> (PlanVector, PlanVector) {
    let (x, y) = (PlanVector::new(1.0, 0.0), PlanVector::new(0.0, 1.0));
    let extent = |axis| {
        let (low, high) = bed.outline.span(axis);
        high - low
    };
    let along_y = (extent(y) >= extent(x)) == rows_along;
    if along_y { (y, x) } else { (x, y) }
}

/// Where a port is; `None` if there is no such port.
#[must_use]
pub fn port_place(objects: &Objects, catalog: &Catalog, port: &PortRef) -> Option<PlanPoint> {
    let id = port.object;
    match id.kind {
        Kind::Supply => objects.supplies.get(&id).map(|supply| supply.at),
        Kind::Device => objects.devices.get(&id).map(|device| device.at),
        Kind::Emission => objects.emissions.get(&id).map(|emission| emission.at),
        Kind::Outlet => objects.outlets.get(&id).map(|outlet| outlet.at),
        Kind::Bed => {
            let bed = objects.beds.get(&id)?;
            let rule = bed.fill.as_ref()?;
            Some(super::fill(bed, rule, catalog.emission(&rule.line)?).inlet)
        }
        Kind::Line => {
            let vertices = &objects.lines.get(&id)?.vertices.0;
            if port.port == "start" {
                vertices.first().copied()
            } else {
                vertices.last().copied()
            }
        }
        Kind::Pipe => {
            let pipe = objects.pipes.get(&id)?;
            match port.port.as_str() {
                "start" => pipe.vertices.0.first().copied(),
                "end" => pipe.vertices.0.last().copied(),
                tap => pipe.vertices.point_at(*pipe.taps.get(tap)?),
            }
        }
        _ => None,
    }
}
