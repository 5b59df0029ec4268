//! What is behind one verdict: the rule and how we know it, what on the drawing brings it about, what would change it.

use aubergine_core::analysis::evidence::Evidence;
use aubergine_core::contact::{Fact, Match, Ruling};
use aubergine_core::report::{change_in_words, ruled};
use aubergine_core::text;
use eframe::egui::{self, Button, Label, RichText, Ui};

use crate::window::action::Action;
use crate::window::app::App;
use crate::window::theme;
use crate::window::widgets;

pub(super) fn show(ui: &mut Ui, app: &App, ruling: &Ruling, behind: Option<&Evidence>) {
    widgets::card(ui, "rule", |ui| {
        ui.spacing_mut().item_spacing.y = 3.0;
        contents(ui, app, ruling, behind);
    });
    ui.add_space(4.0);
}

/// Why the word is what it is: what it depends on, the row, and what is not known.
pub(super) struct Why<'a> {
    pub(super) conditions: &'a [String],
    pub(super) decided_by: &'a Match,
    pub(super) cautious_reading: bool,
    pub(super) missing: &'a [Fact],
}

pub(super) fn why(ui: &mut Ui, why: &Why<'_>) {
    if !why.conditions.is_empty() {
        let conditions = ("conditions", in_words(why.conditions));
        sentence(ui, text::fill("card.conditions", [conditions]));
    }
    sentence(ui, text::get(&why.decided_by.message).to_owned());
    widgets::hint(ui, ruled(&why.decided_by.citation));
    if why.cautious_reading {
        sentence(ui, text::get("card.reading").to_owned());
    }
    if !why.missing.is_empty() {
        let facts: Vec<&str> = why
            .missing
            .iter()
            .map(|fact| text::get(fact.key()))
            .collect();
        let facts = ("facts", facts.join("; "));
        sentence(ui, text::fill("card.depends", [facts]));
    }
}

/// Whom to ask.
pub(super) fn ask(ui: &mut Ui, whom: &str) {
    sentence(ui, text::fill("card.ask", [("ask", whom.to_owned())]));
}

fn contents(ui: &mut Ui, app: &App, ruling: &Ruling, behind: Option<&Evidence>) {
    let reasons = Why {
        conditions: &ruling.conditions,
        decided_by: &ruling.decided_by,
        cautious_reading: ruling.cautious_reading,
        missing: &ruling.missing,
    };
    why(ui, &reasons);
    if let Some(behind) = behind {
        causes(ui, app, behind);
        changes(ui, app, behind);
    }
    // Of the rows that bind, the strictest decides; the others are shown with their own words.
    others(ui, "card.also", &ruling.also);
    others(ui, "card.advice", &ruling.advisory);
    ui.add_space(2.0);
    ask(ui, &ruling.ask);
}

fn causes(ui: &mut Ui, app: &App, behind: &Evidence) {
    if behind.causes.is_empty() {
        return;
    }
    head(ui, "card.causes");
    for (place, cause) in behind.causes.iter().enumerate() {
        let scope = egui::UiBuilder::new().scope_id(egui::Id::unique(("cause", place)));
        ui.scope_builder(scope, |ui| {
            let words = cause.message.sentence(app.view.units);
            let button = ui.add(Button::new(words).frame(false).wrap());
            if button.clicked() {
                app.queue().push(Action::Select {
                    id: cause.subject,
                    add: false,
                    show: true,
                });
            }
        });
    }
}

fn changes(ui: &mut Ui, app: &App, behind: &Evidence) {
    if behind.changes.is_empty() {
        return;
    }
    head(ui, "card.changes");
    for change in &behind.changes {
        sentence(ui, change_in_words(change, app.view.units));
    }
}

fn others(ui: &mut Ui, title: &str, rows: &[Match]) {
    if rows.is_empty() {
        return;
    }
    head(ui, title);
    for row in rows {
        let verdict = ("verdict", text::get(row.verdict.key()).to_owned());
        let why = ("why", text::get(&row.message).to_owned());
        sentence(ui, text::fill("card.other", [verdict, why]));
        widgets::hint(ui, ruled(&row.citation));
    }
}

fn head(ui: &mut Ui, key: &str) {
    ui.add_space(4.0);
    ui.label(RichText::new(text::get(key)).font(theme::type_of(12.5, true)));
}

fn sentence(ui: &mut Ui, words: String) {
    ui.add(Label::new(words).wrap());
}

fn in_words(keys: &[String]) -> String {
    let words: Vec<&str> = keys.iter().map(|key| text::get(key)).collect();
    words.join("; ")
}
