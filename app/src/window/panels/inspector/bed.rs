//! A bed: place, size, crops, and the rule by which emitter lines fill it.

use std::sync::Arc;

use aubergine_core::ids::{Id, in_short};
use aubergine_core::model::{Bed, BedUse, Fill, HeaderSide, Object, Pattern, Placement};
use aubergine_core::text;
use eframe::egui::Ui;

use super::{change, length, outline_size, place, results};
use crate::window::app::App;
use crate::window::widgets;

pub(super) fn show(ui: &mut Ui, app: &App, id: Id, bed: &Arc<Bed>) {
    let edit = |label: String, with: &mut dyn FnMut(&mut Bed)| {
        change(app, id, label, bed, Object::Bed, with);
    };
    let uses = [
        (BedUse::Food, "Food"),
        (BedUse::Lawn, "Lawn"),
        (BedUse::Ornamental, "Ornamental"),
    ];
    if let Some(usage) = widgets::choice(ui, "use", "Planted with", bed.use_, &uses) {
        edit(format!("Plant {id} otherwise"), &mut |bed| bed.use_ = usage);
    }
    widgets::group(ui, "Place and size");
    place(ui, app, id, bed.at);
    if let Some(outline) = outline_size(ui, app, &bed.outline) {
        edit(format!("Resize {id}"), &mut |bed| {
            bed.outline.clone_from(&outline);
        });
    }
    if bed.use_ == BedUse::Food {
        widgets::group(ui, "Crops");
        super::crops::of_bed(ui, app, id, bed);
    }
    widgets::group(ui, "Emitter lines");
    match &bed.fill {
        Some(fill) => fill_fields(ui, app, id, bed, fill),
        None => {
            let lines = app.plan().objects.lines.iter();
            let here: Vec<Id> = lines
                .filter(|(_, line)| line.serves.contains(&id))
                .map(|(line, _)| *line)
                .collect();
            let words = if here.is_empty() {
                text::get("window.no_lines").to_owned()
            } else {
                text::fill("window.lines_by_hand", [("lines", in_short(here))])
            };
            widgets::hint(ui, words);
        }
    }
    if bed.use_ == BedUse::Lawn {
        super::heads::show(ui, app, id);
    }
    results::bed(ui, app, id);
}

fn fill_fields(ui: &mut Ui, app: &App, id: Id, bed: &Arc<Bed>, fill: &Fill) {
    let edit = |with: &mut dyn FnMut(&mut Fill)| {
        change(
            app,
            id,
            format!("Change the lines of {id}"),
            bed,
            Object::Bed,
            |bed| {
                if let Some(fill) = &mut bed.fill {
                    with(fill);
                }
            },
        );
    };
    let patterns = [
        (Pattern::RowsAlong, "along the bed"),
        (Pattern::RowsAcross, "across the bed"),
    ];
    if let Some(pattern) = widgets::choice(ui, "pattern", "Rows", fill.pattern, &patterns) {
        edit(&mut |fill| fill.pattern = pattern);
    }
    let units = app.view.units;
    if let Some(spacing) = length(
        ui,
        app,
        "rows",
        "Row spacing",
        &units.length(fill.row_spacing),
    ) {
        edit(&mut |fill| fill.row_spacing = spacing);
    }
    let of_part = app
        .plan()
        .catalog
        .emission(&fill.line)
        .and_then(|part| part.spacing);
    if let Some(now) = fill.emitter_spacing.or(of_part)
        && let Some(spacing) = length(ui, app, "emitters", "Emitters every", &units.length(now))
    {
        edit(&mut |fill| fill.emitter_spacing = Some(spacing));
    }
    if let Some(inset) = length(ui, app, "inset", "From the edge", &units.length(fill.inset)) {
        edit(&mut |fill| fill.inset = inset);
    }
    let placements = [
        (Placement::OnSoil, "on the soil"),
        (Placement::UnderMulch, "under mulch"),
        (Placement::Buried, "buried"),
    ];
    if let Some(placement) =
        widgets::choice(ui, "placement", "They lie", fill.placement, &placements)
    {
        edit(&mut |fill| fill.placement = placement);
    }
    let sides = [
        (HeaderSide::First, "where rows begin"),
        (HeaderSide::Last, "where rows end"),
        (HeaderSide::Both, "on both sides"),
    ];
    if let Some(side) = widgets::choice(ui, "header", "Header", fill.header_side, &sides) {
        edit(&mut |fill| fill.header_side = side);
    }
    let lines =
        super::network::emission_rows(aubergine_core::catalog::EmissionPartKind::EmitterLine);
    if let Some(key) = super::network::part_choice(ui, "line part", "Line", &fill.line, &lines) {
        edit(&mut |fill| fill.line.clone_from(&key));
    }
    widgets::row(ui, "Ends", |ui| {
        let mut flush = fill.flush_ends;
        if ui.checkbox(&mut flush, "open for rinsing").changed() {
            edit(&mut |fill| fill.flush_ends = flush);
        }
    });
    let words = "purple, striped or tagged";
    if let Some(purple) = super::network::marked(ui, words, fill.purple) {
        edit(&mut |fill| fill.purple = purple);
    }
}
