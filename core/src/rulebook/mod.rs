//! Rulebooks: who says what about reclaimed water on plants and near places, where it is written, and how we know.
//!
//! A book is data with closed conditions. This module reads and checks books and tells which rows fit a case; it does
//! not judge plans, which is the task of `contact`.

mod age;
mod check;
mod condition;
mod kinds;
mod load;
mod rows;

use std::sync::LazyLock;

pub use age::is_day;
pub use check::{Problem, check, food_cells, reaches};
pub use condition::{Cell, FoodCell, PlantCell, UNKNOWN_CLASS, When};
pub use kinds::{
    BackflowDevice, Confidence, ContactTest, DRAWING_RESOLUTION, Layer, Limit, LimitUnit,
    MarkedPart, Method, OutletTrait, Place, PlantKind, Position, Prepared, Reach, Relief,
    SignPlace, SiteKind, Verdict,
};
pub use load::{RulebookError, parse, read_local};
pub use rows::{
    BackflowRule, DistanceRule, KnownChange, Label, MarkingRule, Origin, OutletRule, PlaceSeverity,
    Rule, Rulebook, SignRule, Source, Uncovered, WaterClass, limits,
};

/// The name of the book that judges waters and places no other book covers.
pub const GENERIC: &str = "generic";

/// The texts of the books that come with the program.
pub const BUILT_IN_TEXTS: [&str; 9] = [
    include_str!("../../data/rulebooks/generic.toml"),
    include_str!("../../data/rulebooks/us-ca.toml"),
    include_str!("../../data/rulebooks/us-tx.toml"),
    include_str!("../../data/rulebooks/us-fl.toml"),
    include_str!("../../data/rulebooks/us-az.toml"),
    include_str!("../../data/rulebooks/us-co.toml"),
    include_str!("../../data/rulebooks/us-nc.toml"),
    include_str!("../../data/rulebooks/us-epa-2012.toml"),
    include_str!("../../data/rulebooks/eu-2020-741.toml"),
];

static BUILT_IN: LazyLock<Vec<Rulebook>> = LazyLock::new(|| {
    // A book that does not parse is left out, which a test reports.
    BUILT_IN_TEXTS
        .iter()
        .filter_map(|text| parse(text).ok())
        .collect()
});

/// The books that come with the program, by id.
#[must_use]
pub fn built_in() -> &'static [Rulebook] {
    &BUILT_IN
}

/// One of them.
#[must_use]
pub fn built_in_book(id: &str) -> Option<&'static Rulebook> {
    built_in().iter().find(|book| book.id == id)
}
