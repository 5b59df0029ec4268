//! The scale bar and north, in the corner of the canvas.

use aubergine_core::drawing::theme::Theme;
use aubergine_core::text;
use aubergine_core::units::{Length, UnitSystem};
use eframe::egui::{self, Align2, Painter, Pos2, Shape, Stroke, pos2, vec2};

use super::Screen;
use crate::window::app::App;
use crate::window::theme;

/// A bar of a round length, and north.
pub(super) fn show(painter: &Painter, app: &App, screen: &Screen<'_>, palette: Theme) {
    let ink = theme::token(palette, "ink2");
    let (steps, unit): (&[f64], f64) = match app.view.units {
        UnitSystem::Us => (
            &[1.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0],
            0.3048,
        ),
        UnitSystem::Metric => (&[0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 500.0], 1.0),
    };
    const LONGEST_PX: f64 = 140.0;
    let fits = steps
        .iter()
        .rev()
        .find(|step| **step * unit * screen.camera.px_per_m <= LONGEST_PX);
    let Some(step) = fits.or(steps.first()) else {
        return;
    };
    #[expect(
        clippy::cast_possible_truncation,
        reason = "screen places are single precision"
    )]
    let length = (step * unit * screen.camera.px_per_m) as f32;
    let right = screen.rect.right_bottom() + vec2(-20.0, -20.0);
    let left = right - vec2(length, 0.0);
    let stroke = Stroke::new(1.5, ink);
    painter.line_segment([left, right], stroke);
    for end in [left, right] {
        painter.line_segment([end + vec2(0.0, -5.0), end], stroke);
    }
    let words = match app.view.units {
        UnitSystem::Us => app
            .view
            .units
            .run(Length::from_feet(*step))
            .replace(".0 ", " "),
        UnitSystem::Metric => app
            .view
            .units
            .run(Length::from_metres(*step))
            .replace(".00 ", " "),
    };
    let small = theme::type_of(12.0, false);
    painter.text(
        pos2(f32::midpoint(left.x, right.x), right.y - 6.0),
        Align2::CENTER_BOTTOM,
        words,
        small,
        ink,
    );
    north(painter, app, right + vec2(-8.0, -52.0), ink);
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "screen places are single precision"
)]
fn north(painter: &Painter, app: &App, at: Pos2, ink: egui::Color32) {
    let angle = app.plan().site.north.degrees().to_radians() as f32;
    let towards = vec2(angle.sin(), -angle.cos());
    let side = vec2(-towards.y, towards.x);
    let tip = at + towards * 14.0;
    painter.line_segment([at - towards * 12.0, tip], Stroke::new(1.5, ink));
    let head = vec![
        tip,
        tip - towards * 9.0 + side * 4.5,
        tip - towards * 9.0 - side * 4.5,
    ];
    painter.add(Shape::convex_polygon(head, ink, Stroke::NONE));
    painter.text(
        tip + towards * 8.0,
        Align2::CENTER_CENTER,
        text::get("paper.north"),
        theme::type_of(12.0, true),
        ink,
    );
}
