//! What a site brings besides plants and sprays: it stands still while a head is dragged, and is measured once.

use std::collections::BTreeMap;

use super::{asking_books, books, distances, fixtures};
use crate::analysis::separation;
use crate::contact::{
    CrossingFacts, MarkingFacts, MeasuredDistance, OutletFacts, ServiceFacts, SignFacts,
};
use crate::ids::Id;
use crate::model::{Plan, WaterKind};
use crate::rulebook::{self, Limit, Place, Rulebook};
use crate::units::Length;

/// What is known of a water without its sprays.
#[derive(Debug, Default)]
pub(super) struct Standing {
    /// The dripped ground nearest to each well.
    pub(super) to_marks: BTreeMap<Id, (Id, Length)>,
    /// Dripped grounds against the places of the site.
    pub(super) to_features: BTreeMap<Id, Vec<MeasuredDistance>>,
    /// Of reclaimed water: runs beside runs, runs and ponds against wells and open water.
    pub(super) distances: Vec<MeasuredDistance>,
    pub(super) crossings: Vec<CrossingFacts>,
    pub(super) outlets: Vec<OutletFacts>,
    pub(super) signs: SignFacts,
    pub(super) service: Option<ServiceFacts>,
    pub(super) marking: Vec<MarkingFacts>,
}

/// The plan as it stands when its sprays are taken away.
pub(super) fn without_sprays(plan: &Plan) -> Plan {
    let mut plan = plan.clone();
    let emissions = &mut plan.objects.emissions;
    emissions.retain(|_, emission| !emission.kind.sprays());
    plan
}

/// Measures a plan without sprays.
pub(super) fn standing(plan: &Plan, water: Id) -> Standing {
    let (to_marks, to_features) = distances::of_drips(plan, water);
    let mut found = Standing {
        to_marks,
        to_features,
        ..Standing::default()
    };
    if plan.water_kind(water) != Some(WaterKind::Reclaimed) {
        return found;
    }
    let books = books(plan);
    let refs: Vec<&Rulebook> = asking_books(&books);
    let limits = |place: Place| -> Vec<Limit> {
        rulebook::limits(&refs, plan.site.kind, Place::ReclaimedPipe, place)
    };
    found.distances = separation::side_by_side(plan, water, limits);
    found.distances.extend(distances::of_reclaimed(plan, water));
    found.crossings = separation::crossings(plan, water);
    found.outlets = fixtures::outlets(plan, water);
    found.outlets.extend(fixtures::hose_joints(plan, water));
    found.signs = fixtures::signs(plan);
    found.service = fixtures::service(plan);
    found.marking = fixtures::marking(plan, water);
    found
}
