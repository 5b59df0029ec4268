//! Fills the contact input from the drawing and the solved zones: what each plant gets and how, and what lies how near.

mod distances;
mod fixtures;
mod grounds;
mod plantings;
mod setbacks;
mod standing;

pub use setbacks::{Setback, setbacks};

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use grounds::Grounds;
pub(super) use grounds::{spray_method, wets};
pub(super) use plantings::{crown, drip_behind};

use standing::{Standing, without_sprays};

use super::memo::Memo;
use super::{SprayReach, ZoneAnalysis};
use crate::catalog::Catalog;
use crate::contact::{self, Input, MatrixRow};
use crate::ids::Id;
use crate::model::{Plan, integrity};
use crate::rulebook::{self, BackflowDevice, Rulebook, SiteKind, built_in_book};
use crate::units::{Area, Length};

/// How far a garden hose is taken to reach: 50 ft (common practice, no source).
pub const HOSE_REACH: Length = Length::from_metres(15.24);
/// Overlaps below this are drawing noise.
pub(super) const SMALLEST_OVERLAP: Area = Area::from_square_metres(0.01);

/// What is kept from step to step, as a drag changes little.
#[derive(Debug, Default)]
pub(super) struct Kept {
    grounds: Grounds,
    standing: Memo<Id, Plan, Standing>,
}

impl Kept {
    /// Forgets what is gone.
    pub(super) fn keep(&mut self, plan: &Plan) {
        self.grounds.keep(plan);
        self.standing
            .keep(|water| plan.objects.waters.contains_key(water));
    }
}

/// The input for one water.
pub(super) fn of_water(
    plan: &Plan,
    water: Id,
    zones: &BTreeMap<Id, ZoneAnalysis>,
    sprays: &BTreeMap<Id, SprayReach>,
    kept: &mut Kept,
) -> Input {
    let standing = without_sprays(plan);
    let standing = kept
        .standing
        .get(&water, standing, |plan| standing::standing(plan, water));
    let sprays = &sprays_of(plan, water, sprays);
    let mut distances = distances::distances(plan, sprays, &standing);
    distances.extend(standing.distances.iter().cloned());
    Input {
        plantings: plantings::plantings(plan, water, zones, sprays, &mut kept.grounds, None),
        uncertainty: plan.site.measured_within.unwrap_or_default(),
        distances,
        crossings: standing.crossings.clone(),
        outlets: standing.outlets.clone(),
        signs: standing.signs.clone(),
        service: standing.service.clone(),
        marking: standing.marking.clone(),
        ..of_site(plan, water)
    }
}

/// The same without places, outlets and signs, of some of what is planted.
pub(super) fn of_plants(
    plan: &Plan,
    water: Id,
    zones: &BTreeMap<Id, ZoneAnalysis>,
    sprays: &BTreeMap<Id, SprayReach>,
    only: &BTreeSet<Id>,
) -> Input {
    let sprays = &sprays_of(plan, water, sprays);
    let grounds = &mut Grounds::default();
    Input {
        plantings: plantings::plantings(plan, water, zones, sprays, grounds, Some(only)),
        ..of_site(plan, water)
    }
}

/// Whether a device against backflow is drawn on every drinking-water service.
pub(super) fn is_service_protected(plan: &Plan) -> bool {
    let service = fixtures::service(plan);
    service.is_some_and(|service| service.device != BackflowDevice::None)
}

/// Books, class and site alone.
fn of_site(plan: &Plan, water: Id) -> Input {
    let site = plan.site.kind;
    let class = plan.objects.waters.get(&water);
    let by_book = class.map(|water| water.class_by_book.clone());
    let class = class.map_or("unknown", |water| water.class.as_str());
    Input {
        water: Some(water),
        books: books(plan),
        class_by_book: by_book.unwrap_or_default(),
        water_class: class.to_owned(),
        site,
        shared_beds: matches!(site, SiteKind::CommunityGarden | SiteKind::SchoolPark),
        ..Input::default()
    }
}

/// What the rules in force say of every crop of the table under every method, for the water and the site of a plan.
#[must_use]
pub fn crop_matrix(plan: &Plan, water: Id) -> Vec<MatrixRow> {
    let crops = Catalog::built_in().crops.keys();
    let crops = crops.filter_map(|id| plan.catalog.crop(id));
    contact::matrix(&of_site(plan, water), crops)
}

type Sprays<'a> = BTreeMap<Id, &'a SprayReach>;

/// The sprays of one water.
pub(super) fn sprays_of<'a>(
    plan: &Plan,
    water: Id,
    sprays: &'a BTreeMap<Id, SprayReach>,
) -> Sprays<'a> {
    sprays
        .iter()
        .filter(|(id, _)| integrity::water_of(&plan.objects, **id) == Some(water))
        .map(|(id, reach)| (*id, reach))
        .collect()
}

/// The books of the plan: those it carries, or the program's of that name.
fn books(plan: &Plan) -> Vec<Arc<Rulebook>> {
    let carried = |id: &String| {
        plan.rules
            .books
            .get(id)
            .map(|carried| Arc::clone(&carried.book))
    };
    let own = |id: &String| built_in_book(id).cloned().map(Arc::new);
    plan.rules
        .in_force
        .iter()
        .filter_map(|id| carried(id).or_else(|| own(id)))
        .collect()
}

/// What the books in force call a class of water; its id where none of them knows it.
#[must_use]
pub fn class_in_words(plan: &Plan, class: &str) -> String {
    let books = plan.rules.books_in_force();
    let mut known = books.flat_map(|book| &book.water_classes);
    let found = known.find(|known| known.id == class);
    found.map_or_else(|| class.to_owned(), |known| known.label.clone())
}

/// The books that ask for distances: those in force, and the default one, which judges or gives advice.
fn asking_books(books: &[Arc<Rulebook>]) -> Vec<&Rulebook> {
    let in_force = books.iter().map(AsRef::as_ref);
    in_force.chain(built_in_book(rulebook::GENERIC)).collect()
}
