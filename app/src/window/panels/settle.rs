//! The question by which somebody settles a finding: why it may stay, who answers for that, what shows it.

use aubergine_core::text;
use eframe::egui::{self, TextEdit, Ui};

use super::dialogs::head;
use crate::window::action::Action;
use crate::window::app::App;
use crate::window::widgets;

/// What has been typed so far.
#[derive(Clone, Default)]
struct Draft {
    reason: String,
    name: String,
    evidence: String,
}

pub(super) fn show(ui: &mut Ui, app: &App, finding: &str) {
    let Some(found) = app.analysis().finding(finding) else {
        app.queue().push(Action::CloseDialog);
        return;
    };
    head(ui, text::get("window.settle_head"));
    let sentence = format!(
        "{}: {}",
        found.severity.word(),
        found.message.sentence(app.view.units)
    );
    ui.add(egui::Label::new(sentence).wrap());
    widgets::hint(ui, text::get("window.settle_hint"));
    ui.add_space(6.0);
    let salt = egui::Id::unique(("draft of a decision", finding));
    let mut draft = ui
        .data(|data| data.get_temp(salt))
        .unwrap_or_else(|| Draft {
            name: app.view.author.clone(),
            ..Draft::default()
        });
    let why = text::get("window.settle_why");
    ui.label(why);
    let field = TextEdit::multiline(&mut draft.reason)
        .desired_rows(3)
        .desired_width(f32::INFINITY)
        .id(salt.with("reason"));
    let response = ui.add(field).accessible_name(why);
    if ui.memory(|memory| memory.focused().is_none()) {
        response.request_focus();
    }
    for (key, value) in [
        ("window.settle_who", &mut draft.name),
        ("window.settle_shown", &mut draft.evidence),
    ] {
        let label = text::get(key);
        ui.label(label);
        ui.add(TextEdit::singleline(value).desired_width(f32::INFINITY))
            .accessible_name(label);
    }
    ui.data_mut(|data| data.insert_temp(salt, draft.clone()));
    ui.add_space(10.0);
    ui.horizontal(|ui| {
        let can = !draft.reason.trim().is_empty() && !draft.name.trim().is_empty();
        let settle = egui::Button::new(text::get("window.settle_verb"));
        if ui.add_enabled(can, settle).clicked() {
            ui.data_mut(|data| data.remove::<Draft>(salt));
            app.queue().push(Action::Settle {
                finding: finding.to_owned(),
                reason: draft.reason,
                name: draft.name,
                evidence: draft.evidence,
            });
        }
        if ui.button("Cancel").clicked() {
            ui.data_mut(|data| data.remove::<Draft>(salt));
            app.queue().push(Action::CloseDialog);
        }
    });
}
