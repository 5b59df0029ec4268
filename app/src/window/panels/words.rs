//! The list of words: what the short ones on the drawing and in the panels mean.

use aubergine_core::text;
use eframe::egui::{Label, RichText, ScrollArea, Ui};

use super::dialogs::head;
use crate::window::action::Action;
use crate::window::app::App;
use crate::window::theme;

/// Rows of the list, in the order of the way of the water.
const ROWS: [&str; 21] = [
    "word.rw",
    "word.pw",
    "word.poc",
    "word.mtr",
    "word.iso",
    "word.flt",
    "word.pr",
    "word.zv",
    "word.rp",
    "word.zone",
    "word.main",
    "word.lateral",
    "word.header",
    "word.port",
    "word.tap",
    "word.cases",
    "word.uniformity",
    "word.salinity",
    "word.class",
    "word.ruling",
    "word.severity",
];

pub(super) fn show(ui: &mut Ui, app: &App) {
    head(ui, "Words");
    ScrollArea::vertical()
        .max_height(440.0)
        .min_scrolled_height(440.0)
        .show(ui, |ui| {
            for key in ROWS {
                let (word, meaning) = text::get(key).split_once(": ").unwrap_or((key, ""));
                ui.horizontal_top(|ui| {
                    ui.allocate_ui(eframe::egui::vec2(150.0, 18.0), |ui| {
                        ui.set_width(150.0);
                        let word = RichText::new(word).font(theme::type_of(13.0, true));
                        ui.add(Label::new(word).wrap());
                    });
                    ui.add(Label::new(meaning).wrap());
                });
            }
        });
    ui.add_space(8.0);
    if ui.button("Close").clicked() {
        app.queue().push(Action::CloseDialog);
    }
}
