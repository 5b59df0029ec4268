//! The crops of a bed: what grows there, how it is eaten, and a list to plant from.

use std::sync::Arc;

use aubergine_core::catalog::{Catalog, Crop};
use aubergine_core::ids::Id;
use aubergine_core::model::{Bed, Object, Planting, Preparation};
use aubergine_core::text;
use eframe::egui::{
    self, ComboBox, Key, Modifiers, PopupCloseBehavior, ScrollArea, TextEdit, Ui, UiBuilder,
};

use super::change;
use crate::window::app::App;
use crate::window::panels::describe;
use crate::window::widgets;

const PREPARATIONS: [(Preparation, &str); 5] = [
    (Preparation::Usual, "as usual"),
    (Preparation::Raw, "eaten raw"),
    (Preparation::SkinRemoved, "skin removed"),
    (Preparation::Cooked, "always cooked"),
    (Preparation::Unknown, "not known"),
];

pub(super) fn show(ui: &mut Ui, app: &App, id: Id, bed: &Arc<Bed>) {
    let plan = app.plan();
    for (index, planting) in bed.plantings.iter().enumerate() {
        let name = describe::crop_name(plan, &planting.crop);
        let scope =
            UiBuilder::new().scope_id(egui::Id::unique(("crop", id.to_string(), &planting.crop)));
        ui.scope_builder(scope, |ui| {
            ui.horizontal(|ui| {
                let width = ui.available_width() - 178.0;
                ui.allocate_ui(egui::vec2(width, 24.0), |ui| {
                    ui.set_width(width);
                    ui.add(egui::Label::new(name).wrap());
                });
                let word = PREPARATIONS
                    .iter()
                    .find(|(value, _)| *value == planting.preparation)
                    .map_or("", |(_, word)| *word);
                let combo = ComboBox::from_id_salt("preparation")
                    .selected_text(word)
                    .width(120.0);
                let shown = combo.show_ui(ui, |ui| {
                    for (value, word) in PREPARATIONS {
                        if ui
                            .selectable_label(value == planting.preparation, word)
                            .clicked()
                        {
                            change(
                                app,
                                id,
                                format!("Say how {name} is eaten"),
                                bed,
                                Object::Bed,
                                |bed| {
                                    if let Some(planting) = bed.plantings.get_mut(index) {
                                        planting.preparation = value;
                                    }
                                },
                            );
                        }
                    }
                });
                shown
                    .response
                    .accessible_name(format!("How {name} is eaten: {word}"));
                if ui
                    .button("×")
                    .accessible_name(format!("Take {name} out"))
                    .clicked()
                {
                    change(
                        app,
                        id,
                        format!("Take {name} out of {id}"),
                        bed,
                        Object::Bed,
                        |bed| {
                            bed.plantings.remove(index);
                        },
                    );
                }
            });
        });
    }
    add_crop(ui, app, id, bed);
}

/// What was typed to find a crop, and which of the crops found Enter plants.
#[derive(Clone, Default)]
struct Search {
    words: String,
    chosen: usize,
}

/// The list to plant from. Its field has the keyboard as long as the list is open.
fn add_crop(ui: &mut Ui, app: &App, id: Id, bed: &Arc<Bed>) {
    let memory = egui::Id::unique("search for a crop");
    let combo = ComboBox::from_id_salt("add crop")
        .selected_text(format!("{}…", text::get("window.add_crop")))
        .width(ui.available_width() - 8.0)
        .height(400.0)
        .close_behavior(PopupCloseBehavior::CloseOnClickOutside);
    let shown = combo.show_ui(ui, |ui| {
        let mut search: Search = ui.data(|data| data.get_temp(memory)).unwrap_or_default();
        let planted = found(ui, bed, &mut search);
        ui.data_mut(|data| data.insert_temp(memory, search));
        if let Some((key, name)) = planted {
            plant(app, id, bed, key, name);
            ui.close();
        }
    });
    if shown.inner.is_none() {
        ui.data_mut(|data| data.remove::<Search>(memory));
    }
    shown.response.accessible_name(text::get("window.add_crop"));
}

/// Field and crops found; the key and name of the crop that was chosen.
fn found(ui: &mut Ui, bed: &Bed, search: &mut Search) -> Option<(&'static str, &'static str)> {
    // Taken before the field can: in a field of one line they have nothing else to do.
    let pressed = |key| ui.input_mut(|input| input.count_and_consume_key(Modifiers::NONE, key));
    let (down, up) = (pressed(Key::ArrowDown), pressed(Key::ArrowUp));
    let is_entered = pressed(Key::Enter) > 0;
    let field = TextEdit::singleline(&mut search.words)
        .hint_text(text::get("window.find_crop"))
        .desired_width(f32::INFINITY);
    let response = ui.add(field).accessible_name(text::get("window.find_crop"));
    response.request_focus();
    if response.changed() {
        search.chosen = 0;
    }
    let crops = matching(bed, search.words.trim());
    if crops.is_empty() {
        widgets::hint(ui, text::get("window.no_crop"));
        return None;
    }
    search.chosen = (search.chosen + down)
        .saturating_sub(up)
        .min(crops.len() - 1);
    let mut planted = None;
    ScrollArea::vertical().max_height(300.0).show(ui, |ui| {
        for (index, (key, crop)) in crops.iter().enumerate() {
            let is_chosen = index == search.chosen;
            let response = ui.selectable_label(is_chosen, &crop.name);
            if is_chosen && (down + up > 0) {
                response.scroll_to_me(None);
            }
            if response.clicked() || (is_chosen && is_entered) {
                planted = Some((*key, crop.name.as_str()));
            }
        }
    });
    planted
}

/// Crops of the catalog that are not planted yet and whose names hold the words; those that begin with them first.
fn matching(bed: &Bed, words: &str) -> Vec<(&'static str, &'static Crop)> {
    let wanted = words.to_lowercase();
    let is_known = |key: &str| bed.plantings.iter().any(|planting| planting.crop == key);
    let mut crops: Vec<_> = Catalog::built_in()
        .crops
        .iter()
        .filter(|(key, crop)| !is_known(key) && crop.name.to_lowercase().contains(&wanted))
        .map(|(key, crop)| (key.as_str(), crop.as_ref()))
        .collect();
    crops.sort_by_key(|(_, crop)| !crop.name.to_lowercase().starts_with(&wanted));
    crops
}

fn plant(app: &App, id: Id, bed: &Arc<Bed>, key: &str, name: &str) {
    let label = format!("Plant {name} in {id}");
    change(app, id, label, bed, Object::Bed, |bed| {
        bed.plantings.push(Planting {
            crop: key.to_owned(),
            preparation: Preparation::Usual,
            lowest_edible: None,
            extra: std::collections::BTreeMap::new(),
        });
    });
}
