//! Where a water comes in, and what is known about it: facts that a person states, with who said so.

use std::sync::Arc;

use aubergine_core::ids::Id;
use aubergine_core::model::{Object, Supply, Water, WaterKind};
use aubergine_core::rulebook::{GENERIC, Rulebook, UNKNOWN_CLASS, built_in_book};
use aubergine_core::text;
use eframe::egui::Ui;

use super::{change, flow, place, pressure};
use crate::window::action::Action;
use crate::window::app::App;
use crate::window::command::Command;
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
    let edit = |label: String, with: &mut dyn FnMut(&mut Water)| {
        change(app, id, label, water, Object::Water, with);
    };
    let rules = &app.plan().rules;
    let (binding, advising): (Vec<&Rulebook>, Vec<&Rulebook>) =
        rules.books_in_force().partition(|book| book.binding);
    let label = format!("State the class of {id}");
    if let Some(class) = class_choice(ui, text::get("water.class"), &water.class, &binding) {
        edit(label.clone(), &mut |water| water.class.clone_from(&class));
    }
    // A guideline sorts waters its own way: what it would call this one is a fact of its own.
    for book in advising
        .iter()
        .filter(|book| !book.water_classes.is_empty())
    {
        let now = water.class_by_book.get(&book.id);
        let now = now.map_or(UNKNOWN_CLASS, String::as_str);
        let words = text::fill("water.class_by", [("place", book.jurisdiction.clone())]);
        if let Some(class) = class_choice(ui, &words, now, &[book]) {
            edit(label.clone(), &mut |water| {
                if class == UNKNOWN_CLASS {
                    water.class_by_book.remove(&book.id);
                } else {
                    water.class_by_book.insert(book.id.clone(), class.clone());
                }
            });
        }
    }
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
    if water.kind != WaterKind::Potable {
        let entry = Command::Letter.entry();
        if ui.button(entry.label).on_hover_text(entry.hint).clicked() {
            app.queue().push(Action::Run(Command::Letter));
        }
    }
    widgets::hint(
        ui,
        "The class is what the supplier wrote, never guessed from colour or place.",
    );
}

/// A choice among the classes of some books, or of the default book where there is none.
fn class_choice(ui: &mut Ui, label: &str, now: &str, books: &[&Rulebook]) -> Option<String> {
    let mut classes = vec![(UNKNOWN_CLASS, text::get("water.class_unknown"))];
    let default = books.is_empty().then(|| built_in_book(GENERIC)).flatten();
    let books = books.iter().copied().chain(default);
    for class in books.flat_map(|book| &book.water_classes) {
        if classes.iter().all(|(known, _)| *known != class.id) {
            classes.push((&class.id, &class.label));
        }
    }
    // A class that no book knows is shown as it was written.
    if classes.iter().all(|(known, _)| *known != now) {
        classes.push((now, now));
    }
    let chosen = widgets::choice(ui, ("class", label), label, now, &classes);
    chosen.map(str::to_owned)
}
