//! How water of sprays falls on each planted area, as rows.

use serde::Serialize;
use serde_json::Value as Json;

use super::rows::ByCase;
use super::{Checked, by_case, rounded, word};
use crate::coverage::{Coverage, SpotKind};
use crate::hydraulics::SupplyCase;
use crate::ids::Id;
use crate::text;

#[derive(Serialize)]
pub(super) struct CoverageRow {
    id: Id,
    heads: Vec<Id>,
    mean_mm_per_h: ByCase,
    low_quarter: ByCase,
    christiansen: ByCase,
    off_share: ByCase,
    worst_case: Json,
    spots: Vec<SpotRow>,
}

#[derive(Serialize)]
struct SpotRow {
    kind: SpotKind,
    place: &'static str,
    x_m: f64,
    y_m: f64,
    area_m2: f64,
    mm_per_h: f64,
}

/// Areas on which no water falls in any case are left out.
pub(super) fn rows(checked: &Checked<'_>) -> Vec<CoverageRow> {
    let areas = checked.analysis.sprayed.iter();
    areas
        .filter_map(|(id, area)| {
            let (worst_case, worst) = area.worst()?;
            let figure = |of: fn(&Coverage) -> f64, decimals: i32| {
                by_case(SupplyCase::ALL.map(|case| {
                    let map = area.in_case(case)?;
                    Some(rounded(of(map), decimals))
                }))
            };
            let spots = worst.spots.iter().map(|spot| SpotRow {
                kind: spot.kind,
                place: text::get(spot.place.key()),
                x_m: rounded(spot.at.x, 3),
                y_m: rounded(spot.at.y, 3),
                area_m2: rounded(spot.area.square_metres(), 4),
                mm_per_h: rounded(spot.rate.millimetres_per_hour(), 4),
            });
            Some(CoverageRow {
                id: *id,
                heads: area.heads.clone(),
                mean_mm_per_h: figure(|map| map.mean.millimetres_per_hour(), 4),
                low_quarter: figure(|map| map.low_quarter, 6),
                christiansen: figure(|map| map.christiansen, 6),
                off_share: figure(Coverage::off_share, 6),
                worst_case: word(&worst_case.word()),
                spots: spots.collect(),
            })
        })
        .collect()
}
