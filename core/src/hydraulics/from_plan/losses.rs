//! Local losses counted from the topology, and the laws of devices and emitters from their catalog rows.

use super::super::{LossCurve, OutletLaw};
use crate::catalog::{DevicePart, EmissionLaw, EmissionPart};
use crate::geometry::Polyline;
use crate::ids::Kind;
use crate::model::End;
use crate::units::{Angle, Length, Pressure};

/// Loss coefficient of the barbed fitting by which a row leaves its header, on the row's velocity head: entrance, bore
/// and expansion of a 1/8 in bore into 1/4 in tubing give 3 to 5 (computed; common practice).
pub(super) const BARB_TAKE_OFF: f64 = 4.0;
/// Flow through a tee past its branch: 20 f_T, about 0.45 for 3/4 to 1 in (TP-410, from memory).
pub(super) const TEE_RUN: f64 = 0.45;
/// Flow into the branch of a tee: 60 f_T, about 1.35 (TP-410, from memory).
pub(super) const TEE_BRANCH: f64 = 1.35;
/// A 90° elbow: 30 f_T, about 0.7 (TP-410, from memory).
pub(super) const ELBOW_90: f64 = 0.7;
/// A 45° elbow: 16 f_T, about 0.37 (TP-410, from memory).
pub(super) const ELBOW_45: f64 = 0.37;
/// Roughness of the tubing of emitter lines: polyethylene, 0.0015 mm (read: engineersedge.com pipe-roughness table).
pub(super) const SMOOTH_TUBE: Length = Length::from_metres(1.5e-6);

pub(super) fn is_tap(end: &End) -> bool {
    end.port().is_some_and(|port| {
        port.object.kind == Kind::Pipe && !matches!(port.port.as_str(), "start" | "end")
    })
}

pub(super) fn outlet_law(part: &EmissionPart) -> OutletLaw {
    match part.law {
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
    }
}

pub(super) fn loss_curve(part: &DevicePart) -> LossCurve {
    LossCurve {
        opening: part.opening.max(Pressure::ZERO),
        per_lps: 0.0,
        per_lps_squared: part.loss.max(0.0),
        checked: part.one_way,
    }
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

/// Coefficients of the elbows between two stations.
pub(super) fn bend_losses(bends: &[(Length, Angle)], from: Length, to: Length) -> f64 {
    // Below 10° tubing is bent and rigid pipe is sprung; no fitting (common practice).
    bends
        .iter()
        .filter(|(station, _)| *station > from && *station <= to)
        .map(|(_, turn)| match turn.degrees() {
            turn if turn < 10.0 => 0.0,
            turn if turn <= 60.0 => ELBOW_45,
            _ => ELBOW_90,
        })
        .sum()
}
