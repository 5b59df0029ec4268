//! Local losses counted from the topology, and the laws of devices and emitters from their catalog rows.

use super::super::points::{self, PointsError};
use super::super::{LossCurve, OutletLaw};
use crate::catalog::fittings::{Fitting, change_of_bore};
use crate::catalog::{DevicePart, EmissionLaw, EmissionPart, Joint, PipePart};
use crate::geometry::Polyline;
use crate::ids::Kind;
use crate::model::{End, Plan, PortRef};
use crate::units::{Angle, Length, Pressure};

/// Loss coefficient of the barbed fitting by which a row leaves its header, on the row's velocity head: entrance, bore
/// and expansion of a 1/8 in bore into 1/4 in tubing give 3 to 5 (computed; common practice).
pub(super) const BARB_TAKE_OFF: f64 = 4.0;
/// Roughness of the tubing of emitter lines: polyethylene, 0.0015 mm (read: engineersedge.com pipe-roughness table).
pub const SMOOTH_TUBE: Length = Length::from_metres(1.5e-6);

/// What fittings add to a stretch of pipe.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub(super) struct Locals {
    /// On the velocity head of the pipe.
    pub coefficient: f64,
    /// As a length of the pipe.
    pub equivalent: Length,
}

impl Locals {
    /// Of one fitting in a pipe of that bore.
    pub fn of(fitting: Fitting, bore: Length) -> Self {
        Self {
            coefficient: 0.0,
            equivalent: fitting.equivalent(bore),
        }
    }
}

impl std::ops::Add for Locals {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        Self {
            coefficient: self.coefficient + other.coefficient,
            equivalent: self.equivalent + other.equivalent,
        }
    }
}

impl std::iter::Sum for Locals {
    fn sum<I: Iterator<Item = Self>>(values: I) -> Self {
        values.fold(Self::default(), |a, b| a + b)
    }
}

/// What a barb does to the flow past it in the tubing it sits in, as a length of that tubing: 14.38 d^−1.89 with d in mm
/// for a standard barb (chart of Keller & Karmeli as fitted by Montalvo 1983, from memory). *Range*: 8 to 20 mm; the
/// bore is held there.
pub(super) fn barb_in_the_way(bore: Length) -> Length {
    Length::from_metres(14.38 * bore.millimetres().clamp(8.0, 20.0).powf(-1.89))
}

pub(super) fn is_tap(port: &PortRef) -> bool {
    port.object.kind == Kind::Pipe && !matches!(port.port.as_str(), "start" | "end")
}

pub(super) fn outlet_law(part: &EmissionPart) -> Result<OutletLaw, PointsError> {
    Ok(match part.law {
        EmissionLaw::Power => OutletLaw::Power {
            flow: part.flow,
            at: part.at,
            exponent: part.exponent,
        },
        EmissionLaw::Compensating => OutletLaw::Compensating {
            flow: part.flow,
            minimum: part.minimum,
            maximum: part.maximum,
            // Below its minimum a compensating emitter acts as an orifice (common practice).
            exponent_below: 0.5,
        },
        EmissionLaw::Points => {
            let pairs = part
                .points
                .iter()
                .map(|point| (point.pressure.kilopascals(), point.flow.litres_per_second()));
            OutletLaw::Points(points::curve(pairs)?)
        }
    })
}

/// The clean device.
pub(super) fn loss_curve(part: &DevicePart) -> Result<LossCurve, PointsError> {
    let checked = LossCurve {
        checked: part.one_way,
        ..LossCurve::NONE
    };
    if part.points.is_empty() {
        return Ok(LossCurve {
            opening: part.opening.max(Pressure::ZERO),
            per_lps_squared: part.loss.max(0.0),
            ..checked
        });
    }
    let pairs = part
        .points
        .iter()
        .map(|point| (point.flow.litres_per_second(), point.loss.kilopascals()));
    Ok(LossCurve {
        points: Some(points::curve(pairs)?),
        ..checked
    })
}

/// Bends of a run: station and angle between the legs' directions.
pub(super) fn bends(vertices: &Polyline) -> Vec<(Length, Angle)> {
    let mut station = Length::ZERO;
    let mut found = Vec::new();
    for corner in vertices.0.windows(3) {
        let (before, after) = (corner[1] - corner[0], corner[2] - corner[1]);
        station += corner[0].distance(corner[1]);
        let turn = before.cross(after).atan2(before.dot(after)).abs();
        found.push((station, Angle::from_radians(turn)));
    }
    found
}

/// What the elbows between two stations add.
pub(super) fn bend_losses(
    bends: &[(Length, Angle)],
    from: Length,
    to: Length,
    bore: Length,
) -> Locals {
    // Below 10° tubing is bent and rigid pipe is sprung; no fitting (common practice).
    bends
        .iter()
        .filter(|(station, _)| *station > from && *station <= to)
        .map(|(_, turn)| match turn.degrees() {
            turn if turn < 10.0 => Locals::default(),
            turn if turn <= 60.0 => Locals::of(Fitting::Elbow45, bore),
            _ => Locals::of(Fitting::Elbow90, bore),
        })
        .sum()
}

/// What joining an end of a pipe adds to it. Water is taken to run from the start of a run to its end.
///
/// A tap makes it the branch of a tee; another run adds a coupling, and a reducer where the bores differ; an end that
/// does not mate with a device's needs an adapter. A coupling of rigid pipe loses nothing, one of tubing is a barb.
pub(super) fn end_losses(plan: &Plan, part: &PipePart, end: &End, is_start: bool) -> Locals {
    let Some(port) = end.port() else {
        return Locals::default();
    };
    let bore = part.bore();
    let is_tubing = matches!(part.joint, Joint::Tube { .. });
    let insert = || {
        if is_tubing {
            Locals::of(Fitting::Insert, bore)
        } else {
            Locals::default()
        }
    };
    if is_tap(port) {
        return Locals::of(Fitting::TeeBranch, bore);
    }
    match port.object.kind {
        Kind::Pipe => {
            let other = plan
                .objects
                .pipes
                .get(&port.object)
                .and_then(|pipe| plan.catalog.pipe(&pipe.part));
            let Some(other) = other.map(PipePart::bore) else {
                return insert();
            };
            let (from, to) = if is_start {
                (other, bore)
            } else {
                (bore, other)
            };
            // On the velocity head of the smaller; the larger has it smaller by the fourth power of the bores.
            let on_smaller = change_of_bore(from, to);
            let coefficient = on_smaller * (bore / bore.min(other)).powi(4);
            insert()
                + Locals {
                    coefficient,
                    equivalent: Length::ZERO,
                }
        }
        Kind::Device | Kind::Supply => {
            let other = device_joint(plan, port);
            match other {
                Some(other) if !part.joint.mates(&other) && !is_tubing => {
                    Locals::of(Fitting::Adapter, bore)
                }
                _ => insert(),
            }
        }
        _ => insert(),
    }
}

fn device_joint(plan: &Plan, port: &PortRef) -> Option<Joint> {
    let objects = &plan.objects;
    if let Some(supply) = objects.supplies.get(&port.object) {
        return supply.joint.parse().ok();
    }
    let part = plan
        .catalog
        .device(&objects.devices.get(&port.object)?.part)?;
    Some(if port.port == "in" {
        part.inlet.clone()
    } else {
        part.outlet.clone()
    })
}
