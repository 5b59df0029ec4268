//! Ground that a rule keeps wetted ground out of, around wells, buildings, open water and other places of the site: drawn while a
//! head is moved, so that the hand sees the limit before the verdict changes.

use std::collections::BTreeMap;

use super::distances::{feature_place, well_place};
use super::of_site;
use crate::contact;
use crate::finding::Citation;
use crate::geometry::Polygon;
use crate::ids::Id;
use crate::model::{Plan, WaterKind};
use crate::rulebook::{Place, Relief};
use crate::units::Length;

/// A limit around a place of the site.
#[derive(Clone, PartialEq, Debug)]
pub struct Setback {
    /// The well, building or other place.
    pub around: Id,
    /// The largest distance that a rule in force asks wetted ground to keep.
    pub limit: Length,
    /// The rule.
    pub citation: Citation,
    /// The edges of the ground within that distance.
    pub rings: Vec<Polygon>,
}

/// One setback a place to which a rule in force names a distance, for the waters of a plan that nobody drinks.
#[must_use]
pub fn setbacks(plan: &Plan) -> Vec<Setback> {
    let objects = &plan.objects;
    let waters: Vec<contact::Input> = objects
        .waters
        .iter()
        .filter(|(_, water)| water.kind != WaterKind::Potable)
        .map(|(id, _)| of_site(plan, *id))
        .collect();
    type Limit = Option<(Length, Citation)>;
    let mut asked: BTreeMap<(Place, Option<Relief>), Limit> = BTreeMap::new();
    let mut limit_of = |place: Place, relief: Option<Relief>| {
        let largest = || {
            let limits = waters
                .iter()
                .filter_map(|input| contact::largest_setback(input, place, relief));
            limits.max_by(|a, b| a.0.total_cmp(&b.0))
        };
        asked.entry((place, relief)).or_insert_with(largest).clone()
    };
    let wells = objects.marks.iter().filter_map(|(id, mark)| {
        let relief = mark.exemption_met.then_some(Relief::WellExemption);
        let place = well_place(mark.kind)?;
        Some((*id, (place, relief), Polygon(vec![mark.at])))
    });
    let areas = objects.features.iter();
    let areas = areas.filter_map(|(id, feature)| {
        let place = feature_place(feature)?;
        Some((*id, (place, None), feature.outline.clone()))
    });
    let mut found = Vec::new();
    for (around, (place, relief), outline) in wells.chain(areas) {
        if let Some((limit, citation)) = limit_of(place, relief) {
            found.push(Setback {
                around,
                limit,
                citation,
                rings: outline.grown(limit),
            });
        }
    }
    found
}
