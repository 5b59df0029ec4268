//! How much water leaves an outlet at a head: the laws of emitters, bubblers and spray heads, ready for the solver.

use std::sync::Arc;

use super::points::PointCurve;
use super::water::Water;
use crate::units::{Flow, Pressure};

/// How much water leaves at a pressure. Nothing leaves, and nothing enters, at or below zero gauge pressure, except
/// under `Fixed`.
#[derive(Clone, PartialEq, Debug)]
pub enum OutletLaw {
    /// flow · (p / at)^exponent. Below 1 cm of head a parabola of the same value and slope leads to zero, because the
    /// slope of the power would grow without end.
    Power {
        /// Flow at the pressure `at`, zero or more.
        flow: Flow,
        /// Pressure of that flow, positive.
        at: Pressure,
        /// From 0 (the same flow at any pressure) to 1: 1 laminar, 0.57 smooth long path, 0.5 orifice or spray, 0.4 vortex (read:
        /// agriinfo.in topic 2247).
        exponent: f64,
    },
    /// Pressure compensating: the same flow from `minimum` up, flow · (p / minimum)^exponent_below under it. The upper
    /// end of the range is judged elsewhere and does not change the flow.
    Compensating {
        /// Flow within the working range, zero or more.
        flow: Flow,
        /// Pressure from which the flow is held, positive.
        minimum: Pressure,
        /// Pressure up to which the flow is held.
        maximum: Pressure,
        /// Exponent below the minimum; 0.5 by common practice.
        exponent_below: f64,
    },
    /// L/s over kPa as measured.
    Points(Arc<PointCurve>),
    /// The same flow at any pressure, even none; a negative one feeds the network.
    Fixed(Flow),
}

impl OutletLaw {
    /// Flow at a gauge pressure.
    ///
    /// ```
    /// use aubergine_core::hydraulics::{OutletLaw, Water};
    /// use aubergine_core::units::{Flow, Pressure, Temperature};
    /// let emitter = OutletLaw::Power {
    ///     flow: Flow::from_gallons_per_hour(1.0),
    ///     at: Pressure::from_psi(15.0),
    ///     exponent: 0.5,
    /// };
    /// let water = Water::at(Temperature::from_celsius(20.0));
    /// let flow = emitter.flow_at(Pressure::from_psi(60.0), water);
    /// assert!((flow.gallons_per_hour() - 2.0).abs() < 1e-12);
    /// ```
    #[must_use]
    pub fn flow_at(&self, pressure: Pressure, water: Water) -> Flow {
        OutletKernel::new(self, water).map_or(Flow::ZERO, |kernel| {
            let (flow_m3s, _) = kernel.flow_and_slope(water.head_of(pressure).metres());
            Flow::from_cubic_metres_per_second(flow_m3s)
        })
    }
}

/// Head below which a power law is replaced, in metres.
const SMALL_HEAD_M: f64 = 0.01;

/// An outlet ready for the solver: heads in metres, flows in m³/s.
#[derive(Clone, Debug)]
pub(crate) enum OutletKernel {
    /// k h^x, with the parabola a h + b h² below the small head.
    Power {
        k: f64,
        exponent: f64,
        small_head_m: f64,
        a: f64,
        b: f64,
        /// Flow above this head stays what it is there; infinite for an outlet that does not compensate.
        held_from_m: f64,
        held_m3s: f64,
    },
    /// m³/s over metres of head.
    Points(Arc<PointCurve>),
    Fixed(f64),
}

impl OutletKernel {
    /// `None` where a number has no sense.
    pub(crate) fn new(law: &OutletLaw, water: Water) -> Option<Self> {
        let head = |pressure: Pressure| {
            let head = water.head_of(pressure).metres();
            (head > 0.0 && head.is_finite()).then_some(head)
        };
        let positive = |flow: Flow| {
            let flow = flow.cubic_metres_per_second();
            (flow >= 0.0 && flow.is_finite()).then_some(flow)
        };
        match *law {
            OutletLaw::Power { flow, at, exponent } if exponent == 0.0 && head(at).is_some() => {
                // The ramp of the small head leads up to the flow.
                Self::power(
                    positive(flow)?,
                    2.0 * SMALL_HEAD_M,
                    0.5,
                    Some(2.0 * SMALL_HEAD_M),
                )
            }
            OutletLaw::Power { flow, at, exponent } => {
                Self::power(positive(flow)?, head(at)?, exponent, None)
            }
            OutletLaw::Compensating {
                flow,
                minimum,
                exponent_below,
                ..
            } => {
                let minimum_m = head(minimum)?;
                Self::power(positive(flow)?, minimum_m, exponent_below, Some(minimum_m))
            }
            OutletLaw::Points(ref curve) => {
                let m_per_kpa = water.head_of(Pressure::from_kilopascals(1.0)).metres();
                let sound = m_per_kpa > 0.0 && m_per_kpa.is_finite() && curve.start() <= 0.0;
                sound.then(|| Self::Points(Arc::new(curve.scaled(m_per_kpa, 1e-3))))
            }
            OutletLaw::Fixed(flow) => flow
                .is_finite()
                .then(|| Self::Fixed(flow.cubic_metres_per_second())),
        }
    }

    fn power(flow_m3s: f64, at_m: f64, exponent: f64, held_from_m: Option<f64>) -> Option<Self> {
        if !(exponent > 0.0 && exponent <= 1.0) {
            return None;
        }
        let power = |h: f64| {
            if is_half(exponent) {
                h.sqrt()
            } else {
                h.powf(exponent)
            }
        };
        let k = flow_m3s / power(at_m);
        // Never closer to the working range than half of it.
        let small_head_m = held_from_m.map_or(SMALL_HEAD_M, |held| SMALL_HEAD_M.min(0.5 * held));
        let small_m3s = k * power(small_head_m);
        // The parabola of value `small` and slope x · small / h0 at h0, through the origin.
        let a = (2.0 - exponent) * small_m3s / small_head_m;
        let b = (exponent - 1.0) * small_m3s / (small_head_m * small_head_m);
        k.is_finite().then_some(Self::Power {
            k,
            exponent,
            small_head_m,
            a,
            b,
            held_from_m: held_from_m.unwrap_or(f64::INFINITY),
            held_m3s: flow_m3s,
        })
    }

    /// k of k √h and the flow above which the law has this form; `None` for other laws.
    pub(crate) fn orifice(&self) -> Option<(f64, f64)> {
        match *self {
            Self::Power {
                k,
                exponent,
                small_head_m,
                held_from_m,
                ..
            } if k > 0.0 && is_half(exponent) && held_from_m.is_infinite() => {
                Some((k, k * small_head_m.sqrt()))
            }
            Self::Power { .. } | Self::Points(_) | Self::Fixed(_) => None,
        }
    }

    /// Flow and its derivative for a head above the outlet. The slope at a kink is that of the side with flow.
    #[inline]
    pub(crate) fn flow_and_slope(&self, head_m: f64) -> (f64, f64) {
        match *self {
            Self::Power {
                k,
                exponent,
                small_head_m,
                a,
                b,
                held_from_m,
                held_m3s,
            } => {
                if head_m >= held_from_m {
                    (held_m3s, 0.0)
                } else if head_m > small_head_m {
                    let power = if is_half(exponent) {
                        head_m.sqrt()
                    } else {
                        head_m.powf(exponent)
                    };
                    let flow = k * power;
                    (flow, exponent * flow / head_m)
                } else if head_m > 0.0 {
                    (head_m * (a + b * head_m), a + 2.0 * b * head_m)
                } else {
                    (0.0, 0.0)
                }
            }
            Self::Points(ref curve) if head_m > 0.0 => curve.at(head_m),
            Self::Points(_) => (0.0, 0.0),
            Self::Fixed(flow_m3s) => (flow_m3s, 0.0),
        }
    }
}

/// An outlet's law seen from a flow and a head, for one Newton step: flow after the step = ahead + conductance · change of
/// head. What is missing to the law now is a head or, for a held flow, a flow.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct OutletStep {
    pub conductance: f64,
    pub ahead_m3s: f64,
    pub rest_m: f64,
    pub rest_m3s: f64,
}

impl OutletKernel {
    /// The least flow an outlet can give.
    pub(crate) fn least_flow_m3s(&self) -> f64 {
        match self {
            Self::Power { .. } | Self::Points(_) => 0.0,
            Self::Fixed(flow_m3s) => flow_m3s.min(0.0),
        }
    }

    /// The law made linear at a flow rather than at a head.
    ///
    /// Head as a function of flow is convex like the losses of pipes, so that steps do not swing between no flow at a
    /// negative head and far too much at a high one (compare Todini et al. 2021, J. WRPM 147(8), read: abstract).
    #[inline]
    pub(crate) fn linearised(&self, flow_m3s: f64, head_m: f64) -> OutletStep {
        let (k, exponent, small_head_m, a, b, held_from_m, held_m3s) = match *self {
            Self::Fixed(fixed_m3s) => {
                return OutletStep {
                    ahead_m3s: fixed_m3s,
                    rest_m3s: fixed_m3s - flow_m3s,
                    ..OutletStep::default()
                };
            }
            Self::Points(ref curve) => return linearised_points(curve, flow_m3s, head_m),
            Self::Power {
                k,
                exponent,
                small_head_m,
                a,
                b,
                held_from_m,
                held_m3s,
            } => (k, exponent, small_head_m, a, b, held_from_m, held_m3s),
        };
        if held_m3s <= 0.0 || (flow_m3s <= 0.0 && head_m <= 0.0) {
            return OutletStep {
                rest_m3s: -flow_m3s,
                ..OutletStep::default()
            };
        }
        // Head of this flow and its slope.
        let (law_m, slope) = if flow_m3s <= 0.0 {
            (0.0, 1.0 / a)
        } else if flow_m3s < small_head_m * (a + b * small_head_m) {
            let root = (a * a + 4.0 * b * flow_m3s).max(0.0).sqrt();
            (2.0 * flow_m3s / (a + root), 1.0 / root)
        } else {
            let share = flow_m3s / k;
            let head = if is_half(exponent) {
                share * share
            } else {
                share.powf(1.0 / exponent)
            };
            (head, head / (exponent * flow_m3s))
        };
        let conductance = 1.0 / slope;
        let rest_m = head_m - law_m;
        let ahead_m3s = flow_m3s + conductance * rest_m;
        if ahead_m3s >= held_m3s && held_from_m.is_finite() {
            return OutletStep {
                conductance: 0.0,
                ahead_m3s: held_m3s,
                rest_m: (head_m - held_from_m).min(0.0),
                rest_m3s: held_m3s - flow_m3s,
            };
        }
        OutletStep {
            conductance,
            ahead_m3s,
            rest_m,
            rest_m3s: 0.0,
        }
    }
}

/// A curve of points made linear: at the flow where the curve rises, at the head where it is level or has no such flow.
fn linearised_points(curve: &PointCurve, flow_m3s: f64, head_m: f64) -> OutletStep {
    if flow_m3s <= 0.0 && head_m <= 0.0 {
        return OutletStep {
            rest_m3s: -flow_m3s,
            ..OutletStep::default()
        };
    }
    let (law_m, slope) = curve.reaches(flow_m3s.max(0.0));
    // So level that a head cannot be told from the flow.
    let is_level = slope * (1.0 + head_m.abs()) <= 1e-6 * flow_m3s.max(f64::MIN_POSITIVE);
    let ahead_m3s = flow_m3s + slope * (head_m - law_m);
    if !is_level && law_m.is_finite() {
        return OutletStep {
            conductance: slope,
            ahead_m3s,
            rest_m: head_m - law_m,
            rest_m3s: 0.0,
        };
    }
    let (ahead_m3s, conductance) = if head_m > 0.0 {
        curve.at(head_m)
    } else {
        (0.0, curve.at(0.0).1)
    };
    OutletStep {
        conductance,
        ahead_m3s,
        rest_m: 0.0,
        rest_m3s: ahead_m3s - flow_m3s,
    }
}

/// True for the exponent of orifices, which needs a square root only.
fn is_half(exponent: f64) -> bool {
    (exponent - 0.5).abs() < 1e-15
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Temperature;

    fn water() -> Water {
        Water::at(Temperature::from_celsius(20.0))
    }

    fn kernel(law: &OutletLaw) -> OutletKernel {
        OutletKernel::new(law, water()).unwrap()
    }

    #[test]
    fn value_and_slope_have_no_jump_at_the_small_head() {
        for exponent in [0.4, 0.5, 0.57, 1.0] {
            let law = OutletLaw::Power {
                flow: Flow::from_litres_per_hour(4.0),
                at: Pressure::from_kilopascals(100.0),
                exponent,
            };
            let kernel = kernel(&law);
            let (below, above) = (
                kernel.flow_and_slope(0.01 - 1e-12),
                kernel.flow_and_slope(0.01 + 1e-12),
            );
            assert!((below.0 / above.0 - 1.0).abs() < 1e-9);
            assert!((below.1 / above.1 - 1.0).abs() < 1e-9);
            assert_eq!(kernel.flow_and_slope(-1.0), (0.0, 0.0));
            let mut last = 0.0;
            for i in 1..300 {
                let (flow, slope) = kernel.flow_and_slope(f64::from(i) * 1e-4);
                assert!(flow > last && slope > 0.0);
                last = flow;
            }
        }
    }

    #[test]
    fn a_compensating_outlet_holds_its_flow_from_the_minimum_up() {
        let law = OutletLaw::Compensating {
            flow: Flow::from_gallons_per_hour(0.9),
            minimum: Pressure::from_psi(10.0),
            maximum: Pressure::from_psi(50.0),
            exponent_below: 0.5,
        };
        let at = |psi| {
            law.flow_at(Pressure::from_psi(psi), water())
                .gallons_per_hour()
        };
        for (psi, gph) in [
            (10.0, 0.9),
            (30.0, 0.9),
            (80.0, 0.9),
            (2.5, 0.45),
            (0.0, 0.0),
            (-3.0, 0.0),
        ] {
            assert!((at(psi) - gph).abs() < 1e-12, "{psi}");
        }
    }

    #[test]
    fn a_flow_that_fits_its_head_has_nothing_missing() {
        for exponent in [0.4, 0.5, 1.0] {
            let kernel = kernel(&OutletLaw::Compensating {
                flow: Flow::from_litres_per_hour(4.0),
                minimum: Pressure::from_kilopascals(60.0),
                maximum: Pressure::from_kilopascals(300.0),
                exponent_below: exponent,
            });
            for head_m in [-2.0, 0.0, 1e-4, 5e-3, 0.02, 1.0, 6.0, 6.2, 30.0] {
                let (flow, slope) = kernel.flow_and_slope(head_m);
                let step = kernel.linearised(flow, head_m);
                assert!(
                    step.rest_m.abs() < 1e-12 && step.rest_m3s.abs() < 1e-18,
                    "{head_m}"
                );
                assert!((step.ahead_m3s - flow).abs() < 1e-15, "{head_m}");
                if flow > 0.0 {
                    assert!((step.conductance - slope).abs() <= 1e-9 * slope, "{head_m}");
                }
            }
        }
    }

    #[test]
    fn laws_without_sense_are_refused() {
        let power = |flow, at, exponent| {
            let law = OutletLaw::Power {
                flow: Flow::from_litres_per_hour(flow),
                at: Pressure::from_kilopascals(at),
                exponent,
            };
            OutletKernel::new(&law, water())
        };
        assert!(power(2.0, 100.0, 0.5).is_some());
        assert!(power(2.0, 0.0, 0.5).is_none());
        assert!(power(-2.0, 100.0, 0.5).is_none());
        assert!(power(f64::NAN, 100.0, 0.5).is_none());
        assert!(power(2.0, 100.0, 0.0).is_some());
        assert!(power(2.0, 100.0, -0.1).is_none());
        assert!(power(2.0, 100.0, 1.5).is_none());
    }
}
