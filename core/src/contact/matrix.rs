//! What the rules say of each crop under each way the water can come, for one water and place, whatever is drawn.

use super::evaluate::Books;
use super::input::{CropFacts, Geometry, Input, Plant, Planting};
use super::result::{Fact, Match};
use crate::catalog::crops::Crop;
use crate::ids::{Id, Kind};
use crate::rulebook::{Method, Verdict};

/// One crop under every method.
#[derive(Clone, PartialEq, Debug)]
pub struct MatrixRow {
    /// Row of the crop table.
    pub crop: String,
    /// Its name.
    pub name: String,
    /// One cell a method, in the order of [`Method::ALL`].
    pub cells: Vec<MatrixCell>,
}

/// One crop under one method.
#[derive(Clone, PartialEq, Debug)]
pub struct MatrixCell {
    /// The word.
    pub verdict: Verdict,
    /// The row that gives it.
    pub decided_by: Match,
    /// Keys of the conditions of an allowing verdict, sorted.
    pub conditions: Vec<String>,
    /// Facts that would settle an *ask*.
    pub missing: Vec<Fact>,
    /// The word rests on our own reading or judgement.
    pub cautious_reading: bool,
}

/// Judges crops as they are usually eaten, under each method, with nothing known of heights, depths and jets: what
/// depends on them is *ask*. Books, class, site and sharing are those of the input; what is planted does not matter.
#[must_use]
pub fn matrix<'a>(input: &Input, crops: impl IntoIterator<Item = &'a Crop>) -> Vec<MatrixRow> {
    let books = Books::of(input);
    let cell = |crop: &Crop, method: Method| {
        let planting = Planting {
            // Nothing is drawn: the ruling's own subject is dropped again.
            subject: Id::new(Kind::Bed, 0),
            index: 0,
            zone: None,
            plant: Plant::Food(CropFacts::from_catalog(crop)),
            preparation: crop.preparation.into(),
            method,
            geometry: Geometry::default(),
            overlap: None,
        };
        let ruling = books.rule_on(input, &planting)?;
        Some(MatrixCell {
            verdict: ruling.verdict,
            decided_by: ruling.decided_by,
            conditions: ruling.conditions,
            missing: ruling.missing,
            cautious_reading: ruling.cautious_reading,
        })
    };
    let row = |crop: &Crop| MatrixRow {
        crop: crop.id.clone(),
        name: crop.name.clone(),
        cells: Method::ALL
            .iter()
            .filter_map(|method| cell(crop, *method))
            .collect(),
    };
    crops.into_iter().map(row).collect()
}
