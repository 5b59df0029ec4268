//! The coverage view: how much water falls where, as bands with their rates, dry and flooded spots hatched.

use super::build::Layers;
use super::footing::Footings;
use super::{Anchor, Footing, LayerKind, RateBand, Role, Shape, View, ViewOptions};
use crate::analysis::{Analysis, SprayedArea};
use crate::coverage::{Coverage, DRY_SHARE, FLOODED_SHARE, SpotKind};
use crate::ids::Id;
use crate::model::Plan;
use crate::text;
use crate::units::{DepthRate, UnitSystem};

/// Most bands; the last has no upper end.
const BANDS: usize = 6;
/// Room that a band needs for its rate, in metres.
const ROOM_M: f64 = 0.3;

/// Levels between the bands, the same for every area of a plan: round steps, so that the legend can be read.
#[must_use]
pub fn levels(analysis: &Analysis, options: ViewOptions) -> Vec<DepthRate> {
    let maps = analysis.sprayed.values();
    // A peak of one cell must not stretch the scale for everything else.
    let top = maps
        .filter_map(|area| area.in_case(options.case))
        .map(|map| map.extremes.1.min(map.mean * FLOODED_SHARE))
        .fold(DepthRate::ZERO, DepthRate::max);
    let steps: Vec<DepthRate> = match options.units {
        UnitSystem::Us => [0.05, 0.1, 0.2, 0.25, 0.5, 1.0, 2.0, 5.0, 10.0]
            .map(DepthRate::from_inches_per_hour)
            .to_vec(),
        UnitSystem::Metric => [1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0]
            .map(DepthRate::from_millimetres_per_hour)
            .to_vec(),
    };
    let fits = |step: &&DepthRate| top / **step <= BANDS as f64;
    let Some(step) = steps.iter().find(fits).or(steps.last()) else {
        return Vec::new();
    };
    (1..BANDS)
        .map(|index| *step * index as f64)
        .filter(|level| *level < top)
        .collect()
}

/// The band of an interval of rates, as words: `0.20–0.40 in/h`.
#[must_use]
pub fn words(band: RateBand, units: UnitSystem) -> String {
    if band.from <= DepthRate::ZERO {
        return text::fill("coverage.below", [("rate", units.rate(band.to))]);
    }
    if !band.to.is_finite() {
        return text::fill("coverage.above", [("rate", units.rate(band.from))]);
    }
    let from = units.rate(band.from);
    let number = from.split(' ').next().unwrap_or_default().to_owned();
    text::fill(
        "coverage.between",
        [("from", number), ("to", units.rate(band.to))],
    )
}

pub(super) fn draw(
    plan: &Plan,
    analysis: &Analysis,
    footings: &Footings,
    options: ViewOptions,
    layers: &mut Layers,
) {
    if options.view != View::Coverage {
        return;
    }
    let levels = levels(analysis, options);
    for (id, area) in &analysis.sprayed {
        if let Some(map) = area.in_case(options.case) {
            let footing = footing_of(plan, area, footings);
            draw_area((*id, map), &levels, footing, options, layers);
        }
    }
}

/// Assumed where the supply of one of its heads is.
fn footing_of(plan: &Plan, area: &SprayedArea, footings: &Footings) -> Footing {
    let heads = area.heads.iter();
    heads
        .filter_map(|head| plan.objects.emissions.get(head))
        .map(|head| footings.of_pressure(head.water))
        .max()
        .unwrap_or(Footing::Stated)
}

fn draw_area(
    (id, map): (Id, &Coverage),
    levels: &[DepthRate],
    footing: Footing,
    options: ViewOptions,
    layers: &mut Layers,
) {
    let (dry, flooded) = (map.mean * DRY_SHARE, map.mean * FLOODED_SHARE);
    let band_of = |rate: DepthRate| {
        let step = levels.iter().filter(|level| **level <= rate).count();
        let end = DepthRate::from_millimetres_per_hour(f64::INFINITY);
        RateBand {
            from: step
                .checked_sub(1)
                .and_then(|below| levels.get(below).copied())
                .unwrap_or_default(),
            to: levels.get(step).copied().unwrap_or(end),
            step: u8::try_from(step).unwrap_or(u8::MAX),
            spot: None,
        }
    };
    let mut cuts: Vec<DepthRate> = levels.iter().copied().chain([dry, flooded]).collect();
    cuts.sort_by(DepthRate::total_cmp);
    cuts.dedup();
    // What is drawn between two cuts: its band, hatched where it is dry or flooded.
    let role_of = |index: usize| {
        let low = index
            .checked_sub(1)
            .and_then(|below| cuts.get(below).copied())
            .unwrap_or_default();
        let spot = if low < dry {
            Some(SpotKind::Dry)
        } else {
            (low >= flooded).then_some(SpotKind::Flooded)
        };
        Role::Rate(
            RateBand {
                spot,
                ..band_of(low)
            },
            footing,
        )
    };
    let ground = Shape::Area(map.outline.clone());
    let plain = Role::Rate(band_of(DepthRate::ZERO), footing);
    layers.add(LayerKind::Planting, Some(id), plain, ground.clone());
    layers.add(LayerKind::Planting, Some(id), role_of(0), ground);
    for part in map.loops(&cuts) {
        let shape = Shape::Area(part.area);
        layers.add(LayerKind::Planting, Some(id), role_of(part.band), shape);
    }
    let bounds = [DepthRate::ZERO].into_iter().chain(levels.iter().copied());
    for band in bounds.map(band_of) {
        if let Some((at, room)) = map.widest(band.from.max(dry), band.to.min(flooded))
            && room.metres() >= ROOM_M
        {
            let rate = words(band, options.units);
            layers.text(None, Role::Number, at, Anchor::Middle, rate);
        }
    }
    for spot in &map.spots {
        let key = match spot.kind {
            SpotKind::Dry => "coverage.dry_at",
            SpotKind::Flooded => "coverage.flooded_at",
        };
        let told = text::fill(key, [("rate", options.units.rate(spot.rate))]);
        layers.text(None, Role::Name, spot.at, Anchor::Middle, told);
    }
}
