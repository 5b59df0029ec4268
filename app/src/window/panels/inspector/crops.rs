//! The crops of a bed or a tree: what grows there, how it is eaten, and a list to plant from.

use std::sync::Arc;

use aubergine_core::catalog::{Catalog, Crop};
use aubergine_core::ids::Id;
use aubergine_core::model::{Bed, Object, Placement, Planting, Preparation, Tree};
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

/// What a person does to a crop that is planted.
enum Change {
    /// Says how it is eaten.
    Eaten(Preparation),
    /// States whether water of a buried line stays below.
    Dry(bool),
    /// Takes it out.
    Out,
}

/// Whether a buried line waters a bed or tree.
fn is_over_buried_line(app: &App, id: Id) -> bool {
    let objects = &app.plan().objects;
    let fill = objects.beds.get(&id).and_then(|bed| bed.fill.as_ref());
    let mut lines = objects.lines.values();
    fill.is_some_and(|fill| fill.placement == Placement::Buried)
        || lines.any(|line| line.placement == Placement::Buried && line.serves.contains(&id))
}

/// The crops of a bed.
pub(super) fn of_bed(ui: &mut Ui, app: &App, id: Id, bed: &Arc<Bed>) {
    let edit = |label: String, with: &mut dyn FnMut(&mut Bed)| {
        change(app, id, label, bed, Object::Bed, with);
    };
    for (index, planting) in bed.plantings.iter().enumerate() {
        let name = describe::crop_name(app.plan(), &planting.crop);
        match planted(ui, app, id, name, planting) {
            Some(Change::Dry(dry)) => edit(format!("State how wet {id} gets"), &mut |bed| {
                if let Some(planting) = bed.plantings.get_mut(index) {
                    planting.surface_stays_dry = dry;
                }
            }),
            Some(Change::Eaten(how)) => edit(format!("Say how {name} is eaten"), &mut |bed| {
                if let Some(planting) = bed.plantings.get_mut(index) {
                    planting.preparation = how;
                }
            }),
            Some(Change::Out) => edit(format!("Take {name} out of {id}"), &mut |bed| {
                bed.plantings.remove(index);
            }),
            None => {}
        }
    }
    if let Some((key, name)) = add_crop(ui, &bed.plantings) {
        edit(format!("Plant {name} in {id}"), &mut |bed| {
            bed.plantings.push(fresh(key));
        });
    }
}

/// What is eaten of a tree: one crop, or nothing.
pub(super) fn of_tree(ui: &mut Ui, app: &App, id: Id, tree: &Arc<Tree>) {
    let edit = |label: String, planting: Option<Planting>| {
        change(app, id, label, tree, Object::Tree, |tree| {
            tree.planting = planting;
        });
    };
    let Some(planting) = &tree.planting else {
        widgets::hint(ui, text::get("window.no_fruit"));
        if let Some((key, name)) = add_crop(ui, &[]) {
            edit(format!("Plant {name} as {id}"), Some(fresh(key)));
        }
        return;
    };
    let name = describe::crop_name(app.plan(), &planting.crop);
    match planted(ui, app, id, name, planting) {
        Some(Change::Dry(surface_stays_dry)) => {
            let planting = Planting {
                surface_stays_dry,
                ..planting.clone()
            };
            edit(format!("State how wet {id} gets"), Some(planting));
        }
        Some(Change::Eaten(preparation)) => {
            let planting = Planting {
                preparation,
                ..planting.clone()
            };
            edit(format!("Say how {name} is eaten"), Some(planting));
        }
        Some(Change::Out) => edit(format!("Say that nothing of {id} is eaten"), None),
        None => {}
    }
}

fn fresh(crop: &str) -> Planting {
    Planting {
        crop: crop.to_owned(),
        preparation: Preparation::Usual,
        lowest_edible: None,
        surface_stays_dry: false,
        extra: std::collections::BTreeMap::new(),
    }
}

/// One crop in a row: its name, how it is eaten, and the button that takes it out; below it what a buried line does.
fn planted(ui: &mut Ui, app: &App, id: Id, name: &str, planting: &Planting) -> Option<Change> {
    let scope = egui::Id::unique(("crop", id.to_string(), &planting.crop));
    let row = |ui: &mut Ui| {
        let mut done = None;
        let width = ui.available_width() - 178.0;
        ui.allocate_ui(egui::vec2(width, 24.0), |ui| {
            ui.set_width(width);
            ui.add(egui::Label::new(name).wrap());
        });
        let now = planting.preparation;
        let word = PREPARATIONS
            .iter()
            .find(|(value, _)| *value == now)
            .map_or("", |(_, word)| *word);
        let combo = ComboBox::from_id_salt("preparation")
            .selected_text(word)
            .width(120.0);
        let shown = combo.show_ui(ui, |ui| {
            for (value, word) in PREPARATIONS {
                if ui.selectable_label(value == now, word).clicked() {
                    done = Some(Change::Eaten(value));
                }
            }
        });
        let words = format!("How {name} is eaten: {word}");
        shown.response.accessible_name(words);
        let out = ui.button("×").accessible_name(format!("Take {name} out"));
        if out.clicked() {
            done = Some(Change::Out);
        }
        done
    };
    let scoped = ui.scope_builder(UiBuilder::new().scope_id(scope), |ui| {
        let done = ui.horizontal(row).inner;
        let mut dry = planting.surface_stays_dry;
        let is_told = (dry || is_over_buried_line(app, id))
            && ui
                .checkbox(&mut dry, text::get("window.surface_stays_dry"))
                .changed();
        done.or(is_told.then_some(Change::Dry(dry)))
    });
    scoped.inner
}

/// What was typed to find a crop, and which of the crops found Enter plants.
#[derive(Clone, Default)]
struct Search {
    words: String,
    chosen: usize,
}

/// The list to plant from. Its field has the keyboard as long as the list is open.
fn add_crop(ui: &mut Ui, known: &[Planting]) -> Option<(&'static str, &'static str)> {
    let memory = egui::Id::unique("search for a crop");
    let combo = ComboBox::from_id_salt("add crop")
        .selected_text(format!("{}…", text::get("window.add_crop")))
        .width(ui.available_width() - 8.0)
        .height(400.0)
        .close_behavior(PopupCloseBehavior::CloseOnClickOutside);
    let shown = combo.show_ui(ui, |ui| {
        let mut search: Search = ui.data(|data| data.get_temp(memory)).unwrap_or_default();
        let chosen = found(ui, known, &mut search);
        ui.data_mut(|data| data.insert_temp(memory, search));
        if chosen.is_some() {
            ui.close();
        }
        chosen
    });
    if shown.inner.is_none() {
        ui.data_mut(|data| data.remove::<Search>(memory));
    }
    shown.response.accessible_name(text::get("window.add_crop"));
    shown.inner.flatten()
}

/// Field and crops found; the key and name of the crop that was chosen.
fn found(
    ui: &mut Ui,
    known: &[Planting],
    search: &mut Search,
) -> Option<(&'static str, &'static str)> {
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
    let crops = matching(known, search.words.trim());
    if crops.is_empty() {
        widgets::hint(ui, text::get("window.no_crop"));
        return None;
    }
    search.chosen = (search.chosen + down)
        .saturating_sub(up)
        .min(crops.len() - 1);
    let mut chosen = None;
    ScrollArea::vertical().max_height(300.0).show(ui, |ui| {
        for (index, (key, crop)) in crops.iter().enumerate() {
            let is_chosen = index == search.chosen;
            let response = ui.selectable_label(is_chosen, in_list(crop, &search.words));
            if is_chosen && (down + up > 0) {
                response.scroll_to_me(None);
            }
            if response.clicked() || (is_chosen && is_entered) {
                chosen = Some((*key, crop.name.as_str()));
            }
        }
    });
    chosen
}

/// Its name, with the other one it was found by.
fn in_list(crop: &Crop, words: &str) -> String {
    let wanted = words.trim().to_lowercase();
    let holds = |name: &&String| name.to_lowercase().contains(&wanted);
    match crop.also.iter().find(holds) {
        Some(other) if !holds(&&crop.name) => format!("{} ({other})", crop.name),
        _ => crop.name.clone(),
    }
}

/// Crops of the catalog that are not planted yet and one of whose names holds the words; those that begin with them first.
fn matching(known: &[Planting], words: &str) -> Vec<(&'static str, &'static Crop)> {
    let is_known = |key: &str| known.iter().any(|planting| planting.crop == key);
    let rows = Catalog::built_in().crops.iter();
    let mut crops: Vec<_> = rows
        .filter(|(key, _)| !is_known(key))
        .filter_map(|(key, crop)| Some((crop.named_by(words)?, key.as_str(), crop.as_ref())))
        .collect();
    crops.sort_by_key(|(rank, ..)| *rank);
    crops
        .into_iter()
        .map(|(_, key, crop)| (key, crop))
        .collect()
}
