//! The drawing in the window: input, paint, overlay, legend, and the tree for assistive technology.

mod fill;
mod input;
mod legend;
mod overlay;
mod paint;
mod scale;
mod selection;
mod setbacks;
mod tree;

pub use paint::Cache;
pub(super) use paint::{area_sample, symbol_shapes};

use eframe::egui::{self, CentralPanel, Frame, Pos2, Rect, Sense};

use super::action::Action;
use super::app::App;
use super::theme;

/// Where plan points are on the screen.
#[derive(Clone, Copy)]
pub(super) struct Screen<'a> {
    pub camera: &'a super::state::Camera,
    pub rect: Rect,
}

impl Screen<'_> {
    #[expect(
        clippy::cast_possible_truncation,
        reason = "screen places are single precision"
    )]
    pub fn place(&self, point: aubergine_core::geometry::PlanPoint) -> Pos2 {
        let (x, y) = self.camera.to_canvas(point);
        self.rect.center() + egui::vec2(x as f32, y as f32)
    }

    pub fn plan(&self, at: Pos2) -> aubergine_core::geometry::PlanPoint {
        let from_middle = at - self.rect.center();
        self.camera
            .to_plan(f64::from(from_middle.x), f64::from(from_middle.y))
    }
}

/// The canvas, in what the panels leave free.
pub(super) fn show(ui: &mut egui::Ui, app: &App, cache: &mut Cache) {
    let palette = theme::current(ui);
    let frame = Frame::NONE.fill(theme::token(palette, "canvas"));
    CentralPanel::default().frame(frame).show(ui, |ui| {
        let rect = ui.available_rect_before_wrap();
        let (width, height) = (f64::from(rect.width()), f64::from(rect.height()));
        let camera = app.camera();
        if (camera.width - width).abs() > 0.5
            || (camera.height - height).abs() > 0.5
            || !app.view.is_fitted
        {
            app.queue.push(Action::CanvasSized { width, height });
        }
        let response = ui.allocate_rect(rect, Sense::click_and_drag());
        let screen = Screen { camera, rect };
        let painter = ui.painter_at(rect);
        if app.view.has_grid && !app.view.is_presenting {
            painter.extend(paint::grid(&screen, app.view.units, palette));
        }
        let shapes = cache.shapes(ui, app, &screen, palette);
        painter.extend(shapes.below.iter().cloned());
        selection::halos(&painter, app, &screen, palette);
        painter.extend(shapes.above.iter().cloned());
        selection::handles(&painter, app, &screen, palette);
        overlay::paint(&painter, app, &screen, palette);
        tree::nodes(ui, app, &screen, &response);
        input::read(ui, app, &screen, &response);
        scale::show(
            &ui.painter_at(screen.rect),
            app,
            &screen,
            theme::current(ui),
        );
        legend::show(ui, app, &screen);
        overlay::notice(ui, app, rect);
    });
}
