//! Which rows of the catalog the objects of a plan use.

use std::collections::BTreeSet;

use super::Objects;

/// Keys of catalog rows that objects use.
#[derive(Clone, Debug, Default)]
pub struct Uses {
    /// Of pipes.
    pub pipes: BTreeSet<String>,
    /// Of emission devices and lines.
    pub emissions: BTreeSet<String>,
    /// Of devices.
    pub devices: BTreeSet<String>,
    /// Of crops.
    pub crops: BTreeSet<String>,
}

impl Uses {
    /// What some sets of objects use.
    #[must_use]
    pub fn of<'a>(sets: impl Iterator<Item = &'a Objects>) -> Self {
        let mut uses = Self::default();
        for objects in sets {
            uses.pipes
                .extend(objects.pipes.values().map(|pipe| pipe.part.clone()));
            uses.emissions
                .extend(objects.lines.values().map(|line| line.part.clone()));
            uses.emissions.extend(
                objects
                    .emissions
                    .values()
                    .map(|emission| emission.part.clone()),
            );
            uses.devices
                .extend(objects.devices.values().map(|device| device.part.clone()));
            for fill in objects.beds.values().filter_map(|bed| bed.fill.as_ref()) {
                uses.pipes.insert(fill.header.clone());
                uses.emissions.insert(fill.line.clone());
            }
            let plantings = objects.beds.values().flat_map(|bed| &bed.plantings);
            let trees = objects
                .trees
                .values()
                .filter_map(|tree| tree.planting.as_ref());
            uses.crops
                .extend(plantings.chain(trees).map(|planting| planting.crop.clone()));
        }
        uses
    }
}
