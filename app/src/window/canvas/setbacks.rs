//! The limits around wells, buildings and open water, as rings over the drawing of the contact view, with their key in the legend.

use aubergine_core::drawing::theme::Theme;
use aubergine_core::text;
use eframe::egui::{Align2, Color32, Painter, Pos2, RichText, Sense, Shape, Stroke, Ui, vec2};

use super::Screen;
use crate::window::app::App;
use crate::window::theme;

/// Dash and gap of a ring: even, unlike those of the property line, of pipes and of what sprays reach.
const DASH: f32 = 6.0;

fn colour(palette: Theme) -> Color32 {
    theme::token(palette, "ink2")
}

fn dashed(points: &[Pos2], palette: Theme) -> Vec<Shape> {
    let stroke = Stroke::new(1.2, colour(palette));
    Shape::dashed_line(points, stroke, DASH, DASH)
}

/// The rings, each with its limit at the highest point that is in view.
pub(super) fn paint(painter: &Painter, app: &App, screen: &Screen<'_>, palette: Theme) {
    for setback in app.results.setbacks.iter() {
        for ring in &setback.rings {
            let points: Vec<Pos2> = ring
                .boundary()
                .0
                .iter()
                .map(|point| screen.place(*point))
                .collect();
            painter.extend(dashed(&points, palette));
            let inner = screen.rect.shrink2(vec2(90.0, 18.0));
            let seen = points.iter().filter(|point| inner.contains(**point));
            let Some(top) = seen.min_by(|a, b| a.y.total_cmp(&b.y)) else {
                continue;
            };
            let values = [
                ("limit", app.view.units.run(setback.limit)),
                ("place", app.words(setback.around).to_owned()),
            ];
            let words = text::fill("canvas.setback", values);
            let letters = theme::type_of(11.5, false);
            let galley = painter.layout_no_wrap(words, letters, colour(palette));
            let place = Align2::CENTER_BOTTOM.anchor_size(*top - vec2(0.0, 3.0), galley.size());
            painter.rect_filled(place, 2.0, theme::token(palette, "canvas"));
            painter.galley(place.min, galley, colour(palette));
        }
    }
}

/// What the rings mean, where some are drawn.
pub(super) fn key(ui: &mut Ui, app: &App, palette: Theme) {
    if app.results.setbacks.is_empty() {
        return;
    }
    ui.horizontal_wrapped(|ui| {
        let (rect, _) = ui.allocate_exact_size(vec2(46.0, 15.0), Sense::hover());
        let ends = [rect.left_center(), rect.right_center()];
        ui.painter().extend(dashed(&ends, palette));
        ui.label(RichText::new(text::get("canvas.setbacks")).size(12.0));
    });
}
