//! Sprays over a whole area: a head in every corner, heads along the edges with their arcs cut to them, rows inside.

use crate::catalog::{Catalog, EmissionPart};
use crate::geometry::{PlanPoint, PlanVector, Polygon, Polyline};
use crate::units::{Angle, Length};

/// How the heads inside stand to each other.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum HeadPattern {
    /// In squares.
    #[default]
    Square,
    /// Every other row is shifted by half a spacing, the rows closer together.
    Triangular,
}

/// What an area is filled with.
#[derive(Clone, PartialEq, Debug)]
pub struct HeadsRule {
    /// Row of the emission catalog: the head, or the full circle of its family.
    pub part: String,
    /// Squares or triangles.
    pub pattern: HeadPattern,
    /// Spacing over the throw at the rated pressure: 1 is from head to head (common practice, no source).
    pub factor: f64,
}

/// One head of the fill.
#[derive(Clone, PartialEq, Debug)]
pub struct PlacedHead {
    /// Where.
    pub at: PlanPoint,
    /// Where its sector begins, anticlockwise from +x.
    pub from: Angle,
    /// How wide it is.
    pub sweep: Angle,
    /// Row of the emission catalog.
    pub part: String,
    /// Its flow over its arc is that of the chosen head within a tenth, so that it waters at the same rate.
    pub is_matched: bool,
}

/// More heads than that are a typing mistake in a spacing.
const MOST_HEADS: usize = 1000;
/// A bend of the outline from which on it is a corner with a head of its own.
const CORNER_DEG: f64 = 30.0;
/// How far the rate of a head may be from that of the chosen one.
const MATCHED: f64 = 0.1;

/// The heads of a fill; none for a head without throw, a factor that is not positive, or far too many.
#[must_use]
pub fn heads(outline: &Polygon, catalog: &Catalog, rule: &HeadsRule) -> Vec<PlacedHead> {
    let Some(part) = catalog.emission(&rule.part) else {
        return Vec::new();
    };
    let (throw, _) = rated_throw(part);
    let spacing = throw.metres() * rule.factor;
    let corners = anticlockwise(outline);
    let around: f64 = outline.sides().map(|(a, b)| (b - a).norm()).sum();
    let area = outline.area().square_metres();
    let is_few = (around / spacing + area / (spacing * spacing)) < MOST_HEADS as f64;
    if !(spacing > 0.0 && is_few) || corners.len() < 3 {
        return Vec::new();
    }
    let mut found: Vec<(PlanPoint, Angle, Angle)> = Vec::new();
    for side in sides(&corners) {
        edge_heads(&side, spacing, &mut found);
    }
    inner_heads(outline, rule.pattern, spacing, &mut found);
    let options = family(catalog, &rule.part, part);
    found
        .into_iter()
        .filter_map(|(at, from, sweep)| {
            let (part, is_matched) = matched(&options, part, sweep)?;
            Some(PlacedHead {
                at,
                from,
                sweep,
                part,
                is_matched,
            })
        })
        .collect()
}

fn rated_throw(part: &EmissionPart) -> (Length, bool) {
    let near = part.throw.iter().min_by(|a, b| {
        let off = |pressure| (part.at - pressure).abs();
        off(a.pressure).total_cmp(&off(b.pressure))
    });
    near.map_or((Length::ZERO, true), |point| (point.radius, false))
}

/// Rows that are made to water at one rate, by key.
fn family<'a>(
    catalog: &'a Catalog,
    key: &'a str,
    part: &'a EmissionPart,
) -> Vec<(&'a str, &'a EmissionPart)> {
    let mut rows = vec![(key, part)];
    if let Some(family) = &part.family {
        let all = catalog
            .emissions
            .iter()
            .chain(&Catalog::built_in().emissions);
        let same = all.filter(|(_, row)| row.family.as_ref() == Some(family));
        rows.extend(same.map(|(key, row)| (key.as_str(), row.as_ref())));
    }
    rows
}

/// The row whose flow over this arc comes nearest to the rate of the chosen one over its own.
fn matched(
    options: &[(&str, &EmissionPart)],
    chosen: &EmissionPart,
    sweep: Angle,
) -> Option<(String, bool)> {
    let full = Angle::from_degrees(360.0);
    let wanted = chosen.flow / (chosen.arc.unwrap_or(full) / full);
    let off = |row: &EmissionPart| ((row.flow / (sweep / full)) / wanted - 1.0).abs();
    let best = options
        .iter()
        .min_by(|a, b| off(a.1).total_cmp(&off(b.1)))?;
    Some((best.0.to_owned(), off(best.1) <= MATCHED))
}

/// The outline without points on each other, its inside to the left.
fn anticlockwise(outline: &Polygon) -> Vec<PlanPoint> {
    let mut points = outline.0.clone();
    points.dedup_by(|a, b| a.distance(*b).metres() < 1e-6);
    let origin = points.first().copied().unwrap_or_default();
    let twice: f64 = outline
        .sides()
        .map(|(a, b)| (a - origin).cross(b - origin))
        .sum();
    if twice < 0.0 {
        points.reverse();
    }
    points
}

/// A stretch of the outline from corner to corner, and the inner angle at its first corner; `None` on an outline without
/// corners.
struct Side {
    chain: Polyline,
    inner: Option<Angle>,
}

fn sides(points: &[PlanPoint]) -> Vec<Side> {
    let count = points.len();
    let at = |index: usize| points[index % count];
    let turn = |index: usize| {
        let (into, out) = (at(index) - at(index + count - 1), at(index + 1) - at(index));
        Angle::from_radians(into.cross(out).atan2(into.dot(out))).degrees()
    };
    let corners: Vec<usize> = (0..count)
        .filter(|index| turn(*index).abs() > CORNER_DEG)
        .collect();
    let Some(first) = corners.first().copied() else {
        let chain = Polyline((0..=count).map(at).collect());
        return vec![Side { chain, inner: None }];
    };
    let ends = corners.iter().copied().skip(1).chain([first + count]);
    corners
        .iter()
        .zip(ends)
        .map(|(from, to)| Side {
            chain: Polyline((*from..=to).map(at).collect()),
            inner: Some(Angle::from_degrees(180.0 - turn(*from))),
        })
        .collect()
}

fn direction(along: PlanVector) -> Angle {
    Angle::from_degrees(
        Angle::from_radians(along.y.atan2(along.x))
            .degrees()
            .rem_euclid(360.0),
    )
}

/// The head at the first corner, then heads at equal distances up to the next corner, which is not its own.
fn edge_heads(side: &Side, spacing: f64, found: &mut Vec<(PlanPoint, Angle, Angle)>) {
    let length = side.chain.length();
    let least = if side.inner.is_some() { 1.0 } else { 3.0 };
    let parts = steps(length.metres(), spacing).max(least);
    let near = Length::from_metres(1e-3).min(length / 4.0);
    let mut index = 0.0;
    while index < parts {
        let station = length * (index / parts);
        let here = side.chain.point_at(station);
        let ahead = side.chain.point_at((station + near).min(length));
        let behind = side.chain.point_at((station - near).max(Length::ZERO));
        index += 1.0;
        let (Some(here), Some(ahead), Some(behind)) = (here, ahead, behind) else {
            continue;
        };
        let is_crowded = found
            .iter()
            .any(|(at, ..)| at.distance(here).metres() < spacing * 0.35);
        if is_crowded {
            continue;
        }
        match side.inner.filter(|_| station == Length::ZERO) {
            // Whole degrees, downwards: nothing is thrown over the edge for rounding.
            Some(inner) => {
                let sweep = Angle::from_degrees((inner.degrees() + 1e-6).floor());
                found.push((here, direction(ahead - here), sweep));
            }
            None => found.push((here, direction(ahead - behind), Angle::from_degrees(180.0))),
        }
    }
}

/// How many spacings a length is divided into: no more than a fiftieth too long.
fn steps(length: f64, spacing: f64) -> f64 {
    (length / spacing - 0.02).ceil().max(1.0)
}

/// Rows along the longest side, none nearer to the edge than half a spacing.
fn inner_heads(
    outline: &Polygon,
    pattern: HeadPattern,
    spacing: f64,
    found: &mut Vec<(PlanPoint, Angle, Angle)>,
) {
    let longest = outline
        .sides()
        .map(|(a, b)| b - a)
        .max_by(|a, b| a.norm().total_cmp(&b.norm()));
    let Some(longest) = longest.filter(|side| side.norm() > 0.0) else {
        return;
    };
    let along = longest * (1.0 / longest.norm());
    let across = PlanVector::new(-along.y, along.x);
    let (left, right) = outline.span(along);
    let (low, high) = outline.span(across);
    let closer = match pattern {
        HeadPattern::Square => 1.0,
        HeadPattern::Triangular => 3.0_f64.sqrt() / 2.0,
    };
    let (columns, rows) = (
        steps(right - left, spacing),
        steps(high - low, spacing * closer),
    );
    let (step_along, step_across) = ((right - left) / columns, (high - low) / rows);
    let air = 0.49 * step_along.min(step_across);
    let mut row = 1.0;
    while row < rows {
        let is_shifted = pattern == HeadPattern::Triangular && row.rem_euclid(2.0) > 0.5;
        let mut column = if is_shifted { 0.5 } else { 1.0 };
        while column < columns {
            let at = PlanPoint::default()
                + along * (left + column * step_along)
                + across * (low + row * step_across);
            let is_free = outline.contains(at) && outline.boundary().nearest(at).1.metres() > air;
            if is_free {
                found.push((at, Angle::ZERO, Angle::from_degrees(360.0)));
            }
            column += 1.0;
        }
        row += 1.0;
    }
}
