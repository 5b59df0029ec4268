//! May this water be used: one row for each crop and each way the water comes, gravest first.

use aubergine_core::contact::Ruling;
use aubergine_core::drawing::{Footing, Role, Symbol};
use aubergine_core::ids::Id;
use aubergine_core::text;
use eframe::egui::{self, Button, Label, RichText, Ui, UiBuilder};

use crate::window::action::Action;
use crate::window::app::App;
use crate::window::theme;
use crate::window::widgets;

/// Rulings on what is planted, gravest first; rulings of one word in the order of the plan.
fn rulings(app: &App, is_wanted: impl Fn(&Ruling) -> bool) -> Vec<&Ruling> {
    let judged = app.analysis().contact.values();
    let mut found: Vec<&Ruling> = judged
        .flat_map(|judged| &judged.output.rulings)
        .filter(|ruling| is_wanted(ruling))
        .collect();
    found.sort_by_key(|ruling| (std::cmp::Reverse(ruling.verdict), ruling.subject));
    found
}

/// A ruling in words.
fn words(key: &str, ruling: &Ruling) -> String {
    let values = [
        ("crop", text::get(&ruling.name).to_owned()),
        ("id", ruling.subject.to_string()),
        ("method", text::get(ruling.method.key()).to_owned()),
        ("verdict", text::get(ruling.verdict.key()).to_owned()),
    ];
    text::fill(key, values)
}

/// The rows of one planted place, at the head of its panel.
pub(super) fn of_one(ui: &mut Ui, app: &App, id: Id) {
    let rulings = rulings(app, |ruling| ruling.subject == id);
    if rulings.is_empty() {
        return;
    }
    widgets::group(ui, text::get("window.verdicts"));
    for ruling in rulings {
        let words = words("window.verdict_by", ruling);
        row(ui, ruling, |ui| {
            let words = RichText::new(words).font(theme::type_of(13.5, true));
            ui.add(Label::new(words).wrap());
        });
    }
}

/// The rows of the whole plan that hold the words, each leading to its place.
pub(super) fn of_all(ui: &mut Ui, app: &App, wanted: &str) {
    let rows: Vec<(&Ruling, String)> = rulings(app, |_| true)
        .into_iter()
        .map(|ruling| (ruling, words("window.verdict_row", ruling)))
        .filter(|(_, words)| wanted.is_empty() || words.to_lowercase().contains(wanted))
        .collect();
    if rows.is_empty() {
        return;
    }
    widgets::group(ui, text::get("window.verdicts"));
    for (index, (ruling, words)) in rows.into_iter().enumerate() {
        let scope = UiBuilder::new().scope_id(egui::Id::unique(("row of a verdict", index)));
        ui.scope_builder(scope, |ui| {
            row(ui, ruling, |ui| {
                if ui.add(Button::new(words).frame(false).wrap()).clicked() {
                    app.queue().push(Action::Select {
                        id: ruling.subject,
                        add: false,
                        show: true,
                    });
                }
            });
        });
    }
}

fn row(ui: &mut Ui, ruling: &Ruling, contents: impl FnOnce(&mut Ui)) {
    let verdict = ruling.verdict;
    ui.horizontal_top(|ui| {
        widgets::symbol(
            ui,
            Symbol::Verdict(verdict),
            Role::Verdict(verdict, Footing::Stated),
            20.0,
        );
        contents(ui);
    });
}
