//! Devices and supplies ready for the solver: heads in metres, flows in m³/s, nothing looked up while iterating.

use std::sync::Arc;

use super::devices::LossCurve;
use super::points::PointCurve;
use super::supply::SupplyCurve;
use super::water::Water;
use crate::units::{Flow, Length};

/// Flow below which the slope of a loss that grows with a power of the flow is not let fall, in m³/s (0.4 L/h). At rest the
/// slope vanishes and a step would have no bounds; the loss itself is not changed.
const LEAST_SLOPE_FLOW_M3S: f64 = 1e-7;

/// What a link loses at a flow.
#[derive(Clone, Debug)]
pub(crate) enum LinkKernel {
    /// opening + b Q + c Q|Q|.
    Device { opening_m: f64, b: f64, c: f64 },
    /// opening + b Q + c Q|Q| + what a curve of points has above its start.
    Points {
        opening_m: f64,
        b: f64,
        c: f64,
        curve: Arc<PointCurve>,
    },
    /// factor · |Q|^exponent with the sign of Q.
    Supply { factor: f64, exponent: f64 },
}

impl LinkKernel {
    /// Compiles a device; `None` where a number has no sense.
    pub fn device(loss: &LossCurve, water: Water) -> Option<Self> {
        let m_per_kpa = 1e3 / water.weight_npm3();
        if !(loss.is_sound() && m_per_kpa.is_finite()) {
            return None;
        }
        let opening_m = loss.opens_at().kilopascals() * m_per_kpa;
        let b = loss.per_lps * 1e3 * m_per_kpa;
        let c = loss.per_lps_squared * 1e6 * m_per_kpa;
        Some(match &loss.points {
            None => Self::Device { opening_m, b, c },
            Some(points) => Self::Points {
                opening_m,
                b,
                c,
                curve: Arc::new(points.scaled(1e-3, m_per_kpa)),
            },
        })
    }

    /// Compiles the loss of a supply; `Some(None)` for a supply of fixed pressure, `None` where a number has no sense.
    pub fn supply(curve: &SupplyCurve, water: Water) -> Option<Option<Self>> {
        let loss_m = water.head_of(curve.loss_at_test).metres();
        let flow_m3s = curve.test_flow.cubic_metres_per_second();
        if !(curve.at_rest.is_finite() && loss_m >= 0.0 && loss_m.is_finite()) {
            return None;
        }
        if loss_m <= 0.0 {
            return Some(None);
        }
        let factor = loss_m / flow_m3s.powf(curve.exponent);
        let sound = flow_m3s > 0.0 && curve.exponent >= 1.0 && factor > 0.0 && factor.is_finite();
        sound.then_some(Some(Self::Supply {
            factor,
            exponent: curve.exponent,
        }))
    }

    /// Head lost and its derivative.
    #[inline]
    pub fn loss_and_slope(&self, flow_m3s: f64) -> (f64, f64) {
        match self {
            Self::Device { opening_m, b, c } => {
                let q = flow_m3s.abs();
                let loss = opening_m + (b + c * q) * flow_m3s;
                (loss, b + 2.0 * c * q.max(LEAST_SLOPE_FLOW_M3S))
            }
            Self::Points {
                opening_m,
                b,
                c,
                curve,
            } => {
                let q = flow_m3s.abs();
                let (value, slope) = curve.at(q);
                let measured = (value - curve.start()) * flow_m3s.signum();
                let loss = opening_m + measured + (b + c * q) * flow_m3s;
                (loss, slope + b + 2.0 * c * q.max(LEAST_SLOPE_FLOW_M3S))
            }
            Self::Supply { factor, exponent } => {
                let q = flow_m3s.abs();
                let per_flow = |q: f64| {
                    if (exponent - 2.0).abs() < 1e-12 {
                        factor * q
                    } else {
                        factor * q.powf(exponent - 1.0)
                    }
                };
                let steep = per_flow(q.max(LEAST_SLOPE_FLOW_M3S));
                (per_flow(q) * flow_m3s, exponent * steep)
            }
        }
    }

    /// Head that opens a device.
    pub fn opening_m(&self) -> f64 {
        match self {
            Self::Device { opening_m, .. } | Self::Points { opening_m, .. } => *opening_m,
            Self::Supply { .. } => 0.0,
        }
    }
}

/// Head that a device takes from a flow while it is wide open; zero where a number of its has no sense.
#[must_use]
pub fn open_loss(loss: &LossCurve, water: Water, flow: Flow) -> Length {
    let kernel = LinkKernel::device(loss, water);
    let flow_m3s = flow.abs().cubic_metres_per_second();
    Length::from_metres(kernel.map_or(0.0, |kernel| kernel.loss_and_slope(flow_m3s).0))
}
