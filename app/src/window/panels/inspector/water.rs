//! Where a water comes in, and what is known about it: facts that a person states, with who said so.

use std::sync::Arc;

use aubergine_core::ids::Id;
use aubergine_core::model::{Object, Supply, Water};
use aubergine_core::rulebook::UNKNOWN_CLASS;
use eframe::egui::{ComboBox, Ui};

use super::{change, flow, place, pressure};
use crate::window::action::Action;
use crate::window::app::App;
use crate::window::panels::describe;
use crate::window::widgets;

pub(super) fn supply(ui: &mut Ui, app: &App, id: Id, supply: &Arc<Supply>) {
    place(ui, app, id, supply.at);
    let units = app.view.units;
    if let Some(water) = app.plan().objects.waters.get(&supply.water) {
        let words = format!(
            "{}, class {}",
            describe::water_word(water.kind),
            water.class
        );
        widgets::row(ui, "Water", |ui| {
            if ui.link(words).clicked() {
                app.queue().push(Action::Select {
                    id: supply.water,
                    add: false,
                    show: false,
                });
            }
        });
    }
    widgets::group(ui, "What the gauge showed");
    let set = |words: &str, with: &mut dyn FnMut(&mut Supply)| {
        change(
            app,
            id,
            format!("{words} of {id}"),
            supply,
            Object::Supply,
            with,
        );
    };
    if let Some(at_rest) = pressure(ui, app, "rest", "At rest", Some(supply.at_rest)) {
        set("Pressure at rest", &mut |supply| supply.at_rest = at_rest);
    }
    if let Some(residual) = pressure(ui, app, "residual", "While it ran", Some(supply.residual)) {
        set("Residual pressure", &mut |supply| {
            supply.residual = residual;
        });
    }
    if let Some(flow) = flow(ui, app, "test flow", "Flow then", supply.test_flow) {
        set("Flow of the test", &mut |supply| supply.test_flow = flow);
    }
    if let Some(low) = pressure(ui, app, "low", "Lowest at rest", supply.low) {
        set("Lowest pressure", &mut |supply| supply.low = Some(low));
    }
    if let Some(high) = pressure(ui, app, "high", "Highest at rest", supply.high) {
        set("Highest pressure", &mut |supply| supply.high = Some(high));
    }
    if let Some(limit) = supply.limit {
        widgets::fact(ui, "May draw", &units.flow(limit));
    }
    if let Some(name) = widgets::field(ui, "read by", "Read by", &supply.read_by) {
        set("Reader of the gauge", &mut |supply| {
            supply.read_by.clone_from(&name);
        });
    }
    if supply.read_by.is_empty() {
        widgets::hint(
            ui,
            "Nobody is named who read the gauge: the figures are assumed.",
        );
    }
}

pub(super) fn water(ui: &mut Ui, app: &App, id: Id, water: &Arc<Water>) {
    widgets::fact(ui, "Kind", describe::water_word(water.kind));
    let mut classes: Vec<(String, String)> =
        vec![(UNKNOWN_CLASS.to_owned(), "not known".to_owned())];
    for class in app
        .plan()
        .rules
        .books_in_force()
        .flat_map(|book| &book.water_classes)
    {
        if classes.iter().all(|(known, _)| *known != class.id) {
            classes.push((class.id.clone(), class.label.clone()));
        }
    }
    let known = classes.iter().find(|(key, _)| *key == water.class);
    let shown = known.map_or(water.class.as_str(), |(_, words)| words.as_str());
    widgets::row(ui, "Class", |ui| {
        let combo = ComboBox::from_id_salt("class")
            .selected_text(shown)
            .width(ui.available_width() - 4.0);
        let response = combo.show_ui(ui, |ui| {
            for (key, words) in &classes {
                if ui.selectable_label(*key == water.class, words).clicked() {
                    change(
                        app,
                        id,
                        format!("State the class of {id}"),
                        water,
                        Object::Water,
                        |water| {
                            water.class.clone_from(key);
                        },
                    );
                }
            }
        });
        response.response.accessible_name(format!("Class: {shown}"));
    });
    if let Some(name) = widgets::field(ui, "stated by", "Stated by", &water.class_stated_by) {
        change(
            app,
            id,
            format!("Say who stated the class of {id}"),
            water,
            Object::Water,
            |water| {
                water.class_stated_by = name;
            },
        );
    }
    if let Some(name) = widgets::field(ui, "supplier", "Supplier", &water.supplier) {
        change(
            app,
            id,
            format!("Name the supplier of {id}"),
            water,
            Object::Water,
            |water| {
                water.supplier = name;
            },
        );
    }
    widgets::hint(
        ui,
        "The class is what the supplier wrote, never guessed from colour or place.",
    );
}
