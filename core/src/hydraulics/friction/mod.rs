//! Head loss of a pipe for a flow, with its derivative: Darcy–Weisbach with a choice of friction laws.
//!
//! A [`PipeFriction`] holds everything that does not depend on the flow, so that one evaluation needs two square roots
//! at most under the fitted law. It does not know networks, and it does not judge velocities.

mod colebrook;
mod factor;
mod fit;
mod held;

use std::f64::consts::PI;

pub(crate) use colebrook::Rough;
pub use factor::{FactorLaw, FactorReading, factor_reading};
pub(crate) use fit::Fit;
pub use held::Regime;

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
    /// Colebrook–White with one regime held on from Re 2000 to 4000: a bound of what may be there. Solved on demand only.
    Held(Regime),
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
    Held {
        regime: Regime,
        relative_roughness: f64,
    },
    /// Loss = factor · Q^1.852 above Re 100, a straight line below it.
    HazenWilliams,
}

/// A pipe ready to answer for any flow.
#[derive(Clone, Copy, Debug)]
pub struct PipeFriction {
    size: PipeSize,
    run: PipeRun,
}

/// What all pipes of one bore and wall share in one water: a row of the table that a solve looks up.
#[derive(Clone, Copy, Debug)]
pub(crate) struct PipeSize {
    /// Flow up to which the loss is laminar, in m³/s; negative where the law has no such range.
    laminar_to_m3s: f64,
    /// Laminar loss of 1 m³/s over 1 m, in m/(m³/s)/m.
    laminar_spm3: f64,
    /// Reynolds number of 1 m³/s.
    reynolds_per_m3s: f64,
    /// Loss of 1 m³/s over 1 m by friction, for a friction factor of one, in m/(m³/s)²/m; under Hazen–Williams in
    /// m/(m³/s)^1.852/m.
    friction_s2pm6: f64,
    /// Velocity head of 1 m³/s, in m/(m³/s)².
    velocity_head_s2pm5: f64,
    curve: Curve,
}

/// What a pipe has of its own.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct PipeRun {
    /// Length with what is added for fittings, in metres.
    pub length_m: f64,
    /// Sum of the local loss coefficients.
    pub fittings: f64,
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
        let mut sizes = PipeSizes::default();
        sizes.begin(water, law);
        let (index, run) = sizes.prepare(pipe)?;
        let size = *sizes.list.get(index as usize)?;
        Some(Self { size, run })
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
        if matches!(self.size.curve, Curve::HazenWilliams) {
            return f64::NAN;
        }
        let (loss_m, _) = self.loss_and_slope(flow_m3s);
        let friction = self.size.friction_s2pm6 * self.run.length_m;
        let fittings = self.size.velocity_head_s2pm5 * self.run.fittings;
        (loss_m - fittings * flow_m3s * flow_m3s) / (friction * flow_m3s * flow_m3s)
    }

    fn loss_and_slope(&self, flow_m3s: f64) -> (f64, f64) {
        self.size.loss_and_slope(flow_m3s, self.run)
    }
}

impl PipeSize {
    /// Head loss in metres and its derivative in m/(m³/s).
    #[inline(always)]
    pub(crate) fn loss_and_slope(&self, flow_m3s: f64, run: PipeRun) -> (f64, f64) {
        let q = flow_m3s.abs();
        let fittings = self.velocity_head_s2pm5 * run.fittings * q;
        if q <= self.laminar_to_m3s {
            // f Q² with f = 64/Re is linear in Q: no division by a flow that may be zero.
            let per_flow = self.laminar_spm3 * run.length_m;
            return ((per_flow + fittings) * flow_m3s, per_flow + 2.0 * fittings);
        }
        self.beyond_laminar(flow_m3s, run)
    }

    /// Apart from the laminar range, so that the latter is short enough to be compiled into the sweep.
    #[inline(never)]
    fn beyond_laminar(&self, flow_m3s: f64, run: PipeRun) -> (f64, f64) {
        let q = flow_m3s.abs();
        let fittings = self.velocity_head_s2pm5 * run.fittings * q;
        let re = self.reynolds_per_m3s * q;
        // `f` and Re · df/dRe.
        let (f, f_rise) = match &self.curve {
            Curve::Fitted(fit) => fit.factor(re),
            Curve::SmoothPower => smooth_power(re),
            Curve::Colebrook(rough) => rough.factor(re),
            Curve::Churchill { relative_roughness } => churchill(re, *relative_roughness),
            Curve::Held {
                regime,
                relative_roughness,
            } => regime.factor(re, *relative_roughness),
            Curve::HazenWilliams => return self.hazen_williams(flow_m3s, run),
        };
        let friction = self.friction_s2pm6 * run.length_m * q;
        (
            (friction * f + fittings) * flow_m3s,
            friction * (2.0 * f + f_rise) + 2.0 * fittings,
        )
    }

    #[cold]
    fn hazen_williams(&self, flow_m3s: f64, run: PipeRun) -> (f64, f64) {
        let q = flow_m3s.abs();
        let straight_below_m3s = 100.0 / self.reynolds_per_m3s;
        let fittings = self.velocity_head_s2pm5 * run.fittings * q;
        let per_flow = self.friction_s2pm6 * run.length_m * q.max(straight_below_m3s).powf(0.852);
        let slope = if q > straight_below_m3s {
            1.852 * per_flow
        } else {
            per_flow
        };
        ((per_flow + fittings) * flow_m3s, slope + 2.0 * fittings)
    }
}

/// The sizes of a network's pipes, each kept once. The curves outlive a change of the water, because a fit costs more than a solve
/// of a bed; a curve is a pure function of its law and relative roughness, so keeping it cannot change a result.
#[derive(Clone, Debug, Default)]
pub(crate) struct PipeSizes {
    pub list: Vec<PipeSize>,
    water: Option<Water>,
    law: Option<FrictionLaw>,
    /// Position in the list, by the bits of bore and roughness.
    index: std::collections::BTreeMap<(u64, u64), u32>,
    last: Option<((u64, u64), u32)>,
    curves: std::collections::BTreeMap<u64, Curve>,
}

impl PipeSizes {
    /// Forgets the sizes of another network, and the curves of another law.
    pub(crate) fn begin(&mut self, water: Water, law: FrictionLaw) {
        self.list.clear();
        self.index.clear();
        self.last = None;
        self.water = Some(water);
        if self.law != Some(law) {
            self.law = Some(law);
            self.curves.clear();
        }
    }

    /// Prepares a pipe: the position of its size, and what it has of its own. `None` where a dimension has no sense.
    pub(crate) fn prepare(&mut self, pipe: &Pipe) -> Option<(u32, PipeRun)> {
        let run = PipeRun {
            length_m: pipe.length.metres() + pipe.equivalent.metres(),
            fittings: pipe.fittings,
        };
        let zero_or_more = |value: f64| value >= 0.0 && value.is_finite();
        let sound = zero_or_more(pipe.length.metres())
            && zero_or_more(pipe.equivalent.metres())
            && zero_or_more(run.fittings);
        if !sound {
            return None;
        }
        let index = self.index_of(pipe.bore.metres(), pipe.roughness.metres())?;
        let size = self.list.get(index as usize)?;
        // A hair-thin bore can overflow; such a pipe is as unsound as one of no bore.
        let finite = (size.friction_s2pm6 * run.length_m).is_finite()
            && (size.velocity_head_s2pm5 * run.fittings).is_finite()
            && (size.laminar_spm3 * run.length_m).is_finite();
        finite.then_some((index, run))
    }

    fn index_of(&mut self, bore_m: f64, roughness_m: f64) -> Option<u32> {
        let key = (bore_m.to_bits(), roughness_m.to_bits());
        if let Some((last, index)) = self.last
            && last == key
        {
            return Some(index);
        }
        let index = if let Some(index) = self.index.get(&key) {
            *index
        } else {
            let size = self.size(bore_m, roughness_m)?;
            self.list.push(size);
            let index = u32::try_from(self.list.len() - 1).ok()?;
            self.index.insert(key, index);
            index
        };
        self.last = Some((key, index));
        Some(index)
    }

    fn size(&mut self, bore_m: f64, roughness_m: f64) -> Option<PipeSize> {
        let (water, law) = (self.water?, self.law?);
        let viscosity_m2ps = water.viscosity.square_metres_per_second();
        let sound = bore_m > 0.0
            && bore_m.is_finite()
            && roughness_m >= 0.0
            && roughness_m.is_finite()
            && viscosity_m2ps > 0.0
            && viscosity_m2ps.is_finite();
        if !sound {
            return None;
        }
        let bore2_m2 = bore_m * bore_m;
        // V²/2g = 8 Q²/(π² g D⁴).
        let velocity_head_s2pm5 = 8.0 / (PI * PI * GRAVITY_MPS2 * bore2_m2 * bore2_m2);
        let reynolds_per_m3s = 4.0 / (PI * bore_m * viscosity_m2ps);
        let friction_s2pm6 = match law {
            FrictionLaw::HazenWilliams { c } => {
                if !(c > 0.0 && c.is_finite()) {
                    return None;
                }
                HAZEN_WILLIAMS_SI / (c.powf(1.852) * bore_m.powf(4.871))
            }
            _ => velocity_head_s2pm5 / bore_m,
        };
        let laminar_to = match law {
            FrictionLaw::HazenWilliams { .. } => -1.0,
            // Churchill blends all along; below this it is 64/Re to the last bit.
            FrictionLaw::Churchill => 100.0,
            FrictionLaw::Held(regime) => regime.laminar_to(),
            FrictionLaw::Fitted | FrictionLaw::Colebrook | FrictionLaw::SmoothPower => LAMINAR_END,
        };
        // Beyond half the bore a roughness means nothing; the laws stay finite.
        let relative_roughness = (roughness_m / bore_m).min(0.5);
        let curve = *self
            .curves
            .entry(relative_roughness.to_bits())
            .or_insert_with(|| Curve::new(law, relative_roughness));
        let finite = velocity_head_s2pm5.is_finite()
            && friction_s2pm6.is_finite()
            && reynolds_per_m3s.is_finite();
        finite.then_some(PipeSize {
            laminar_to_m3s: laminar_to / reynolds_per_m3s,
            laminar_spm3: 64.0 * friction_s2pm6 / reynolds_per_m3s,
            reynolds_per_m3s,
            friction_s2pm6,
            velocity_head_s2pm5,
            curve,
        })
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
            FrictionLaw::Held(regime) => Self::Held {
                regime,
                relative_roughness,
            },
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
