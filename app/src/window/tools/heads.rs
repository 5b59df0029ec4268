//! Filling an area with heads: what would be put down, and the edit that does it.

use std::sync::Arc;

use aubergine_core::catalog::EmissionPartKind;
use aubergine_core::edit::Edit;
use aubergine_core::ids::Id;
use aubergine_core::layout::{HeadsRule, PlacedHead, bed_outline, heads};
use aubergine_core::model::{Emission, EmissionKind, End, Meta, Object, Plan};

use super::water_of_new;

/// The heads that a rule puts on an area.
#[must_use]
pub fn placed(plan: &Plan, area: Id, rule: &HeadsRule) -> Vec<PlacedHead> {
    let outline = plan.objects.beds.get(&area).map(|bed| bed_outline(bed));
    outline.map_or_else(Vec::new, |outline| heads(&outline, &plan.catalog, rule))
}

/// Adds them with open inlets, as one step; `None` where there are none or no water is drawn.
#[must_use]
pub fn heads_edit(plan: &Plan, area: Id, rule: &HeadsRule) -> Option<Edit> {
    let water = water_of_new(plan)?;
    let add = |head: PlacedHead| {
        let kind = match plan.catalog.emission(&head.part)?.kind {
            EmissionPartKind::Rotor => EmissionKind::Rotor,
            EmissionPartKind::MicroSpray => EmissionKind::MicroSpray,
            _ => EmissionKind::Spray,
        };
        Some(Edit::Add(Object::Emission(Arc::new(Emission {
            kind,
            part: head.part,
            water,
            at: head.at,
            inlet: End::Open,
            arc_from: head.from,
            arc_sweep: head.sweep,
            radius: None,
            low_trajectory: false,
            serves: vec![area],
            meta: Meta::default(),
        }))))
    };
    let edits: Vec<Edit> = placed(plan, area, rule)
        .into_iter()
        .filter_map(add)
        .collect();
    (!edits.is_empty()).then_some(Edit::All(edits))
}
