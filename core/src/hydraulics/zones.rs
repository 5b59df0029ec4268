//! Which objects hang together: what one zone valve opens, and what runs when a set of zones is open.
//!
//! Follows joints only, never nearness. Knows objects, not pipes in between: a run is in or out as a whole.

use std::collections::{BTreeMap, BTreeSet};

use crate::ids::{Id, Kind};
use crate::model::{DeviceKind, Objects, integrity};

/// The zones that are open together.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug, Default)]
pub struct OperatingSet {
    /// Their names, sorted.
    pub zones: Vec<Id>,
}

impl OperatingSet {
    /// One zone alone.
    #[must_use]
    pub fn alone(zone: Id) -> Self {
        Self { zones: vec![zone] }
    }

    /// Every zone of a plan alone, in order: the sets that are judged unless a schedule runs zones together.
    #[must_use]
    pub fn each_alone(objects: &Objects) -> Vec<Self> {
        objects.zones.keys().copied().map(Self::alone).collect()
    }
}

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
}

/// What takes part when a set is open: everything that hangs on the open valves, without what lies behind other zone
/// valves.
#[must_use]
pub fn taking_part(objects: &Objects, joints: &Joints, set: &OperatingSet) -> BTreeSet<Id> {
    let open: BTreeSet<Id> = set
        .zones
        .iter()
        .filter_map(|zone| objects.zones.get(zone))
        .map(|zone| zone.valve)
        .collect();
    let is_zone_valve = |id: &Id| {
        objects
            .devices
            .get(id)
            .is_some_and(|device| device.kind == DeviceKind::ZoneValve)
    };
    let barriers: BTreeSet<Id> = objects
        .devices
        .keys()
        .filter(|id| is_zone_valve(id) && !open.contains(id))
        .copied()
        .collect();
    joints.reached(open, &barriers)
}

/// The supplies that are joined to an object, zone valves counting as open.
#[must_use]
pub fn supplies_of(joints: &Joints, id: Id) -> BTreeSet<Id> {
    joints
        .reached([id], &BTreeSet::new())
        .into_iter()
        .filter(|id| id.kind == Kind::Supply)
        .collect()
}
