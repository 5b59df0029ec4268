//! Connected spots of a grid, where they lie in their area, and where a band of rates is widest.

use super::{DRY_SHARE, FLOODED_SHARE, Grid, LEAST_SPOT, Spot, SpotKind};
use crate::geometry::{PlanPoint, PlanVector};
use crate::units::{Area, DepthRate, Length};

/// A part of an area: left, middle or right; lower, middle or upper third of the box around it.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Place {
    column: usize,
    row: usize,
}

impl Place {
    /// Key of its words; up is north.
    #[must_use]
    pub const fn key(self) -> &'static str {
        const KEYS: [[&str; 3]; 3] = [
            ["place.south_west", "place.south", "place.south_east"],
            ["place.west", "place.middle", "place.east"],
            ["place.north_west", "place.north", "place.north_east"],
        ];
        KEYS[self.row % 3][self.column % 3]
    }
}

pub(super) fn spots(grid: &Grid, mean: DepthRate) -> Vec<Spot> {
    let mut found = Vec::new();
    for kind in [SpotKind::Dry, SpotKind::Flooded] {
        let is_such = |index: usize| {
            let rate = grid.rate(index);
            grid.inside.get(index) == Some(&true)
                && match kind {
                    SpotKind::Dry => rate < mean * DRY_SHARE,
                    SpotKind::Flooded => rate > mean * FLOODED_SHARE,
                }
        };
        let mut seen = vec![false; grid.water.len()];
        for start in 0..grid.water.len() {
            if seen.get(start) != Some(&false) || !is_such(start) {
                continue;
            }
            let mut cells = vec![start];
            seen[start] = true;
            let mut next = 0;
            while let Some(here) = cells.get(next).copied() {
                next += 1;
                for side in sides(grid, here) {
                    if seen.get(side) == Some(&false) && is_such(side) {
                        seen[side] = true;
                        cells.push(side);
                    }
                }
            }
            found.extend(spot(grid, kind, &cells));
        }
    }
    // Stable: of equals the one lower left comes first.
    found.sort_by(|a, b| b.area.total_cmp(&a.area));
    found
}

fn sides(grid: &Grid, index: usize) -> impl Iterator<Item = usize> {
    let (column, row) = (index % grid.columns, index / grid.columns);
    let around = [
        (column > 0).then(|| index - 1),
        (column + 1 < grid.columns).then_some(index + 1),
        (row > 0).then(|| index - grid.columns),
        (row + 1 < grid.rows).then_some(index + grid.columns),
    ];
    around.into_iter().flatten()
}

fn spot(grid: &Grid, kind: SpotKind, cells: &[usize]) -> Option<Spot> {
    let count = cells.len() as f64;
    let area = Area::from_square_metres(grid.cell_area() * count);
    let whole = grid.inside.iter().filter(|inside| **inside).count() as f64 * grid.cell_area();
    if area < LEAST_SPOT.max(Area::from_square_metres(whole / 200.0)) {
        return None;
    }
    let origin = PlanPoint::default();
    let sum = cells.iter().fold(PlanVector::new(0.0, 0.0), |sum, cell| {
        sum + (grid.middle(*cell) - origin)
    });
    let centre = origin + sum * (1.0 / count);
    let nearest = cells.iter().min_by(|a, b| {
        let away = |cell: &usize| (grid.middle(*cell) - centre).norm();
        away(a).total_cmp(&away(b))
    })?;
    let at = grid.middle(*nearest);
    let third = |share: f64| {
        if share < 1.0 / 3.0 {
            0
        } else {
            usize::from(share > 2.0 / 3.0) + 1
        }
    };
    let rates: DepthRate = cells.iter().map(|cell| grid.rate(*cell)).sum();
    Some(Spot {
        kind,
        at,
        place: Place {
            column: third((at.x - grid.corner.x) / (grid.cell.0 * grid.columns as f64)),
            row: third((at.y - grid.corner.y) / (grid.cell.1 * grid.rows as f64)),
        },
        area,
        rate: rates / count,
    })
}

/// Two passes over the grid give each cell its distance in steps from the nearest one that is not in the band.
pub(super) fn widest(grid: &Grid, from: DepthRate, to: DepthRate) -> Option<(PlanPoint, Length)> {
    let mut room: Vec<f64> = (0..grid.water.len())
        .map(|index| {
            let rate = grid.rate(index);
            let (column, row) = (index % grid.columns, index / grid.columns);
            let is_edge =
                column == 0 || row == 0 || column + 1 == grid.columns || row + 1 == grid.rows;
            let is_in = grid.inside.get(index) == Some(&true) && rate >= from && rate < to;
            match (is_in, is_edge) {
                (false, _) => 0.0,
                (true, true) => 0.5,
                (true, false) => f64::INFINITY,
            }
        })
        .collect();
    let step = |room: &mut Vec<f64>, index: usize, around: [(isize, f64); 4]| {
        let mut least = room[index];
        for (by, far) in around {
            let side = index.checked_add_signed(by).and_then(|side| room.get(side));
            least = least.min(side.map_or(0.5, |side| side + far));
        }
        room[index] = least;
    };
    let line = isize::try_from(grid.columns).ok()?;
    let diagonal = std::f64::consts::SQRT_2;
    for index in 0..room.len() {
        step(
            &mut room,
            index,
            [
                (-1, 1.0),
                (-line, 1.0),
                (-line - 1, diagonal),
                (-line + 1, diagonal),
            ],
        );
    }
    for index in (0..room.len()).rev() {
        step(
            &mut room,
            index,
            [
                (1, 1.0),
                (line, 1.0),
                (line + 1, diagonal),
                (line - 1, diagonal),
            ],
        );
    }
    let (best, room) = room
        .iter()
        .enumerate()
        .rev()
        .max_by(|a, b| a.1.total_cmp(b.1))?;
    let side = grid.cell.0.min(grid.cell.1);
    (*room > 0.0).then(|| (grid.middle(best), Length::from_metres(room * side)))
}
