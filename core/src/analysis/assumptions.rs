//! What was assumed because nobody said: listed on screen and on paper, each with its value.

use std::collections::BTreeMap;

use super::SprayReach;
use crate::catalog::Catalog;
use crate::finding::{Basis, Message, Value};
use crate::geometry::PlanPoint;
use crate::hydraulics::from_plan::ASSUMED_TEMPERATURE;
use crate::ids::Id;
use crate::layout::{Ground, bed_outline};
use crate::model::{Plan, Uses, WaterKind};
use crate::wetting::ASSUMED_WIND;

/// One assumption.
#[derive(Clone, PartialEq, Debug)]
pub struct Assumption {
    /// Stable name.
    pub key: &'static str,
    /// The objects it touches.
    pub subjects: Vec<Id>,
    /// The sentence.
    pub message: Message,
}

/// Every assumption behind the results of a plan.
pub(super) fn all(
    plan: &Plan,
    sprays: &BTreeMap<Id, SprayReach>,
    ground: &Ground,
) -> Vec<Assumption> {
    let mut found = Vec::new();
    let mut add = |key: &'static str, subjects: Vec<Id>, values: Vec<(&'static str, Value)>| {
        found.push(Assumption {
            key,
            subjects,
            message: Message::new(format!("assumption.{key}"), values),
        });
    };
    if plan.site.water_temperature.is_none() {
        let value = format!("{:.0} °C", ASSUMED_TEMPERATURE.celsius());
        add(
            "water_temperature",
            vec![],
            vec![("value", Value::Text(value))],
        );
    }
    let unread: Vec<Id> = plan
        .objects
        .supplies
        .iter()
        .filter(|(_, supply)| supply.read_by.is_empty() && is_irrigation(plan, supply.water))
        .map(|(id, _)| *id)
        .collect();
    if !unread.is_empty() {
        add("supply", unread.clone(), vec![("ids", Value::Ids(unread))]);
    }
    let unstated: Vec<Id> = plan
        .objects
        .waters
        .iter()
        .filter(|(id, water)| {
            is_irrigation(plan, **id)
                && (water.class == "unknown" || water.class_stated_by.is_empty())
        })
        .map(|(id, _)| *id)
        .collect();
    if !unstated.is_empty() {
        add(
            "water_class",
            unstated.clone(),
            vec![("ids", Value::Ids(unstated))],
        );
    }
    if !sprays.is_empty() && plan.site.design_wind.is_none() {
        add(
            "wind",
            sprays.keys().copied().collect(),
            vec![("value", Value::Velocity(ASSUMED_WIND))],
        );
    }
    let bare = super::sprayed::without_profile(plan);
    if !bare.is_empty() {
        add("profile", bare.clone(), vec![("ids", Value::Ids(bare))]);
    }
    let reclaimed_outlets: Vec<Id> = plan
        .objects
        .outlets
        .iter()
        .filter(|(_, outlet)| is_irrigation(plan, outlet.water))
        .map(|(id, _)| *id)
        .collect();
    if !reclaimed_outlets.is_empty() {
        let reach = Value::Length(super::contact_input::HOSE_REACH);
        add("hose_reach", reclaimed_outlets, vec![("value", reach)]);
    }
    let beyond = beyond_the_survey(plan, ground);
    if !beyond.is_empty() {
        add("levels", beyond.clone(), vec![("ids", Value::Ids(beyond))]);
    }
    if plan.site.measured_within.is_none() {
        add("as_drawn", vec![], vec![]);
    }
    let generic = num_generic_parts(plan);
    if generic > 0 {
        add(
            "generic_parts",
            vec![],
            vec![("count", Value::Count(generic))],
        );
    }
    found
}

fn is_irrigation(plan: &Plan, water: Id) -> bool {
    plan.water_kind(water)
        .is_some_and(|kind| kind != WaterKind::Potable)
}

/// Watered objects that reach beyond the spot heights, where there are any.
fn beyond_the_survey(plan: &Plan, ground: &Ground) -> Vec<Id> {
    let objects = &plan.objects;
    if objects.heights.is_empty() {
        return Vec::new();
    }
    let is_beyond = |places: &[PlanPoint]| places.iter().any(|at| !ground.is_surveyed(*at));
    let pipes = objects.pipes.iter();
    let lines = objects.lines.iter();
    let beds = objects.beds.iter().filter(|(_, bed)| bed.fill.is_some());
    let heads = objects.emissions.iter();
    let pipes = pipes.filter(|(_, pipe)| is_beyond(&pipe.vertices.0));
    let lines = lines.filter(|(_, line)| is_beyond(&line.vertices.0));
    let beds = beds.filter(|(_, bed)| is_beyond(&bed_outline(bed).0));
    let heads = heads.filter(|(_, head)| is_beyond(&[head.at]));
    let runs = pipes.map(|(id, _)| id).chain(lines.map(|(id, _)| id));
    let places = beds.map(|(id, _)| id).chain(heads.map(|(id, _)| id));
    runs.chain(places).copied().collect()
}

/// Rows in use whose figures are common practice or recalled.
fn num_generic_parts(plan: &Plan) -> usize {
    let rows: &Catalog = &plan.catalog;
    let uses = Uses::of(std::iter::once(&plan.objects));
    let pipes = uses.pipes.iter().filter_map(|key| rows.pipe(key));
    let emissions = uses.emissions.iter().filter_map(|key| rows.emission(key));
    let devices = uses.devices.iter().filter_map(|key| rows.device(key));
    let bases = pipes
        .map(|row| &row.basis)
        .chain(emissions.map(|row| &row.basis))
        .chain(devices.map(|row| &row.basis));
    bases
        .filter(|basis| {
            matches!(
                basis,
                Basis::CommonPractice | Basis::Memory | Basis::Judgement
            )
        })
        .count()
}
