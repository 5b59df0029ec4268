//! Generic parts: pipes, emission devices, flow-through devices, adapters. No product, no brand.
//!
//! Rows come from `core/data/catalog/*.toml`; each says where its figures are from and how we know them. A plan carries
//! the rows it uses, and those win over the program's, so that a copy of the plan gives the same answer anywhere.

pub mod crops;
pub mod fittings;
pub mod joint;
pub mod parts;
mod profile;
pub mod salt;
pub mod strength;

use std::collections::BTreeMap;
use std::sync::{Arc, LazyLock};

pub use crops::Crop;
pub use joint::Joint;
pub use parts::{
    Adapter, DevicePart, EmissionLaw, EmissionPart, EmissionPartKind, FlowPoint, LossPoint,
    PipePart, ThrowPoint,
};
pub use profile::{Profile, ProfileForm, ProfilePoint};

/// Rows by key.
pub type Rows<T> = BTreeMap<String, Arc<T>>;

/// A set of catalog rows: the program's own, or those carried in a plan.
#[derive(Clone, PartialEq, Debug, Default, serde::Serialize, serde::Deserialize)]
pub struct Catalog {
    /// Pipes and tubing.
    #[serde(default, skip_serializing_if = "Rows::is_empty")]
    pub pipes: Rows<PipePart>,
    /// Emitter lines, emitters, sprays.
    #[serde(default, skip_serializing_if = "Rows::is_empty")]
    pub emissions: Rows<EmissionPart>,
    /// Valves, filters, regulators, meters, backflow assemblies.
    #[serde(default, skip_serializing_if = "Rows::is_empty")]
    pub devices: Rows<DevicePart>,
    /// Adapters between unlike ends.
    #[serde(default, skip_serializing_if = "Rows::is_empty")]
    pub adapters: Rows<Adapter>,
    /// Crops: where the edible part sits, how they are eaten.
    #[serde(default, skip_serializing_if = "Rows::is_empty")]
    pub crops: Rows<Crop>,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub extra: BTreeMap<String, serde_json::Value>,
}

const PIPES: &str = include_str!("../../data/catalog/pipes.toml");
const EMISSIONS: &str = include_str!("../../data/catalog/emissions.toml");
const DEVICES: &str = include_str!("../../data/catalog/devices.toml");
const ADAPTERS: &str = include_str!("../../data/catalog/adapters.toml");

static BUILT_IN: LazyLock<Catalog> = LazyLock::new(|| Catalog {
    // A file with a mistake leaves its table empty; `the_files_parse` says where the mistake is.
    pipes: toml::from_str(PIPES).unwrap_or_default(),
    emissions: toml::from_str(EMISSIONS).unwrap_or_default(),
    devices: toml::from_str(DEVICES).unwrap_or_default(),
    adapters: toml::from_str(ADAPTERS).unwrap_or_default(),
    crops: crops::crops()
        .iter()
        .map(|(id, crop)| (id.clone(), Arc::new(crop.clone())))
        .collect(),
    extra: BTreeMap::new(),
});

impl Catalog {
    /// The rows of the program.
    #[must_use]
    pub fn built_in() -> &'static Self {
        &BUILT_IN
    }

    /// A pipe row: this set's own, or the program's.
    #[must_use]
    pub fn pipe(&self, key: &str) -> Option<&PipePart> {
        self.pipes
            .get(key)
            .or_else(|| BUILT_IN.pipes.get(key))
            .map(Arc::as_ref)
    }

    /// An emission row: this set's own, or the program's.
    #[must_use]
    pub fn emission(&self, key: &str) -> Option<&EmissionPart> {
        self.emissions
            .get(key)
            .or_else(|| BUILT_IN.emissions.get(key))
            .map(Arc::as_ref)
    }

    /// A device row: this set's own, or the program's.
    #[must_use]
    pub fn device(&self, key: &str) -> Option<&DevicePart> {
        self.devices
            .get(key)
            .or_else(|| BUILT_IN.devices.get(key))
            .map(Arc::as_ref)
    }

    /// A crop row: this set's own, or the program's.
    #[must_use]
    pub fn crop(&self, key: &str) -> Option<&Crop> {
        self.crops
            .get(key)
            .or_else(|| BUILT_IN.crops.get(key))
            .map(Arc::as_ref)
    }

    /// The adapter that makes two ends mate, the first by key.
    #[must_use]
    pub fn adapter_between(&self, a: &Joint, b: &Joint) -> Option<(&str, &Adapter)> {
        self.adapters
            .iter()
            .chain(&BUILT_IN.adapters)
            .find(|(_, adapter)| adapter.fits(a, b))
            .map(|(key, adapter)| (key.as_str(), adapter.as_ref()))
    }

    /// The price of a metre of a pipe: this set's own, or the program's invented one.
    #[must_use]
    pub fn pipe_price(&self, key: &str) -> Option<f64> {
        let own = self.pipes.get(key).and_then(|row| row.price);
        own.or_else(|| BUILT_IN.pipes.get(key)?.price)
            .filter(|price| price.is_finite() && *price >= 0.0)
    }

    /// The pipes that differ from one in size only, by rising bore: of its family, with the same kind of ends.
    #[must_use]
    pub fn sizes_of(&self, part: &PipePart) -> Vec<(&str, &PipePart)> {
        let own = self.pipes.iter();
        let others = BUILT_IN.pipes.iter();
        let mut sizes: Vec<(&str, &PipePart)> = own
            .chain(others.filter(|(key, _)| !self.pipes.contains_key(*key)))
            .filter(|(_, row)| {
                row.family == part.family
                    && std::mem::discriminant(&row.joint) == std::mem::discriminant(&part.joint)
            })
            .map(|(key, row)| (key.as_str(), row.as_ref()))
            .collect();
        sizes.sort_by(|a, b| a.1.bore().total_cmp(&b.1.bore()).then(a.0.cmp(b.0)));
        sizes
    }

    /// The next larger pipe of the same family, if there is one.
    #[must_use]
    pub fn next_larger_pipe(&self, key: &str) -> Option<(&str, &PipePart)> {
        let present = self.pipe(key)?;
        BUILT_IN
            .pipes
            .iter()
            .filter(|(_, row)| row.family == present.family && row.bore() > present.bore())
            .min_by(|a, b| a.1.bore().total_cmp(&b.1.bore()))
            .map(|(key, row)| (key.as_str(), row.as_ref()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_files_parse() {
        toml::from_str::<Rows<PipePart>>(PIPES).unwrap();
        toml::from_str::<Rows<EmissionPart>>(EMISSIONS).unwrap();
        toml::from_str::<Rows<DevicePart>>(DEVICES).unwrap();
        toml::from_str::<Rows<Adapter>>(ADAPTERS).unwrap();
    }

    #[test]
    fn every_row_says_where_it_is_from() {
        let catalog = Catalog::built_in();
        let pipes = catalog.pipes.iter().map(|(key, row)| (key, &row.source));
        let emissions = catalog
            .emissions
            .iter()
            .map(|(key, row)| (key, &row.source));
        let devices = catalog.devices.iter().map(|(key, row)| (key, &row.source));
        let adapters = catalog.adapters.iter().map(|(key, row)| (key, &row.source));
        for (key, source) in pipes.chain(emissions).chain(devices).chain(adapters) {
            assert!(!source.is_empty(), "{key} has no source");
        }
    }

    #[test]
    fn the_bore_follows_from_outside_and_wall() {
        let three_quarter = Catalog::built_in().pipe("pvc-sch40-3/4").unwrap();
        assert!((three_quarter.bore().inches() - 0.824).abs() < 1e-4);
    }

    #[test]
    fn the_next_size_stays_in_the_family() {
        let catalog = Catalog::default();
        assert_eq!(
            catalog
                .next_larger_pipe("pvc-sch40-3/4")
                .map(|(key, _)| key),
            Some("pvc-sch40-1")
        );
        assert_eq!(catalog.next_larger_pipe("pvc-sch40-4"), None);
    }
}
