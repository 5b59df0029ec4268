//! How each thing of the strip starts out.

use std::collections::BTreeMap;
use std::sync::Arc;

use aubergine_core::geometry::{PlanPoint, Polygon, Polyline};
use aubergine_core::ids::Id;
use aubergine_core::layout::Ground;
use aubergine_core::model::{
    Bed, BedUse, Device, DeviceKind, Emission, EmissionKind, End, Feature, FeatureKind, Fill, Line,
    Mark, MarkKind, Meta, Outlet, OutletKind, Pattern, Pipe, PipeRole, Placement, Plan, Sign,
    SpotHeight, Supply, Tree, Water, WaterKind, WaterReport,
};
use aubergine_core::units::{Angle, Flow, Length, Pressure, UnitSystem};

use super::stock::Stock;

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
pub(super) fn water(kind: WaterKind) -> Water {
    Water {
        kind,
        class: aubergine_core::rulebook::UNKNOWN_CLASS.to_owned(),
        class_by_book: BTreeMap::new(),
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

/// An area with its middle at a place. A terrace is level with the ground there until its level is told.
pub(super) fn area(plan: &Plan, kind: FeatureKind, middle: PlanPoint) -> Feature {
    let (us, metric) = match kind {
        FeatureKind::Building => ((30.0, 20.0), (9.0, 6.0)),
        FeatureKind::Terrace => ((24.0, 12.0), (8.0, 4.0)),
        _ => ((12.0, 10.0), (4.0, 3.0)),
    };
    let (width, height) = match plan.site.units {
        UnitSystem::Us => (Length::from_feet(us.0), Length::from_feet(us.1)),
        UnitSystem::Metric => (Length::from_metres(metric.0), Length::from_metres(metric.1)),
    };
    let corner = PlanPoint::new(
        middle.x - width.metres() / 2.0,
        middle.y - height.metres() / 2.0,
    );
    Feature {
        kind,
        level: (kind == FeatureKind::Terrace).then(|| Ground::of(&plan.objects).level(middle)),
        holds_reclaimed: false,
        outline: Polygon::rectangle(corner, width, height),
        meta: Meta::default(),
    }
}

/// A tree of which nobody has said whether anything is eaten.
pub(super) fn tree(at: PlanPoint) -> Tree {
    Tree {
        at,
        planting: None,
        canopy: Some(Length::from_feet(10.0)),
        watered_area: None,
        meta: Meta::default(),
    }
}

/// A well or an entry.
pub(super) fn mark(kind: MarkKind, at: PlanPoint) -> Mark {
    Mark {
        kind,
        at,
        exemption_met: false,
        meta: Meta::default(),
    }
}

/// A sign that says nothing yet, at the entry it stands nearest to.
pub(super) fn sign(plan: &Plan, at: PlanPoint) -> Sign {
    let near = Length::from_metres(3.0);
    let marks = plan.objects.marks.iter();
    let entry = marks
        .filter(|(_, mark)| mark.kind == MarkKind::Entry)
        .map(|(id, mark)| (*id, mark.at.distance(at)))
        .filter(|(_, distance)| *distance <= near)
        .min_by(|a, b| a.1.total_cmp(&b.1));
    Sign {
        at,
        entry: entry.map(|(id, _)| id),
        words: Vec::new(),
        languages: Vec::new(),
        symbol: false,
        width: None,
        height: None,
        meta: Meta::default(),
    }
}

/// A spot height at the level the ground is taken to have there.
pub(super) fn height(plan: &Plan, at: PlanPoint) -> SpotHeight {
    SpotHeight {
        at,
        level: Ground::of(&plan.objects).level(at),
        meta: Meta::default(),
    }
}

/// What is drawn for reclaimed water is meant to be bought marked.
fn is_reclaimed(plan: &Plan, water: Id) -> bool {
    plan.water_kind(water) == Some(WaterKind::Reclaimed)
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
        purple: is_reclaimed(plan, water),
        extra: BTreeMap::new(),
    })
}

/// A run with open ends. One of drinking water is a service line.
pub(super) fn run(plan: &Plan, water: Id, vertices: Vec<PlanPoint>) -> Pipe {
    let like = plan
        .objects
        .pipes
        .values()
        .find(|pipe| pipe.water == water && pipe.role == PipeRole::Lateral);
    Pipe {
        role: match plan.water_kind(water) {
            Some(WaterKind::Potable) => PipeRole::Service,
            _ => PipeRole::Lateral,
        },
        part: like.map_or_else(|| "pvc-sch40-3/4".to_owned(), |pipe| pipe.part.clone()),
        water,
        vertices: Polyline(vertices),
        start: End::Open,
        end: End::Open,
        taps: BTreeMap::new(),
        depth: None,
        purple: is_reclaimed(plan, water),
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
        purple: is_reclaimed(plan, water),
        meta: Meta::default(),
    }
}

/// A flow-through device.
pub(super) fn device(
    plan: &Plan,
    kind: DeviceKind,
    part: &str,
    water: Id,
    at: PlanPoint,
) -> Device {
    Device {
        kind,
        part: part.to_owned(),
        water,
        at,
        inlet: End::Open,
        set: None,
        closed: false,
        height: None,
        purple: is_reclaimed(plan, water),
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
        low_trajectory: false,
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
