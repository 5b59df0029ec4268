//! Small tables: words at the left, numbers right-aligned, each row readable as one sentence by assistive technology.

use std::hash::Hash;

use eframe::egui::{self, Align, Label, Layout, RichText, Ui, vec2};

use crate::window::theme;

/// Something that draws itself.
type Drawn<'a> = Box<dyn Fn(&mut Ui) + 'a>;

/// A row: its words, its numbers, and what stands behind them.
pub struct TableRow<'a> {
    /// What the numbers are of.
    pub name: String,
    /// One a column; as many as there are heads.
    pub numbers: Vec<String>,
    /// Drawn after the numbers.
    pub more: Option<Drawn<'a>>,
}

impl TableRow<'_> {
    /// A row of numbers only.
    #[must_use]
    pub fn plain(name: impl Into<String>, numbers: Vec<String>) -> Self {
        Self {
            name: name.into(),
            numbers,
            more: None,
        }
    }
}

/// A table: the head of the first column, heads of the numbers with their widths, and the rows.
pub fn table(
    ui: &mut Ui,
    id_salt: impl Hash + std::fmt::Debug,
    first: &str,
    heads: &[(&str, f32)],
    rows: &[TableRow<'_>],
) {
    const MORE_WIDTH: f32 = 54.0;
    const HEIGHT: f32 = 22.0;
    let has_more = rows.iter().any(|row| row.more.is_some());
    let taken: f32 = heads.iter().map(|(_, width)| width).sum();
    let more = if has_more { MORE_WIDTH } else { 0.0 };
    let name_width = (ui.available_width() - taken - more).max(60.0);
    let faint = theme::token(theme::current(ui), "ink2");
    let cell = |ui: &mut Ui, width: f32, words: RichText| {
        let layout = Layout::right_to_left(Align::Center);
        ui.allocate_ui_with_layout(vec2(width, HEIGHT), layout, |ui| {
            ui.set_width(width);
            ui.add(Label::new(words).selectable(false));
        });
    };
    let name = |ui: &mut Ui, words: RichText, said: &str| {
        let layout = Layout::left_to_right(Align::Center);
        ui.allocate_ui_with_layout(vec2(name_width, HEIGHT), layout, |ui| {
            ui.set_width(name_width);
            let response = ui.add(Label::new(words).wrap());
            response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Label, true, said));
        });
    };
    ui.scope_builder(
        egui::UiBuilder::new().scope_id(egui::Id::unique(("table", format!("{id_salt:?}")))),
        |ui| {
            ui.spacing_mut().item_spacing = vec2(0.0, 1.0);
            ui.horizontal(|ui| {
                name(ui, RichText::new(first).size(12.0).color(faint), first);
                for (head, width) in heads {
                    cell(ui, *width, RichText::new(*head).size(12.0).color(faint));
                }
            });
            for row in rows {
                ui.horizontal(|ui| {
                    let told: Vec<String> = heads
                        .iter()
                        .zip(&row.numbers)
                        .map(|((head, _), number)| format!("{head} {number}"))
                        .collect();
                    let said = format!("{}: {}", row.name, told.join(", "));
                    name(ui, RichText::new(&row.name).size(13.0), &said);
                    for ((_, width), number) in heads.iter().zip(&row.numbers) {
                        cell(ui, *width, RichText::new(number).size(13.0));
                    }
                    if let Some(more) = &row.more {
                        ui.add_space(6.0);
                        more(ui);
                    }
                });
            }
        },
    );
}
