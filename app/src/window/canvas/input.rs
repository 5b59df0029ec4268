//! Pointer, wheel and arrow keys on the canvas, as events of the plan.

use eframe::egui::{self, CursorIcon, Key, PointerButton, Pos2, Response};

use super::Screen;
use crate::window::action::Action;
use crate::window::app::App;
use crate::window::frame::is_moving;
use crate::window::tools::{Pointer, Tool, ToolEvent};

pub(super) fn read(ui: &egui::Ui, app: &App, screen: &Screen<'_>, response: &Response) {
    let is_typing = ui.text_edit_focused();
    let (modifiers, space, zoom, scroll, pointer_at, origin, released) = ui.input(|input| {
        (
            input.modifiers,
            input.key_down(Key::Space) && !is_typing,
            input.zoom_delta(),
            input.smooth_scroll_delta(),
            input.pointer.latest_pos(),
            input.pointer.press_origin(),
            input.pointer.primary_released(),
        )
    });
    let pointer = |at: Pos2| Pointer {
        at: screen.plan(at),
        m_per_px: 1.0 / screen.camera.px_per_m,
        shift: modifiers.shift,
        free: modifiers.command,
        units: app.view.units,
    };
    let send = |event: ToolEvent| app.queue.push(Action::Tool(event));
    wheel(app, screen, response, zoom, scroll);
    if matches!(app.tool, Tool::Place { .. }) {
        place(app, response, pointer_at, released, &pointer, &send);
        return;
    }
    let is_panning = space || app.tool == Tool::Hand;
    if response.dragged_by(PointerButton::Middle)
        || (is_panning && response.dragged_by(PointerButton::Primary))
    {
        let by = response.drag_delta();
        if by != egui::Vec2::ZERO {
            app.queue.push(Action::Pan {
                dx: f64::from(by.x),
                dy: f64::from(by.y),
            });
        }
        ui.set_cursor_icon(CursorIcon::Grabbing);
        return;
    }
    if response.drag_started_by(PointerButton::Primary)
        && !is_panning
        && let Some(origin) = origin.filter(|origin| response.rect.contains(*origin))
    {
        response.request_focus();
        send(ToolEvent::DragStart(pointer(origin)));
    }
    if response.dragged_by(PointerButton::Primary)
        && !is_panning
        && let Some(at) = response.interact_pointer_pos()
        && (response.drag_delta() != egui::Vec2::ZERO || response.drag_started())
    {
        send(ToolEvent::DragTo(pointer(at)));
    }
    if response.drag_stopped_by(PointerButton::Primary)
        && let Some(at) = response.interact_pointer_pos().or(pointer_at)
    {
        send(ToolEvent::DragEnd(pointer(at)));
    }
    if let Some(at) = response.interact_pointer_pos() {
        if response.double_clicked_by(PointerButton::Primary) {
            send(ToolEvent::DoubleClick(pointer(at)));
        } else if response.clicked_by(PointerButton::Primary) {
            response.request_focus();
            send(ToolEvent::Click(pointer(at)));
        }
    }
    let has_moved = ui.input(|input| input.pointer.delta() != egui::Vec2::ZERO);
    if has_moved
        && matches!(app.tool, Tool::Run(_))
        && let Some(at) = response.hover_pos()
    {
        send(ToolEvent::Hover(pointer(at)));
    }
    cursor(ui, app, response);
    arrows(ui, app, response);
}

fn cursor(ui: &egui::Ui, app: &App, response: &Response) {
    if !response.hovered() && !response.dragged() {
        return;
    }
    let icon = match &app.tool {
        Tool::Hand => CursorIcon::Grab,
        Tool::Run(_) | Tool::Note | Tool::Place { .. } => CursorIcon::Crosshair,
        Tool::Select(_) if is_moving(app) => CursorIcon::Move,
        Tool::Select(_) | Tool::Heads { .. } => CursorIcon::Default,
    };
    ui.set_cursor_icon(icon);
}

fn wheel(app: &App, screen: &Screen<'_>, response: &Response, zoom: f32, scroll: egui::Vec2) {
    let Some(at) = response.hover_pos() else {
        return;
    };
    let from_middle = at - screen.rect.center();
    // One notch of a wheel is fifty points: a tenth larger.
    const PER_POINT: f64 = 0.0025;
    let factor = f64::from(zoom) * (f64::from(scroll.y) * PER_POINT).exp();
    if (factor - 1.0).abs() > 1e-6 {
        app.queue.push(Action::Zoom {
            factor,
            x: f64::from(from_middle.x),
            y: f64::from(from_middle.y),
        });
    }
    if scroll.x.abs() > 0.0 {
        app.queue.push(Action::Pan {
            dx: f64::from(scroll.x),
            dy: 0.0,
        });
    }
}

/// Something from the strip follows the pointer, whether its button is held since the strip or not.
fn place(
    app: &App,
    response: &Response,
    at: Option<Pos2>,
    released: bool,
    pointer: &impl Fn(Pos2) -> Pointer,
    send: &impl Fn(ToolEvent),
) {
    let over =
        at.filter(|at| response.rect.contains(*at) && (response.contains_pointer() || released));
    let Tool::Place { at: known, .. } = &app.tool else {
        return;
    };
    match over {
        Some(at) => {
            let now = pointer(at);
            if *known != Some(now) {
                send(ToolEvent::Hover(now));
            }
            if released {
                send(ToolEvent::Drop(now));
            }
        }
        None if known.is_some() => send(ToolEvent::Leave),
        None => {}
    }
}

/// Arrow keys move the selection while the drawing, or nothing, has the focus.
fn arrows(ui: &egui::Ui, app: &App, response: &Response) {
    let focused = ui.memory(egui::Memory::focused);
    let on_canvas = response.has_focus() || focused.is_none() || super::tree::has_focus(ui);
    if !on_canvas || app.view.dialog.is_some() || egui::Popup::is_any_open(ui.ctx()) {
        return;
    }
    if response.has_focus() {
        let filter = egui::EventFilter {
            horizontal_arrows: true,
            vertical_arrows: true,
            ..egui::EventFilter::default()
        };
        ui.memory_mut(|memory| memory.set_focus_lock_filter(response.id, filter));
    }
    let keys = [
        (Key::ArrowLeft, -1.0, 0.0),
        (Key::ArrowRight, 1.0, 0.0),
        (Key::ArrowUp, 0.0, 1.0),
        (Key::ArrowDown, 0.0, -1.0),
    ];
    for (key, right, up) in keys {
        let (times, is_far) = ui.input(|input| (input.num_presses(key), input.modifiers.shift));
        for _ in 0..times {
            app.queue.push(Action::Nudge { right, up, is_far });
        }
    }
}
