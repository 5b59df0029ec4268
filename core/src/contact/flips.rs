//! What would change a verdict: the same plant under other methods.

use std::collections::BTreeMap;

use super::evaluate::Books;
use super::input::{Input, Planting};
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

/// For each ruling the methods under which its planting gets a milder word; none where it is allowed outright.
#[must_use]
pub fn flips(input: &Input, rulings: &[Ruling]) -> Vec<Vec<Flip>> {
    let books = Books::of(input);
    let key = |subject, index, zone, method| (subject, index, zone, method);
    let plantings: BTreeMap<_, &Planting> = input
        .plantings
        .iter()
        .rev()
        .map(|it| (key(it.subject, it.index, it.zone, it.method), it))
        .collect();
    let of_one = |ruling: &Ruling| {
        let known = plantings.get(&key(
            ruling.subject,
            ruling.index,
            ruling.zone,
            ruling.method,
        ));
        let Some(planting) = known.filter(|_| !ruling.verdict.allows()) else {
            return Vec::new();
        };
        let others = OFFERED.into_iter().filter(|it| *it != planting.method);
        others
            .filter_map(|method| {
                let changed = Planting {
                    method,
                    overlap: None,
                    ..(*planting).clone()
                };
                let verdict = books.rule_on(input, &changed)?.verdict;
                (verdict < ruling.verdict).then_some(Flip { method, verdict })
            })
            .collect()
    };
    rulings.iter().map(of_one).collect()
}
