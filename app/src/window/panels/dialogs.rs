//! Questions over the window: unsaved changes, typed paths, a new note, the keys.

use aubergine_core::geometry::PlanPoint;
use aubergine_core::ids::Id;
use aubergine_core::text;
use eframe::egui::{self, Key, Modal, RichText, ScrollArea, TextEdit, Ui};

use super::{crop_matrix, settle, words, working};
use crate::window::action::Action;
use crate::window::app::App;
use crate::window::command::{Keys, TABLE};
use crate::window::export;
use crate::window::state::{Dialog, Next};
use crate::window::theme;
use crate::window::widgets;

/// The question that is open, if there is one.
pub(in crate::window) fn dialogs(ui: &Ui, app: &App) {
    let Some(dialog) = &app.view.dialog else {
        return;
    };
    let frame = egui::Frame::popup(ui.style()).inner_margin(20);
    let modal = Modal::new(egui::Id::unique("dialog")).frame(frame);
    let shown = modal.show(ui.ctx(), |ui| {
        ui.set_width(match dialog {
            Dialog::Crops => crop_matrix::WIDTH,
            Dialog::Keys | Dialog::Words | Dialog::Working { .. } => 620.0,
            _ => 480.0,
        });
        match dialog {
            Dialog::Unsaved(next) => unsaved(ui, app, next),
            Dialog::OpenPath(path) => typed(
                ui,
                app,
                "Open a plan",
                "Path of the plan file",
                "Open",
                path,
                None,
            ),
            Dialog::SavePath(path) => typed(
                ui,
                app,
                "Save the plan",
                "Path to write to",
                "Save",
                path,
                None,
            ),
            Dialog::ExportPath(path) => {
                let endings = ("endings", export::kinds_in_words(export::KINDS));
                let endings = text::fill("window.endings", [endings]);
                typed(
                    ui,
                    app,
                    "Export",
                    "Path to write to",
                    "Export",
                    path,
                    Some(&endings),
                );
            }
            Dialog::PaperPath(path) => typed(
                ui,
                app,
                "Print the summary",
                "Path to write to",
                "Write the PDF",
                path,
                Some(text::get("window.print_hint")),
            ),
            Dialog::LetterPath(path) => typed(
                ui,
                app,
                "Letter to the supplier",
                "Path to write to",
                "Write the letter",
                path,
                Some(text::get("window.letter_hint")),
            ),
            Dialog::RulesPath(path) => typed(
                ui,
                app,
                "Add local rules",
                "Path of the rules file",
                "Add",
                path,
                Some(text::get("window.rules_hint")),
            ),
            Dialog::Note { object, at } => note(ui, app, *object, *at),
            Dialog::Settle(finding) => settle::show(ui, app, finding),
            Dialog::Keys => keys(ui, app),
            Dialog::Words => words::show(ui, app),
            Dialog::Crops => crop_matrix::show(ui, app),
            Dialog::Working { of, number } => working::show(ui, app, of, *number),
        }
    });
    if shown.should_close() {
        app.queue().push(Action::CloseDialog);
    }
}

pub(super) fn head(ui: &mut Ui, words: &str) {
    ui.label(RichText::new(words).font(theme::type_of(17.0, true)));
    ui.add_space(6.0);
}

fn unsaved(ui: &mut Ui, app: &App, next: &Next) {
    head(ui, "The plan has changes that are not saved");
    let what = match next {
        Next::New => "A new plan takes its place.",
        Next::Sample(_) | Next::Choose | Next::TypePath | Next::Open(_) => {
            "Another plan takes its place."
        }
        Next::Quit => "The window closes.",
    };
    ui.label(format!(
        "{what} What was changed since the last save would be lost."
    ));
    ui.add_space(10.0);
    ui.horizontal(|ui| {
        // The careful choice is the one that Enter makes.
        let save = ui.add(egui::Button::selectable(true, "Save"));
        if ui.memory(|memory| memory.focused().is_none()) {
            save.request_focus();
        }
        if save.clicked() {
            app.queue().push(Action::SaveAndGoOn);
        }
        if ui.button("Go on without saving").clicked() {
            app.queue().push(Action::DiscardAndGoOn);
        }
        if ui.button("Stay here").clicked() {
            app.queue().push(Action::CloseDialog);
        }
    });
}

/// The way to a file where there is no file dialog.
fn typed(
    ui: &mut Ui,
    app: &App,
    title: &str,
    label: &str,
    verb: &str,
    path: &str,
    hint: Option<&str>,
) {
    head(ui, title);
    let salt = egui::Id::unique(("typed path", title));
    let mut text: String = ui
        .data(|data| data.get_temp(salt))
        .unwrap_or_else(|| path.to_owned());
    ui.label(label);
    let field = TextEdit::singleline(&mut text)
        .desired_width(f32::INFINITY)
        .id(salt.with("field"));
    let response = ui.add(field).accessible_name(label);
    if response.changed() {
        ui.data_mut(|data| data.insert_temp(salt, text.clone()));
    }
    let is_first = ui.memory(|memory| memory.focused().is_none());
    if is_first && !response.lost_focus() {
        response.request_focus();
    }
    let problem = app.view.notice.as_ref().filter(|notice| notice.is_problem);
    match (problem, hint) {
        (Some(notice), _) => widgets::problem(ui, &notice.text),
        (None, Some(hint)) => {
            widgets::hint(ui, hint);
        }
        (None, None) => {}
    }
    ui.add_space(10.0);
    let is_entered = response.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
    ui.horizontal(|ui| {
        if ui.button(verb).clicked() || is_entered {
            ui.data_mut(|data| data.remove::<String>(salt));
            app.queue().push(Action::TypedPath(text.clone()));
        }
        if ui.button("Cancel").clicked() {
            ui.data_mut(|data| data.remove::<String>(salt));
            app.queue().push(Action::CloseDialog);
        }
    });
}

fn note(ui: &mut Ui, app: &App, object: Option<Id>, at: Option<PlanPoint>) {
    head(
        ui,
        &object.map_or_else(
            || "A review pin on a place".to_owned(),
            |id| format!("A review pin on {id}"),
        ),
    );
    let salt = egui::Id::unique("draft of a note");
    let (mut author, mut kind, mut text): (String, String, String) =
        ui.data(|data| data.get_temp(salt)).unwrap_or_else(|| {
            (
                app.view.author.clone(),
                "question".to_owned(),
                String::new(),
            )
        });
    ui.horizontal(|ui| {
        for word in ["required", "recommended", "question", "note"] {
            ui.radio_value(
                &mut kind,
                word.to_owned(),
                super::bars::capital(super::notes::kind_word(word)),
            );
        }
    });
    ui.label("What it says");
    let field = TextEdit::multiline(&mut text)
        .desired_rows(4)
        .desired_width(f32::INFINITY)
        .id(salt.with("text"));
    let response = ui.add(field).accessible_name("What the pin says");
    if ui.memory(|memory| memory.focused().is_none()) {
        response.request_focus();
    }
    ui.label("Who writes");
    ui.add(TextEdit::singleline(&mut author).desired_width(f32::INFINITY))
        .accessible_name("Who sets the pin");
    ui.data_mut(|data| data.insert_temp(salt, (author.clone(), kind.clone(), text.clone())));
    ui.add_space(10.0);
    ui.horizontal(|ui| {
        let can = !text.trim().is_empty();
        if ui
            .add_enabled(can, egui::Button::new("Set the pin"))
            .clicked()
        {
            ui.data_mut(|data| data.remove::<(String, String, String)>(salt));
            app.queue().push(Action::AddNote {
                object,
                at: at.filter(|_| object.is_none()),
                kind,
                author: author.trim().to_owned(),
                text: text.trim().to_owned(),
            });
        }
        if ui.button("Cancel").clicked() {
            ui.data_mut(|data| data.remove::<(String, String, String)>(salt));
            app.queue().push(Action::CloseDialog);
        }
    });
}

fn keys(ui: &mut Ui, app: &App) {
    head(ui, "Keys");
    ScrollArea::vertical()
        .max_height(440.0)
        .min_scrolled_height(440.0)
        .show(ui, |ui| {
        for entry in TABLE {
            let Some(keys) = entry.keys.map(Keys::shown) else {
                continue;
            };
            ui.horizontal(|ui| {
                ui.allocate_ui(egui::vec2(110.0, 18.0), |ui| {
                    ui.set_width(110.0);
                    ui.label(RichText::new(keys).font(theme::type_of(13.0, true)));
                });
                ui.label(format!(
                    "{}: {}",
                    entry.label.trim_end_matches('…'),
                    entry.hint
                ));
            });
        }
        for (keys, words) in [
            (
                "Arrow keys",
                "Move the selection by an inch or a centimetre; with Shift twelve times as far.",
            ),
            ("Tab", "Through the objects of the drawing and the panels."),
            (
                "Wheel",
                "Zoom at the pointer. Drag with Space or the middle button moves the sheet.",
            ),
            (
                "Ctrl in a drag",
                "Nothing snaps. Shift keeps a move level or upright.",
            ),
        ] {
            ui.horizontal(|ui| {
                ui.allocate_ui(egui::vec2(110.0, 18.0), |ui| {
                    ui.set_width(110.0);
                    ui.label(RichText::new(keys).font(theme::type_of(13.0, true)));
                });
                ui.label(words);
            });
        }
    });
    ui.add_space(8.0);
    if ui.button("Close").clicked() {
        app.queue().push(Action::CloseDialog);
    }
}
