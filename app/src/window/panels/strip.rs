//! The strip of things to drag onto the drawing, and the tools.

use aubergine_core::drawing::Role;
use aubergine_core::drawing::theme::ink;
use aubergine_core::model::WaterKind;
use eframe::egui::{
    self, CursorIcon, Panel, Pos2, Rect, Response, RichText, ScrollArea, Sense, Shape, Stroke,
    StrokeKind, Ui, UiBuilder, pos2, vec2,
};

use crate::window::action::Action;
use crate::window::app::App;
use crate::window::canvas::{area_sample, symbol_shapes};
use crate::window::command::Command;
use crate::window::theme;
use crate::window::tools::{GROUPS, Stock, Tool, ToolEvent};

const WIDTH: f32 = 158.0;

/// The strip on the left.
pub(in crate::window) fn strip(ui: &mut Ui, app: &App) {
    let frame = egui::Frame::NONE
        .fill(ui.visuals().panel_fill)
        .inner_margin(egui::Margin::symmetric(8, 8));
    let shown = Panel::left("strip")
        .frame(frame)
        .exact_size(WIDTH)
        .resizable(false)
        .show(ui, |ui| {
            ui.spacing_mut().item_spacing.y = 1.5;
            let _ = head(ui, "Tools");
            let tools = [
                (Command::SelectTool, matches!(app.tool, Tool::Select(_))),
                (Command::HandTool, app.tool == Tool::Hand),
                (Command::RunTool, matches!(app.tool, Tool::Run(_))),
                (Command::NoteTool, app.tool == Tool::Note),
            ];
            for (command, is_on) in tools {
                tool(ui, app, command, is_on);
            }
            ui.add_space(6.0);
            head(ui, "Drag onto the plan")
                .on_hover_text("Or click one, then click the plan. Enter puts it in the middle.");
            ScrollArea::vertical()
                .auto_shrink([false, true])
                .show(ui, |ui| {
                    for (words, group) in GROUPS {
                        group_head(ui, words);
                        for stock in group {
                            item(ui, app, *stock);
                        }
                    }
                });
        });
    // Let go over the strip again: put back.
    let is_back = ui.input(|input| {
        input.pointer.primary_released()
            && input
                .pointer
                .press_origin()
                .is_none_or(|origin| shown.response.rect.contains(origin))
            && input
                .pointer
                .latest_pos()
                .is_some_and(|at| shown.response.rect.contains(at))
            && input.pointer.is_decidedly_dragging()
    });
    if is_back && matches!(app.tool, Tool::Place { .. }) {
        app.queue().push(Action::Tool(ToolEvent::DropOutside));
    }
}

fn head(ui: &mut Ui, words: &str) -> Response {
    let colour = theme::token(theme::current(ui), "ink2");
    let words = RichText::new(words).font(theme::type_of(12.0, true));
    ui.label(words.color(colour))
}

fn group_head(ui: &mut Ui, words: &str) {
    ui.add_space(3.0);
    let colour = theme::token(theme::current(ui), "ink3");
    ui.label(RichText::new(words).size(12.0).color(colour));
}

fn tool(ui: &mut Ui, app: &App, command: Command, is_on: bool) {
    let entry = command.entry();
    let keys = entry
        .keys
        .map(crate::window::command::Keys::shown)
        .unwrap_or_default();
    let label = match command {
        Command::RunTool => "Draw a run",
        Command::NoteTool => "Review pin",
        _ => entry.label,
    };
    let size = vec2(ui.available_width(), 24.0);
    let button = egui::Button::selectable(is_on, label)
        .right_text(RichText::new(keys.clone()).size(12.0))
        .min_size(size);
    let response = ui
        .add(button)
        .on_hover_text(format!("{} ({keys})", entry.hint))
        .accessible_name(entry.label);
    if response.clicked() {
        app.queue().push(Action::Run(command));
    }
}

fn item(ui: &mut Ui, app: &App, stock: Stock) {
    let is_held = matches!(app.tool, Tool::Place { stock: held, .. } if held == stock);
    let id = egui::Id::unique(("strip", stock.word()));
    let shown = ui.scope_builder(UiBuilder::new().scope_id(id), |ui| {
        let (rect, response) =
            ui.allocate_exact_size(vec2(ui.available_width(), 23.0), Sense::click_and_drag());
        let name = format!("{}, drag onto the plan", stock.word());
        response
            .widget_info(|| egui::WidgetInfo::selected(egui::Role::Button, true, is_held, &name));
        let visuals = ui.style().interact_selectable(&response, is_held);
        let palette = theme::current(ui);
        let fill = if is_held {
            ui.visuals().selection.bg_fill
        } else {
            theme::token(palette, "raised")
        };
        let edge = if response.hovered() || response.has_focus() {
            visuals.bg_stroke
        } else {
            Stroke::new(1.0, theme::token(palette, "rule"))
        };
        ui.painter().rect(rect, 3.0, fill, edge, StrokeKind::Inside);
        let text = if is_held {
            theme::token(palette, "onAccent")
        } else {
            theme::token(palette, "ink")
        };
        icon(ui, stock, pos2(rect.min.x + 18.0, rect.center().y));
        ui.painter().text(
            pos2(rect.min.x + 36.0, rect.center().y),
            egui::Align2::LEFT_CENTER,
            stock.word(),
            theme::type_of(13.0, false),
            text,
        );
        response
    });
    let response = shown.inner.on_hover_cursor(CursorIcon::Grab);
    if (response.drag_started() || response.clicked()) && !is_held {
        app.queue().push(Action::Take(stock));
    } else if response.clicked() {
        app.queue().push(Action::Run(Command::Cancel));
    }
}

fn icon(ui: &Ui, stock: Stock, at: Pos2) {
    let palette = theme::current(ui);
    let mut shapes = Vec::new();
    let ground = theme::token(palette, "raised");
    match (stock, stock.symbol()) {
        (_, Some(symbol)) => {
            let role = match stock {
                Stock::DrinkingWater => Role::Device(WaterKind::Potable),
                Stock::Tree | Stock::Mark(_) | Stock::Sign | Stock::Height => Role::SiteMark,
                _ => Role::Device(WaterKind::Reclaimed),
            };
            let look = ink(role, palette);
            symbol_shapes(symbol, at, 17.0, &look, ground, &mut shapes);
        }
        (Stock::Bed, None) => {
            let bed = Rect::from_center_size(at, vec2(11.0, 16.0));
            shapes.push(Shape::rect_filled(
                bed,
                0.0,
                theme::token(palette, "foodBed"),
            ));
            shapes.push(Shape::rect_stroke(
                bed,
                0.0,
                Stroke::new(1.3, theme::token(palette, "ink2")),
                StrokeKind::Middle,
            ));
        }
        (Stock::Area(kind), None) => {
            let flat = Rect::from_center_size(at, vec2(20.0, 12.0));
            let look = ink(Role::Feature(kind), palette);
            shapes.extend(area_sample(flat, &look));
        }
        (_, None) => {
            let purple = theme::token(palette, "reclaimed");
            let ends = [at + vec2(-10.0, 0.0), at + vec2(10.0, 0.0)];
            let width = if stock == Stock::Run { 2.4 } else { 1.2 };
            shapes.push(Shape::line_segment(ends, Stroke::new(width, purple)));
            if stock == Stock::EmitterLine {
                let dots =
                    [-7.0, 0.0, 7.0].map(|x| Shape::circle_filled(at + vec2(x, 0.0), 2.2, purple));
                shapes.extend(dots);
            }
        }
    }
    ui.painter().extend(shapes);
}
