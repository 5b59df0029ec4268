//! Fills the contact input from the drawing and the solved zones: what each plant gets and how, and what lies how near.

mod distances;
mod fixtures;
mod plantings;

use std::collections::BTreeMap;
use std::sync::Arc;

use super::{SprayReach, ZoneAnalysis, separation};
use crate::contact::{Input, MarkingFacts};
use crate::ids::Id;
use crate::model::{Plan, WaterKind, integrity};
use crate::rulebook::{self, Limit, MarkedPart, Place, Rulebook, SiteKind, built_in_book};
use crate::units::{Area, Length};

/// How far a garden hose is taken to reach: 50 ft (common practice, no source).
pub const HOSE_REACH: Length = Length::from_metres(15.24);
/// Overlaps below this are drawing noise.
const SMALLEST_OVERLAP: Area = Area::from_square_metres(0.01);

/// The input for one water.
pub(super) fn of_water(
    plan: &Plan,
    water: Id,
    zones: &BTreeMap<Id, ZoneAnalysis>,
    sprays: &BTreeMap<Id, SprayReach>,
) -> Input {
    let books = books(plan);
    let is_reclaimed = plan
        .objects
        .waters
        .get(&water)
        .is_some_and(|water| water.kind == WaterKind::Reclaimed);
    let site = plan.site.kind;
    let sprays: Sprays<'_> = sprays
        .iter()
        .filter(|(id, _)| integrity::water_of(&plan.objects, **id) == Some(water))
        .map(|(id, reach)| (*id, reach))
        .collect();
    let mut input = Input {
        water_class: plan
            .objects
            .waters
            .get(&water)
            .map_or("unknown", |water| water.class.as_str())
            .to_owned(),
        site,
        shared_beds: matches!(site, SiteKind::CommunityGarden | SiteKind::SchoolPark),
        plantings: plantings::plantings(plan, water, zones, &sprays),
        distances: distances::distances(plan, water, &sprays),
        ..Input::default()
    };
    if is_reclaimed {
        let refs: Vec<&Rulebook> = judging_books(&books);
        let limits = |place: Place| -> Vec<Limit> {
            rulebook::limits(&refs, site, Place::ReclaimedPipe, place)
        };
        input
            .distances
            .extend(separation::side_by_side(plan, water, limits));
        input.crossings = separation::crossings(plan, water);
        input.outlets = fixtures::outlets(plan, water);
        input.signs = fixtures::signs(plan);
        input.service = fixtures::service(plan);
        let pipes = plan
            .objects
            .pipes
            .iter()
            .filter(|(_, pipe)| pipe.water == water);
        input.marking = pipes
            .map(|(id, pipe)| MarkingFacts {
                subject: *id,
                part: MarkedPart::Pipe,
                purple: pipe.purple,
            })
            .collect();
    }
    input.books = books;
    input
}

type Sprays<'a> = BTreeMap<Id, &'a SprayReach>;

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

/// The books that judge places: the generic one when nothing binding is chosen, as `contact` does.
fn judging_books(books: &[Arc<Rulebook>]) -> Vec<&Rulebook> {
    let mut refs: Vec<&Rulebook> = books.iter().map(AsRef::as_ref).collect();
    if !refs.iter().any(|book| book.binding && !book.overlay) {
        refs.extend(built_in_book(rulebook::GENERIC));
    }
    refs
}
