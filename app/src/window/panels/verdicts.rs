//! May this water be used: one row for each crop and each way the water comes, gravest first.

use aubergine_core::contact::Ruling;
use aubergine_core::drawing::{Footing, Role, Symbol};
use aubergine_core::ids::Id;
use aubergine_core::text;
use eframe::egui::{self, Button, Label, RichText, Ui, UiBuilder, WidgetInfo};

use super::verdict_card;
use crate::window::action::Action;
use crate::window::app::App;
use crate::window::command::Command;
use crate::window::theme;
use crate::window::widgets;

/// Rulings on what is planted, gravest first; rulings of one word in the order of the plan.
fn rulings(app: &App, is_wanted: impl Fn(&Ruling) -> bool) -> Vec<&Ruling> {
    let judged = app.analysis().contact.values();
    let mut found: Vec<&Ruling> = judged
        .flat_map(|judged| &judged.rulings)
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

/// The rows of one planted place, at the head of its panel, each with what is behind it.
pub(super) fn of_one(ui: &mut Ui, app: &App, id: Id) {
    let rulings = rulings(app, |ruling| ruling.subject == id);
    if rulings.is_empty() {
        return;
    }
    widgets::group(ui, text::get("window.verdicts"));
    let behind = app.evidence(id);
    for (place, ruling) in rulings.into_iter().enumerate() {
        let words = words("window.verdict_by", ruling);
        let salt = egui::Id::unique(("why", id.to_string(), &ruling.name, place));
        // The gravest is open where something stands against it.
        let is_open = ui.data(|data| data.get_temp(salt));
        let is_open = is_open.unwrap_or(place == 0 && !ruling.verdict.allows());
        row(ui, ruling, |ui| {
            ui.vertical(|ui| {
                let bold = RichText::new(&words).font(theme::type_of(13.5, true));
                ui.add(Label::new(bold).wrap());
                let why = text::get(if is_open { "card.less" } else { "card.why" });
                let why = RichText::new(why).size(12.0);
                let button = ui.add(Button::selectable(is_open, why).small());
                button.widget_info(|| {
                    let name = text::fill("card.why_name", [("what", words.clone())]);
                    WidgetInfo::selected(egui::Role::Button, true, is_open, name)
                });
                if button.clicked() {
                    ui.data_mut(|data| data.insert_temp(salt, !is_open));
                }
            });
        });
        if is_open {
            let found = behind.iter().find(|(of, _)| of == ruling);
            let scope = UiBuilder::new().scope_id(salt.with("card"));
            ui.scope_builder(scope, |ui| {
                verdict_card::show(ui, app, ruling, found.map(|(_, behind)| behind));
            });
        }
    }
    let other = ui.button(text::get("card.other_crops"));
    if other.clicked() {
        app.queue().push(Action::Run(Command::Crops));
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
