//! What would change a verdict: the same plant under other methods.

use super::evaluate;
use super::input::Input;
use super::result::Ruling;
use crate::rulebook::{Method, Verdict};

/// Another method and the word it would get.
#[derive(Clone, Copy, PartialEq, Eq, Debug, serde::Serialize)]
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

/// Methods under which a planting that is not allowed outright gets a milder word; none for one that is allowed.
#[must_use]
pub fn flips(input: &Input, ruling: &Ruling) -> Vec<Flip> {
    if ruling.verdict.allows() {
        return Vec::new();
    }
    let planting = input.plantings.iter().find(|planting| {
        planting.subject == ruling.subject
            && planting.index == ruling.index
            && planting.zone == ruling.zone
            && planting.method == ruling.method
    });
    let Some(planting) = planting else {
        return Vec::new();
    };
    OFFERED
        .into_iter()
        .filter(|method| *method != planting.method)
        .filter_map(|method| {
            let changed = super::Planting {
                method,
                overlap: None,
                ..planting.clone()
            };
            let alone = Input {
                plantings: vec![changed],
                ..input.clone()
            };
            let verdict = evaluate::rulings(&alone).first()?.verdict;
            (verdict < ruling.verdict).then_some(Flip { method, verdict })
        })
        .collect()
}
