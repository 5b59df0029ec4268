//! Friction with one regime held on where nature may have either, from Re 2000 to 4000: the bounds of the join.

use super::LAMINAR_END;
use super::colebrook::colebrook;

/// Where turbulent flow is sure.
const TURBULENT_START: f64 = 4000.0;

/// The regime that is held on between laminar and turbulent flow.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Regime {
    /// 64/Re: the least loss.
    Laminar,
    /// Colebrook–White: the largest loss.
    Turbulent,
}

impl Regime {
    /// The Reynolds number up to which the loss is laminar. The step to turbulent flow is spread outside the uncertain
    /// range, 5 % beside it, because a loss that jumps has no flow for some losses.
    pub(super) const fn laminar_to(self) -> f64 {
        match self {
            Self::Laminar => TURBULENT_START,
            Self::Turbulent => LAMINAR_END * 0.95,
        }
    }

    const fn turbulent_from(self) -> f64 {
        match self {
            Self::Laminar => TURBULENT_START * 1.05,
            Self::Turbulent => LAMINAR_END,
        }
    }

    /// The factor and Re · df/dRe above the laminar end: Colebrook–White, and before it a straight line to it.
    pub(super) fn factor(self, re: f64, relative_roughness: f64) -> (f64, f64) {
        let end = self.turbulent_from();
        if re >= end {
            let (f, exponent) = colebrook(re, relative_roughness);
            return (f, f * exponent);
        }
        let start = self.laminar_to();
        let (f_start, f_end) = (64.0 / start, colebrook(end, relative_roughness).0);
        let slope = (f_end - f_start) / (end - start);
        (f_start + slope * (re - start), slope * re)
    }
}
