//! May this water touch this plant, by this method, at this place? Rules in, rulings and findings out.
//!
//! Pure data on both sides: the caller fills [`Input`] from a drawing; nothing here knows of plans or pipes.

mod evaluate;
mod exposure;
mod findings;
mod fixtures;
mod flips;
mod input;
mod places;
mod result;

pub use exposure::{Contact, Touch, contact_of, jet_clearance, touches};
pub use flips::{Flip, flips};
pub use input::{
    CropFacts, CrossingFacts, Geometry, Input, Lettering, MarkingFacts, MeasuredDistance,
    OutletFacts, Plant, Planting, Preparation, ReachedBed, ServiceFacts, SignFacts, SignPost,
};
pub use result::{Fact, Match, Output, Ruling};

use crate::rulebook::{GENERIC, Rulebook, built_in_book};

/// Judges everything in the input.
#[must_use]
pub fn assess(input: &Input) -> Output {
    let rulings = evaluate::rulings(input);
    let mut found = findings::of_rulings(&rulings);
    found.extend(places::of_distances(input));
    found.extend(places::of_crossings(input));
    found.extend(fixtures::of_outlets(input));
    found.extend(fixtures::of_signs(input));
    found.extend(fixtures::of_service(input));
    found.extend(fixtures::of_marking(input));
    // Stable: findings of one gravity stay in the order of the checks, rows and objects.
    found.sort_by_key(|finding| finding.severity);
    Output {
        rulings,
        findings: found,
    }
}

/// The books that speak about places: those in force, or the generic one where no binding book is.
fn books_in_force(input: &Input) -> Vec<&Rulebook> {
    let mut books: Vec<&Rulebook> = input.books.iter().map(AsRef::as_ref).collect();
    if !books.iter().any(|book| book.binding && !book.overlay) {
        books.extend(built_in_book(GENERIC));
    }
    books
}

/// The same, and the generic book beside them where a binding book does not know the class of the water.
fn books_for_plants(input: &Input) -> Vec<&Rulebook> {
    let mut books = books_in_force(input);
    let is_unknown = books
        .iter()
        .any(|book| book.binding && !book.overlay && !book.knows_class(&input.water_class));
    if is_unknown && !books.iter().any(|book| book.id == GENERIC) {
        books.extend(built_in_book(GENERIC));
    }
    books
}
