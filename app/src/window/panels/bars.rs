//! Menus and view modes above the drawing, the state of the plan below it.

use aubergine_core::analysis::class_in_words;
use aubergine_core::finding::Severity;
use aubergine_core::hydraulics::SupplyCase;
use aubergine_core::model::WaterKind;
use aubergine_core::text;
use aubergine_core::units::UnitSystem;
use eframe::egui::{self, Align, Button, Layout, MenuBar, Panel, RichText, Ui};

use crate::window::action::Action;
use crate::window::app::App;
use crate::window::command::Command;
use crate::window::frame::VIEWS;
use crate::window::state::ThemeChoice;
use crate::window::theme;

/// An item of a menu: label, keys, and whether it can be given now.
fn item(ui: &mut Ui, app: &App, command: Command) {
    let entry = command.entry();
    let label = match command {
        Command::Undo => app
            .history()
            .undo_label()
            .map_or_else(|| "Undo".to_owned(), |step| format!("Undo: {step}")),
        Command::Redo => app
            .history()
            .redo_label()
            .map_or_else(|| "Redo".to_owned(), |step| format!("Redo: {step}")),
        _ => entry.label.to_owned(),
    };
    let is_enabled = match command {
        Command::Undo => app.history().undo_label().is_some(),
        Command::Redo => app.history().redo_label().is_some(),
        Command::Delete | Command::FitSelection => !app.selection().is_empty(),
        Command::Open
        | Command::SaveAs
        | Command::Export
        | Command::Print
        | Command::Letter
        | Command::AddRules => !app.dialogs.is_open(),
        _ => true,
    };
    let keys = entry
        .keys
        .map(super::super::command::Keys::shown)
        .unwrap_or_default();
    let button = Button::new(label).shortcut_text(keys);
    if ui
        .add_enabled(is_enabled, button)
        .on_hover_text(entry.hint)
        .clicked()
    {
        app.queue().push(Action::Run(command));
        ui.close();
    }
}

fn items(ui: &mut Ui, app: &App, commands: &[Command]) {
    ui.set_min_width(240.0);
    for command in commands {
        item(ui, app, *command);
    }
}

/// Menus left, view modes and supply case in the middle, the name of the plan right.
pub(in crate::window) fn menu_bar(ui: &mut Ui, app: &App) {
    let frame = egui::Frame::NONE
        .fill(ui.visuals().panel_fill)
        .inner_margin(egui::Margin::symmetric(10, 6));
    Panel::top("menu bar").frame(frame).show(ui, |ui| {
        MenuBar::new().ui(ui, |ui| {
            ui.menu_button("File", |ui| {
                items(
                    ui,
                    app,
                    &[
                        Command::New,
                        Command::Open,
                        Command::OpenTyped,
                        Command::OpenSample,
                        Command::OpenFaultySample,
                        Command::OpenLargeSample,
                        Command::OpenDenseSample,
                    ],
                );
                ui.separator();
                items(
                    ui,
                    app,
                    &[
                        Command::Save,
                        Command::SaveAs,
                        Command::SaveTyped,
                        Command::Export,
                        Command::Print,
                        Command::Letter,
                    ],
                );
                ui.separator();
                item(ui, app, Command::AddRules);
                ui.separator();
                item(ui, app, Command::Quit);
            });
            ui.menu_button("Edit", |ui| {
                items(ui, app, &[Command::Undo, Command::Redo]);
                ui.separator();
                items(
                    ui,
                    app,
                    &[
                        Command::Delete,
                        Command::SelectAll,
                        Command::Cancel,
                        Command::Finish,
                    ],
                );
                ui.separator();
                items(
                    ui,
                    app,
                    &[
                        Command::SelectTool,
                        Command::HandTool,
                        Command::RunTool,
                        Command::NoteTool,
                    ],
                );
            });
            ui.menu_button("View", |ui| {
                items(ui, app, &VIEWS.map(|(_, command)| command));
                item(ui, app, Command::NextCase);
                ui.separator();
                items(
                    ui,
                    app,
                    &[
                        Command::Fit,
                        Command::FitSelection,
                        Command::ZoomIn,
                        Command::ZoomOut,
                        Command::Grid,
                        Command::Legend,
                    ],
                );
                ui.separator();
                items(ui, app, &[Command::Panels, Command::Present]);
                ui.separator();
                themes(ui, app);
            });
            ui.menu_button("Check", |ui| {
                items(
                    ui,
                    app,
                    &[
                        Command::NextFinding,
                        Command::PreviousFinding,
                        Command::NextObject,
                        Command::PreviousObject,
                    ],
                );
                ui.separator();
                items(ui, app, &[Command::Crops, Command::SizePipes]);
            });
            ui.menu_button("Help", |ui| {
                items(ui, app, &[Command::KeySheet, Command::Words]);
            });
            ui.separator();
            views(ui, app);
            ui.separator();
            cases(ui, app);
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| counts(ui, app));
        });
    });
}

fn themes(ui: &mut Ui, app: &App) {
    let choices = [
        (ThemeChoice::System, "Light or dark as the desktop"),
        (ThemeChoice::Light, "Light"),
        (ThemeChoice::Dark, "Dark"),
    ];
    for (choice, words) in choices {
        if ui.radio(app.view.theme == choice, words).clicked() {
            app.queue().push(Action::Theme(choice));
            ui.close();
        }
    }
}

fn views(ui: &mut Ui, app: &App) {
    ui.spacing_mut().item_spacing.x = 4.0;
    for (view, command) in VIEWS {
        let entry = command.entry();
        let keys = entry
            .keys
            .map(super::super::command::Keys::shown)
            .unwrap_or_default();
        let button = Button::selectable(app.view.view == view, view.word());
        if ui
            .add(button)
            .on_hover_text(format!("{} ({keys})", entry.hint))
            .clicked()
        {
            app.queue().push(Action::View(view));
        }
    }
}

fn cases(ui: &mut Ui, app: &App) {
    ui.label(RichText::new("Supply").color(theme::token(theme::current(ui), "ink2")));
    for case in SupplyCase::ALL {
        let word = case.word();
        let button = Button::selectable(app.view.case == case, capital(word));
        let hint = format!("Numbers at the {word} pressure of the supply (C goes through them)");
        let response = ui
            .add(button)
            .on_hover_text(hint)
            .accessible_name(format!("{} supply", capital(word)));
        if response.clicked() {
            app.queue().push(Action::Case(case));
        }
    }
}

pub(super) fn capital(word: &str) -> String {
    let mut letters = word.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

/// Findings by severity; leads to their list.
fn counts(ui: &mut Ui, app: &App) {
    let parts: Vec<String> = Severity::ALL
        .into_iter()
        .map(|severity| (app.analysis().count(severity), severity))
        .filter(|(count, _)| *count > 0)
        .map(|(count, severity)| severity.counted(count))
        .collect();
    let words = if parts.is_empty() {
        "No findings".to_owned()
    } else {
        parts.join(" · ")
    };
    let response = ui
        .add(Button::new(words).frame(false))
        .on_hover_text("Show the findings (F8 goes through them)");
    if response.clicked() {
        app.queue()
            .push(Action::Tab(crate::window::state::SideTab::Findings));
    }
}

/// Jurisdiction, water class, supply case, units, saved state, and what the tool waits for.
pub(in crate::window) fn status_bar(ui: &mut Ui, app: &App) {
    let frame = egui::Frame::NONE
        .fill(ui.visuals().panel_fill)
        .inner_margin(egui::Margin::symmetric(10, 4));
    Panel::bottom("status bar").frame(frame).show(ui, |ui| {
        ui.horizontal(|ui| {
            let colour = theme::token(theme::current(ui), "ink2");
            let small = |words: String| RichText::new(words).size(12.5).color(colour);
            let plan = app.plan();
            let books: Vec<&str> = plan
                .rules
                .books_in_force()
                .map(|book| book.jurisdiction.as_str())
                .collect();
            let rules = if books.is_empty() {
                text::get("window.rules_default").to_owned()
            } else {
                books.join(" + ")
            };
            let class = plan
                .objects
                .waters
                .values()
                .find(|water| water.kind == WaterKind::Reclaimed)
                .map_or_else(
                    || "no reclaimed water".to_owned(),
                    |water| format!("water: {}", class_in_words(plan, &water.class)),
                );
            let case = format!("{} supply", app.view.case.word());
            ui.label(small(
                format!("{rules}  ▸  {class}  ▸  {case}  ▸").replace('▸', "·"),
            ));
            for (units, word) in [(UnitSystem::Us, "US"), (UnitSystem::Metric, "metric")] {
                let button =
                    Button::selectable(app.view.units == units, RichText::new(word).size(12.5));
                let name = format!("{word} units");
                if ui
                    .add(button)
                    .on_hover_text("Units of every number")
                    .accessible_name(name)
                    .clicked()
                {
                    app.queue().push(Action::Units(units));
                }
            }
            ui.label(small(format!("·  {}", app.file.words())));
            let count = app.analysis().assumptions.len();
            if count > 0 {
                ui.label(small(format!("·  {count} assumed")));
            }
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                ui.add(egui::Label::new(small(app.tool.hint().to_owned())).truncate());
            });
        });
    });
}

/// The one line of the presentation view.
pub(in crate::window) fn present_bar(ui: &mut Ui, app: &App) {
    let frame = egui::Frame::NONE
        .fill(theme::token(theme::current(ui), "canvas"))
        .inner_margin(egui::Margin::symmetric(20, 12));
    Panel::top("title")
        .frame(frame)
        .show_separator_line(false)
        .show(ui, |ui| {
            ui.horizontal(|ui| {
                ui.label(RichText::new(&app.plan().name).font(theme::type_of(24.0, true)));
                ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                    ui.label(
                        RichText::new("Esc goes back to the plan")
                            .size(12.5)
                            .color(theme::token(theme::current(ui), "ink3")),
                    );
                });
            });
        });
}
