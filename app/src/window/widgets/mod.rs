//! Small parts that panels share: text fields that are read when they are left, marks with their words, rows of facts.

mod table;

use std::hash::Hash;

use aubergine_core::drawing::notice::aged_line;
use aubergine_core::drawing::theme::{Theme, ink};
use aubergine_core::drawing::{Role, Symbol};
use aubergine_core::finding::Severity;
use aubergine_core::model::Plan;
use eframe::egui::{
    self, Color32, Frame, Key, Margin, Pos2, Rect, Response, RichText, Sense, Shape, Stroke,
    TextEdit, Ui, pos2, vec2,
};

use super::theme;

pub use table::{TableRow, table};

/// A text field beside its label. What was typed comes back when the field is left or Enter is pressed; Escape drops it.
pub fn entry(
    ui: &mut Ui,
    id_salt: impl Hash + std::fmt::Debug,
    label: &str,
    shown: &str,
    width: f32,
) -> Option<String> {
    let id = ui.scope_id().with(("entry", id_salt));
    let draft: Option<String> = ui.data(|data| data.get_temp(id));
    let mut typed = draft.clone().unwrap_or_else(|| shown.to_owned());
    let field = TextEdit::singleline(&mut typed).id(id).desired_width(width);
    let response = ui.add(field).accessible_name(label);
    if response.has_focus() || response.changed() {
        if draft.as_deref() != Some(typed.as_str()) {
            ui.data_mut(|data| data.insert_temp(id, typed.clone()));
        }
        return None;
    }
    if draft.is_some() {
        ui.data_mut(|data| data.remove::<String>(id));
        let is_dropped = ui.input(|input| input.key_pressed(Key::Escape));
        if !is_dropped && typed.trim() != shown.trim() {
            return Some(typed.trim().to_owned());
        }
    }
    None
}

/// A label and a field in one row of a form.
pub fn field(
    ui: &mut Ui,
    id_salt: impl Hash + std::fmt::Debug,
    label: &str,
    shown: &str,
) -> Option<String> {
    row(ui, label, |ui| {
        entry(ui, id_salt, label, shown, ui.available_width() - 4.0)
    })
}

/// Width of the labels of a form.
const LABEL_WIDTH: f32 = 104.0;

/// One row of a form: label left, contents right.
pub fn row<R>(ui: &mut Ui, label: &str, contents: impl FnOnce(&mut Ui) -> R) -> R {
    ui.horizontal(|ui| {
        let (rect, _) = ui.allocate_exact_size(vec2(LABEL_WIDTH, 26.0), Sense::hover());
        let colour = theme::token(theme::current(ui), "ink2");
        let galley = ui.painter().layout(
            label.to_owned(),
            theme::type_of(13.0, false),
            colour,
            LABEL_WIDTH,
        );
        let at = pos2(rect.min.x, rect.center().y - galley.size().y / 2.0);
        ui.painter().galley(at, galley, colour);
        contents(ui)
    })
    .inner
}

/// A fact: label and value, the value readable by assistive technology together with its label.
pub fn fact(ui: &mut Ui, label: &str, value: &str) {
    row(ui, label, |ui| {
        let response = ui.add(egui::Label::new(value).wrap());
        let name = format!("{label}: {value}");
        response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Label, true, &name));
    });
}

/// A choice among words.
pub fn choice<T: PartialEq + Copy>(
    ui: &mut Ui,
    id_salt: impl Hash + std::fmt::Debug,
    label: &str,
    now: T,
    of: &[(T, &str)],
) -> Option<T> {
    let word = of
        .iter()
        .find(|(value, _)| *value == now)
        .map_or("other", |(_, word)| *word);
    row(ui, label, |ui| {
        let mut chosen = None;
        let width = ui.available_width() - 4.0;
        let combo = egui::ComboBox::from_id_salt(("choice", id_salt))
            .selected_text(word)
            .truncate()
            .width(width);
        let response = combo.show_ui(ui, |ui| {
            for (value, word) in of {
                if ui.selectable_label(*value == now, *word).clicked() && *value != now {
                    chosen = Some(*value);
                }
            }
        });
        response
            .response
            .accessible_name(format!("{label}: {word}"));
        chosen
    })
}

/// A headline of a group.
pub fn group(ui: &mut Ui, words: &str) {
    ui.add_space(10.0);
    let colour = theme::token(theme::current(ui), "ink");
    ui.label(
        RichText::new(words)
            .font(theme::type_of(13.0, true))
            .color(colour),
    );
    let rule = theme::token(theme::current(ui), "rule");
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), 1.0), Sense::hover());
    ui.painter().rect_filled(rect, 0.0, rule);
    ui.add_space(2.0);
}

/// Words in the colour of hints.
pub fn hint(ui: &mut Ui, words: impl Into<String>) -> Response {
    let colour = theme::token(theme::current(ui), "ink3");
    ui.add(egui::Label::new(RichText::new(words).size(13.0).color(colour)).wrap())
}

/// A raised card, as wide as its panel, with an edge of a colour of the tokens.
pub fn card<R>(ui: &mut Ui, edge: &str, contents: impl FnOnce(&mut Ui) -> R) -> R {
    let palette = theme::current(ui);
    let frame = Frame::NONE
        .fill(theme::token(palette, "raised"))
        .stroke(Stroke::new(1.0, theme::token(palette, edge)))
        .corner_radius(3)
        .inner_margin(Margin::symmetric(10, 8));
    let shown = frame.show(ui, |ui| {
        ui.set_width(ui.available_width());
        contents(ui)
    });
    shown.inner
}

/// That the rules of a plan should be read again, where a year has gone by.
pub fn aged_rules(ui: &mut Ui, plan: &Plan) {
    if let Some(words) = aged_line(plan, &crate::today()) {
        let words = RichText::new(words).font(theme::type_of(13.5, true));
        ui.add(egui::Label::new(words).wrap());
    }
}

/// The colour that goes with a severity; the mark and the word say the same without it.
#[must_use]
pub fn severity_colour(palette: Theme, severity: Severity) -> Color32 {
    theme::token(
        palette,
        match severity {
            Severity::Stop => "notAllowed",
            Severity::Fix => "conditions",
            Severity::Check => "unknown",
            Severity::Note => "ink3",
        },
    )
}

/// The mark of a severity: barred octagon, square, diamond, ring.
pub fn severity_mark(ui: &mut Ui, severity: Severity) {
    let colour = severity_colour(theme::current(ui), severity);
    let (rect, _) = ui.allocate_exact_size(vec2(18.0, 18.0), Sense::hover());
    let ground = ui.visuals().panel_fill;
    ui.painter().extend(severity_shapes(
        rect.center(),
        7.5,
        severity,
        colour,
        ground,
    ));
}

fn severity_shapes(
    at: Pos2,
    radius: f32,
    severity: Severity,
    colour: Color32,
    ground: Color32,
) -> Vec<Shape> {
    let polygon = |sides: u8, turn: f32, radius: f32| -> Vec<Pos2> {
        (0..sides)
            .map(|side| {
                let angle =
                    (f32::from(side) / f32::from(sides)).mul_add(std::f32::consts::TAU, turn);
                at + vec2(angle.cos(), angle.sin()) * radius
            })
            .collect()
    };
    let up = -std::f32::consts::FRAC_PI_2;
    let bar = |rect: Rect| Shape::rect_filled(rect, 0.0, ground);
    match severity {
        Severity::Stop => vec![
            Shape::convex_polygon(
                polygon(8, std::f32::consts::FRAC_PI_8, radius),
                colour,
                Stroke::NONE,
            ),
            bar(Rect::from_center_size(at, vec2(radius * 1.1, 2.4))),
        ],
        // A square, so that it is not taken for the triangle of "allowed with conditions".
        Severity::Fix => vec![
            Shape::rect_filled(
                Rect::from_center_size(at, vec2(radius, radius) * 1.75),
                2.0,
                colour,
            ),
            bar(Rect::from_center_size(at + vec2(0.0, -1.4), vec2(1.8, 5.6))),
            bar(Rect::from_center_size(at + vec2(0.0, 3.8), vec2(1.8, 1.8))),
        ],
        Severity::Check => vec![
            Shape::closed_line(polygon(4, up, radius), Stroke::new(1.8, colour)),
            Shape::circle_filled(at, 1.9, colour),
        ],
        Severity::Note => vec![
            Shape::circle_stroke(at, radius * 0.75, Stroke::new(1.5, colour)),
            Shape::circle_filled(at, 1.4, colour),
        ],
    }
}

/// A symbol of the drawing in a line of text.
pub fn symbol(ui: &mut Ui, symbol: Symbol, role: Role, size: f32) {
    let (rect, _) = ui.allocate_exact_size(vec2(size, size), Sense::hover());
    symbol_at(ui, symbol, role, size, rect.center());
}

/// The same about a place.
pub fn symbol_at(ui: &Ui, symbol: Symbol, role: Role, size: f32, at: Pos2) {
    let palette = theme::current(ui);
    let mut shapes = Vec::new();
    let ground = ui.visuals().panel_fill;
    super::canvas::symbol_shapes(symbol, at, size, &ink(role, palette), ground, &mut shapes);
    ui.painter().extend(shapes);
}

/// A sentence that stands out where something was typed that cannot be read.
pub fn problem(ui: &mut Ui, words: &str) {
    let colour = ui.visuals().error_fg_color;
    ui.add(egui::Label::new(RichText::new(words).size(13.0).color(colour)).wrap());
}
