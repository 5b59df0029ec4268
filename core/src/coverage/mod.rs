//! Where the water of sprays falls: their profiles summed on a grid over one planted area, and what is read off it.
//!
//! A cell holds the water that falls on it over its own area. The profile of every head is summed over fine places and then
//! scaled so that it gives the flow of the head and no more: what does not fall inside the outline is told as thrown off.
//! Nothing is known here of wind; still air is taken.

mod bands;
mod place;

pub use bands::Loop;
pub use place::Place;

use crate::catalog::Profile;
use crate::geometry::{PlanPoint, PlanVector, Polygon};
use crate::hydraulics::uniformity::Uniformity;
use crate::units::{Angle, Area, DepthRate, Flow, Length};

/// A cell below this share of the mean rate is dry (our judgement).
pub const DRY_SHARE: f64 = 0.5;
/// A cell above this share of the mean rate is flooded (our judgement).
pub const FLOODED_SHARE: f64 = 2.0;
/// Spots smaller than this, and than a two-hundredth of the area, are not told: grass reaches across them (our judgement).
const LEAST_SPOT: Area = Area::from_square_metres(0.1);
/// Cells along the shortest throw: finer changes the measures of a falling profile by less than a thousandth.
const CELLS_OF_A_THROW: f64 = 32.0;
/// Most cells of a grid.
const MOST_CELLS: f64 = 40_000.0;
/// Most cells along the longest throw.
const MOST_OF_A_THROW: f64 = 160.0;
/// Places in a cell, each way.
const PLACES: usize = 3;

/// One spray at the pressure it gets.
#[derive(Clone, PartialEq, Debug)]
pub struct Head {
    /// Where it stands.
    pub at: PlanPoint,
    /// Its throw.
    pub throw: Length,
    /// Where its sector begins, anticlockwise from +x.
    pub from: Angle,
    /// How wide its sector is.
    pub sweep: Angle,
    /// What it gives.
    pub flow: Flow,
    /// How it spreads its water.
    pub profile: Profile,
    /// Other areas it is there for: water on them is not thrown off.
    pub also: Vec<Polygon>,
}

/// How water falls on one area.
#[derive(Clone, PartialEq, Debug)]
pub struct Coverage {
    /// The outline of the area.
    pub outline: Polygon,
    /// What all its heads give.
    pub given: Flow,
    /// What of that falls on the area.
    pub on_area: Flow,
    /// What of that falls on nothing that a head is there for.
    pub off: Flow,
    /// The mean rate over the area.
    pub mean: DepthRate,
    /// The least and the largest rate of a cell.
    pub extremes: (DepthRate, DepthRate),
    /// Mean of the lowest quarter over the mean.
    pub low_quarter: f64,
    /// Christiansen's coefficient, a share.
    pub christiansen: f64,
    /// Dry and flooded spots, the largest first.
    pub spots: Vec<Spot>,
    grid: Grid,
}

/// What is wrong at a spot.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum SpotKind {
    /// Less than [`DRY_SHARE`] of the mean.
    Dry,
    /// More than [`FLOODED_SHARE`] of the mean.
    Flooded,
}

/// A connected part of the area that gets far too little or too much.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Spot {
    /// What is wrong.
    pub kind: SpotKind,
    /// A place inside.
    pub at: PlanPoint,
    /// In which part of the area, the sheet's top taken for north.
    pub place: Place,
    /// How large it is.
    pub area: Area,
    /// The mean rate there.
    pub rate: DepthRate,
}

/// Rates on cells that fill the box around the outline exactly.
#[derive(Clone, PartialEq, Debug)]
struct Grid {
    corner: PlanPoint,
    cell: (f64, f64),
    columns: usize,
    rows: usize,
    /// Cubic metres a second that fall on each cell, row by row from the lowest.
    water: Vec<f64>,
    inside: Vec<bool>,
}

impl Grid {
    fn new(outline: &Polygon, heads: &[Head]) -> Option<Self> {
        let (left, right) = outline.span(PlanVector::new(1.0, 0.0));
        let (low, high) = outline.span(PlanVector::new(0.0, 1.0));
        let (wide, high_m) = (right - left, high - low);
        let throws = || heads.iter().map(|head| head.throw.metres());
        let shortest = throws().filter(|throw| *throw > 0.0).reduce(f64::min)?;
        let longest = throws().fold(0.0, f64::max);
        let side = (shortest / CELLS_OF_A_THROW)
            .max(longest / MOST_OF_A_THROW)
            .max((wide * high_m / MOST_CELLS).sqrt())
            .max(wide.max(high_m) / MOST_CELLS);
        if !(wide > 0.0 && high_m > 0.0 && side.is_finite()) {
            return None;
        }
        let (columns, rows) = (count(wide / side), count(high_m / side));
        let mut grid = Self {
            corner: PlanPoint::new(left, low),
            cell: (wide / columns as f64, high_m / rows as f64),
            columns,
            rows,
            water: vec![0.0; columns * rows],
            inside: Vec::new(),
        };
        grid.inside = (0..columns * rows)
            .map(|index| outline.contains(grid.middle(index)))
            .collect();
        Some(grid)
    }

    fn middle(&self, index: usize) -> PlanPoint {
        let (column, row) = (index % self.columns, index / self.columns);
        self.corner
            + PlanVector::new(
                (column as f64 + 0.5) * self.cell.0,
                (row as f64 + 0.5) * self.cell.1,
            )
    }

    fn cell_area(&self) -> f64 {
        self.cell.0 * self.cell.1
    }

    fn rate(&self, index: usize) -> DepthRate {
        let water = self.water.get(index).copied().unwrap_or_default();
        // A metre a second is 3.6e6 mm/h.
        DepthRate::from_millimetres_per_hour(water / self.cell_area() * 3.6e6)
    }

    /// Adds the water of a head; returns what falls neither on the outline nor on another area it is there for.
    fn add(&mut self, head: &Head) -> f64 {
        let flow = head.flow.litres_per_second() / 1000.0;
        let reach = head.throw.metres();
        let mut shares: Vec<(i64, i64, f64)> = Vec::new();
        let (from, to) = (
            self.column_row(head.at, -reach),
            self.column_row(head.at, reach),
        );
        for row in from.1..=to.1 {
            for column in from.0..=to.0 {
                let weight = self.weight(head, column, row);
                if weight > 0.0 {
                    shares.push((column, row, weight));
                }
            }
        }
        let total: f64 = shares.iter().map(|share| share.2).sum();
        if total <= 0.0 {
            // Hardly any throw: everything falls where it stands.
            let at = self.column_row(head.at, 0.0);
            shares = vec![(at.0, at.1, 1.0)];
        }
        let scale = flow / if total > 0.0 { total } else { 1.0 };
        let mut off = 0.0;
        for (column, row, weight) in shares {
            let index = self.index(column, row);
            if let Some(cell) = index.and_then(|index| self.water.get_mut(index)) {
                *cell += weight * scale;
            }
            let is_on = index.is_some_and(|index| self.inside.get(index) == Some(&true));
            let middle = self.place(column, row, 0.5, 0.5);
            if !is_on && !head.also.iter().any(|area| area.contains(middle)) {
                off += weight * scale;
            }
        }
        off
    }

    fn place(&self, column: i64, row: i64, right: f64, up: f64) -> PlanPoint {
        self.corner
            + PlanVector::new(
                (column as f64 + right) * self.cell.0,
                (row as f64 + up) * self.cell.1,
            )
    }

    fn weight(&self, head: &Head, column: i64, row: i64) -> f64 {
        let mut sum = 0.0;
        for up in 0..PLACES {
            for right in 0..PLACES {
                let share = |step: usize| (step as f64 + 0.5) / PLACES as f64;
                let away = self.place(column, row, share(right), share(up)) - head.at;
                let distance = away.norm() / head.throw.metres();
                if distance <= 1.0 && is_in_sector(away, head) {
                    sum += head.profile.rate(distance);
                }
            }
        }
        sum
    }

    #[expect(
        clippy::cast_possible_truncation,
        reason = "a throw is at most a few hundred cells"
    )]
    fn column_row(&self, at: PlanPoint, beyond: f64) -> (i64, i64) {
        (
            ((at.x + beyond - self.corner.x) / self.cell.0).floor() as i64,
            ((at.y + beyond - self.corner.y) / self.cell.1).floor() as i64,
        )
    }

    fn index(&self, column: i64, row: i64) -> Option<usize> {
        let column = usize::try_from(column)
            .ok()
            .filter(|at| *at < self.columns)?;
        let row = usize::try_from(row).ok().filter(|at| *at < self.rows)?;
        Some(row * self.columns + column)
    }
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "bounded by MOST_CELLS"
)]
fn count(cells: f64) -> usize {
    cells.ceil().clamp(1.0, MOST_CELLS) as usize
}

fn is_in_sector(away: PlanVector, head: &Head) -> bool {
    let sweep = head.sweep.degrees();
    if sweep >= 360.0 {
        return true;
    }
    let turn = Angle::from_radians(away.y.atan2(away.x)).degrees() - head.from.degrees();
    turn.rem_euclid(360.0) <= sweep
}

impl Coverage {
    /// Sums the water of heads over an area. `None` where there is no area, no throw or no water on it.
    #[must_use]
    pub fn of(outline: &Polygon, heads: &[Head]) -> Option<Self> {
        let mut grid = Grid::new(outline, heads)?;
        let mut off = 0.0;
        for head in heads {
            off += grid.add(head);
        }
        let on: Vec<Flow> = grid
            .water
            .iter()
            .zip(&grid.inside)
            .filter(|(_, inside)| **inside)
            .map(|(water, _)| Flow::from_litres_per_second(*water * 1000.0))
            .collect();
        let even = Uniformity::of(&on)?;
        let rate = |flow: Flow| {
            DepthRate::from_millimetres_per_hour(flow.litres_per_hour() / grid.cell_area())
        };
        let mean = rate(even.mean);
        let spots = place::spots(&grid, mean);
        Some(Self {
            outline: outline.clone(),
            given: heads.iter().map(|head| head.flow).sum(),
            on_area: even.total,
            off: Flow::from_litres_per_second(off * 1000.0),
            mean,
            extremes: (rate(even.least), rate(even.largest)),
            low_quarter: even.low_quarter,
            christiansen: even.christiansen,
            spots,
            grid,
        })
    }

    /// The share of the water that is thrown off.
    #[must_use]
    pub fn off_share(&self) -> f64 {
        self.off / self.given
    }

    /// The rate of the cell at a place; `None` outside the outline.
    #[must_use]
    pub fn rate_at(&self, at: PlanPoint) -> Option<DepthRate> {
        let (column, row) = self.grid.column_row(at, 0.0);
        let index = self.grid.index(column, row)?;
        (self.grid.inside.get(index) == Some(&true)).then(|| self.grid.rate(index))
    }

    /// The outlines between rates above and below each level, the largest first: laid over each other in this order they
    /// show the rates, every outline opaque. Levels must rise.
    #[must_use]
    pub fn loops(&self, levels: &[DepthRate]) -> Vec<Loop> {
        bands::loops(&self.grid, &self.outline, levels)
    }

    /// The place with the most room around it where the rate lies between two, and how far the nearest other rate is.
    #[must_use]
    pub fn widest(&self, from: DepthRate, to: DepthRate) -> Option<(PlanPoint, Length)> {
        place::widest(&self.grid, from, to)
    }
}

/// How good a low-quarter uniformity of sprays is.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Evenness {
    /// 0.70 and more. *Source*: read, a water board's report of 2007 on audits takes zones of 70 % and more for efficient
    /// (dnrweblink.state.co.us, CWCB document 114388, page 9).
    Good,
    /// Between the two.
    Fair,
    /// Less than 0.50: the lower end of what spray zones reach in practice (read at befinding.com, 50 to 65 % for sprays, 65
    /// to 70 % for rotors).
    Poor,
}

impl Evenness {
    /// The least share that is not poor.
    pub const FAIR_FROM: f64 = 0.50;

    /// The class of a share.
    #[must_use]
    pub fn of(low_quarter: f64) -> Self {
        if low_quarter >= 0.70 {
            Self::Good
        } else if low_quarter >= Self::FAIR_FROM {
            Self::Fair
        } else {
            Self::Poor
        }
    }

    /// Key of its word.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Good => "coverage.good",
            Self::Fair => "coverage.fair",
            Self::Poor => "coverage.poor",
        }
    }
}
