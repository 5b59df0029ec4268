//! Ten questions about the drinking-water side of the property: facts that only a person who looks can state.

use aubergine_core::edit::Edit;
use aubergine_core::model::{Premise, WaterKind};
use aubergine_core::text;
use eframe::egui::{self, CollapsingHeader, Label, RichText, Ui, UiBuilder};

use crate::window::action::Action;
use crate::window::app::App;
use crate::window::widgets;

/// The folded questionnaire, where reclaimed water is drawn.
pub(super) fn show(ui: &mut Ui, app: &App) {
    let plan = app.plan();
    let mut waters = plan.objects.waters.values();
    if !waters.any(|water| water.kind == WaterKind::Reclaimed) {
        return;
    }
    ui.add_space(8.0);
    let open = plan.site.premises.open();
    let title = text::fill("premises.title", [("open", open.to_string())]);
    CollapsingHeader::new(title)
        .id_salt("premises")
        .show(ui, |ui| {
            widgets::hint(ui, text::get("premises.hint"));
            for question in Premise::ALL {
                let scope = UiBuilder::new().scope_id(egui::Id::unique(question.key()));
                ui.scope_builder(scope, |ui| one(ui, app, question));
            }
        });
}

fn one(ui: &mut Ui, app: &App, question: Premise) {
    let site = &app.plan().site;
    ui.add(Label::new(RichText::new(text::get(question.key())).size(13.0)).wrap());
    let now = site.premises.get(question);
    ui.horizontal(|ui| {
        for (answer, key) in [
            (Some(true), "premises.yes"),
            (Some(false), "premises.no"),
            (None, "premises.unknown"),
        ] {
            let chosen = ui.radio(now == answer, text::get(key));
            let name = format!("{} {}", text::get(question.key()), text::get(key));
            if chosen.accessible_name(name).clicked() && now != answer {
                let mut site = site.clone();
                site.premises.set(question, answer);
                app.queue().push(Action::Edit {
                    label: "Answer about the drinking-water side".to_owned(),
                    edit: Edit::SetSite(Box::new(site)),
                });
            }
        }
    });
    ui.add_space(2.0);
}
