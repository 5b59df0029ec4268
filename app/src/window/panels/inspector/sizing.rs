//! Pipe sizes of least cost: asked for, shown with their numbers, applied with one click.

use aubergine_core::ids::Id;
use aubergine_core::report::sizing_words;
use aubergine_core::text;
use eframe::egui::{self, RichText, Ui};

use crate::window::action::Action;
use crate::window::app::App;
use crate::window::theme;
use crate::window::widgets;

/// For one zone, or for the whole plan.
pub(super) fn show(ui: &mut Ui, app: &App, zone: Option<Id>) {
    if app.plan().objects.zones.is_empty() {
        return;
    }
    widgets::group(ui, text::get("size.title"));
    let units = app.view.units;
    match app.sizes_of(zone) {
        None => ask(ui, app, zone),
        Some(Err(why)) => widgets::problem(ui, &why.message().sentence(units)),
        Some(Ok(sizing)) => {
            let words = sizing_words(app.plan(), sizing, units);
            line(
                ui,
                RichText::new(&words.cost).font(theme::type_of(14.0, true)),
            );
            widgets::hint(ui, words.price_note);
            if let Some(edit) = &sizing.edit {
                ui.add_space(6.0);
                if ui.button(text::get("size.apply")).clicked() {
                    app.queue().push(Action::Edit {
                        label: text::get("size.step").to_owned(),
                        edit: edit.clone(),
                    });
                }
            }
            ui.add_space(6.0);
            for change in &words.changes {
                line(ui, RichText::new(change));
            }
            if !words.changes.is_empty() && !words.stays.is_empty() {
                let count = words.stays.len().to_string();
                widgets::hint(ui, text::fill("size.stays", [("count", count)]));
            }
            ui.add_space(4.0);
            line(
                ui,
                RichText::new(text::get("size.what_binds")).font(theme::type_of(13.0, true)),
            );
            for bound in &words.bounds {
                line(ui, RichText::new(bound).size(13.0));
            }
            ui.add_space(4.0);
            for proof in &words.proof {
                widgets::hint(ui, proof);
            }
        }
    }
}

fn ask(ui: &mut Ui, app: &App, zone: Option<Id>) {
    let words = match zone {
        Some(zone) => text::fill("size.button_zone", [("zone", zone.to_string())]),
        None => text::get("size.button_plan").to_owned(),
    };
    if ui.button(words).clicked() {
        app.queue().push(Action::Size(zone));
    }
    widgets::hint(ui, text::get("size.hint"));
}

fn line(ui: &mut Ui, words: RichText) {
    ui.add(egui::Label::new(words).wrap());
}
