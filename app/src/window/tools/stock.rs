//! What lies in the strip: things to drag onto the drawing, and how each starts out.

use std::sync::Arc;

use aubergine_core::drawing::Symbol;
use aubergine_core::geometry::{PlanPoint, Polygon, Polyline};
use aubergine_core::ids::Id;
use aubergine_core::layout::Ground;
use aubergine_core::model::{
    Bed, BedUse, Device, DeviceKind, Emission, EmissionKind, End, Feature, FeatureKind, Fill, Line,
    Meta, Outlet, OutletKind, Pattern, Pipe, PipeRole, Placement, Plan, Supply, Water, WaterKind,
    WaterReport,
};
use aubergine_core::units::{Angle, Flow, Length, Pressure, UnitSystem};

/// One thing of the strip.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Stock {
    /// A point of connection.
    Supply,
    /// A food bed.
    Bed,
    /// A pipe run.
    Run,
    /// An emitter line.
    EmitterLine,
    /// An isolation valve.
    IsolationValve,
    /// A zone valve.
    ZoneValve,
    /// A filter.
    Filter,
    /// A pressure regulator.
    Regulator,
    /// A spray head.
    SprayHead,
    /// A single emitter.
    Emitter,
    /// A hose outlet.
    HoseOutlet,
    /// Ground with a level of its own.
    Terrace,
}

impl Stock {
    /// Everything, in the order of the strip.
    pub const ALL: [Self; 12] = [
        Self::Supply,
        Self::Bed,
        Self::Run,
        Self::EmitterLine,
        Self::IsolationValve,
        Self::ZoneValve,
        Self::Filter,
        Self::Regulator,
        Self::SprayHead,
        Self::Emitter,
        Self::HoseOutlet,
        Self::Terrace,
    ];

    /// Its words in the strip.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Supply => "Supply",
            Self::Bed => "Bed",
            Self::Run => "Pipe run",
            Self::EmitterLine => "Emitter line",
            Self::IsolationValve => "Isolation valve",
            Self::ZoneValve => "Zone valve",
            Self::Filter => "Filter",
            Self::Regulator => "Regulator",
            Self::SprayHead => "Spray head",
            Self::Emitter => "Emitter",
            Self::HoseOutlet => "Hose outlet",
            Self::Terrace => "Terrace",
        }
    }

    /// Its symbol, where it has one.
    #[must_use]
    pub const fn symbol(self) -> Option<Symbol> {
        Some(match self {
            Self::Bed | Self::Run | Self::EmitterLine | Self::Terrace => return None,
            Self::Supply => Symbol::PointOfConnection,
            Self::IsolationValve => Symbol::Device(DeviceKind::IsolationValve),
            Self::ZoneValve => Symbol::Device(DeviceKind::ZoneValve),
            Self::Filter => Symbol::Device(DeviceKind::Filter),
            Self::Regulator => Symbol::Device(DeviceKind::PressureRegulator),
            Self::SprayHead => Symbol::Emission(EmissionKind::Spray),
            Self::Emitter => Symbol::Emission(EmissionKind::Emitter),
            Self::HoseOutlet => Symbol::Outlet(OutletKind::HoseBibb),
        })
    }

    /// The flow-through device it is, and its row of the catalog.
    #[must_use]
    pub const fn device(self) -> Option<(DeviceKind, &'static str)> {
        match self {
            Self::IsolationValve => Some((DeviceKind::IsolationValve, "isolation-valve-3/4")),
            Self::ZoneValve => Some((DeviceKind::ZoneValve, "zone-valve-3/4")),
            Self::Filter => Some((DeviceKind::Filter, "filter-120-3/4")),
            Self::Regulator => Some((DeviceKind::PressureRegulator, "regulator-25-low-3/4")),
            _ => None,
        }
    }
}

/// The water that new things carry: the plan's reclaimed water, or its first.
#[must_use]
pub(crate) fn water_of_new(plan: &Plan) -> Option<Id> {
    let waters = &plan.objects.waters;
    waters
        .iter()
        .find(|(_, water)| water.kind == WaterKind::Reclaimed)
        .or_else(|| waters.first_key_value())
        .map(|(id, _)| *id)
}

/// A water whose class nobody has told yet.
pub(super) fn water() -> Water {
    Water {
        kind: WaterKind::Reclaimed,
        class: aubergine_core::rulebook::UNKNOWN_CLASS.to_owned(),
        class_stated_by: String::new(),
        supplier: String::new(),
        report: WaterReport::default(),
        meta: Meta::default(),
    }
}

/// A supply before anybody read a gauge: 50 psi at rest, 45 psi at 8 gpm. Nobody is named, so the plan says *assumed*.
pub(super) fn supply(water: Id, at: PlanPoint) -> Supply {
    Supply {
        water,
        at,
        at_rest: Pressure::from_psi(50.0),
        residual: Pressure::from_psi(45.0),
        test_flow: Flow::from_gallons_per_minute(8.0),
        loss_exponent: 2.0,
        low: None,
        high: None,
        limit: None,
        joint: String::new(),
        read_by: String::new(),
        gauge_height: Length::ZERO,
        meta: Meta::default(),
    }
}

/// A bed of 4 by 8 ft, or 1.2 by 2.4 m, with its middle at a place.
pub(super) fn bed(plan: &Plan, middle: PlanPoint) -> Bed {
    let (width, height) = match plan.site.units {
        UnitSystem::Us => (Length::from_feet(4.0), Length::from_feet(8.0)),
        UnitSystem::Metric => (Length::from_metres(1.2), Length::from_metres(2.4)),
    };
    Bed {
        use_: BedUse::Food,
        at: PlanPoint::new(
            middle.x - width.metres() / 2.0,
            middle.y - height.metres() / 2.0,
        ),
        turn: Angle::ZERO,
        outline: Polygon::rectangle(PlanPoint::new(0.0, 0.0), width, height),
        plantings: Vec::new(),
        fill: None,
        intake: None,
        meta: Meta::default(),
    }
}

/// A terrace of 24 by 12 ft, or 8 by 4 m, with its middle at a place, level with the ground there until its level is told.
pub(super) fn terrace(plan: &Plan, middle: PlanPoint) -> Feature {
    let (width, height) = match plan.site.units {
        UnitSystem::Us => (Length::from_feet(24.0), Length::from_feet(12.0)),
        UnitSystem::Metric => (Length::from_metres(8.0), Length::from_metres(4.0)),
    };
    let corner = PlanPoint::new(
        middle.x - width.metres() / 2.0,
        middle.y - height.metres() / 2.0,
    );
    Feature {
        kind: FeatureKind::Terrace,
        level: Some(Ground::of(&plan.objects).level(middle)),
        outline: Polygon::rectangle(corner, width, height),
        meta: Meta::default(),
    }
}

/// The fill that most beds of the plan have, or a common one.
pub(super) fn fill(plan: &Plan, water: Id) -> Fill {
    let known = plan
        .objects
        .beds
        .values()
        .filter_map(|bed| bed.fill.as_ref())
        .find(|fill| fill.water == water);
    known.cloned().unwrap_or_else(|| Fill {
        water,
        pattern: Pattern::RowsAlong,
        line: "line-17-pc-0.40-12".to_owned(),
        header: "tubing-0.600".to_owned(),
        header_side: aubergine_core::model::HeaderSide::First,
        feed_from_far_end: false,
        row_spacing: Length::from_feet(1.0),
        emitter_spacing: None,
        inset: Length::from_inches(6.0),
        placement: Placement::OnSoil,
        flush_ends: true,
        extra: std::collections::BTreeMap::new(),
    })
}

/// A run with open ends.
pub(super) fn run(plan: &Plan, water: Id, vertices: Vec<PlanPoint>) -> Pipe {
    let like = plan
        .objects
        .pipes
        .values()
        .find(|pipe| pipe.water == water && pipe.role == PipeRole::Lateral);
    let is_reclaimed = plan
        .objects
        .waters
        .get(&water)
        .is_some_and(|water| water.kind == WaterKind::Reclaimed);
    Pipe {
        role: PipeRole::Lateral,
        part: like.map_or_else(|| "pvc-sch40-3/4".to_owned(), |pipe| pipe.part.clone()),
        water,
        vertices: Polyline(vertices),
        start: End::Open,
        end: End::Open,
        taps: std::collections::BTreeMap::new(),
        depth: None,
        purple: is_reclaimed,
        utility_main: false,
        meta: Meta::default(),
    }
}

/// An emitter line with open ends.
pub(super) fn emitter_line(
    plan: &Plan,
    water: Id,
    vertices: Vec<PlanPoint>,
    serves: Vec<Id>,
) -> Line {
    Line {
        part: fill(plan, water).line,
        water,
        vertices: Polyline(vertices),
        start: End::Open,
        end: End::Open,
        placement: Placement::OnSoil,
        serves,
        meta: Meta::default(),
    }
}

/// A flow-through device.
pub(super) fn device(kind: DeviceKind, part: &str, water: Id, at: PlanPoint) -> Device {
    Device {
        kind,
        part: part.to_owned(),
        water,
        at,
        inlet: End::Open,
        set: None,
        closed: false,
        meta: Meta::default(),
    }
}

/// A spray head or an emitter.
pub(super) fn emission(
    stock: Stock,
    water: Id,
    at: PlanPoint,
    inlet: End,
    serves: Vec<Id>,
) -> Emission {
    let (kind, part) = match stock {
        Stock::SprayHead => (EmissionKind::Spray, "spray-12"),
        _ => (EmissionKind::Emitter, "emitter-pc-1.0"),
    };
    Emission {
        kind,
        part: part.to_owned(),
        water,
        at,
        inlet,
        arc_from: Angle::ZERO,
        arc_sweep: Angle::from_degrees(360.0),
        radius: None,
        serves,
        meta: Meta::default(),
    }
}

/// A hose outlet as it is bought: not locked, with a hose thread. The rules will have something to say.
pub(super) fn outlet(water: Id, at: PlanPoint, inlet: End) -> Outlet {
    Outlet {
        kind: OutletKind::HoseBibb,
        water,
        at,
        inlet,
        locked: false,
        special_tool: false,
        hose_thread: true,
        in_box: false,
        above_ground: true,
        purple: false,
        words: Vec::new(),
        languages: Vec::new(),
        symbol: false,
        meta: Meta::default(),
    }
}

/// An object shared.
pub(super) fn shared<T>(object: T) -> Arc<T> {
    Arc::new(object)
}
