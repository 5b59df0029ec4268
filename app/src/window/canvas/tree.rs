//! The drawing for assistive technology and the Tab key: one node an object, with the words of the object list.

use aubergine_core::drawing::build::{place_of, shape_of};
use aubergine_core::ids::{Id, Kind};
use aubergine_core::text;
use eframe::egui::{self, Rect, Response, Sense, Ui, accesskit, vec2};

use super::Screen;
use crate::window::action::Action;
use crate::window::app::App;

/// More nodes than this are no help to anybody; the list of objects has the rest.
const MOST_NODES: usize = 400;

fn node_id(id: Id) -> egui::Id {
    egui::Id::unique(("plan object", id.to_string()))
}

const FOCUSED: &str = "the plan object in focus";

/// Whether an object of the drawing had the focus in the last frame.
pub(super) fn has_focus(ui: &Ui) -> bool {
    ui.data(|data| {
        data.get_temp::<bool>(egui::Id::unique(FOCUSED))
            .unwrap_or(false)
    })
}

/// Nodes for what is seen and what is selected.
pub(super) fn nodes(ui: &Ui, app: &App, screen: &Screen<'_>, canvas: &Response) {
    let name = text::fill(
        "canvas.told",
        [
            ("name", app.plan().name.clone()),
            ("view", app.view.view.word().to_lowercase()),
        ],
    );
    canvas.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Canvas, true, &name));
    let shown = [
        Kind::Bed,
        Kind::Supply,
        Kind::Device,
        Kind::Outlet,
        Kind::Pipe,
        Kind::Line,
        Kind::Emission,
        Kind::Tree,
        Kind::Feature,
    ];
    let ids = app.plan().objects.ids();
    let wanted = ids
        .into_iter()
        .filter(|id| shown.contains(&id.kind))
        .filter_map(|id| {
            let rect = rect_of(app, screen, id)?;
            (rect.intersects(screen.rect) || app.selection().contains(&id)).then_some((id, rect))
        });
    let mut is_focused = false;
    for (id, rect) in wanted.take(MOST_NODES) {
        let is_selected = app.selection().contains(&id);
        let words = app.words(id);
        let rect = rect.intersect(screen.rect);
        let response = ui.interact(rect, node_id(id), Sense::focusable_noninteractive());
        response.widget_info(|| {
            egui::WidgetInfo::selected(egui::Role::ListItem, true, is_selected, words)
        });
        if response.has_focus() {
            is_focused = true;
            let filter = egui::EventFilter {
                horizontal_arrows: true,
                vertical_arrows: true,
                ..egui::EventFilter::default()
            };
            ui.memory_mut(|memory| memory.set_focus_lock_filter(response.id, filter));
        }
        let is_asked = ui.input(|input| {
            input.has_accesskit_action_request(response.id, accesskit::Action::Click)
        });
        if (response.gained_focus() || is_asked) && !is_selected {
            app.queue.push(Action::Select {
                id,
                add: false,
                show: false,
            });
        }
    }
    if has_focus(ui) != is_focused {
        ui.data_mut(|data| data.insert_temp(egui::Id::unique(FOCUSED), is_focused));
    }
}

fn rect_of(app: &App, screen: &Screen<'_>, id: Id) -> Option<Rect> {
    let Some(shape) = shape_of(app.plan(), id) else {
        let at = screen.place(place_of(app.plan(), id)?);
        return Some(Rect::from_center_size(at, vec2(24.0, 24.0)));
    };
    let mut points: Vec<egui::Pos2> = Vec::new();
    shape.each_point(|point| points.push(screen.place(point)));
    let rect = Rect::from_points(&points);
    Some(if rect.width().min(rect.height()) < 8.0 {
        rect.expand(4.0)
    } else {
        rect
    })
}
