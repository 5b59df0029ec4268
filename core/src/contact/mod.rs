//! May this water touch this plant, by this method, at this place? Rules in, rulings and findings out.
//!
//! Pure data on both sides: the caller fills [`Input`] from a drawing; nothing here knows of plans or pipes.

mod answers;
mod evaluate;
mod exposure;
mod findings;
mod fixtures;
mod flips;
mod input;
mod matrix;
mod places;
mod result;

pub use answers::{Answer, Said, answers};
pub use exposure::{Contact, Touch, contact_of, jet_clearance, touches};
pub use flips::{Flip, flips};
pub use input::{
    CropFacts, CrossingFacts, Geometry, Input, Lettering, MarkingFacts, MeasuredDistance,
    OutletFacts, Plant, Planting, Preparation, ReachedBed, ServiceFacts, SignFacts, SignPost,
};
pub use matrix::{MatrixCell, MatrixRow, matrix};
pub use places::largest_setback;
pub use result::{Fact, Match, Output, Ruling};

use crate::rulebook::{GENERIC, Rulebook, Verdict, built_in_book};

/// Judges everything in the input.
#[must_use]
pub fn assess(input: &Input) -> Output {
    let rulings = evaluate::rulings(input);
    let mut found = findings::of_rulings(&rulings);
    found.extend(findings::of_silent_advice(input));
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

/// The word on one planting, which need not be among those of the input; `None` where no book speaks of it.
#[must_use]
pub fn verdict_on(input: &Input, planting: &Planting) -> Option<Verdict> {
    let ruling = evaluate::Books::of(input).rule_on(input, planting)?;
    Some(ruling.verdict)
}

/// The books that speak about places: those in force, or the generic one where no binding book is. A book that only advises
/// is silent until somebody tells the class of the water in its words.
fn books_in_force(input: &Input) -> Vec<&Rulebook> {
    let books = input.books.iter().map(AsRef::as_ref);
    let mut books: Vec<&Rulebook> = books
        .filter(|book| book.binding || !input.is_unsorted_by(book))
        .collect();
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
        .any(|book| book.binding && !book.overlay && input.is_unsorted_by(book));
    if is_unknown && !books.iter().any(|book| book.id == GENERIC) {
        books.extend(built_in_book(GENERIC));
    }
    books
}
