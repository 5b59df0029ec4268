//! Outlines between bands of rates: squares of the grid are walked along each level, cut at the outline of the area.

use std::collections::BTreeMap;

use super::Grid;
use crate::geometry::{PlanPoint, PlanVector, Polygon, share_of_nearest};
use crate::units::DepthRate;

/// One outline of a band.
#[derive(Clone, PartialEq, Debug)]
pub struct Loop {
    /// How many of the levels lie below the rates just inside.
    pub band: usize,
    /// The outline.
    pub area: Polygon,
}

/// An edge between two neighbouring nodes: its lower left node, and whether it goes up.
type Edge = (usize, usize, bool);

/// Node rates with a rim: one ring as the cell beside it, so that the outline lies inside, then one ring of nothing.
struct Nodes<'a> {
    grid: &'a Grid,
    columns: usize,
    rows: usize,
}

impl Nodes<'_> {
    fn rate(&self, column: usize, row: usize) -> f64 {
        if column == 0 || row == 0 || column + 1 == self.columns || row + 1 == self.rows {
            return -1.0;
        }
        let within = |node: usize, count: usize| node.saturating_sub(2).min(count - 1);
        let (column, row) = (
            within(column, self.grid.columns),
            within(row, self.grid.rows),
        );
        self.grid
            .rate(row * self.grid.columns + column)
            .millimetres_per_hour()
    }

    fn place(&self, column: f64, row: f64) -> PlanPoint {
        let (wide, high) = self.grid.cell;
        self.grid.corner + PlanVector::new((column - 1.5) * wide, (row - 1.5) * high)
    }

    /// Where the level crosses an edge.
    fn crossing(&self, (column, row, goes_up): Edge, level: f64) -> PlanPoint {
        let (right, up) = if goes_up { (0, 1) } else { (1, 0) };
        let (a, b) = (self.rate(column, row), self.rate(column + right, row + up));
        let share = ((level - a) / (b - a)).clamp(0.0, 1.0);
        self.place(
            column as f64 + share * right as f64,
            row as f64 + share * up as f64,
        )
    }

    /// Pieces of the level line through a square, from edge to edge, the higher side on their left.
    fn pieces(&self, column: usize, row: usize, level: f64) -> Vec<(Edge, Edge)> {
        let corners =
            [(0, 0), (1, 0), (1, 1), (0, 1)].map(|(right, up)| self.rate(column + right, row + up));
        let high = corners.map(|rate| rate >= level);
        let edges: [Edge; 4] = [
            (column, row, false),
            (column + 1, row, true),
            (column, row + 1, false),
            (column, row, true),
        ];
        // Walking round anticlockwise, a line leaves where it gets lower and enters where it gets higher.
        let mut falls = Vec::new();
        let mut rises = Vec::new();
        for side in 0..4 {
            match (high[side], high[(side + 1) % 4]) {
                (true, false) => falls.push(side),
                (false, true) => rises.push(side),
                _ => {}
            }
        }
        if falls.len() == 2 {
            let is_high = corners.iter().sum::<f64>() / 4.0 >= level;
            // At a saddle the middle decides whether the high corners hang together.
            let turn = if is_high { 1 } else { 3 };
            return falls
                .iter()
                .map(|fall| (edges[*fall], edges[(fall + turn) % 4]))
                .collect();
        }
        let ends = falls.first().zip(rises.first());
        ends.map(|(fall, rise)| (edges[*fall], edges[*rise]))
            .into_iter()
            .collect()
    }
}

pub(super) fn loops(grid: &Grid, outline: &Polygon, levels: &[DepthRate]) -> Vec<Loop> {
    let nodes = Nodes {
        grid,
        columns: grid.columns + 4,
        rows: grid.rows + 4,
    };
    // Signed areas: anticlockwise holds what is higher.
    let mut found: Vec<(f64, Loop)> = Vec::new();
    for (index, level) in levels.iter().enumerate() {
        let level = level.millimetres_per_hour();
        let mut next: BTreeMap<Edge, Edge> = BTreeMap::new();
        for row in 0..nodes.rows - 1 {
            for column in 0..nodes.columns - 1 {
                next.extend(nodes.pieces(column, row, level));
            }
        }
        while let Some((first, mut here)) = next.pop_first() {
            let mut points = vec![nodes.crossing(first, level)];
            while here != first {
                points.push(nodes.crossing(here, level));
                let Some(after) = next.remove(&here) else {
                    break;
                };
                here = after;
            }
            let ring = Polygon(points);
            let area = signed_area(&ring);
            let band = if area > 0.0 { index + 1 } else { index };
            let finest = grid.cell.0.min(grid.cell.1) * 0.12;
            let ring = simplified(&ring, finest);
            for part in ring.shared(outline) {
                found.push((area.abs(), Loop { band, area: part }));
            }
        }
    }
    found.sort_by(|a, b| b.0.total_cmp(&a.0));
    found.into_iter().map(|(_, found)| found).collect()
}

fn signed_area(ring: &Polygon) -> f64 {
    let origin = ring.0.first().copied().unwrap_or_default();
    ring.sides()
        .map(|(a, b)| (a - origin).cross(b - origin) / 2.0)
        .sum()
}

/// Leaves out points that lie nearer than `finest` metres to the line without them.
fn simplified(ring: &Polygon, finest: f64) -> Polygon {
    let points = &ring.0;
    if points.len() < 8 {
        return ring.clone();
    }
    // Two far points divide the ring into two chains.
    let mut kept = vec![false; points.len()];
    let half = points.len() / 2;
    let mut open = vec![(0, half), (half, points.len())];
    kept[0] = true;
    kept[half] = true;
    while let Some((from, to)) = open.pop() {
        let (a, b) = (points[from], points[to % points.len()]);
        let farthest = (from + 1..to)
            .map(|index| {
                let point = points[index];
                (
                    index,
                    (a.lerp(b, share_of_nearest(a, b, point)) - point).norm(),
                )
            })
            .max_by(|a, b| a.1.total_cmp(&b.1));
        if let Some((index, away)) = farthest
            && away > finest
        {
            kept[index] = true;
            open.extend([(from, index), (index, to)]);
        }
    }
    let kept = points.iter().zip(kept).filter(|(_, kept)| *kept);
    Polygon(kept.map(|(point, _)| *point).collect())
}
