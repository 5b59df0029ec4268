//! How the ground falls: an arrow downhill with its percent on the larger triangles between spot heights, and the edge of
//! the surveyed area where the site goes beyond it.

use super::build::Layers;
use super::{Anchor, LayerKind, Role, Shape, Symbol, View, ViewOptions};
use crate::geometry::{PlanPoint, Polygon, Polyline};
use crate::layout::{Ground, Slope, bed_outline};
use crate::model::Plan;
use crate::units::{Length, display};

/// Arrows stand at least this share of the surveyed area's extent apart, so that a dense survey does not cover the plan.
const APART: f64 = 1.0 / 7.0;
/// Room around an arrow that is enough, as a share of that extent.
const ROOM: f64 = 0.02;
/// A fall that would be shown as nothing.
const LEAST_GRADE: f64 = 0.0005;

pub(super) fn draw(plan: &Plan, options: ViewOptions, layers: &mut Layers) {
    if !matches!(options.view, View::Water | View::Pressure | View::Plain) {
        return;
    }
    let ground = Ground::of(&plan.objects);
    let edge = ground.surveyed_area();
    if edge.0.is_empty() {
        return;
    }
    let site = &plan.site.outline.0;
    if site.is_empty() || site.iter().any(|corner| !ground.is_surveyed(*corner)) {
        let line = Shape::Line(edge.boundary());
        layers.add(LayerKind::Site, None, Role::SurveyEdge, line);
    }
    let extent = extent_of(&edge);
    let in_the_way = Obstacles::of(plan);
    let mut taken: Vec<PlanPoint> = Vec::new();
    let mut slopes = ground.slopes();
    slopes.retain(|slope| slope.grade() >= LEAST_GRADE);
    // Stable: triangles of one size keep their order.
    slopes.sort_by(|a, b| area_of(b).total_cmp(&area_of(a)));
    for slope in slopes {
        let is_near = |at: &PlanPoint| at.distance(slope.at).metres() < extent * APART;
        if taken.iter().any(is_near) {
            continue;
        }
        let Some(at) = in_the_way.freest(&slope, extent * ROOM) else {
            continue;
        };
        taken.push(slope.at);
        layers.add(
            LayerKind::Site,
            None,
            Role::Fall,
            Shape::Symbol {
                symbol: Symbol::Fall,
                at,
                turn: slope.downhill(),
            },
        );
        let percent = display::grade(slope.grade());
        layers.text(None, Role::Number, at, Anchor::Right, percent);
    }
}

fn extent_of(outline: &Polygon) -> f64 {
    let first = outline.0.first().copied().unwrap_or_default();
    let far = outline.0.iter().map(|at| at.distance(first).metres());
    far.fold(0.0, f64::max)
}

fn area_of(slope: &Slope) -> f64 {
    let [a, b, c] = slope.corners;
    (b - a).cross(c - a).abs() / 2.0
}

/// What an arrow should not stand on.
struct Obstacles {
    areas: Vec<Polygon>,
    lines: Vec<Polyline>,
}

impl Obstacles {
    fn of(plan: &Plan) -> Self {
        let objects = &plan.objects;
        let beds = objects.beds.values().map(|bed| bed_outline(bed));
        let features = objects.features.values();
        let features = features.map(|feature| feature.outline.clone());
        let crowns = objects.trees.values().map(|tree| {
            let half = tree.canopy.unwrap_or_default() / 2.0;
            let corner = PlanPoint::new(tree.at.x - half.metres(), tree.at.y - half.metres());
            Polygon::rectangle(corner, half * 2.0, half * 2.0)
        });
        let lines = objects.lines.values().map(|line| line.vertices.clone());
        let runs = objects.pipes.values().map(|pipe| pipe.vertices.clone());
        Self {
            areas: beds.chain(features).chain(crowns).collect(),
            lines: runs.chain(lines).collect(),
        }
    }

    /// The place of a triangle with most room around it, or the one nearest to its middle with `enough`; `None` where all
    /// of it is covered.
    fn freest(&self, slope: &Slope, enough: f64) -> Option<PlanPoint> {
        let near = Near::of(&slope.corners, enough);
        let areas: Vec<&Polygon> = self.areas.iter().filter(|a| near.meets(&a.0)).collect();
        let lines: Vec<&Polyline> = self.lines.iter().filter(|l| near.meets(&l.0)).collect();
        let room = |at: PlanPoint| {
            let areas = areas.iter().map(|area| area.distance_to_point(at));
            let lines = lines.iter().map(|line| line.nearest(at).1);
            let nearest = areas
                .chain(lines)
                .fold(Length::from_metres(enough), Length::min);
            nearest.metres()
        };
        let mut best: Option<(f64, PlanPoint)> = None;
        for at in places(slope) {
            let room = room(at);
            if room > 0.0 && best.is_none_or(|(most, _)| room > most) {
                best = Some((room, at));
            }
        }
        best.map(|(_, at)| at)
    }
}

/// Places inside a triangle, the middle first and the others by their distance from it.
fn places(slope: &Slope) -> Vec<PlanPoint> {
    const PARTS: u32 = 9;
    let [a, b, c] = slope.corners;
    let share = |part: u32| f64::from(part) / f64::from(PARTS);
    let mut places: Vec<PlanPoint> = (1..PARTS)
        .flat_map(|i| (1..PARTS - i).map(move |j| (i, j)))
        .map(|(i, j)| a + (b - a) * share(i) + (c - a) * share(j))
        .collect();
    places.sort_by(|a, b| {
        let away = |at: &PlanPoint| at.distance(slope.at);
        away(a).total_cmp(&away(b))
    });
    places.insert(0, slope.at);
    places
}

/// The box around a triangle.
struct Near {
    low: PlanPoint,
    high: PlanPoint,
}

impl Near {
    fn of(points: &[PlanPoint], room: f64) -> Self {
        let (low, high) = bounds(points);
        Self {
            low: PlanPoint::new(low.x - room, low.y - room),
            high: PlanPoint::new(high.x + room, high.y + room),
        }
    }

    fn meets(&self, points: &[PlanPoint]) -> bool {
        let (low, high) = bounds(points);
        low.x <= self.high.x && high.x >= self.low.x && low.y <= self.high.y && high.y >= self.low.y
    }
}

fn bounds(points: &[PlanPoint]) -> (PlanPoint, PlanPoint) {
    let far = f64::INFINITY;
    points.iter().fold(
        (PlanPoint::new(far, far), PlanPoint::new(-far, -far)),
        |(low, high), at| {
            (
                PlanPoint::new(low.x.min(at.x), low.y.min(at.y)),
                PlanPoint::new(high.x.max(at.x), high.y.max(at.y)),
            )
        },
    )
}
