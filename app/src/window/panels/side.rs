//! The panel on the right: object, findings, list of objects, notes.

use eframe::egui::{self, Button, Panel, ScrollArea, Ui};

use super::{findings, inspector, notes, objects};
use crate::window::action::Action;
use crate::window::app::App;
use crate::window::state::SideTab;

/// The panel on the right.
pub(in crate::window) fn side(ui: &mut Ui, app: &App) {
    if !app.view.has_side_panel {
        return;
    }
    let frame = egui::Frame::NONE
        .fill(ui.visuals().panel_fill)
        .inner_margin(egui::Margin::symmetric(12, 8));
    Panel::right("side")
        .frame(frame)
        .default_size(372.0)
        .size_range(300.0..=560.0)
        .show(ui, |ui| {
            ui.horizontal(|ui| {
                ui.spacing_mut().item_spacing.x = 2.0;
                let findings = format!("Findings {}", app.analysis().findings.len());
                let review = match app.document().review.threads.len() {
                    0 => "Review".to_owned(),
                    count => format!("Review {count}"),
                };
                let tabs = [
                    (SideTab::Object, "Object".to_owned()),
                    (SideTab::Findings, findings),
                    (SideTab::Objects, "List".to_owned()),
                    (SideTab::Notes, review),
                ];
                for (tab, words) in tabs {
                    if ui
                        .add(Button::selectable(app.view.tab == tab, words))
                        .clicked()
                    {
                        app.queue().push(Action::Tab(tab));
                    }
                }
            });
            ui.separator();
            let mut area = ScrollArea::vertical()
                .id_salt(("side", app.view.tab as u8))
                .auto_shrink([false, false]);
            // Another object is read from its head on.
            let memory = egui::Id::unique("object in the side panel");
            let shown = (app.view.tab == SideTab::Object).then(|| app.selected_one());
            if let Some(shown) = shown
                && ui.data(|data| data.get_temp(memory)) != Some(shown)
            {
                area = area.vertical_scroll_offset(0.0);
                ui.data_mut(|data| data.insert_temp(memory, shown));
            }
            area.show(ui, |ui| {
                // The scroll bar floats: nothing may lie under it.
                ui.set_max_width(ui.available_width() - 10.0);
                match app.view.tab {
                    SideTab::Object => inspector::show(ui, app),
                    SideTab::Findings => findings::show(ui, app),
                    SideTab::Objects => objects::show(ui, app),
                    SideTab::Notes => notes::show(ui, app),
                }
            });
        });
}
