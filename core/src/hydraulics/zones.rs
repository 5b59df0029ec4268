//! What runs when a set of zones is open.

use std::collections::BTreeSet;

use crate::ids::Id;
use crate::model::{DeviceKind, Joints, Objects};

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
