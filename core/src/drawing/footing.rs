//! Which results rest on a supply that nobody read or on a class of water that nobody stated.

use std::collections::BTreeSet;

use super::{Drawing, Footing, Role};
use crate::analysis::Analysis;
use crate::ids::Id;
use crate::model::Plan;
use crate::text;

/// The waters whose supply or class is assumed.
pub(super) struct Footings {
    supply: BTreeSet<Id>,
    class: BTreeSet<Id>,
}

impl Footings {
    pub fn of(plan: &Plan, analysis: &Analysis) -> Self {
        let subjects = |key: &str| {
            let found = analysis
                .assumptions
                .iter()
                .filter(move |assumption| assumption.key == key);
            found
                .flat_map(|assumption| assumption.subjects.iter().copied())
                .collect::<BTreeSet<Id>>()
        };
        let supply = subjects("supply")
            .into_iter()
            .filter_map(|id| plan.objects.supplies.get(&id).map(|supply| supply.water))
            .collect();
        Self {
            supply,
            class: subjects("water_class"),
        }
    }

    /// What pressures and throws of a water stand on.
    pub fn of_pressure(&self, water: Id) -> Footing {
        footing(self.supply.contains(&water))
    }

    /// What the verdict on a planted area or plant stands on: the class of every water that reaches it, and the supply of
    /// those that reach it by spray, because the throw follows the pressure.
    pub fn of_verdict(&self, analysis: &Analysis, subject: Id) -> Footing {
        footing(analysis.contact.iter().any(|(water, judged)| {
            let mut rulings = judged.rulings.iter();
            rulings.any(|ruling| {
                let by_spray = ruling.overlap.is_some();
                ruling.subject == subject
                    && (self.class.contains(water) || by_spray && self.supply.contains(water))
            })
        }))
    }
}

/// What a drawing says about its dashed results; `None` when none rests on an assumption.
#[must_use]
pub fn told(drawing: &Drawing) -> Option<&'static str> {
    let (mut supply, mut class) = (false, false);
    for mark in drawing.marks() {
        match mark.role {
            Role::PipePressure(_, _, _, Footing::Assumed)
            | Role::EmitterLinePressure(_, Footing::Assumed)
            | Role::Rate(_, Footing::Assumed)
            | Role::Wetted(Footing::Assumed) => supply = true,
            Role::Verdict(_, Footing::Assumed) => class = true,
            _ => {}
        }
    }
    Some(text::get(match (supply, class) {
        (false, false) => return None,
        (true, false) => "assumed.supply",
        (false, true) => "assumed.class",
        (true, true) => "assumed.both",
    }))
}

const fn footing(is_assumed: bool) -> Footing {
    if is_assumed {
        Footing::Assumed
    } else {
        Footing::Stated
    }
}
