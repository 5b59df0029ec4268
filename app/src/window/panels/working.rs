//! How numbers come about: each with its formula, what goes in, and the steps before it.

use aubergine_core::analysis::working::Number;
use aubergine_core::report::{StepWords, working_title, working_words};
use aubergine_core::text;
use eframe::egui::{self, Label, RichText, ScrollArea, Ui};

use super::dialogs::head;
use crate::window::action::Action;
use crate::window::app::App;
use crate::window::theme;
use crate::window::widgets;

/// A small button that opens the working of a number.
pub(super) fn button(ui: &mut Ui, app: &App, of: &str, number: Number, what: &str) {
    let words = RichText::new(text::get("read.how")).size(12.0);
    let name = text::fill("read.how_name", [("what", what.to_owned())]);
    let button = ui
        .add(egui::Button::new(words).small())
        .on_hover_text(&name)
        .accessible_name(name);
    if button.clicked() {
        app.queue().push(Action::ShowWorking {
            of: of.to_owned(),
            number,
        });
    }
}

/// A fact with the button to its working.
pub(super) fn fact(ui: &mut Ui, app: &App, label: &str, value: &str, of: &str, number: Number) {
    widgets::row(ui, label, |ui| {
        // The button keeps its place at the right; the value takes what is left.
        const BUTTON_WIDTH: f32 = 62.0;
        let width = ui.available_width() - BUTTON_WIDTH;
        ui.allocate_ui(egui::vec2(width, 26.0), |ui| {
            ui.set_width(width);
            ui.horizontal_centered(|ui| {
                let response = ui.add(Label::new(value).wrap());
                let name = format!("{label}: {value}");
                response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Label, true, &name));
            });
        });
        button(ui, app, of, number, label);
    });
}

/// The contents of the dialog.
pub(super) fn show(ui: &mut Ui, app: &App, of: &str, number: Number) {
    let found = app.working(of);
    if let Some(working) = found.as_ref() {
        head(ui, &working_title(working));
        let words = working_words(working, app.view.units);
        ScrollArea::vertical()
            .max_height(520.0)
            .auto_shrink([false, true])
            .show(ui, |ui| {
                let wanted = words.iter().filter(|step| step.number == number);
                for step in wanted {
                    one(ui, step);
                }
            });
    } else {
        head(ui, text::get("read.working_head"));
        ui.label(text::fill("read.working_gone", [("of", of.to_owned())]));
    }
    ui.add_space(8.0);
    if ui.button("Close").clicked() {
        app.queue().push(Action::CloseDialog);
    }
}

fn one(ui: &mut Ui, step: &StepWords) {
    let palette = theme::current(ui);
    let (ink, faint) = (theme::token(palette, "ink"), theme::token(palette, "ink3"));
    ui.add_space(if step.depth == 0 { 10.0 } else { 6.0 });
    // Depths are few; the cast is exact.
    #[expect(clippy::cast_precision_loss, reason = "a depth is below ten")]
    let indent = 22.0 * step.depth as f32;
    ui.horizontal_top(|ui| {
        ui.add_space(indent);
        ui.vertical(|ui| {
            let line = |ui: &mut Ui, words: RichText| {
                ui.add(Label::new(words).wrap());
            };
            ui.spacing_mut().item_spacing.y = 2.0;
            let size = if step.depth == 0 { 15.0 } else { 14.0 };
            let result = format!("{}: {}", step.what, step.result);
            line(
                ui,
                RichText::new(result)
                    .font(theme::type_of(size, true))
                    .color(ink),
            );
            if let Some(band) = &step.band {
                let colour = theme::token(palette, "conditions");
                line(ui, RichText::new(band).size(13.0).color(colour));
            }
            line(ui, RichText::new(step.formula).size(14.0).color(ink));
            for input in &step.inputs {
                line(
                    ui,
                    RichText::new(format!("    {input}")).size(13.0).color(ink),
                );
            }
            line(ui, RichText::new(step.source).size(12.0).color(faint));
        });
    });
}
