//! The pressure a supply still has at a flow. A cap on the flow is a limit that is judged elsewhere; it never bends the curve.

use crate::units::{Flow, Pressure};

/// Pressure at the point of connection: p(Q) = at rest − loss at test · (Q / test flow)^exponent.
///
/// *Source*: the flow-test relation of NFPA 291 (from memory; also read in several stored pages).
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct SupplyCurve {
    /// Pressure at rest.
    pub at_rest: Pressure,
    /// What is lost of it at the test flow, zero or more; zero for a supply of fixed pressure.
    pub loss_at_test: Pressure,
    /// The flow of the test, positive.
    pub test_flow: Flow,
    /// 2, or 1.85 in the Hazen–Williams tradition; at least 1.
    pub exponent: f64,
}

/// Why a flow test gives no curve.
#[derive(Clone, Copy, PartialEq, Debug, thiserror::Error)]
pub enum SupplyError {
    /// The pressure did not fall while water ran.
    #[error("the residual pressure is not below the pressure at rest")]
    NoFall {
        /// Pressure at rest.
        at_rest: Pressure,
        /// Pressure while water ran.
        residual: Pressure,
    },
    /// No water ran.
    #[error("the flow of the test is not positive")]
    NoFlow {
        /// The flow given.
        test_flow: Flow,
    },
    /// The exponent is no number from 1 to 3.
    #[error("the exponent of the supply curve is outside 1 to 3")]
    Exponent {
        /// The exponent given.
        exponent: f64,
    },
}

impl SupplyCurve {
    /// The curve of a flow test: pressure at rest, pressure while `test_flow` runs.
    ///
    /// # Errors
    /// A residual at or above the pressure at rest, a flow that is not positive, an exponent outside 1–3.
    ///
    /// ```
    /// use aubergine_core::hydraulics::SupplyCurve;
    /// use aubergine_core::units::{Flow, Pressure};
    /// let (rest, residual) = (Pressure::from_psi(65.0), Pressure::from_psi(50.0));
    /// let curve = SupplyCurve::from_test(rest, residual, Flow::from_gallons_per_minute(800.0), 1.0 / 0.54)?;
    /// let flow = curve.flow_at(Pressure::from_psi(20.0));
    /// assert!((flow.gallons_per_minute() - 1447.9).abs() < 0.1);
    /// # Ok::<(), aubergine_core::hydraulics::SupplyError>(())
    /// ```
    pub fn from_test(
        at_rest: Pressure,
        residual: Pressure,
        test_flow: Flow,
        exponent: f64,
    ) -> Result<Self, SupplyError> {
        let loss_at_test = at_rest - residual;
        if !(loss_at_test > Pressure::ZERO && loss_at_test.is_finite()) {
            return Err(SupplyError::NoFall { at_rest, residual });
        }
        if !(test_flow > Flow::ZERO && test_flow.is_finite()) {
            return Err(SupplyError::NoFlow { test_flow });
        }
        if !(1.0..=3.0).contains(&exponent) {
            return Err(SupplyError::Exponent { exponent });
        }
        Ok(Self {
            at_rest,
            loss_at_test,
            test_flow,
            exponent,
        })
    }

    /// A supply whose pressure does not fall.
    #[must_use]
    pub const fn fixed(pressure: Pressure) -> Self {
        Self {
            at_rest: pressure,
            loss_at_test: Pressure::ZERO,
            test_flow: Flow::from_litres_per_second(1.0),
            exponent: 2.0,
        }
    }

    /// The same losses from another pressure at rest: the low and high case of a supply.
    #[must_use]
    pub const fn from_rest(self, at_rest: Pressure) -> Self {
        Self { at_rest, ..self }
    }

    /// Pressure at a flow; negative where the supply cannot give so much. Flow back into the supply raises it.
    #[must_use]
    pub fn pressure_at(&self, flow: Flow) -> Pressure {
        let share = flow / self.test_flow;
        self.at_rest - self.loss_at_test * (share.abs().powf(self.exponent) * share.signum())
    }

    /// The flow at which the pressure has fallen to `pressure`: zero at or above the pressure at rest, infinite where
    /// the pressure does not fall.
    #[must_use]
    pub fn flow_at(&self, pressure: Pressure) -> Flow {
        if pressure >= self.at_rest {
            return Flow::ZERO;
        }
        self.test_flow * ((self.at_rest - pressure) / self.loss_at_test).powf(1.0 / self.exponent)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_test_without_fall_or_flow_gives_no_curve() {
        let (psi, gpm) = (Pressure::from_psi, Flow::from_gallons_per_minute);
        let test = |rest, residual, flow, n| {
            SupplyCurve::from_test(psi(rest), psi(residual), gpm(flow), n)
        };
        assert!(test(60.0, 46.0, 12.0, 2.0).is_ok());
        assert!(matches!(
            test(60.0, 60.0, 12.0, 2.0),
            Err(SupplyError::NoFall { .. })
        ));
        assert!(matches!(
            test(60.0, 61.0, 12.0, 2.0),
            Err(SupplyError::NoFall { .. })
        ));
        assert!(matches!(
            test(f64::NAN, 61.0, 12.0, 2.0),
            Err(SupplyError::NoFall { .. })
        ));
        assert!(matches!(
            test(60.0, 46.0, 0.0, 2.0),
            Err(SupplyError::NoFlow { .. })
        ));
        assert!(matches!(
            test(60.0, 46.0, 12.0, 0.5),
            Err(SupplyError::Exponent { .. })
        ));
    }

    #[test]
    fn the_curve_passes_through_its_test() {
        let curve = SupplyCurve::from_test(
            Pressure::from_psi(60.0),
            Pressure::from_psi(46.0),
            Flow::from_gallons_per_minute(12.0),
            1.85,
        )
        .unwrap();
        let psi = curve.pressure_at(Flow::from_gallons_per_minute(12.0)).psi();
        assert!((psi - 46.0).abs() < 1e-9);
        assert!((curve.flow_at(Pressure::from_psi(46.0)).gallons_per_minute() - 12.0).abs() < 1e-9);
        let fixed = SupplyCurve::fixed(Pressure::from_psi(30.0));
        assert_eq!(
            fixed.pressure_at(Flow::from_gallons_per_minute(99.0)),
            fixed.at_rest
        );
    }
}
