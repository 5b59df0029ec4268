//! What the rules say of every crop under every way of watering, for the water and the place of the plan.

use std::collections::BTreeSet;

use aubergine_core::analysis::class_in_words;
use aubergine_core::contact::{MatrixCell, MatrixRow};
use aubergine_core::drawing::{Footing, Role, Symbol};
use aubergine_core::ids::Id;
use aubergine_core::model::{Plan, WaterKind};
use aubergine_core::rulebook::{Method, Verdict};
use aubergine_core::text;
use eframe::egui::{
    self, Align, Label, Layout, RichText, ScrollArea, Sense, Stroke, StrokeKind, TextEdit, Ui,
    UiBuilder, WidgetInfo, vec2,
};

use super::dialogs::head;
use super::verdict_card::{self, Why};
use crate::window::action::Action;
use crate::window::app::App;
use crate::window::theme;
use crate::window::widgets;

/// Width of the dialog.
pub(super) const WIDTH: f32 = 880.0;
const NAME_WIDTH: f32 = 200.0;
const CELL_WIDTH: f32 = 82.0;
const ROW_HEIGHT: f32 = 27.0;
const TABLE_HEIGHT: f32 = 340.0;

/// What is looked for and what was picked; it lives as long as the window.
#[derive(Clone, Default)]
struct Looking {
    wanted: String,
    all: bool,
    water: Option<Id>,
    picked: Option<(String, Method)>,
}

pub(super) fn show(ui: &mut Ui, app: &App) {
    let memory = egui::Id::unique("crops and methods");
    let mut looking: Looking = ui.data(|data| data.get_temp(memory)).unwrap_or_default();
    head(ui, text::get("matrix.title"));
    let waters = judged_waters(app.plan());
    let Some(water) = looking
        .water
        .filter(|water| waters.contains(water))
        .or_else(|| waters.first().copied())
    else {
        ui.label(text::get("matrix.no_water"));
        close(ui, app);
        return;
    };
    if waters.len() > 1 {
        let names: Vec<(Id, String)> = waters
            .iter()
            .map(|id| (*id, app.words(*id).to_owned()))
            .collect();
        let choices: Vec<(Id, &str)> = names.iter().map(|(id, it)| (*id, it.as_str())).collect();
        let chosen = widgets::choice(ui, "water", text::get("matrix.water"), water, &choices);
        looking.water = chosen.or(looking.water);
    }
    let class = app.plan().objects.waters.get(&water);
    let class = class.map_or_else(String::new, |water| {
        class_in_words(app.plan(), &water.class)
    });
    let site = text::get(app.plan().site.kind.key()).to_owned();
    let basis = text::fill("matrix.basis", [("class", class), ("site", site)]);
    ui.add(Label::new(basis).wrap());
    widgets::hint(ui, text::get("matrix.usual"));
    ui.add_space(4.0);
    ui.horizontal(|ui| {
        let label = ui.label(text::get("matrix.search"));
        let field = TextEdit::singleline(&mut looking.wanted).desired_width(220.0);
        ui.add(field).labelled_by(label.id);
        ui.checkbox(&mut looking.all, text::get("matrix.all"));
    });
    ui.add_space(6.0);
    let rows = app.crop_matrix(water);
    let planted = planted(app.plan());
    let wanted = looking.wanted.trim().to_lowercase();
    let shown: Vec<&MatrixRow> = rows
        .iter()
        // Somebody who searches means the whole table.
        .filter(|row| looking.all || !wanted.is_empty() || planted.contains(row.crop.as_str()))
        .filter(|row| row.name.to_lowercase().contains(&wanted))
        .collect();
    table(ui, &shown, &mut looking.picked);
    ui.add_space(6.0);
    let picked = looking.picked.clone();
    let picked = picked.and_then(|(crop, method)| {
        let row = rows.iter().find(|row| row.crop == crop)?;
        let (_, cell) = cells(row).find(|(known, _)| *known == method)?;
        Some((row, method, cell))
    });
    match picked {
        Some((row, method, cell)) => details(ui, row, method, cell),
        None => legend(ui),
    }
    ui.data_mut(|data| data.insert_temp(memory, looking));
    close(ui, app);
}

fn close(ui: &mut Ui, app: &App) {
    ui.add_space(8.0);
    if ui.button("Close").clicked() {
        app.queue().push(Action::CloseDialog);
    }
}

/// Waters that the rules judge.
fn judged_waters(plan: &Plan) -> Vec<Id> {
    let waters = plan.objects.waters.iter();
    waters
        .filter(|(_, water)| water.kind != WaterKind::Potable)
        .map(|(id, _)| *id)
        .collect()
}

fn planted(plan: &Plan) -> BTreeSet<&str> {
    let beds = plan.objects.beds.values();
    let trees = plan.objects.trees.values();
    let in_beds = beds.flat_map(|bed| &bed.plantings);
    let plantings = in_beds.chain(trees.filter_map(|tree| tree.planting.as_ref()));
    plantings.map(|planting| planting.crop.as_str()).collect()
}

fn cells(row: &MatrixRow) -> impl Iterator<Item = (Method, &MatrixCell)> {
    Method::ALL.iter().copied().zip(&row.cells)
}

fn table(ui: &mut Ui, rows: &[&MatrixRow], picked: &mut Option<(String, Method)>) {
    let faint = theme::token(theme::current(ui), "ink2");
    ui.spacing_mut().item_spacing = vec2(0.0, 0.0);
    ui.horizontal(|ui| {
        let name = Layout::left_to_right(Align::Max);
        ui.allocate_ui_with_layout(vec2(NAME_WIDTH, 34.0), name, |ui| {
            ui.set_width(NAME_WIDTH);
            let crop = RichText::new(text::get("matrix.crop"))
                .size(12.0)
                .color(faint);
            ui.add(Label::new(crop).selectable(false));
        });
        for method in Method::ALL {
            let layout = Layout::top_down(Align::Center);
            ui.allocate_ui_with_layout(vec2(CELL_WIDTH, 34.0), layout, |ui| {
                ui.set_width(CELL_WIDTH - 6.0);
                let words = RichText::new(text::get(method.key()))
                    .size(12.0)
                    .color(faint);
                ui.add(Label::new(words).selectable(false).wrap());
            });
        }
    });
    ui.separator();
    if rows.is_empty() {
        ui.label(text::get("matrix.none"));
    }
    ScrollArea::vertical()
        .max_height(TABLE_HEIGHT)
        .auto_shrink([false, true])
        .show_rows(ui, ROW_HEIGHT, rows.len(), |ui, seen| {
            for row in rows.get(seen).unwrap_or_default() {
                let scope = UiBuilder::new().scope_id(egui::Id::unique(("crop", &row.crop)));
                ui.scope_builder(scope, |ui| {
                    ui.horizontal(|ui| one(ui, row, picked));
                });
            }
        });
    ui.separator();
}

fn one(ui: &mut Ui, row: &MatrixRow, picked: &mut Option<(String, Method)>) {
    let layout = Layout::left_to_right(Align::Center);
    ui.allocate_ui_with_layout(vec2(NAME_WIDTH, ROW_HEIGHT), layout, |ui| {
        ui.set_width(NAME_WIDTH);
        ui.add(Label::new(&row.name).truncate());
    });
    for (method, cell) in cells(row) {
        let this = (row.crop.clone(), method);
        if mark(ui, row, method, cell, picked.as_ref() == Some(&this)) {
            *picked = Some(this);
        }
    }
}

/// The mark of a cell, which can be picked by pointer and key.
fn mark(ui: &mut Ui, row: &MatrixRow, method: Method, cell: &MatrixCell, is_picked: bool) -> bool {
    let palette = theme::current(ui);
    let (rect, response) = ui.allocate_exact_size(vec2(CELL_WIDTH, ROW_HEIGHT), Sense::click());
    let name = in_words(row, method, cell);
    let response = response.on_hover_text(&name);
    response.widget_info(|| WidgetInfo::selected(egui::Role::Button, true, is_picked, &name));
    if is_picked || response.has_focus() || response.hovered() {
        let edge = if response.hovered() && !is_picked {
            "rule"
        } else {
            "accent"
        };
        let stroke = Stroke::new(1.5, theme::token(palette, edge));
        let frame = rect.shrink2(vec2(18.0, 1.0));
        ui.painter()
            .rect_stroke(frame, 3.0, stroke, StrokeKind::Inside);
    }
    let role = Role::Verdict(cell.verdict, Footing::Stated);
    widgets::symbol_at(ui, Symbol::Verdict(cell.verdict), role, 20.0, rect.center());
    response.clicked()
}

fn symbol(ui: &mut Ui, verdict: Verdict) {
    let role = Role::Verdict(verdict, Footing::Stated);
    widgets::symbol(ui, Symbol::Verdict(verdict), role, 20.0);
}

fn in_words(row: &MatrixRow, method: Method, cell: &MatrixCell) -> String {
    let values = [
        ("crop", row.name.clone()),
        ("method", text::get(method.key()).to_owned()),
        ("verdict", text::get(cell.verdict.key()).to_owned()),
    ];
    text::fill("window.verdict_by", values)
}

/// Why a cell says what it says.
fn details(ui: &mut Ui, row: &MatrixRow, method: Method, cell: &MatrixCell) {
    ui.spacing_mut().item_spacing = vec2(6.0, 3.0);
    ui.horizontal(|ui| {
        symbol(ui, cell.verdict);
        let words = RichText::new(in_words(row, method, cell)).font(theme::type_of(14.0, true));
        ui.add(Label::new(words).wrap());
    });
    let reasons = Why {
        conditions: &cell.conditions,
        decided_by: &cell.decided_by,
        cautious_reading: cell.cautious_reading,
        missing: &cell.missing,
    };
    verdict_card::why(ui, &reasons);
    verdict_card::ask(ui, &cell.decided_by.citation.ask);
}

fn legend(ui: &mut Ui) {
    ui.spacing_mut().item_spacing = vec2(6.0, 3.0);
    ui.horizontal_wrapped(|ui| {
        for verdict in [
            Verdict::NoConflict,
            Verdict::Conditions,
            Verdict::IfProcessed,
            Verdict::Ask,
            Verdict::Prohibit,
        ] {
            symbol(ui, verdict);
            ui.label(text::get(verdict.key()));
            ui.add_space(10.0);
        }
    });
    widgets::hint(ui, text::get("matrix.pick"));
}
