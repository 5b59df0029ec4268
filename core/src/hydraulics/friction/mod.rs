//! Head loss of a pipe for a flow, with its derivative: Darcy–Weisbach with a choice of friction laws.
//!
//! A [`PipeFriction`] holds everything that does not depend on the flow, so that one evaluation needs two square roots
//! at most under the fitted law. It does not know networks, and it does not judge velocities.

mod colebrook;
mod fit;

use std::f64::consts::PI;

pub(crate) use colebrook::Rough;
pub(crate) use fit::Fit;

use super::network::Pipe;
use super::water::Water;
use crate::units::{Flow, GRAVITY_MPS2, Length};

/// How the friction factor follows from the Reynolds number and the relative roughness.
///
/// All laws but the last are 64/Re (Hagen–Poiseuille) in laminar flow. Friction between Re 2000 and 4000 is uncertain by 20–30 %
/// in nature, whatever the law.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub enum FrictionLaw {
    /// A cubic in Re^(-1/4) fitted to Colebrook–White from Re 3000 to 3e5 for the relative roughness of the pipe (law
    /// L4 of the knowledge file); a cubic in Re joins it to 64/Re between 2000 and 4000, another joins it to
    /// Colebrook–White between 3e5 and 4.5e5. Value and slope are continuous everywhere.
    ///
    /// *Accuracy*: within 0.02 % of Colebrook–White for smooth pipes and 0.2 % up to a relative roughness of 1e-3
    /// (tests of this module). A pipe too rough for a fit within 0.3 % uses `Colebrook`.
    #[default]
    Fitted,
    /// 64/Re to 2000, Colebrook–White 1939 from 4000, between them a cubic in (ln Re, ln f) of continuous slope (L1).
    ///
    /// *Accuracy*: within 1e-9 of an independent library (validation cases `f-colebrook`).
    Colebrook,
    /// Churchill 1977 for all regimes (L2). Within 3.1 % of Colebrook–White (computed).
    Churchill,
    /// Smooth small polyethylene tubing: 64/Re to 2000, linear to 3000, 0.32 Re^-0.25 to 1e5, 0.13 Re^-0.172 above (L3;
    /// form attributed to Watters & Keller 1978, from memory). Takes no account of roughness. The published branches
    /// differ by 0.3 % at 1e5; a straight line from 1e5 to 1.2e5 joins them.
    SmoothPower,
    /// Hazen–Williams, for comparison only: 21 % too low at 1 gpm in a 0.6 in bore, 44 % too low in laminar flow.
    ///
    /// The form used is h = 4.727 L Q^1.852 / (C^1.852 D^4.871) in feet and cubic feet per second (from memory); it is
    /// continued by a straight line below Re 100, where its slope would vanish. Equivalent lengths and fittings count
    /// as under the other laws.
    HazenWilliams {
        /// The coefficient C, 150 for smooth plastics, positive.
        c: f64,
    },
}

/// Constant of the Hazen–Williams form in SI: 4.727 · 0.3048^(4.871 − 3 · 1.852).
const HAZEN_WILLIAMS_SI: f64 = 10.666_829_5;

/// End of laminar flow in the laws that have one.
pub(crate) const LAMINAR_END: f64 = 2000.0;

/// Head loss and what it gains per unit of flow.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct HeadLoss {
    /// Head loss in the direction of the flow counted positive; negative for reverse flow.
    pub loss: Length,
    /// Derivative of the loss, in metres per (m³/s); never negative.
    pub slope_spm2: f64,
}

/// The part of a law that depends on the pipe.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Curve {
    Fitted(Fit),
    Colebrook(Rough),
    Churchill {
        relative_roughness: f64,
    },
    SmoothPower,
    /// Loss = factor · Q^1.852 above Re 100, a straight line below it.
    HazenWilliams,
}

/// A pipe ready to answer for any flow.
#[derive(Clone, Copy, Debug)]
pub struct PipeFriction {
    coefficients: Coefficients,
    curve: Curve,
}

/// What a pipe's loss needs besides its curve, which many pipes share.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Coefficients {
    /// Reynolds number of 1 m³/s.
    reynolds_per_m3s: f64,
    /// Head loss of 1 m³/s by friction, for a friction factor of one, in m/(m³/s)²; under Hazen–Williams in
    /// m/(m³/s)^1.852.
    friction_s2pm5: f64,
    /// Head loss of 1 m³/s by fittings, in m/(m³/s)².
    fittings_s2pm5: f64,
}

impl PipeFriction {
    /// Prepares a pipe. `None` where a dimension is not a positive finite number (a length may be zero).
    ///
    /// ```
    /// use aubergine_core::hydraulics::{FrictionLaw, Pipe, PipeFriction, Water};
    /// use aubergine_core::units::{Flow, Length, Temperature};
    /// let water = Water::at(Temperature::from_celsius(20.0));
    /// let pipe = Pipe::plain(Length::from_feet(100.0), Length::from_inches(0.6), Length::ZERO);
    /// let friction = PipeFriction::new(&pipe, water, FrictionLaw::Colebrook).expect("a sound pipe");
    /// let loss = friction.at(Flow::from_gallons_per_minute(2.0)).loss;
    /// assert!((water.pressure_of(loss).psi() - 2.1116).abs() < 1e-4);
    /// ```
    #[must_use]
    pub fn new(pipe: &Pipe, water: Water, law: FrictionLaw) -> Option<Self> {
        let mut curves = Curves::default();
        let (coefficients, index) = curves.prepare(pipe, water, law)?;
        let curve = *curves.list.get(index as usize)?;
        Some(Self {
            coefficients,
            curve,
        })
    }

    /// Head loss and its derivative for a flow of either sign. Zero flow has zero loss and the laminar slope.
    #[must_use]
    pub fn at(&self, flow: Flow) -> HeadLoss {
        let (loss_m, slope_spm2) = self.loss_and_slope(flow.cubic_metres_per_second());
        HeadLoss {
            loss: Length::from_metres(loss_m),
            slope_spm2,
        }
    }

    /// The Darcy friction factor of a flow; infinite at rest. Under Hazen–Williams there is none: it answers NaN.
    #[must_use]
    pub fn factor(&self, flow: Flow) -> f64 {
        let flow_m3s = flow.cubic_metres_per_second().abs();
        if matches!(self.curve, Curve::HazenWilliams) {
            return f64::NAN;
        }
        let (loss_m, _) = self.loss_and_slope(flow_m3s);
        let Coefficients {
            friction_s2pm5,
            fittings_s2pm5,
            ..
        } = self.coefficients;
        (loss_m - fittings_s2pm5 * flow_m3s * flow_m3s) / (friction_s2pm5 * flow_m3s * flow_m3s)
    }

    fn loss_and_slope(&self, flow_m3s: f64) -> (f64, f64) {
        self.coefficients.loss_and_slope(flow_m3s, &self.curve)
    }
}

impl Coefficients {
    /// Head loss in metres and its derivative in m/(m³/s).
    #[inline]
    pub(crate) fn loss_and_slope(&self, flow_m3s: f64, curve: &Curve) -> (f64, f64) {
        let q = flow_m3s.abs();
        let re = self.reynolds_per_m3s * q;
        let fittings = self.fittings_s2pm5 * q;
        let laminar_end = match curve {
            Curve::HazenWilliams => return self.hazen_williams(flow_m3s),
            // Churchill blends all along; below this it is 64/Re to the last bit.
            Curve::Churchill { .. } => 100.0,
            Curve::Fitted(_) | Curve::Colebrook(_) | Curve::SmoothPower => LAMINAR_END,
        };
        if re <= laminar_end {
            // f Q² with f = 64/Re is linear in Q: no division by a flow that may be zero.
            let per_flow = 64.0 * self.friction_s2pm5 / self.reynolds_per_m3s;
            return ((per_flow + fittings) * flow_m3s, per_flow + 2.0 * fittings);
        }
        // `f` and Re · df/dRe.
        let (f, f_rise) = match curve {
            Curve::Fitted(fit) => fit.factor(re),
            Curve::Colebrook(rough) => rough.factor(re),
            Curve::Churchill { relative_roughness } => churchill(re, *relative_roughness),
            Curve::SmoothPower | Curve::HazenWilliams => smooth_power(re),
        };
        let friction = self.friction_s2pm5 * q;
        (
            (friction * f + fittings) * flow_m3s,
            friction * (2.0 * f + f_rise) + 2.0 * fittings,
        )
    }

    #[cold]
    fn hazen_williams(&self, flow_m3s: f64) -> (f64, f64) {
        let q = flow_m3s.abs();
        let straight_below_m3s = 100.0 / self.reynolds_per_m3s;
        let fittings = self.fittings_s2pm5 * q;
        let per_flow = self.friction_s2pm5 * q.max(straight_below_m3s).powf(0.852);
        let slope = if q > straight_below_m3s {
            1.852 * per_flow
        } else {
            per_flow
        };
        ((per_flow + fittings) * flow_m3s, slope + 2.0 * fittings)
    }
}

/// The curves of a network's pipes, each kept once: pipes of one bore and wall share it, and a fit costs more than a solve of a bed.
/// A curve is a pure function of its law and roughness, so keeping it cannot change a result.
#[derive(Clone, Debug, Default)]
pub(crate) struct Curves {
    pub list: Vec<Curve>,
    law: Option<FrictionLaw>,
    index: std::collections::BTreeMap<u64, u32>,
    last: Option<(u64, u32)>,
}

impl Curves {
    /// Prepares a pipe: its coefficients and the position of its curve. `None` where a dimension has no sense.
    pub(crate) fn prepare(
        &mut self,
        pipe: &Pipe,
        water: Water,
        law: FrictionLaw,
    ) -> Option<(Coefficients, u32)> {
        let bore_m = pipe.bore.metres();
        let length_m = pipe.length.metres() + pipe.equivalent.metres();
        let roughness_m = pipe.roughness.metres();
        let viscosity_m2ps = water.viscosity.square_metres_per_second();
        let zero_or_more = |value: f64| value >= 0.0 && value.is_finite();
        let sound = bore_m > 0.0
            && bore_m.is_finite()
            && zero_or_more(pipe.length.metres())
            && zero_or_more(pipe.equivalent.metres())
            && zero_or_more(roughness_m)
            && zero_or_more(pipe.fittings)
            && viscosity_m2ps > 0.0
            && viscosity_m2ps.is_finite();
        if !sound {
            return None;
        }
        let bore2_m2 = bore_m * bore_m;
        // V²/2g = 8 Q²/(π² g D⁴).
        let velocity_head_s2pm5 = 8.0 / (PI * PI * GRAVITY_MPS2 * bore2_m2 * bore2_m2);
        let reynolds_per_m3s = 4.0 / (PI * bore_m * viscosity_m2ps);
        let friction_s2pm5 = match law {
            FrictionLaw::HazenWilliams { c } => {
                if !(c > 0.0 && c.is_finite()) {
                    return None;
                }
                HAZEN_WILLIAMS_SI * length_m / (c.powf(1.852) * bore_m.powf(4.871))
            }
            _ => velocity_head_s2pm5 * length_m / bore_m,
        };
        let coefficients = Coefficients {
            reynolds_per_m3s,
            friction_s2pm5,
            fittings_s2pm5: velocity_head_s2pm5 * pipe.fittings,
        };
        // A hair-thin bore can overflow; such a pipe is as unsound as one of no bore.
        let finite = velocity_head_s2pm5.is_finite()
            && coefficients.fittings_s2pm5.is_finite()
            && friction_s2pm5.is_finite()
            && reynolds_per_m3s.is_finite();
        // Beyond half the bore a roughness means nothing; the laws stay finite.
        finite.then(|| {
            (
                coefficients,
                self.index_of(law, (roughness_m / bore_m).min(0.5)),
            )
        })
    }

    fn index_of(&mut self, law: FrictionLaw, relative_roughness: f64) -> u32 {
        if self.law != Some(law) {
            *self = Self {
                law: Some(law),
                ..Self::default()
            };
        }
        let key = relative_roughness.to_bits();
        if let Some((last, index)) = self.last
            && last == key
        {
            return index;
        }
        let list = &mut self.list;
        let index = *self.index.entry(key).or_insert_with(|| {
            list.push(Curve::new(law, relative_roughness));
            u32::try_from(list.len() - 1).unwrap_or(u32::MAX)
        });
        self.last = Some((key, index));
        index
    }
}

impl Curve {
    fn new(law: FrictionLaw, relative_roughness: f64) -> Self {
        match law {
            FrictionLaw::Fitted => Fit::new(relative_roughness).map_or_else(
                || Self::Colebrook(Rough::new(relative_roughness)),
                Self::Fitted,
            ),
            FrictionLaw::Colebrook => Self::Colebrook(Rough::new(relative_roughness)),
            FrictionLaw::Churchill => Self::Churchill { relative_roughness },
            FrictionLaw::SmoothPower => Self::SmoothPower,
            FrictionLaw::HazenWilliams { .. } => Self::HazenWilliams,
        }
    }
}

/// Churchill 1977: the factor and Re · df/dRe.
fn churchill(re: f64, relative_roughness: f64) -> (f64, f64) {
    let w = (7.0 / re).powf(0.9);
    let argument = w + 0.27 * relative_roughness;
    let y = -argument.ln();
    let a = (2.457 * y).powi(16);
    let b = (37_530.0 / re).powi(16);
    let laminar = (8.0 / re).powi(12);
    let turbulent = (a + b).powf(-1.5);
    let f = 8.0 * (laminar + turbulent).powf(1.0 / 12.0);
    let a_rise = 16.0 * a * (0.9 * w / argument) / y;
    let turbulent_rise = -1.5 * turbulent * (a_rise - 16.0 * b) / (a + b);
    let rise = f * (-12.0 * laminar + turbulent_rise) / (12.0 * (laminar + turbulent));
    (f, rise)
}

/// Smooth small tubing: the factor and Re · df/dRe.
fn smooth_power(re: f64) -> (f64, f64) {
    let quarter = |re: f64| 0.32 / re.sqrt().sqrt();
    let fast = |re: f64| 0.13 * re.powf(-0.172);
    let straight = |re: f64, (re_a, f_a): (f64, f64), (re_b, f_b): (f64, f64)| {
        let slope = (f_b - f_a) / (re_b - re_a);
        (f_a + slope * (re - re_a), slope * re)
    };
    if re < 3000.0 {
        straight(re, (2000.0, 0.032), (3000.0, quarter(3000.0)))
    } else if re <= 1e5 {
        let f = quarter(re);
        (f, -0.25 * f)
    } else if re < 1.2e5 {
        straight(re, (1e5, quarter(1e5)), (1.2e5, fast(1.2e5)))
    } else {
        let f = fast(re);
        (f, -0.172 * f)
    }
}

#[cfg(test)]
mod tests;
