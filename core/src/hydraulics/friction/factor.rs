//! How the friction factor of one flow comes about: the branch of the law, and what the two regimes would give.

use super::colebrook::colebrook;
use super::{Curve, FrictionLaw, LAMINAR_END, PipeFriction};
use crate::hydraulics::{Pipe, Water, velocity_in};
use crate::units::Flow;

/// Up to here friction is uncertain by 20–30 % in nature, from the end of laminar flow on.
const UNCERTAIN_TO: f64 = 4000.0;

/// The branch of the law that gives the factor.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum FactorLaw {
    /// f = 64/Re.
    Laminar,
    /// f = a₀ + a₁ s + a₂ s² + a₃ s³ with s = (Re − 2000)/2000.
    Join([f64; 4]),
    /// f = c₀ + c₁ r + c₂ r² + c₃ r³ with r = Re^(−1/4).
    Cubic([f64; 4]),
    /// Colebrook–White itself.
    Colebrook,
    /// A law or a join that is not written out.
    Other,
}

/// The friction factor of a flow.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct FactorReading {
    /// Reynolds number V D/ν.
    pub reynolds: f64,
    /// The Darcy friction factor that is used.
    pub factor: f64,
    /// How it follows.
    pub law: FactorLaw,
    /// 64/Re.
    pub laminar: f64,
    /// Colebrook–White at this Reynolds number.
    pub turbulent: f64,
}

impl FactorReading {
    /// Whether the flow is neither surely laminar nor surely turbulent, so that the factor is known within a band only.
    #[must_use]
    pub fn is_uncertain(&self) -> bool {
        self.reynolds > LAMINAR_END && self.reynolds < UNCERTAIN_TO
    }

    /// The lower and the higher of the two factors in the uncertain range; the factor itself elsewhere.
    #[must_use]
    pub fn band(&self) -> (f64, f64) {
        if self.is_uncertain() {
            (
                self.laminar.min(self.turbulent),
                self.laminar.max(self.turbulent),
            )
        } else {
            (self.factor, self.factor)
        }
    }
}

/// Reads the factor of a flow in a pipe; `None` at rest, in a pipe without sense, and under a law without a factor.
///
/// ```
/// use aubergine_core::hydraulics::{FrictionLaw, Pipe, Water, factor_reading};
/// use aubergine_core::units::{Flow, Length, Temperature};
/// let water = Water::at(Temperature::from_celsius(20.0));
/// let pipe = Pipe::plain(Length::from_feet(1.0), Length::from_inches(0.6), Length::ZERO);
/// let flow = Flow::from_gallons_per_minute(0.5);
/// let read = factor_reading(&pipe, water, FrictionLaw::Fitted, flow).expect("a sound pipe");
/// assert!((read.reynolds - 2627.0).abs() < 5.0 && read.is_uncertain());
/// assert!(read.laminar < read.factor && read.factor < read.turbulent);
/// ```
#[must_use]
pub fn factor_reading(
    pipe: &Pipe,
    water: Water,
    law: FrictionLaw,
    flow: Flow,
) -> Option<FactorReading> {
    // The factor is that of the bore, whatever the length.
    let metre = Pipe {
        length: crate::units::Length::from_metres(1.0),
        ..*pipe
    };
    let friction = PipeFriction::new(&metre, water, law)?;
    let factor = friction.factor(flow);
    let reynolds = velocity_in(pipe.bore, flow).metres_per_second() * pipe.bore.metres()
        / water.viscosity.square_metres_per_second();
    let relative_roughness = (pipe.roughness / pipe.bore).min(0.5);
    let law = match &friction.size.curve {
        _ if reynolds <= LAMINAR_END => FactorLaw::Laminar,
        Curve::Fitted(fit) => fit.branch(reynolds),
        Curve::Colebrook(_) if reynolds >= UNCERTAIN_TO => FactorLaw::Colebrook,
        _ => FactorLaw::Other,
    };
    (factor.is_finite() && reynolds > 0.0).then(|| FactorReading {
        reynolds,
        factor,
        law,
        laminar: 64.0 / reynolds,
        turbulent: colebrook(reynolds.max(LAMINAR_END), relative_roughness).0,
    })
}
