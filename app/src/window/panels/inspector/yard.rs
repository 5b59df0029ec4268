//! What stands in the yard and carries no water: areas, trees, wells and entries, signs.

use std::sync::Arc;

use aubergine_core::geometry::{PlanPoint, PlanVector};
use aubergine_core::ids::Id;
use aubergine_core::model::{Feature, FeatureKind, Mark, MarkKind, Object, Sign, Tree};
use aubergine_core::text;
use aubergine_core::units::Length;
use eframe::egui::Ui;

use super::{change, crops, length, level, outline_size, place};
use crate::window::app::App;
use crate::window::widgets;

pub(super) fn feature(ui: &mut Ui, app: &App, id: Id, feature: &Arc<Feature>) {
    let edit = |label: String, with: &mut dyn FnMut(&mut Feature)| {
        change(app, id, label, feature, Object::Feature, with);
    };
    let kinds = [
        (FeatureKind::Building, "building"),
        (FeatureKind::HardSurface, "hard surface"),
        (FeatureKind::EatingArea, "eating area"),
        (FeatureKind::PlayArea, "play area"),
        (FeatureKind::PetArea, "animal area"),
        (FeatureKind::Pool, "pool"),
        (FeatureKind::WaterBody, "open water"),
        (FeatureKind::NeighbourLand, "neighbour's land"),
        (FeatureKind::Terrace, "terrace"),
    ];
    if let Some(kind) = widgets::choice(ui, "area kind", "It is", feature.kind, &kinds) {
        edit(format!("Say what {id} is"), &mut |feature| {
            feature.kind = kind;
        });
    }
    let (left, _) = feature.outline.span(PlanVector::new(1.0, 0.0));
    let (low, _) = feature.outline.span(PlanVector::new(0.0, 1.0));
    place(ui, app, id, PlanPoint::new(left, low));
    if let Some(outline) = outline_size(ui, app, &feature.outline) {
        edit(format!("Resize {id}"), &mut |feature| {
            feature.outline.clone_from(&outline);
        });
    }
    if feature.kind == FeatureKind::WaterBody {
        let mut filled = feature.holds_reclaimed;
        let words = text::get("window.holds_reclaimed");
        if ui.checkbox(&mut filled, words).changed() {
            edit(format!("Say what fills {id}"), &mut |feature| {
                feature.holds_reclaimed = filled;
            });
        }
    }
    if feature.kind == FeatureKind::Terrace {
        level::terrace(ui, app, id, feature);
    }
}

pub(super) fn tree(ui: &mut Ui, app: &App, id: Id, tree: &Arc<Tree>) {
    place(ui, app, id, tree.at);
    let units = app.view.units;
    let shown = tree
        .canopy
        .map_or_else(String::new, |canopy| units.length(canopy));
    if let Some(canopy) = length(ui, app, "canopy", "Crown width", &shown) {
        let label = format!("Set the crown of {id}");
        change(app, id, label, tree, Object::Tree, |tree| {
            tree.canopy = (canopy > Length::ZERO).then_some(canopy);
        });
    }
    widgets::group(ui, "What is eaten of it");
    crops::of_tree(ui, app, id, tree);
}

pub(super) fn mark(ui: &mut Ui, app: &App, id: Id, mark: &Arc<Mark>) {
    let edit = |label: String, with: &mut dyn FnMut(&mut Mark)| {
        change(app, id, label, mark, Object::Mark, with);
    };
    let kinds = [
        (MarkKind::DomesticWell, "well a household drinks from"),
        (MarkKind::PublicWell, "well of a public supply"),
        (MarkKind::OtherWell, "well nobody drinks from"),
        (MarkKind::Entry, "entry"),
        (MarkKind::TestPoint, "test point"),
    ];
    if let Some(kind) = widgets::choice(ui, "mark kind", "It is", mark.kind, &kinds) {
        edit(format!("Say what {id} is"), &mut |mark| mark.kind = kind);
    }
    place(ui, app, id, mark.at);
    if matches!(mark.kind, MarkKind::DomesticWell | MarkKind::PublicWell) {
        let mut met = mark.exemption_met;
        if ui
            .checkbox(&mut met, text::get("window.exemption"))
            .changed()
        {
            edit(format!("State the exemption of {id}"), &mut |mark| {
                mark.exemption_met = met;
            });
        }
    }
}

pub(super) fn sign(ui: &mut Ui, app: &App, id: Id, sign: &Arc<Sign>) {
    let edit = |label: String, with: &mut dyn FnMut(&mut Sign)| {
        change(app, id, label, sign, Object::Sign, with);
    };
    place(ui, app, id, sign.at);
    let marks = app.plan().objects.marks.iter();
    let entries: Vec<(Option<Id>, String)> = marks
        .filter(|(_, mark)| mark.kind == MarkKind::Entry)
        .map(|(entry, mark)| (Some(*entry), format!("{entry} {}", mark.meta.label)))
        .collect();
    let features = app.plan().objects.features.iter();
    let ponds = features.filter(|(_, feature)| feature.holds_reclaimed);
    let ponds =
        ponds.map(|(pond, feature)| (Some(*pond), format!("{pond} {}", feature.meta.label)));
    let places: Vec<(Option<Id>, String)> = entries.into_iter().chain(ponds).collect();
    let nowhere = [(None, "no entry")];
    let known = places.iter().map(|(entry, words)| (*entry, words.trim()));
    let choices: Vec<(Option<Id>, &str)> = nowhere.into_iter().chain(known).collect();
    if let Some(entry) = widgets::choice(ui, "entry", "Stands at", sign.entry, &choices) {
        edit(format!("Say where {id} stands"), &mut |sign| {
            sign.entry = entry;
        });
    }
    if let Some(words) = lines(ui, "Words", &sign.words, " / ") {
        edit(format!("Write on {id}"), &mut |sign| {
            sign.words.clone_from(&words);
        });
    }
    if let Some(languages) = lines(ui, "Languages", &sign.languages, ", ") {
        edit(format!("Name the languages of {id}"), &mut |sign| {
            sign.languages.clone_from(&languages);
        });
    }
    widgets::hint(ui, text::get("window.sign_words"));
    let mut symbol = sign.symbol;
    if ui
        .checkbox(&mut symbol, "do-not-drink symbol on it")
        .changed()
    {
        edit(format!("Change the symbol on {id}"), &mut |sign| {
            sign.symbol = symbol;
        });
    }
    let units = app.view.units;
    let shown = |side: Option<Length>| side.map_or_else(String::new, |side| units.length(side));
    if let Some(width) = length(ui, app, "sign width", "Width", &shown(sign.width)) {
        edit(format!("Resize {id}"), &mut |sign| sign.width = Some(width));
    }
    if let Some(height) = length(ui, app, "sign height", "Height", &shown(sign.height)) {
        edit(format!("Resize {id}"), &mut |sign| {
            sign.height = Some(height);
        });
    }
}

/// Several words in one field, with what stands between them.
fn lines(ui: &mut Ui, label: &str, now: &[String], between: &str) -> Option<Vec<String>> {
    let typed = widgets::field(ui, label.to_owned(), label, &now.join(between))?;
    let parts = typed.split(between.trim()).map(str::trim);
    let lines = parts.filter(|part| !part.is_empty());
    Some(lines.map(str::to_owned).collect())
}
