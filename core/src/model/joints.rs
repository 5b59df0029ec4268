//! Which objects hang together, and what a zone valve opens.
//!
//! Follows joints only, never nearness. Knows objects, not pipes in between: a run is in or out as a whole.

use std::collections::{BTreeMap, BTreeSet};

use super::{Objects, integrity};
use crate::ids::{Id, Kind};

/// What is joined to what, both ways, by object.
#[derive(Debug)]
pub struct Joints {
    neighbours: BTreeMap<Id, BTreeSet<Id>>,
    behind_valve: BTreeMap<Id, BTreeSet<Id>>,
}

impl Joints {
    /// Of a plan's objects.
    #[must_use]
    pub fn of(objects: &Objects) -> Self {
        let mut neighbours: BTreeMap<Id, BTreeSet<Id>> = BTreeMap::new();
        let mut behind_valve: BTreeMap<Id, BTreeSet<Id>> = BTreeMap::new();
        for (by, end) in integrity::joints(objects) {
            let Some(port) = end.port() else { continue };
            neighbours.entry(by).or_default().insert(port.object);
            neighbours.entry(port.object).or_default().insert(by);
            if port.object.kind == Kind::Device && port.port == "out" {
                behind_valve.entry(port.object).or_default().insert(by);
            }
        }
        Self {
            neighbours,
            behind_valve,
        }
    }

    /// Everything reached from `starts` without going through a barrier; barriers themselves are left out.
    #[must_use]
    pub fn reached(
        &self,
        starts: impl IntoIterator<Item = Id>,
        barriers: &BTreeSet<Id>,
    ) -> BTreeSet<Id> {
        let mut reached = BTreeSet::new();
        let mut ahead: Vec<Id> = starts.into_iter().collect();
        while let Some(id) = ahead.pop() {
            if barriers.contains(&id) || !reached.insert(id) {
                continue;
            }
            ahead.extend(self.neighbours.get(&id).into_iter().flatten());
        }
        reached
    }

    /// What a valve opens: everything behind its outlet.
    #[must_use]
    pub fn behind(&self, valve: Id) -> BTreeSet<Id> {
        let starts = self.behind_valve.get(&valve).cloned().unwrap_or_default();
        self.reached(starts, &BTreeSet::from([valve]))
    }

    /// The supplies that are joined to an object, zone valves counting as open.
    #[must_use]
    pub fn supplies_of(&self, id: Id) -> BTreeSet<Id> {
        self.reached([id], &BTreeSet::new())
            .into_iter()
            .filter(|id| id.kind == Kind::Supply)
            .collect()
    }
}
