//! The friction factor of Colebrook–White 1939 with its derivative, and its join to laminar flow. Only the factor: lengths and
//! bores are the parent module's.

use super::LAMINAR_END;

/// Where the turbulent law begins.
const TURBULENT_START: f64 = 4000.0;

/// Colebrook–White, solved: (f, d ln f / d ln Re).
///
/// Newton on x = 1/√f from Haaland's estimate, which is within 1.5 %, so that four steps reach the last bits.
pub(super) fn colebrook(re: f64, relative_roughness: f64) -> (f64, f64) {
    let wall = relative_roughness / 3.7;
    let mut x = -1.8 * (wall.powf(1.11) + 6.9 / re).log10();
    let per_x = 2.51 / re;
    let log = 2.0 / std::f64::consts::LN_10;
    for _ in 0..4 {
        let inner = wall + per_x * x;
        x -= (x + log * inner.ln()) / (1.0 + log * per_x / inner);
    }
    // Differentiating x + 2 log10(wall + 2.51 x/Re) = 0 along ln Re.
    let u = log * per_x / (wall + per_x * x);
    (1.0 / (x * x), -2.0 * u / (1.0 + u))
}

/// Colebrook–White for one relative roughness, joined to 64/Re (law L1).
#[derive(Clone, Copy, Debug)]
pub(crate) struct Rough {
    relative_roughness: f64,
    /// ln f and d ln f/d ln Re at the start of turbulent flow.
    ln_factor_at_start: f64,
    exponent_at_start: f64,
}

impl Rough {
    pub(crate) fn new(relative_roughness: f64) -> Self {
        let (factor, exponent) = colebrook(TURBULENT_START, relative_roughness);
        Self {
            relative_roughness,
            ln_factor_at_start: factor.ln(),
            exponent_at_start: exponent,
        }
    }

    /// The factor and Re · df/dRe above the laminar end.
    pub(crate) fn factor(&self, re: f64) -> (f64, f64) {
        if re >= TURBULENT_START {
            let (f, exponent) = colebrook(re, self.relative_roughness);
            return (f, f * exponent);
        }
        let width = (TURBULENT_START / LAMINAR_END).ln();
        let (ln_factor, exponent) = hermite(
            (re / LAMINAR_END).ln() / width,
            width,
            ((64.0 / LAMINAR_END).ln(), -1.0),
            (self.ln_factor_at_start, self.exponent_at_start),
        );
        let f = ln_factor.exp();
        (f, f * exponent)
    }
}

/// The cubic through two ends with given (value, slope): value and slope at the share `s` of the `width`.
pub(super) fn hermite(s: f64, width: f64, start: (f64, f64), end: (f64, f64)) -> (f64, f64) {
    let t = 1.0 - s;
    let value = start.0 * t * t * (1.0 + 2.0 * s)
        + end.0 * s * s * (1.0 + 2.0 * t)
        + width * s * t * (start.1 * t - end.1 * s);
    let slope = 6.0 * s * t * (end.0 - start.0) / width
        + start.1 * t * (1.0 - 3.0 * s)
        + end.1 * s * (3.0 * s - 2.0);
    (value, slope)
}
