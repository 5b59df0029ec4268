//! Review notes: numbered on the drawing, told in full here.

use aubergine_core::ids::Id;
use aubergine_core::model::Thread;
use eframe::egui::{self, RichText, Ui, UiBuilder};

use crate::window::action::Action;
use crate::window::app::App;
use crate::window::command::Command;
use crate::window::theme;
use crate::window::widgets;

pub(super) fn show(ui: &mut Ui, app: &App) {
    let words = app.selected_one().map_or_else(
        || "Set a pin on a place…".to_owned(),
        |id| format!("Set a pin on {id}…"),
    );
    if ui.button(words).on_hover_text("N").clicked() {
        app.queue().push(Action::Run(Command::NoteTool));
    }
    let threads = &app.document().review.threads;
    if threads.is_empty() {
        ui.add_space(6.0);
        widgets::hint(
            ui,
            "No review pins yet. Select something and press N to ask about it.",
        );
    }
    for (id, thread) in threads {
        ui.add_space(6.0);
        ui.scope_builder(
            UiBuilder::new().scope_id(egui::Id::unique(("note", id.to_string()))),
            |ui| note(ui, app, *id, thread),
        );
    }
    ui.add_space(6.0);
    widgets::hint(
        ui,
        "Review pins are not part of the design: undo leaves them alone.",
    );
}

/// The kind of a pin in words: a Note is a finding, so that a pin that asks for nothing is a remark.
pub(super) fn kind_word(kind: &str) -> &str {
    match kind {
        "note" => "remark",
        kind => kind,
    }
}

fn note(ui: &mut Ui, app: &App, id: Id, thread: &Thread) {
    let palette = theme::current(ui);
    let colour = match thread.status.as_str() {
        "closed" => theme::token(palette, "markClosed"),
        "answered" => theme::token(palette, "markAnswered"),
        _ => theme::token(palette, "markOpen"),
    };
    widgets::card(ui, "rule", |ui| {
        ui.horizontal_wrapped(|ui| {
            let head = format!(
                "{}  {}, {}",
                id.number,
                kind_word(&thread.kind),
                thread.status
            );
            ui.label(
                RichText::new(head)
                    .font(theme::type_of(13.0, true))
                    .color(colour),
            );
            if let Some(object) = thread.object {
                let response = ui.link(format!("on {object}"));
                if response.clicked() {
                    app.queue().push(Action::Select {
                        id: object,
                        add: false,
                        show: true,
                    });
                }
            }
        });
        ui.add(egui::Label::new(&thread.text).wrap());
        if !thread.author.is_empty() {
            widgets::hint(ui, format!("— {}", thread.author));
        }
        ui.horizontal(|ui| {
            let moves: &[(&str, &str)] = match thread.status.as_str() {
                "closed" => &[("open", "Reopen")],
                "answered" => &[("closed", "Close"), ("open", "Reopen")],
                _ => &[("answered", "Mark answered"), ("closed", "Close")],
            };
            for (status, words) in moves {
                if ui
                    .button(*words)
                    .accessible_name(format!("{words}: pin {}", id.number))
                    .clicked()
                {
                    app.queue().push(Action::SetNoteStatus {
                        id,
                        status: (*status).to_owned(),
                    });
                }
            }
        });
    });
}
