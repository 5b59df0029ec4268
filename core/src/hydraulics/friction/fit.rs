//! The friction law that needs only square roots: a cubic in Re^(-1/4), fitted to Colebrook–White for one relative
//! roughness by least squares, with its joins to laminar flow and to Colebrook–White.

use super::LAMINAR_END;
use super::colebrook::{colebrook, hermite};

/// Range of the fit.
const FIT_START: f64 = 3000.0;
const FIT_END: f64 = 3e5;

/// Where the join from laminar flow ends.
const JOIN_END: f64 = 4000.0;

/// Where the join to Colebrook–White ends. Over a factor of 1.5 in Re a cubic follows Re^-0.2 within 0.02 %.
const BLEND_END: f64 = 4.5e5;

/// A fit worse than this is not used.
const WORST_ERROR: f64 = 3e-3;

/// Sample points of the fit, evenly spaced in ln Re.
const NUM_SAMPLES: usize = 96;

/// Reweighting rounds that press the largest error down; more change it by less than a hundredth of itself.
const NUM_ROUNDS: usize = 60;

/// The fitted law for one relative roughness.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Fit {
    relative_roughness: f64,
    /// f = Σ c_i r^i with r = Re^(-1/4).
    c: [f64; 4],
    /// f = Σ j_i s^i with s = (Re − 2000)/2000 on the join from laminar flow.
    join: [f64; 4],
    /// Value and slope in Re at the end of the fit and at the end of the blend.
    blend_start: (f64, f64),
    blend_end: (f64, f64),
}

impl Fit {
    /// Fits the law; `None` where no cubic follows Colebrook–White closely enough (very rough pipes).
    pub(crate) fn new(relative_roughness: f64) -> Option<Self> {
        let (c, error) = least_squares(relative_roughness)?;
        if error.is_nan() || error > WORST_ERROR {
            return None;
        }
        let (f_join, rise_join) = cubic(&c, JOIN_END);
        let span = JOIN_END - LAMINAR_END;
        // A cubic in s from (0.032, −0.032) — 64/Re and its slope, per s — to the fit, as powers of s.
        let (y0, d0) = (
            64.0 / LAMINAR_END,
            -64.0 / LAMINAR_END * (span / LAMINAR_END),
        );
        let (y1, d1) = (f_join, rise_join / JOIN_END * span);
        let join = [
            y0,
            d0,
            3.0 * (y1 - y0) - 2.0 * d0 - d1,
            2.0 * (y0 - y1) + d0 + d1,
        ];
        let (f_fit, rise_fit) = cubic(&c, FIT_END);
        let (f_far, exponent_far) = colebrook(BLEND_END, relative_roughness);
        Some(Self {
            relative_roughness,
            c,
            join,
            blend_start: (f_fit, rise_fit / FIT_END),
            blend_end: (f_far, f_far * exponent_far / BLEND_END),
        })
    }

    /// The factor and Re · df/dRe above the laminar end.
    #[inline]
    pub(crate) fn factor(&self, re: f64) -> (f64, f64) {
        if re < JOIN_END {
            let span = JOIN_END - LAMINAR_END;
            let s = (re - LAMINAR_END) / span;
            let [a, b, c, d] = self.join;
            (
                a + s * (b + s * (c + s * d)),
                re / span * (b + s * (2.0 * c + s * 3.0 * d)),
            )
        } else if re <= FIT_END {
            cubic(&self.c, re)
        } else {
            self.beyond(re)
        }
    }

    /// The branch that answers above the laminar end, with its coefficients.
    pub(super) fn branch(&self, re: f64) -> super::FactorLaw {
        use super::FactorLaw;
        if re < JOIN_END {
            FactorLaw::Join(self.join)
        } else if re <= FIT_END {
            FactorLaw::Cubic(self.c)
        } else if re < BLEND_END {
            FactorLaw::Other
        } else {
            FactorLaw::Colebrook
        }
    }

    /// Past the fit: rare in a yard, so kept out of the hot path.
    #[cold]
    fn beyond(&self, re: f64) -> (f64, f64) {
        if re < BLEND_END {
            let width = BLEND_END - FIT_END;
            let (f, slope) = hermite(
                (re - FIT_END) / width,
                width,
                self.blend_start,
                self.blend_end,
            );
            (f, re * slope)
        } else {
            let (f, exponent) = colebrook(re, self.relative_roughness);
            (f, f * exponent)
        }
    }
}

/// f and Re · df/dRe of a cubic in Re^(-1/4).
#[inline]
fn cubic(c: &[f64; 4], re: f64) -> (f64, f64) {
    let r = 1.0 / re.sqrt().sqrt();
    let [c0, c1, c2, c3] = *c;
    (
        c0 + r * (c1 + r * (c2 + r * c3)),
        -0.25 * r * (c1 + r * (2.0 * c2 + r * 3.0 * c3)),
    )
}

/// The coefficients and the largest relative error at the sample points.
///
/// Relative errors are weighted, and the weights follow the errors (iteratively reweighted least squares), which comes
/// close to the smallest possible largest error. The unknowns are coefficients in t = (r − middle)/half, which keeps
/// the normal equations well conditioned.
fn least_squares(relative_roughness: f64) -> Option<([f64; 4], f64)> {
    let r_of = |re: f64| 1.0 / re.sqrt().sqrt();
    let (middle, half) = (
        0.5 * (r_of(FIT_START) + r_of(FIT_END)),
        0.5 * (r_of(FIT_START) - r_of(FIT_END)),
    );
    let mut rows = [[0.0; 4]; NUM_SAMPLES];
    let mut weights = [1.0_f64; NUM_SAMPLES];
    let step = (FIT_END / FIT_START).ln() / (NUM_SAMPLES as f64 - 1.0);
    for (i, row) in rows.iter_mut().enumerate() {
        let re = FIT_START * (step * i as f64).exp();
        let (f, _) = colebrook(re, relative_roughness);
        let t = (r_of(re) - middle) / half;
        *row = [1.0 / f, t / f, t * t / f, t * t * t / f];
    }
    let error_of = |row: &[f64; 4], d: &[f64; 4]| {
        (row.iter().zip(d).map(|(a, b)| a * b).sum::<f64>() - 1.0).abs()
    };
    let mut d = [0.0; 4];
    let mut worst = f64::INFINITY;
    for _ in 0..NUM_ROUNDS {
        d = normal_equations(&rows, &weights)?;
        worst = rows.iter().map(|row| error_of(row, &d)).fold(0.0, f64::max);
        if worst <= 0.0 {
            break;
        }
        for (weight, row) in weights.iter_mut().zip(&rows) {
            *weight *= (0.2 + error_of(row, &d) / worst).sqrt();
        }
        let largest = weights.iter().copied().fold(0.0, f64::max);
        for weight in &mut weights {
            *weight /= largest;
        }
    }
    // From powers of t back to powers of r.
    let (a, b) = (1.0 / half, -middle / half);
    let [d0, d1, d2, d3] = d;
    Some((
        [
            d0 + b * (d1 + b * (d2 + b * d3)),
            a * (d1 + b * (2.0 * d2 + b * 3.0 * d3)),
            a * a * (d2 + 3.0 * b * d3),
            a * a * a * d3,
        ],
        worst,
    ))
}

/// Solves the weighted 4×4 least-squares problem rows · d ≈ 1 by Gaussian elimination with row exchange.
fn normal_equations(
    rows: &[[f64; 4]; NUM_SAMPLES],
    weights: &[f64; NUM_SAMPLES],
) -> Option<[f64; 4]> {
    // Four equations and their right-hand side.
    let mut m = [[0.0_f64; 5]; 4];
    for (row, weight) in rows.iter().zip(weights) {
        let w2 = weight * weight;
        for (i, equation) in m.iter_mut().enumerate() {
            for (j, coefficient) in equation.iter_mut().enumerate() {
                // Proof: i < 4 and j < 4 where used, both lengths are 4.
                *coefficient += w2 * row[i] * if j < 4 { row[j] } else { 1.0 };
            }
        }
    }
    // Proof for the indices below: all run from 0 to 3 (4 for the right-hand side) in arrays of 4 rows of 5.
    for k in 0..4 {
        let pivot = (k..4).max_by(|&a, &b| m[a][k].abs().total_cmp(&m[b][k].abs()))?;
        m.swap(k, pivot);
        let pivot_row = m[k];
        if pivot_row[k].abs() < 1e-300 || !pivot_row[k].is_finite() {
            return None;
        }
        for equation in m.iter_mut().skip(k + 1) {
            let share = equation[k] / pivot_row[k];
            for (target, source) in equation.iter_mut().zip(&pivot_row) {
                *target -= share * source;
            }
        }
    }
    let mut d = [0.0; 4];
    for k in (0..4).rev() {
        let known: f64 = (k + 1..4).map(|j| m[k][j] * d[j]).sum();
        d[k] = (m[k][4] - known) / m[k][k];
    }
    Some(d)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn worst_error(relative_roughness: f64) -> f64 {
        let fit = Fit::new(relative_roughness).expect("a fit");
        (0..2000)
            .map(|i| 3000.0 * 100f64.powf(f64::from(i) / 1999.0))
            .map(|re| (cubic(&fit.c, re).0 / colebrook(re, relative_roughness).0 - 1.0).abs())
            .fold(0.0, f64::max)
    }

    #[test]
    fn the_fits_are_as_close_as_the_knowledge_file_says() {
        for (relative_roughness, percent) in [
            (0.0, 0.013),
            (2e-5, 0.018),
            (5e-5, 0.056),
            (1e-4, 0.10),
            (3.5e-4, 0.17),
            (1e-3, 0.10),
        ] {
            let error = 100.0 * worst_error(relative_roughness);
            assert!(
                error < percent * 1.1 + 0.001,
                "{relative_roughness} {error}"
            );
        }
    }

    #[test]
    fn the_smooth_coefficients_are_those_of_the_knowledge_file() {
        let fit = Fit::new(0.0).expect("a fit");
        let table = [0.004_104_055_1, 0.234_761_57, 0.069_134_232, 2.609_535_7];
        // The coefficients trade against each other; what counts is the factor.
        for re in [4e3, 1e4, 3e4, 1e5, 3e5] {
            assert!(
                (cubic(&fit.c, re).0 / cubic(&table, re).0 - 1.0).abs() < 2e-5,
                "{re}"
            );
        }
    }

    #[test]
    fn the_join_to_colebrook_is_as_close_as_the_fit() {
        for relative_roughness in [0.0, 1e-4, 1e-3] {
            let fit = Fit::new(relative_roughness).expect("a fit");
            for i in 0..200 {
                let re = FIT_END + (BLEND_END - FIT_END) * f64::from(i) / 199.0;
                let error = fit.factor(re).0 / colebrook(re, relative_roughness).0 - 1.0;
                assert!(error.abs() < 2e-3, "{relative_roughness} {re} {error}");
            }
        }
    }

    #[test]
    fn a_very_rough_pipe_has_no_fit_or_a_close_one() {
        for relative_roughness in [3e-3, 1e-2, 5e-2, 0.5] {
            if Fit::new(relative_roughness).is_some() {
                assert!(worst_error(relative_roughness) < 1.1 * WORST_ERROR);
            }
        }
    }
}
