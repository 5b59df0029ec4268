//! Loss curves of the devices water flows through, from the forms in which such curves are given. Brands and catalogues are not
//! known here; working ranges are judged elsewhere.

use std::sync::Arc;

use super::points::PointCurve;
use super::water::Water;
use crate::units::{Flow, Length, Pressure};

/// Pressure lost in a device: Δp = opening + b Q + c Q² while water flows forward, and what a curve of points adds.
///
/// A device with an opening pressure never lets water back, whatever `checked` says: its spring is a check.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct LossCurve {
    /// Pressure that opens it, zero or more.
    pub opening: Pressure,
    /// b in kPa per L/s, zero or more.
    pub per_lps: f64,
    /// c in kPa per (L/s)², zero or more.
    pub per_lps_squared: f64,
    /// True where water cannot flow back.
    pub checked: bool,
    /// kPa over L/s as measured; what it has at no flow opens the device.
    pub points: Option<Arc<PointCurve>>,
}

/// One gallon a minute in L/s.
const GPM_LPS: f64 = 3.785_411_784 / 60.0;

/// One psi in kPa.
const PSI_KPA: f64 = 6.894_757_293_168_361;

impl LossCurve {
    /// A device that loses nothing.
    pub const NONE: Self = Self {
        opening: Pressure::ZERO,
        per_lps: 0.0,
        per_lps_squared: 0.0,
        checked: false,
        points: None,
    };

    /// From the flow coefficient: `cv` gallons a minute of cold water lose 1 psi. A coefficient that is not positive
    /// gives an infinite loss, which the solver refuses.
    ///
    /// ```
    /// use aubergine_core::hydraulics::LossCurve;
    /// use aubergine_core::units::Flow;
    /// let valve = LossCurve::from_cv(12.0);
    /// assert!((valve.loss(Flow::from_gallons_per_minute(12.0)).psi() - 1.0).abs() < 1e-12);
    /// ```
    #[must_use]
    pub fn from_cv(cv: f64) -> Self {
        let share = if cv > 0.0 {
            1.0 / (cv * GPM_LPS)
        } else {
            f64::INFINITY
        };
        Self {
            per_lps_squared: PSI_KPA * share * share,
            ..Self::NONE
        }
    }

    /// From a loss coefficient on the velocity head of a bore.
    #[must_use]
    pub fn from_coefficient(coefficient: f64, bore: Length, water: Water) -> Self {
        let area_m2 = std::f64::consts::PI / 4.0 * bore.metres() * bore.metres();
        let velocity_mps = 1e-3 / area_m2;
        let pascals = 0.5
            * coefficient
            * water.density.kilograms_per_cubic_metre()
            * velocity_mps
            * velocity_mps;
        Self {
            per_lps_squared: pascals * 1e-3,
            ..Self::NONE
        }
    }

    /// From one known loss at one flow, taken as growing with the square of the flow.
    #[must_use]
    pub fn from_loss_at(loss: Pressure, flow: Flow) -> Self {
        let lps = flow.litres_per_second();
        Self {
            per_lps_squared: loss.kilopascals() / (lps * lps),
            ..Self::NONE
        }
    }

    /// The curve closest to measured points in the sense of least squares, with no negative term, and the largest
    /// distance of a point from it. `None` without points, or with points that are not finite or of negative flow.
    ///
    /// Every choice of terms kept is tried, so the result is the exact constrained optimum; fewer points than terms
    /// keep the highest powers first.
    #[must_use]
    pub fn from_points(points: &[(Flow, Pressure)]) -> Option<(Self, Pressure)> {
        let sound = |(flow, loss): &(Flow, Pressure)| {
            flow.is_finite() && loss.is_finite() && *flow >= Flow::ZERO
        };
        if points.is_empty() || !points.iter().all(sound) {
            return None;
        }
        let mut best: Option<(f64, [f64; 3])> = None;
        for terms in [0b100_u8, 0b010, 0b110, 0b001, 0b101, 0b011, 0b111] {
            let Some(found) = least_squares(points, terms) else {
                continue;
            };
            if found.iter().any(|term| *term < 0.0) {
                continue;
            }
            let error: f64 = points
                .iter()
                .map(|(flow, loss)| {
                    let x = flow.litres_per_second();
                    let [a, b, c] = found;
                    (a + b * x + c * x * x - loss.kilopascals()).powi(2)
                })
                .sum();
            // A later choice has to be better by more than rounding.
            if best.is_none_or(|(least, _)| error < least * (1.0 - 1e-9) - 1e-18) {
                best = Some((error, found));
            }
        }
        let (_, [opening, per_lps, per_lps_squared]) = best?;
        let curve = Self {
            opening: Pressure::from_kilopascals(opening),
            per_lps,
            per_lps_squared,
            ..Self::NONE
        };
        let worst = points
            .iter()
            .map(|(flow, loss)| (curve.loss(*flow) - *loss).abs())
            .fold(Pressure::ZERO, Pressure::max);
        Some((curve, worst))
    }

    /// The same curve in a device that lets no water back.
    #[must_use]
    pub fn with_check(self) -> Self {
        Self {
            checked: true,
            ..self
        }
    }

    /// The same curve with an opening pressure.
    #[must_use]
    pub fn with_opening(self, opening: Pressure) -> Self {
        Self { opening, ..self }
    }

    /// Pressure lost at a forward flow; the opening pressure at none.
    #[must_use]
    pub fn loss(&self, flow: Flow) -> Pressure {
        let lps = flow.litres_per_second();
        let measured = self.points.as_ref().map_or(0.0, |curve| {
            curve.start() + (curve.at(lps.abs()).0 - curve.start()) * lps.signum()
        });
        self.opening
            + Pressure::from_kilopascals(
                measured + self.per_lps * lps + self.per_lps_squared * lps * lps.abs(),
            )
    }

    /// Pressure that opens it: nothing flows below.
    #[must_use]
    pub fn opens_at(&self) -> Pressure {
        let measured = self.points.as_ref().map_or(0.0, |curve| curve.start());
        self.opening + Pressure::from_kilopascals(measured)
    }

    /// True where water cannot flow back.
    #[must_use]
    pub fn lets_nothing_back(&self) -> bool {
        self.checked || self.opens_at() > Pressure::ZERO
    }

    /// True where every term is a finite number, zero or more.
    #[must_use]
    pub fn is_sound(&self) -> bool {
        [
            self.opening.kilopascals(),
            self.per_lps,
            self.per_lps_squared,
        ]
        .iter()
        .all(|term| term.is_finite() && *term >= 0.0)
    }
}

/// Unconstrained least squares over the terms whose bit is set (bit 0 constant, 1 linear, 2 square).
fn least_squares(points: &[(Flow, Pressure)], terms: u8) -> Option<[f64; 3]> {
    let mut m = [[0.0_f64; 4]; 3];
    for (flow, loss) in points {
        let x = flow.litres_per_second();
        let row = [1.0, x, x * x, loss.kilopascals()];
        for (equation, left) in m.iter_mut().zip(row) {
            for (cell, right) in equation.iter_mut().zip(row) {
                *cell += left * right;
            }
        }
    }
    let used = |i: usize| terms >> i & 1 == 1;
    let mut found = [0.0; 3];
    // Gauss–Jordan on the used rows; all indices are below 3 in arrays of 3 rows of 4.
    for k in (0..3).filter(|k| used(*k)) {
        let pivot = m[k];
        let whole: f64 = points
            .iter()
            .map(|(flow, _)| {
                flow.litres_per_second()
                    .powi(4 * i32::from(k == 2) + 2 * i32::from(k == 1))
            })
            .sum();
        // What is left of the pivot against where it began says whether the points can tell the terms apart.
        if pivot[k] <= 1e-10 * whole {
            return None;
        }
        for i in (0..3).filter(|i| used(*i) && *i != k) {
            let share = m[i][k] / pivot[k];
            for (target, source) in m[i].iter_mut().zip(&pivot) {
                *target -= share * source;
            }
        }
    }
    for k in (0..3).filter(|k| used(*k)) {
        found[k] = m[k][3] / m[k][k];
    }
    Some(found)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Temperature;

    fn points(rows: &[(f64, f64)]) -> Vec<(Flow, Pressure)> {
        rows.iter()
            .map(|(lps, kpa)| {
                (
                    Flow::from_litres_per_second(*lps),
                    Pressure::from_kilopascals(*kpa),
                )
            })
            .collect()
    }

    #[test]
    fn a_coefficient_on_a_bore_agrees_with_the_flow_coefficient() {
        // Cv = 29.84 d²/√K: 1.049 in with K = 1 gives 32.8 (knowledge file 1.6, computed).
        let water = Water::at(Temperature::from_celsius(20.0));
        let by_k = LossCurve::from_coefficient(1.0, Length::from_inches(1.049), water);
        let by_cv = LossCurve::from_cv(29.84 * 1.049 * 1.049);
        assert!((by_k.per_lps_squared / by_cv.per_lps_squared - 1.0).abs() < 0.003);
    }

    #[test]
    fn points_on_a_curve_give_the_curve_back() {
        let rows: Vec<(f64, f64)> = [0.1, 0.3, 0.5, 0.9]
            .iter()
            .map(|x| (*x, 20.0 + 3.0 * x + 40.0 * x * x))
            .collect();
        let (curve, worst) = LossCurve::from_points(&points(&rows)).unwrap();
        assert!((curve.opening.kilopascals() - 20.0).abs() < 1e-6);
        assert!((curve.per_lps - 3.0).abs() < 1e-5);
        assert!((curve.per_lps_squared - 40.0).abs() < 1e-5);
        assert!(worst.kilopascals() < 1e-6);
    }

    #[test]
    fn points_that_dip_never_give_a_negative_term() {
        let (curve, worst) = LossCurve::from_points(&points(&[
            (0.1, 80.0),
            (0.3, 74.0),
            (0.6, 76.0),
            (0.9, 84.0),
        ]))
        .unwrap();
        assert!(curve.is_sound());
        assert!(worst.kilopascals() < 6.0);
    }

    #[test]
    fn few_points_or_bad_points_are_handled() {
        assert!(LossCurve::from_points(&[]).is_none());
        assert!(LossCurve::from_points(&points(&[(f64::NAN, 1.0)])).is_none());
        let (one, _) = LossCurve::from_points(&points(&[(0.5, 10.0)])).unwrap();
        assert!((one.per_lps_squared - 40.0).abs() < 1e-9 && one.per_lps < 1e-12);
        let (rest, _) = LossCurve::from_points(&points(&[(0.0, 5.0)])).unwrap();
        assert!((rest.opening.kilopascals() - 5.0).abs() < 1e-12);
    }

    #[test]
    fn a_curve_without_sense_is_not_sound() {
        assert!(!LossCurve::from_cv(0.0).is_sound());
        assert!(
            !LossCurve {
                per_lps: -1.0,
                ..LossCurve::NONE
            }
            .is_sound()
        );
        assert!(
            LossCurve::NONE
                .with_opening(Pressure::from_psi(3.0))
                .lets_nothing_back()
        );
    }
}
