//! The levels of spot heights and terraces.

use std::sync::Arc;

use aubergine_core::ids::Id;
use aubergine_core::model::{Feature, Object, SpotHeight};
use aubergine_core::units::{Length, entry};
use eframe::egui::Ui;

use super::{change, place, read_length};
use crate::window::app::App;
use crate::window::widgets;

pub(super) fn height(ui: &mut Ui, app: &App, id: Id, height: &Arc<SpotHeight>) {
    place(ui, app, id, height.at);
    let shown = app.view.units.run(height.level);
    if let Some(level) = level(ui, app, &shown) {
        let label = format!("Set the level of {id}");
        change(app, id, label, height, Object::Height, |height| {
            height.level = level;
        });
    }
}

pub(super) fn terrace(ui: &mut Ui, app: &App, id: Id, feature: &Arc<Feature>) {
    let units = app.view.units;
    let shown = feature
        .level
        .map_or_else(String::new, |level| units.run(level));
    if let Some(level) = level(ui, app, &shown) {
        let label = format!("Set the level of {id}");
        change(app, id, label, feature, Object::Feature, |feature| {
            feature.level = Some(level);
        });
    }
    if feature.level.is_none() {
        widgets::hint(ui, "Not told: the ground is that of the spot heights.");
    }
}

fn level(ui: &mut Ui, app: &App, shown: &str) -> Option<Length> {
    read_length(ui, app, ("level", "Level", shown), entry::level)
}
