//! The selected object: its fields to change, and what is known about it.

mod bed;
mod crops;
mod heads;
mod level;
mod network;
mod plan;
mod premises;
mod read_offs;
mod results;
mod sizing;
mod water;
mod yard;

use std::sync::Arc;

use aubergine_core::edit::Edit;
use aubergine_core::geometry::{PlanPoint, PlanVector, Polygon};
use aubergine_core::ids::Id;
use aubergine_core::model::Object;
use aubergine_core::units::{Flow, Length, Pressure, UnitSystem, entry};
use eframe::egui::{self, RichText, Ui, UiBuilder};

use super::{chart, describe, margin, verdicts};
use crate::window::action::Action;
use crate::window::app::App;
use crate::window::command::Command;
use crate::window::theme;
use crate::window::widgets;

/// The tab of the selected object.
pub(super) fn show(ui: &mut Ui, app: &App) {
    match app.selection().len() {
        0 => plan::show(ui, app),
        1 => {
            if let Some(id) = app.selected_one() {
                let scope =
                    UiBuilder::new().scope_id(egui::Id::unique(("inspector", id.to_string())));
                ui.scope_builder(scope, |ui| one(ui, app, id));
            }
        }
        count => {
            ui.label(RichText::new(format!("{count} objects")).font(theme::type_of(17.0, true)));
            for id in app.selection().iter().take(40) {
                ui.label(app.words(*id));
            }
            delete(ui, app);
        }
    }
}

fn delete(ui: &mut Ui, app: &App) {
    ui.add_space(12.0);
    if ui.button("Delete").on_hover_text("Del").clicked() {
        app.queue().push(Action::Run(Command::Delete));
    }
}

fn one(ui: &mut Ui, app: &App, id: Id) {
    let Some(object) = app.plan().objects.get(id) else {
        return;
    };
    let head = format!("{} {id}", describe::kind_word(app.plan(), id));
    ui.label(RichText::new(head).font(theme::type_of(17.0, true)));
    verdicts::of_one(ui, app, id);
    label(ui, app, id, &object);
    match &object {
        Object::Bed(bed) => bed::show(ui, app, id, bed),
        Object::Pipe(pipe) => network::pipe(ui, app, id, pipe),
        Object::Line(line) => network::line(ui, app, id, line),
        Object::Device(device) => network::device(ui, app, id, device),
        Object::Emission(emission) => network::emission(ui, app, id, emission),
        Object::Outlet(outlet) => network::outlet(ui, app, id, outlet),
        Object::Supply(supply) => water::supply(ui, app, id, supply),
        Object::Water(water) => water::water(ui, app, id, water),
        Object::Tree(tree) => yard::tree(ui, app, id, tree),
        Object::Sign(sign) => yard::sign(ui, app, id, sign),
        Object::Mark(mark) => yard::mark(ui, app, id, mark),
        Object::Height(height) => level::height(ui, app, id, height),
        Object::Box(valve_box) => place(ui, app, id, valve_box.at),
        Object::Zone(_) => results::zone(ui, app, id),
        Object::Feature(feature) => yard::feature(ui, app, id, feature),
        Object::Crossing(_) => {}
    }
    chart::show(ui, app, id);
    margin::show(ui, app, id);
    results::findings(ui, app, id);
    delete(ui, app);
}

fn label(ui: &mut Ui, app: &App, id: Id, object: &Object) {
    if let Some(typed) = widgets::field(ui, "label", "Name", &object.meta().label) {
        let mut changed = object.clone();
        changed.meta_mut().label = typed;
        put(app, id, format!("Name {id}"), changed);
    }
}

/// Queues a changed object as one step.
fn put(app: &App, id: Id, label: String, object: Object) {
    app.queue().push(Action::Edit {
        label,
        edit: Edit::Put { id, object },
    });
}

/// Queues a changed copy of a shared object as one step.
fn change<T: Clone>(
    app: &App,
    id: Id,
    label: String,
    object: &Arc<T>,
    wrap: fn(Arc<T>) -> Object,
    with: impl FnOnce(&mut T),
) {
    let mut changed = Arc::clone(object);
    with(Arc::make_mut(&mut changed));
    put(app, id, label, wrap(changed));
}

/// Place fields; a typed place moves the object, and what hangs on it follows.
fn place(ui: &mut Ui, app: &App, id: Id, at: PlanPoint) {
    let units = app.view.units;
    let both = [("From left", at.x, true), ("From below", at.y, false)];
    for (words, value, is_x) in both {
        let shown = units.length(Length::from_metres(value));
        if let Some(length) = length(ui, app, words, words, &shown) {
            let by = length.metres() - value;
            let by = if is_x {
                PlanVector::new(by, 0.0)
            } else {
                PlanVector::new(0.0, by)
            };
            app.queue().push(Action::Edit {
                label: format!("Move {id}"),
                edit: Edit::Move { ids: vec![id], by },
            });
        }
    }
}

/// Fields for how far an outline reaches across and up; a typed size stretches it from its lower left corner.
fn outline_size(ui: &mut Ui, app: &App, outline: &Polygon) -> Option<Polygon> {
    let (left, right) = outline.span(PlanVector::new(1.0, 0.0));
    let (low, high) = outline.span(PlanVector::new(0.0, 1.0));
    let mut changed = None;
    let sides = [("Width", right - left, true), ("Depth", high - low, false)];
    for (words, value, is_x) in sides {
        let shown = app.view.units.length(Length::from_metres(value));
        let Some(typed) = length(ui, app, words, words, &shown) else {
            continue;
        };
        if typed > Length::ZERO && value > 0.0 {
            let by = typed.metres() / value;
            let (by_x, by_y) = if is_x { (by, 1.0) } else { (1.0, by) };
            let corners = outline.0.iter().map(|corner| {
                PlanPoint::new(
                    left + (corner.x - left) * by_x,
                    low + (corner.y - low) * by_y,
                )
            });
            changed = Some(Polygon(corners.collect()));
        }
    }
    changed
}

/// A field for a length; what cannot be read is said and changes nothing.
fn length(ui: &mut Ui, app: &App, salt: &str, words: &str, shown: &str) -> Option<Length> {
    read_length(ui, app, (salt, words, shown), entry::length)
}

/// A field for a length that is read in its own way.
fn read_length(
    ui: &mut Ui,
    app: &App,
    (salt, words, shown): (&str, &str, &str),
    read: fn(&str, UnitSystem) -> Result<Length, entry::NotALength>,
) -> Option<Length> {
    let read = |text: &str| read(text, app.view.units).map_err(|error| error.to_string());
    typed(ui, salt, words, shown, read)
}

/// A field for a pressure; what cannot be read is said and changes nothing.
fn pressure(
    ui: &mut Ui,
    app: &App,
    salt: &str,
    words: &str,
    now: Option<Pressure>,
) -> Option<Pressure> {
    let units = app.view.units;
    let shown = now.map_or_else(String::new, |now| units.pressure(now));
    let read = |text: &str| entry::pressure(text, units).map_err(|error| error.to_string());
    typed(ui, salt, words, &shown, read)
}

/// A field for a flow.
fn flow(ui: &mut Ui, app: &App, salt: &str, words: &str, now: Flow) -> Option<Flow> {
    let units = app.view.units;
    let read = |text: &str| entry::flow(text, units).map_err(|error| error.to_string());
    typed(ui, salt, words, &units.flow(now), read)
}

/// A field whose text is read; what cannot be read is said beneath it.
fn typed<T>(
    ui: &mut Ui,
    salt: &str,
    words: &str,
    shown: &str,
    read: impl FnOnce(&str) -> Result<T, String>,
) -> Option<T> {
    let typed = widgets::field(ui, salt.to_owned(), words, shown);
    let memory = ui.scope_id().with(("unread", salt));
    if let Some(text) = typed {
        match read(&text) {
            Ok(value) => {
                ui.data_mut(|data| data.remove::<String>(memory));
                return Some(value);
            }
            Err(problem) => {
                ui.data_mut(|data| data.insert_temp(memory, problem));
            }
        }
    }
    if let Some(unread) = ui.data(|data| data.get_temp::<String>(memory)) {
        widgets::problem(ui, &unread);
    }
    None
}
