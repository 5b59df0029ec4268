//! What lies in the strip: things to drag onto the drawing, in groups, with their words and symbols.

use aubergine_core::drawing::Symbol;
use aubergine_core::model::{DeviceKind, EmissionKind, FeatureKind, MarkKind, OutletKind};

/// One thing of the strip.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Stock {
    /// A point of connection.
    Supply,
    /// A point of connection of drinking water.
    DrinkingWater,
    /// A pipe run.
    Run,
    /// A hose outlet.
    HoseOutlet,
    /// A food bed.
    Bed,
    /// An emitter line.
    EmitterLine,
    /// A single emitter.
    Emitter,
    /// A spray head.
    SprayHead,
    /// A tree.
    Tree,
    /// A flow-through device.
    Device(DeviceKind),
    /// An area that is not planted.
    Area(FeatureKind),
    /// A well, an entry.
    Mark(MarkKind),
    /// A warning sign.
    Sign,
    /// A measured level.
    Height,
}

/// The strip, group by group.
pub const GROUPS: [(&str, &[Stock]); 4] = [
    (
        "Water",
        &[
            Stock::Supply,
            Stock::DrinkingWater,
            Stock::Run,
            Stock::HoseOutlet,
        ],
    ),
    (
        "Beds",
        &[
            Stock::Bed,
            Stock::EmitterLine,
            Stock::Emitter,
            Stock::SprayHead,
            Stock::Tree,
        ],
    ),
    (
        "Into a run",
        &[
            Stock::Device(DeviceKind::IsolationValve),
            Stock::Device(DeviceKind::ZoneValve),
            Stock::Device(DeviceKind::Filter),
            Stock::Device(DeviceKind::PressureRegulator),
            Stock::Device(DeviceKind::BackflowReducedPressure),
            Stock::Device(DeviceKind::Meter),
        ],
    ),
    (
        "Yard",
        &[
            Stock::Area(FeatureKind::Building),
            Stock::Area(FeatureKind::HardSurface),
            Stock::Area(FeatureKind::EatingArea),
            Stock::Area(FeatureKind::Terrace),
            Stock::Mark(MarkKind::Entry),
            Stock::Sign,
            Stock::Mark(MarkKind::DomesticWell),
            Stock::Height,
        ],
    ),
];

impl Stock {
    /// Its words in the strip.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Supply => "Supply",
            Self::DrinkingWater => "Drinking water",
            Self::Run => "Pipe run",
            Self::HoseOutlet => "Hose outlet",
            Self::Bed => "Bed",
            Self::EmitterLine => "Emitter line",
            Self::Emitter => "Emitter",
            Self::SprayHead => "Spray head",
            Self::Tree => "Tree",
            Self::Device(kind) => match kind {
                DeviceKind::IsolationValve => "Isolation valve",
                DeviceKind::ZoneValve => "Zone valve",
                DeviceKind::Filter => "Filter",
                DeviceKind::PressureRegulator => "Regulator",
                DeviceKind::Meter => "Meter",
                _ => "Backflow device",
            },
            Self::Area(kind) => match kind {
                FeatureKind::Building => "Building",
                FeatureKind::EatingArea => "Eating area",
                FeatureKind::Terrace => "Terrace",
                _ => "Hard surface",
            },
            Self::Mark(MarkKind::Entry) => "Entry",
            Self::Mark(_) => "Well",
            Self::Sign => "Sign",
            Self::Height => "Spot height",
        }
    }

    /// Its symbol, where it has one.
    #[must_use]
    pub const fn symbol(self) -> Option<Symbol> {
        Some(match self {
            Self::Bed | Self::Run | Self::EmitterLine | Self::Area(_) => return None,
            Self::Supply | Self::DrinkingWater => Symbol::PointOfConnection,
            Self::Device(kind) => Symbol::Device(kind),
            Self::SprayHead => Symbol::Emission(EmissionKind::Spray),
            Self::Emitter => Symbol::Emission(EmissionKind::Emitter),
            Self::HoseOutlet => Symbol::Outlet(OutletKind::HoseBibb),
            Self::Tree => Symbol::Tree,
            Self::Mark(kind) => Symbol::Site(kind),
            Self::Sign => Symbol::Sign,
            Self::Height => Symbol::Height,
        })
    }

    /// The catalog row of a flow-through device of the strip.
    #[must_use]
    pub const fn part(kind: DeviceKind) -> &'static str {
        match kind {
            DeviceKind::IsolationValve => "isolation-valve-3/4",
            DeviceKind::ZoneValve => "zone-valve-3/4",
            DeviceKind::Filter => "filter-120-3/4",
            DeviceKind::PressureRegulator => "regulator-25-low-3/4",
            DeviceKind::Meter => "meter-3/4",
            _ => "backflow-rp-3/4",
        }
    }
}
