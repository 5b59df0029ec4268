//! Proves a book sound: ids unique, words and sources known, and every case answered by a row or listed as uncovered.

use std::collections::BTreeSet;

use super::age::is_day;
use super::condition::{Cell, FoodCell, PlantCell, UNKNOWN_CLASS, When};
use super::kinds::{Method, Position, Prepared, Reach, SiteKind};
use super::rows::Rulebook;
use crate::text;

/// Something wrong with a book.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
pub enum Problem {
    /// Two rows share an id.
    #[error("row {row} stands twice")]
    DuplicateId {
        /// The id.
        row: String,
    },
    /// The text table lacks a key.
    #[error("row {row}: “{key}” is no sentence")]
    MissingText {
        /// The row.
        row: String,
        /// The key.
        key: String,
    },
    /// A condition names a class the book does not have.
    #[error("row {row}: the book has no water class {class}")]
    UnknownClass {
        /// The row.
        row: String,
        /// The class.
        class: String,
    },
    /// A row names a source the book does not list.
    #[error("row {row}: the book lists no source {source_key}")]
    UnknownSource {
        /// The row.
        row: String,
        /// The key.
        source_key: String,
    },
    /// A day that is not written as one.
    #[error("“{words}” is no day; write it as 2026-03-01")]
    NotADay {
        /// What stands there.
        words: String,
    },
    /// A row that fits no case at all.
    #[error("row {row} fits no case")]
    NeverApplies {
        /// The row.
        row: String,
    },
    /// A case that no row answers and the uncovered table does not list.
    #[error("no row answers: {cell} (and {others} more)")]
    Unanswered {
        /// The first such case.
        cell: String,
        /// How many more.
        others: usize,
    },
}

impl Problem {
    /// The row it is about.
    #[must_use]
    pub fn row(&self) -> Option<&str> {
        match self {
            Self::DuplicateId { row }
            | Self::MissingText { row, .. }
            | Self::UnknownClass { row, .. }
            | Self::UnknownSource { row, .. }
            | Self::NeverApplies { row } => Some(row),
            Self::NotADay { .. } | Self::Unanswered { .. } => None,
        }
    }
}

/// Every problem of a book; empty when it is sound.
#[must_use]
pub fn check(book: &Rulebook) -> Vec<Problem> {
    let mut problems = Vec::new();
    let changes = book.changes.iter().map(|change| &change.from);
    for words in std::iter::once(&book.as_of).chain(changes) {
        if !is_day(words) {
            let words = words.clone();
            problems.push(Problem::NotADay { words });
        }
    }
    check_words(book, &mut problems);
    if !book.overlay {
        check_totality(book, &mut problems);
    }
    problems
}

/// A key of the text table, or a sentence of its own, as a book that is not the program's has it.
fn is_said(message: &str) -> bool {
    text::has(message) || message.trim().contains(' ')
}

fn check_words(book: &Rulebook, problems: &mut Vec<Problem>) {
    let mut seen = BTreeSet::new();
    for (row, origin) in book.origins() {
        let row = row.to_owned();
        if !seen.insert(row.clone()) {
            problems.push(Problem::DuplicateId { row: row.clone() });
        }
        if !is_said(&origin.message) {
            problems.push(Problem::MissingText {
                row: row.clone(),
                key: origin.message.clone(),
            });
        }
        if !book
            .sources
            .iter()
            .any(|source| source.key == origin.source)
        {
            problems.push(Problem::UnknownSource {
                row,
                source_key: origin.source.clone(),
            });
        }
    }
    for rule in &book.rules {
        for key in rule.conditions.iter().filter(|key| !is_said(key)) {
            problems.push(Problem::MissingText {
                row: rule.id.clone(),
                key: key.clone(),
            });
        }
    }
    let rules = book.rules.iter().map(|row| (row.id.as_str(), &row.when));
    let uncovered = book
        .uncovered
        .iter()
        .map(|row| (row.id.as_str(), &row.when));
    for (row, when) in rules.chain(uncovered).chain(book.place_conditions()) {
        for class in &when.classes {
            let is_judged = book.judges_unknown && class == UNKNOWN_CLASS;
            if !book.knows_class(class) && !is_judged {
                problems.push(Problem::UnknownClass {
                    row: row.to_owned(),
                    class: class.clone(),
                });
            }
        }
    }
}

/// A class that is not known is tried as every class of the book, so it needs no cells of its own unless the book
/// judges it by its own rows. By the same token the strictest matching row gives exactly one verdict for each cell.
fn check_totality(book: &Rulebook, problems: &mut Vec<Problem>) {
    let mut classes: Vec<&str> = book
        .water_classes
        .iter()
        .map(|class| class.id.as_str())
        .collect();
    if book.judges_unknown || classes.is_empty() {
        classes.push(UNKNOWN_CLASS);
    }
    let conditions: Vec<(&str, &When)> = book
        .rules
        .iter()
        .map(|row| (row.id.as_str(), &row.when))
        .chain(
            book.uncovered
                .iter()
                .map(|row| (row.id.as_str(), &row.when)),
        )
        .collect();
    let mut used = vec![false; conditions.len()];
    let mut unanswered = Vec::new();
    for class in classes {
        for &site in SiteKind::ALL {
            for (method, plant) in plant_cells() {
                let cell = Cell {
                    class,
                    site,
                    method,
                    plant,
                };
                let mut is_answered = false;
                for ((_, when), used) in conditions.iter().zip(&mut used) {
                    if when.fits(&cell, book.contact_test) {
                        is_answered = true;
                        *used = true;
                    }
                }
                if !is_answered {
                    unanswered.push(cell);
                }
            }
        }
    }
    for ((row, _), _) in conditions.iter().zip(used).filter(|(_, used)| !used) {
        problems.push(Problem::NeverApplies {
            row: (*row).to_owned(),
        });
    }
    if let Some(cell) = unanswered.first() {
        problems.push(Problem::Unanswered {
            cell: format!("{cell:?}"),
            others: unanswered.len() - 1,
        });
    }
}

fn plant_cells() -> Vec<(Method, PlantCell)> {
    let mut cells = Vec::new();
    for &method in Method::ALL {
        if method == Method::Hand {
            continue;
        }
        cells.push((method, PlantCell::Turf));
        cells.push((method, PlantCell::Ornamental));
        cells.extend(
            food_cells(method)
                .into_iter()
                .map(|food| (method, PlantCell::Food(food))),
        );
    }
    cells
}

/// Every food case that a method can give: position × citrus, nut, vine × preparation × what the water reaches.
#[must_use]
pub fn food_cells(method: Method) -> Vec<FoodCell> {
    // Citrus and nuts grow on trees, vines bear high up: other combinations do not exist.
    let kinds = Position::ALL
        .iter()
        .map(|position| (*position, false, false, false))
        .chain([
            (Position::Tree, true, false, false),
            (Position::Tree, false, true, false),
            (Position::High, false, false, true),
        ]);
    let mut cells = Vec::new();
    for (position, citrus, nut, vine) in kinds {
        for &prepared in Prepared::ALL {
            for &reach in reaches(position, method) {
                cells.push(FoodCell {
                    position,
                    citrus,
                    nut,
                    tree: position == Position::Tree,
                    vine,
                    prepared,
                    reach,
                });
            }
        }
    }
    cells
}

/// What a method can reach on a crop, whatever the geometry: the outcomes that the rules of exposure can give, and
/// wet soil for what is picked up from the ground.
#[must_use]
pub const fn reaches(position: Position, method: Method) -> &'static [Reach] {
    use Reach::{Direct, Nothing, NothingLow, WetSoil};
    match (position, method) {
        (Position::Below, _) | (Position::Surface, Method::SurfaceDrip) => &[WetSoil],
        (_, Method::Spray)
        | (Position::Surface | Position::Low, Method::MicroSpray)
        | (Position::Surface, Method::Flood) => &[Direct],
        (Position::Surface, Method::RidgeFurrow)
        | (Position::Low, Method::Flood)
        | (Position::Mid | Position::High | Position::Tree, Method::MicroSpray) => {
            &[Nothing, Direct, WetSoil]
        }
        (Position::Low, Method::SurfaceDrip | Method::RidgeFurrow) => &[NothingLow, WetSoil],
        (_, Method::Hand) => &[Direct, WetSoil, Nothing, NothingLow],
        (_, Method::SubsurfaceDrip | Method::DripUnderMulch)
        | (
            Position::Mid | Position::High | Position::Tree,
            Method::SurfaceDrip | Method::RidgeFurrow | Method::Flood,
        ) => &[Nothing, WetSoil],
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rulebook::{BUILT_IN_TEXTS, built_in};

    #[test]
    fn the_built_in_books_are_sound() {
        assert_eq!(built_in().len(), BUILT_IN_TEXTS.len());
        for book in built_in() {
            assert_eq!(check(book), [], "{}", book.id);
        }
    }

    #[test]
    fn taking_any_row_away_that_alone_answers_a_case_is_noticed() {
        for book in built_in() {
            let mut poorer = book.clone();
            poorer.uncovered.clear();
            let has_uncovered = !book.uncovered.is_empty();
            let unanswered = check(&poorer)
                .iter()
                .any(|problem| matches!(problem, Problem::Unanswered { .. }));
            assert_eq!(unanswered, has_uncovered, "{}", book.id);
        }
    }

    #[test]
    fn ids_classes_and_texts_are_checked() {
        let mut book = built_in()[1].clone();
        let mut twin = book.rules[0].clone();
        twin.when.classes = vec!["nonsense".to_owned()];
        twin.origin.message = "no.such.key".to_owned();
        book.rules.push(twin);
        assert!(check(&book).len() >= 3, "{:?}", check(&book));
    }
}
