//! What would change a verdict: the same plant under other methods.

use super::input::{Input, Planting};
use super::result::Ruling;
use super::verdict_on;
use crate::rulebook::{Method, Verdict};

/// Another method and the word it would get.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Flip {
    /// The method.
    pub method: Method,
    /// The word.
    pub verdict: Verdict,
}

/// Methods a yard can change to without changing the crop.
const OFFERED: [Method; 3] = [
    Method::SurfaceDrip,
    Method::DripUnderMulch,
    Method::SubsurfaceDrip,
];

/// The methods under which a planting gets a milder word; none where it is allowed already.
#[must_use]
pub fn flips(input: &Input, planting: &Planting, ruling: &Ruling) -> Vec<Flip> {
    if ruling.verdict.allows() {
        return Vec::new();
    }
    let others = OFFERED.into_iter().filter(|it| *it != planting.method);
    others
        .filter_map(|method| {
            let changed = Planting {
                method,
                overlap: None,
                ..planting.clone()
            };
            let verdict = verdict_on(input, &changed)?;
            (verdict < ruling.verdict).then_some(Flip { method, verdict })
        })
        .collect()
}
