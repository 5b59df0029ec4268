//! Which planted ground the sprays wet, kept from step to step: a head that is dragged changes the few beds near it.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::{SMALLEST_OVERLAP, Sprays};
use crate::analysis::SprayReach;
use crate::analysis::memo::Memo;
use crate::geometry::Polygon;
use crate::ids::Id;
use crate::model::{EmissionKind, Plan};
use crate::rulebook::Method;
use crate::units::{Area, Length};
use crate::wetting::Wetted;

/// How a planted area is watered: method, zone, overlap of a spray, what decides contact.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Watering {
    pub(super) method: Method,
    pub(super) zone: Option<Id>,
    pub(super) overlap: Option<Area>,
    pub(super) apex: Option<Length>,
}

/// What is known of planted grounds, by water and bed.
#[derive(Debug, Default)]
pub(super) struct Grounds(Memo<(Id, Id), Near, Vec<Watering>>);

/// A ground and the sprays that are near enough to matter.
#[derive(Clone, PartialEq, Debug)]
struct Near {
    outline: Polygon,
    sprays: Vec<(Method, SprayReach)>,
}

impl Grounds {
    /// How sprays wet a ground.
    pub(super) fn of(
        &mut self,
        plan: &Plan,
        key: (Id, Id),
        outline: &Polygon,
        sprays: &Sprays<'_>,
    ) -> Arc<Vec<Watering>> {
        let near = sprays
            .iter()
            .filter(|(_, reach)| reach.largest.may_reach(outline))
            .map(|(id, reach)| (spray_method(plan, *id), (*reach).clone()));
        let near = Near {
            sprays: near.collect(),
            outline: outline.clone(),
        };
        self.0.get(&key, near, sprayed)
    }

    /// Forgets beds and waters that are gone.
    pub(super) fn keep(&mut self, plan: &Plan) {
        let objects = &plan.objects;
        self.0.keep(|(water, bed)| {
            let is_there = objects.beds.contains_key(bed) || objects.trees.contains_key(bed);
            objects.waters.contains_key(water) && is_there
        });
    }
}

/// Whether a spray wets an outline, or the point where a tree stands.
pub(in crate::analysis) fn wets(wetted: &Wetted, outline: &Polygon) -> bool {
    match outline.0[..] {
        [point] => wetted.distance_to_point(point) <= Length::ZERO,
        _ => wetted.overlap(outline) > SMALLEST_OVERLAP,
    }
}

/// How sprays wet an outline: one entry a method and zone, all its heads together.
fn sprayed(near: &Near) -> Vec<Watering> {
    let outline = &near.outline;
    type Heads<'a> = Vec<(&'a SprayReach, Area)>;
    let mut groups: BTreeMap<(Method, Option<Id>), Heads<'_>> = BTreeMap::new();
    for (method, reach) in &near.sprays {
        let overlap = reach.largest.overlap(outline);
        if wets(&reach.largest, outline) {
            let heads = groups.entry((*method, reach.zone)).or_default();
            heads.push((reach, overlap));
        }
    }
    groups
        .into_iter()
        .map(|((method, zone), heads)| Watering {
            method,
            zone,
            overlap: outline.is_region().then(|| match heads[..] {
                [(_, alone)] => alone,
                _ => {
                    let areas = heads.iter().flat_map(|(reach, _)| reach.largest.areas());
                    outline.overlap_of_all(areas)
                }
            }),
            // The highest jet decides; an unknown one cannot be judged by the others.
            apex: heads
                .iter()
                .map(|(reach, _)| reach.largest.apex)
                .reduce(|a, b| Some(a?.max(b?)))
                .flatten(),
        })
        .collect()
}

/// Spray or micro-spray.
pub(in crate::analysis) fn spray_method(plan: &Plan, spray: Id) -> Method {
    let kind = plan
        .objects
        .emissions
        .get(&spray)
        .map(|emission| emission.kind);
    if kind == Some(EmissionKind::MicroSpray) {
        Method::MicroSpray
    } else {
        Method::Spray
    }
}
