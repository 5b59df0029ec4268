//! What shows that something is selected: a halo beneath it, so that its colours and letters are still read, and handles.

use aubergine_core::drawing;
use aubergine_core::drawing::build::{place_of, shape_of};
use aubergine_core::drawing::theme::Theme;
use aubergine_core::ids::Id;
use eframe::egui::{Color32, Painter, Pos2, Rect, Shape, Stroke, StrokeKind, vec2};

use super::Screen;
use crate::window::app::App;
use crate::window::theme;
use crate::window::tools::{self, Grip};

/// Width of a halo, and of what it leaves free around the thing itself, in pixels.
const HALO_PX: f32 = 11.0;
const FREE_PX: f32 = 6.0;

/// Halos of everything selected; painted over areas and beneath runs, devices and words.
pub(super) fn halos(painter: &Painter, app: &App, screen: &Screen<'_>, palette: Theme) {
    if app.view.is_presenting {
        return;
    }
    let accent = theme::token(palette, "accent");
    let casing = theme::token(palette, "canvas");
    for id in app.selection() {
        halo(painter, app, screen, *id, accent, casing);
    }
}

/// Handles of the one thing that is selected.
pub(super) fn handles(painter: &Painter, app: &App, screen: &Screen<'_>, palette: Theme) {
    let Some(id) = app.selected_one().filter(|_| !app.view.is_presenting) else {
        return;
    };
    let accent = theme::token(palette, "accent");
    let casing = theme::token(palette, "canvas");
    // Bends that lie closer than this would hide the run; their places can still be dragged.
    const CLOSE_PX: f32 = 18.0;
    let mut last: Option<Pos2> = None;
    for handle in tools::handles(app.plan(), id) {
        let at = screen.place(handle.at);
        if handle.grip == Grip::Bend && last.is_some_and(|last| last.distance(at) < CLOSE_PX) {
            continue;
        }
        last = Some(at);
        let side = if handle.grip == Grip::Bend { 7.0 } else { 9.0 };
        let square = Rect::from_center_size(at, vec2(side, side));
        painter.rect_filled(square, 1.0, casing);
        painter.rect_stroke(square, 1.0, Stroke::new(2.0, accent), StrokeKind::Middle);
    }
}

fn halo(
    painter: &Painter,
    app: &App,
    screen: &Screen<'_>,
    id: Id,
    accent: Color32,
    casing: Color32,
) {
    let Some(shape) = shape_of(app.plan(), id) else {
        if let Some(at) = place_of(app.plan(), id) {
            let ring = Rect::from_center_size(screen.place(at), vec2(26.0, 26.0));
            painter.rect_filled(ring, 3.0, casing);
            painter.rect_stroke(ring, 3.0, Stroke::new(2.5, accent), StrokeKind::Middle);
        }
        return;
    };
    let mut points: Vec<Pos2> = Vec::new();
    shape.each_point(|point| points.push(screen.place(point)));
    if matches!(shape, drawing::Shape::Area(_)) {
        painter.add(Shape::closed_line(points, Stroke::new(4.0, accent)));
        return;
    }
    for stroke in [Stroke::new(HALO_PX, accent), Stroke::new(FREE_PX, casing)] {
        painter.add(Shape::line(points.clone(), stroke));
    }
}
