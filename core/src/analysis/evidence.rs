//! What on the drawing brings about a verdict, and what would change it. Worked out when somebody asks, not in every step.

use std::collections::{BTreeMap, BTreeSet};

use super::contact_input::{self, crown, wets};
use super::{Analysis, SprayReach, ZoneAnalysis};
use crate::contact::{self, CropFacts, Plant, Planting, Ruling, jet_clearance};
use crate::finding::{Message, Value};
use crate::geometry::{PlanPoint, PlanVector, Polygon};
use crate::ids::Id;
use crate::layout::bed_outline;
use crate::model::Plan;
use crate::rulebook::{Method, Verdict};
use crate::units::Length;
use crate::wetting::Wetted;

/// What is behind one verdict.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Evidence {
    /// What on the drawing brings it about, in the order of the objects.
    pub causes: Vec<Cause>,
    /// What would change it.
    pub changes: Vec<Change>,
}

/// Something drawn that brings about a verdict.
#[derive(Clone, PartialEq, Debug)]
pub struct Cause {
    /// The head, line, emitter or filled bed.
    pub subject: Id,
    /// What it does, with what was measured.
    pub message: Message,
}

/// Something that would change a verdict. What it takes is told, never done: a fact needs somebody who says it.
#[derive(Clone, PartialEq, Debug)]
pub struct Change {
    /// What would have to be.
    pub message: Message,
    /// The word then; `None` where the water would not reach the plant any more.
    pub verdict: Option<Verdict>,
    /// The other method, where that is the change.
    pub method: Option<Method>,
    /// The object that moves, and the least way that does it.
    pub moved: Option<(Id, PlanVector)>,
}

/// What is behind the rulings on one planted area or plant, in their order; a ruling of another plan has nothing behind it.
#[must_use]
pub fn evidence(plan: &Plan, analysis: &Analysis, water: Id, rulings: &[&Ruling]) -> Vec<Evidence> {
    let subjects: BTreeSet<Id> = rulings.iter().map(|ruling| ruling.subject).collect();
    let (zones, sprays) = (&analysis.zones, &analysis.sprays);
    let input = contact_input::of_plants(plan, water, zones, sprays, &subjects);
    let of_one = |ruling: &&Ruling| {
        let is_it = |it: &&Planting| {
            (it.subject, it.index, it.zone, it.method)
                == (ruling.subject, ruling.index, ruling.zone, ruling.method)
        };
        let Some(planting) = input.plantings.iter().find(is_it) else {
            return Evidence::default();
        };
        let heads = heads(plan, analysis, water, planting);
        let zone = planting.zone.and_then(|id| analysis.zones.get(&id));
        let mut changes = Vec::new();
        if !ruling.verdict.allows() {
            changes.extend(moves(plan, planting, &heads));
            changes.extend(raise(&input, planting, ruling));
            let flips = contact::flips(&input, planting, ruling);
            changes.extend(flips.into_iter().map(|flip| Change {
                message: Message::new(
                    "change.method",
                    vec![("method", Value::Key(flip.method.key().to_owned()))],
                ),
                verdict: Some(flip.verdict),
                method: Some(flip.method),
                moved: None,
            }));
            let answers = contact::answers(&input, planting, ruling);
            changes.extend(answers.into_iter().map(|answer| {
                let values = match &answer.said {
                    contact::Said::Class(label) => vec![("class", Value::Text(label.clone()))],
                    _ => Vec::new(),
                };
                Change {
                    message: Message::new(answer.said.key(answer.fact), values),
                    verdict: Some(answer.verdict),
                    method: None,
                    moved: None,
                }
            }));
        }
        Evidence {
            causes: causes(plan, zone, planting, &heads),
            changes,
        }
    };
    rulings.iter().map(of_one).collect()
}

/// The outline of a planted area, or the crown of a tree.
fn ground(plan: &Plan, subject: Id) -> Option<Polygon> {
    let objects = &plan.objects;
    let bed = objects.beds.get(&subject).map(|bed| bed_outline(bed));
    bed.or_else(|| Some(crown(objects.trees.get(&subject)?)))
}

/// The sprays behind a planting: those of its method and zone that wet it.
fn heads<'a>(
    plan: &Plan,
    analysis: &'a Analysis,
    water: Id,
    planting: &Planting,
) -> BTreeMap<Id, &'a SprayReach> {
    let Some(ground) = ground(plan, planting.subject) else {
        return BTreeMap::new();
    };
    let sprays = contact_input::sprays_of(plan, water, &analysis.sprays);
    sprays
        .into_iter()
        .filter(|(id, reach)| {
            contact_input::spray_method(plan, *id) == planting.method && reach.zone == planting.zone
        })
        .filter(|(_, reach)| wets(&reach.largest, &ground))
        .collect()
}

fn causes(
    plan: &Plan,
    zone: Option<&ZoneAnalysis>,
    planting: &Planting,
    heads: &BTreeMap<Id, &SprayReach>,
) -> Vec<Cause> {
    let Some(ground) = ground(plan, planting.subject) else {
        return Vec::new();
    };
    let mut found: Vec<Cause> = heads
        .iter()
        .map(|(id, reach)| {
            let mut values = vec![
                ("head", Value::Ids(vec![*id])),
                ("throw", Value::Length(reach.largest.throw)),
                ("drift", Value::Length(reach.largest.drift)),
                ("pressure", Value::Pressure(reach.pressure)),
            ];
            let key = if ground.0.len() > 1 {
                values.push(("overlap", Value::Area(reach.largest.overlap(&ground))));
                "cause.spray"
            } else {
                "cause.spray_tree"
            };
            Cause {
                subject: *id,
                message: Message::new(key, values),
            }
        })
        .collect();
    if let Some(below) = planting.geometry.jet_below
        && planting.method == Method::MicroSpray
        && let (Plant::Food(crop), Some(first)) = (&planting.plant, heads.keys().next())
    {
        found.push(Cause {
            subject: *first,
            message: jet(crop, below),
        });
    }
    let drip = contact_input::drip_behind(plan, zone, planting);
    found.extend(drip.into_iter().map(|(id, key)| {
        let values = vec![("id", Value::Ids(vec![id]))];
        Cause {
            subject: id,
            message: Message::new(key, values),
        }
    }));
    found
}

fn jet(crop: &CropFacts, below: Length) -> Message {
    let key = if below < Length::ZERO {
        "cause.jet_above"
    } else {
        "cause.jet_below"
    };
    Message::new(
        key,
        vec![
            ("distance", Value::Length(below.abs())),
            ("needed", Value::Length(jet_clearance(crop.position))),
        ],
    )
}

/// The least way straight off that takes each head out of reach.
fn moves(plan: &Plan, planting: &Planting, heads: &BTreeMap<Id, &SprayReach>) -> Vec<Change> {
    let Some(ground) = ground(plan, planting.subject) else {
        return Vec::new();
    };
    let key = if heads.len() == 1 {
        "change.away"
    } else {
        "change.away_one"
    };
    let of_one = |(id, reach): (&Id, &&SprayReach)| {
        let by = way_off(&reach.largest, &ground)?;
        Some(Change {
            message: Message::new(
                key,
                vec![
                    ("head", Value::Ids(vec![*id])),
                    ("distance", Value::Length(Length::from_metres(by.norm()))),
                    ("count", Value::Text(heads.len().to_string())),
                ],
            ),
            verdict: None,
            method: None,
            moved: Some((*id, by)),
        })
    };
    heads.iter().filter_map(of_one).collect()
}

/// How far a head must move, straight away from the nearest place of the ground, until it does not wet it any more.
fn way_off(wetted: &Wetted, ground: &Polygon) -> Option<PlanVector> {
    // Halved until far below what can be drawn.
    const HALVINGS: u32 = 40;
    let away = if ground.contains(wetted.at) {
        wetted.at - ground.centre()
    } else {
        wetted.at - nearest_place(ground, wetted.at)?
    };
    let along = if away.norm() > 1e-9 {
        away * (1.0 / away.norm())
    } else {
        PlanVector::new(1.0, 0.0)
    };
    let (least, greatest) = ground.span(along);
    let reach = (wetted.throw + wetted.drift).metres() + wetted.drift.metres();
    let mut far = 2.0 * reach + (greatest - least) + away.norm();
    let mut near = 0.0;
    let wets_at = |way: f64| wets(&wetted.moved(along * way), ground);
    if wets_at(far) {
        return None;
    }
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(near, far);
        if wets_at(middle) {
            near = middle;
        } else {
            far = middle;
        }
    }
    Some(along * far)
}

fn nearest_place(ground: &Polygon, point: PlanPoint) -> Option<PlanPoint> {
    let boundary = ground.boundary();
    let (station, _) = boundary.nearest(point);
    boundary
        .point_at(station)
        .or_else(|| ground.0.first().copied())
}

/// For a jet that is too near: how much higher the fruit would have to hang.
fn raise(input: &contact::Input, planting: &Planting, ruling: &Ruling) -> Option<Change> {
    let below = planting.geometry.jet_below?;
    let Plant::Food(crop) = &planting.plant else {
        return None;
    };
    let needed = jet_clearance(crop.position);
    if planting.method != Method::MicroSpray || below >= needed {
        return None;
    }
    let mut raised = planting.clone();
    raised.geometry.jet_below = Some(needed);
    let verdict = contact::verdict_on(input, &raised)?;
    (verdict < ruling.verdict).then(|| Change {
        message: Message::new(
            "change.jet",
            vec![("distance", Value::Length(needed - below))],
        ),
        verdict: Some(verdict),
        method: None,
        moved: None,
    })
}
