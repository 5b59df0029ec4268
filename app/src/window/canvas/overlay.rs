//! What lies over the drawing and is not part of it: selection, handles, ghosts, words at the pointer, messages.

use aubergine_core::drawing::Role;
use aubergine_core::drawing::theme::{Theme, ink};
use aubergine_core::geometry::{PlanPoint, PlanVector, Polygon};
use aubergine_core::ids::{Id, Kind};
use aubergine_core::layout::PlacedHead;
use aubergine_core::model::WaterKind;
use aubergine_core::model::integrity::water_of;
use aubergine_core::text;
use aubergine_core::units::{Length, Pressure};
use aubergine_core::wetting;
use eframe::egui::{
    self, Align2, Color32, Frame, Margin, Painter, Pos2, Rect, Shape, Stroke, StrokeKind, Ui,
    UiBuilder, vec2,
};

use super::paint::symbol_shapes;
use super::{Screen, setbacks};
use crate::window::action::Action;
use crate::window::app::App;
use crate::window::panels::describe;
use crate::window::state::Notice;
use crate::window::theme;
use crate::window::tools::{
    Ghost, Grip, Landing, RunDraft, SelectState, Stock, Tool, handles, land, offset_words, placed,
    waiting, water_of_new,
};

pub(super) fn paint(painter: &Painter, app: &App, screen: &Screen<'_>, palette: Theme) {
    let accent = theme::token(palette, "accent");
    if app.plan().objects.is_empty() {
        let colour = theme::token(palette, "ink2");
        painter.text(
            screen.rect.center(),
            Align2::CENTER_CENTER,
            text::get("canvas.empty"),
            theme::type_of(15.0, false),
            colour,
        );
    }
    setbacks::paint(painter, app, screen, palette);
    waiting_marks(painter, app, screen, palette);
    match &app.tool {
        Tool::Select(SelectState::Marquee { from, to, inside }) => {
            let frame = Rect::from_two_pos(screen.place(*from), screen.place(*to));
            painter.rect_filled(frame, 0.0, accent.gamma_multiply(0.10));
            painter.rect_stroke(frame, 0.0, Stroke::new(1.0, accent), StrokeKind::Middle);
            words(
                painter,
                frame.right_bottom(),
                &[text::get(if *inside {
                    "canvas.inside"
                } else {
                    "canvas.touching"
                })
                .to_owned()],
                palette,
                screen.rect,
            );
        }
        Tool::Select(SelectState::Moving {
            ids,
            origin,
            by,
            was,
        }) => {
            moving(painter, app, screen, palette, (ids, *was), *origin, *by);
        }
        Tool::Select(SelectState::Handle { handle, caught }) => {
            let at = handles(app.plan(), handle.id)
                .get(handle.index)
                .map_or(handle.at, |handle| handle.at);
            let said = caught.as_ref().map_or_else(
                || match handle.grip {
                    Grip::End => text::get("canvas.open_end").to_owned(),
                    Grip::Bend => text::get("canvas.bend").to_owned(),
                    Grip::Corner => size_words(app, handle.id),
                },
                |caught| caught.word.clone(),
            );
            if let Some(caught) = caught {
                catch_mark(
                    painter,
                    screen.place(caught.at),
                    accent,
                    caught.is_refused,
                    palette,
                );
            }
            words(
                painter,
                screen.place(at),
                &[said, pressure_words(app, handle.id, None)],
                palette,
                screen.rect,
            );
        }
        Tool::Place {
            stock,
            at: Some(pointer),
        } => {
            if let Some(landing) = land(app.document(), *stock, pointer) {
                ghost(painter, screen, palette, &landing, stock.symbol());
                words(
                    painter,
                    screen.place(pointer.at),
                    std::slice::from_ref(&landing.word),
                    palette,
                    screen.rect,
                );
            }
        }
        Tool::Run(draft) => run(painter, app, screen, palette, draft),
        Tool::Heads { area, rule } => {
            for head in placed(app.plan(), *area, rule) {
                head_ghost(painter, screen, palette, &head, app);
            }
        }
        _ => {}
    }
}

/// A head that would be put down: its place and the sector it throws over at its rated pressure.
fn head_ghost(
    painter: &Painter,
    screen: &Screen<'_>,
    palette: Theme,
    head: &PlacedHead,
    app: &App,
) {
    let Some(part) = app.plan().catalog.emission(&head.part) else {
        return;
    };
    let (throw, _) = wetting::throw(part, part.at);
    let sector = Polygon::sector(head.at, throw, head.from, head.sweep);
    let points: Vec<Pos2> = sector.0.iter().map(|at| screen.place(*at)).collect();
    let accent = theme::token(palette, "accent");
    painter.add(Shape::closed_line(
        points,
        Stroke::new(1.0, accent.gamma_multiply(0.7)),
    ));
    painter.circle_filled(screen.place(head.at), 4.0, accent);
}

/// While an end of a run is moved: every place that waits for one. Of a bed that is selected: its inlet while it waits.
fn waiting_marks(painter: &Painter, app: &App, screen: &Screen<'_>, palette: Theme) {
    let plan = app.plan();
    let is_selected = |id: &Id| id.kind == Kind::Bed && app.selection().contains(id);
    let (water, not, selected_only) = match &app.tool {
        Tool::Run(draft) => (draft.water.or(water_of_new(plan)), None, false),
        Tool::Place {
            stock: Stock::Run, ..
        } => (water_of_new(plan), None, false),
        Tool::Select(SelectState::Handle { handle, .. }) if handle.grip == Grip::End => {
            (water_of(&plan.objects, handle.id), Some(handle.id), false)
        }
        Tool::Select(_) => {
            let bed = app.selection().iter().find(|id| is_selected(id));
            (bed.and_then(|id| water_of(&plan.objects, *id)), None, true)
        }
        _ => return,
    };
    let Some(water) = water else { return };
    let accent = theme::token(palette, "accent");
    let ground = theme::token(palette, "canvas");
    for (_, at) in waiting(plan, water, not)
        .iter()
        .filter(|(port, _)| !selected_only || is_selected(&port.object))
    {
        let at = screen.place(*at);
        painter.circle_filled(at, 6.5, ground);
        painter.circle_stroke(at, 5.5, Stroke::new(2.0, accent));
        painter.circle_filled(at, 2.0, accent);
    }
}

fn moving(
    painter: &Painter,
    app: &App,
    screen: &Screen<'_>,
    palette: Theme,
    (ids, was): (&[Id], Option<Pressure>),
    origin: PlanPoint,
    by: PlanVector,
) {
    let accent = theme::token(palette, "accent");
    let (from, to) = (screen.place(origin), screen.place(origin + by));
    painter.extend(Shape::dashed_line(
        &[from, to],
        Stroke::new(1.0, accent),
        4.0,
        3.0,
    ));
    let mut lines = vec![offset_words(app.view.units, by)];
    if let [id] = ids {
        lines.push(pressure_words(app, *id, was));
    }
    words(painter, to, &lines, palette, screen.rect);
}

/// `4'-0" by 8'-0"`: how far an area reaches across and up, in its own coordinates.
fn size_words(app: &App, id: Id) -> String {
    let objects = &app.plan().objects;
    let outline = match id.kind {
        Kind::Bed => objects.beds.get(&id).map(|bed| &bed.outline),
        _ => objects.features.get(&id).map(|feature| &feature.outline),
    };
    let extent = |x: f64, y: f64| {
        let (low, high) = outline.map_or((0.0, 0.0), |outline| outline.span(PlanVector::new(x, y)));
        app.view.units.length(Length::from_metres(high - low))
    };
    let values = [("width", extent(1.0, 0.0)), ("depth", extent(0.0, 1.0))];
    text::fill("canvas.size", values)
}

/// `B3 inlet 24.9 psi (low supply), was 25.0 psi`.
fn pressure_words(app: &App, id: Id, was: Option<Pressure>) -> String {
    let units = app.view.units;
    let Some(now) = describe::pressure_of(app, id) else {
        return was.map_or_else(String::new, |was| {
            let values = [("id", id.to_string()), ("was", units.pressure(was))];
            text::fill("canvas.no_water", values)
        });
    };
    let now = units.pressure(now);
    let before = was.map(|was| units.pressure(was)).filter(|was| *was != now);
    let key = if before.is_some() {
        "canvas.pressure_was"
    } else {
        "canvas.pressure"
    };
    text::fill(
        key,
        [
            ("id", id.to_string()),
            ("port", describe::main_port(id).1.to_owned()),
            ("now", now),
            ("case", app.view.case.word().to_owned()),
            ("was", before.unwrap_or_default()),
        ],
    )
}

fn catch_mark(painter: &Painter, at: Pos2, accent: Color32, is_refused: bool, palette: Theme) {
    let colour = if is_refused {
        theme::token(palette, "notAllowed")
    } else {
        accent
    };
    painter.circle_stroke(at, 9.0, Stroke::new(2.0, colour));
    if is_refused {
        painter.line_segment(
            [at + vec2(-6.0, 6.0), at + vec2(6.0, -6.0)],
            Stroke::new(2.0, colour),
        );
    }
}

fn ghost(
    painter: &Painter,
    screen: &Screen<'_>,
    palette: Theme,
    landing: &Landing,
    symbol: Option<aubergine_core::drawing::Symbol>,
) {
    let accent = theme::token(palette, "accent");
    let stroke = Stroke::new(2.0, accent);
    match &landing.ghost {
        Ghost::Area(outline) => {
            let points: Vec<Pos2> = outline.0.iter().map(|point| screen.place(*point)).collect();
            painter.add(super::fill::area(&points, accent.gamma_multiply(0.12)));
            let closed: Vec<Pos2> = points.iter().chain(points.first()).copied().collect();
            painter.extend(Shape::dashed_line(&closed, stroke, 6.0, 4.0));
        }
        Ghost::Line(line) => {
            let points: Vec<Pos2> = line.0.iter().map(|point| screen.place(*point)).collect();
            for end in [points.first(), points.last()].into_iter().flatten() {
                painter.circle_stroke(*end, 6.0, Stroke::new(1.5, accent));
            }
            painter.extend(Shape::dashed_line(&points, stroke, 6.0, 4.0));
        }
        Ghost::Symbol(at) => {
            let at = screen.place(*at);
            painter.circle_stroke(at, 15.0, stroke);
            if let Some(symbol) = symbol {
                let mut shapes = Vec::new();
                let look = ink(Role::Device(WaterKind::Reclaimed), palette);
                symbol_shapes(
                    symbol,
                    at,
                    22.0,
                    &look,
                    theme::token(palette, "canvas"),
                    &mut shapes,
                );
                painter.extend(shapes);
            }
        }
    }
}

fn run(painter: &Painter, app: &App, screen: &Screen<'_>, palette: Theme, draft: &RunDraft) {
    let accent = theme::token(palette, "accent");
    let set: Vec<Pos2> = draft
        .points
        .iter()
        .map(|(at, _)| screen.place(*at))
        .collect();
    painter.add(Shape::line(set.clone(), Stroke::new(2.5, accent)));
    for at in &set {
        painter.circle_filled(*at, 3.5, accent);
    }
    let Some((next, caught)) = &draft.next else {
        return;
    };
    let at = screen.place(*next);
    let mut lines = vec![caught.as_ref().map_or_else(
        || text::get("canvas.point").to_owned(),
        |caught| caught.word.clone(),
    )];
    if let Some((last, _)) = draft.points.last() {
        painter.extend(Shape::dashed_line(
            &[screen.place(*last), at],
            Stroke::new(2.0, accent),
            6.0,
            4.0,
        ));
        lines.insert(0, app.view.units.length(last.distance(*next)));
    }
    match caught {
        Some(caught) => catch_mark(
            painter,
            screen.place(caught.at),
            accent,
            caught.is_refused,
            palette,
        ),
        None => {
            painter.circle_stroke(at, 4.0, Stroke::new(1.5, accent));
        }
    }
    words(painter, at, &lines, palette, screen.rect);
}

/// A small plate of words beside the pointer, kept on the canvas.
fn words(painter: &Painter, at: Pos2, lines: &[String], palette: Theme, inside: Rect) {
    let said = lines
        .iter()
        .filter(|line| !line.is_empty())
        .cloned()
        .collect::<Vec<_>>()
        .join("\n");
    if said.is_empty() {
        return;
    }
    let colour = theme::token(palette, "ink");
    let galley = painter.layout_no_wrap(said, theme::type_of(13.0, false), colour);
    let size = galley.size() + vec2(14.0, 8.0);
    let mut corner = at + vec2(16.0, 18.0);
    corner.x = corner
        .x
        .min(inside.max.x - size.x - 4.0)
        .max(inside.min.x + 4.0);
    corner.y = corner
        .y
        .min(inside.max.y - size.y - 4.0)
        .max(inside.min.y + 4.0);
    let plate = Rect::from_min_size(corner, size);
    painter.rect_filled(plate, 3.0, theme::token(palette, "raised"));
    painter.rect_stroke(
        plate,
        3.0,
        Stroke::new(1.0, theme::token(palette, "field")),
        StrokeKind::Inside,
    );
    painter.galley(corner + vec2(7.0, 4.0), galley, colour);
}

/// How long a message stays that tells of no problem, in seconds.
const STAYS_S: f64 = 8.0;

/// A message that tells of no problem goes by itself.
fn pass(ui: &Ui, app: &App, notice: &Notice) {
    if notice.is_problem {
        return;
    }
    let memory = egui::Id::unique("message since");
    let now = ui.input(|input| input.time);
    let known: Option<(String, f64)> = ui.data(|data| data.get_temp(memory));
    let since = known
        .filter(|(text, since)| *text == notice.text && now - since <= STAYS_S + 1.0)
        .map_or(now, |(_, since)| since);
    ui.data_mut(|data| data.insert_temp(memory, (notice.text.clone(), since)));
    let left = STAYS_S - (now - since);
    if left <= 0.0 {
        app.queue.push(Action::DismissNotice);
    } else {
        ui.request_repaint_after(std::time::Duration::from_secs_f64(left));
    }
}

/// The message over the upper edge of the drawing, until it is dismissed.
pub(super) fn notice(ui: &mut Ui, app: &App, canvas: Rect) {
    let Some(notice) = &app.view.notice else {
        return;
    };
    // A dialog tells its own problems.
    if notice.is_problem && app.view.dialog.is_some() {
        return;
    }
    pass(ui, app, notice);
    let palette = theme::current(ui);
    let width = (canvas.width() - 32.0).min(620.0);
    let corner = Align2::CENTER_TOP.pos_in_rect(&canvas) + vec2(-width / 2.0, 12.0);
    let room = Rect::from_min_size(corner, vec2(width, 200.0));
    let edge = if notice.is_problem {
        theme::token(palette, "notAllowed")
    } else {
        theme::token(palette, "field")
    };
    ui.scope_builder(UiBuilder::new().max_rect(room), |ui| {
        Frame::NONE
            .fill(theme::token(palette, "raised"))
            .stroke(Stroke::new(1.0, edge))
            .corner_radius(3)
            .inner_margin(Margin::symmetric(12, 8))
            .show(ui, |ui| {
                ui.horizontal(|ui| {
                    let text_width = width - 130.0;
                    ui.allocate_ui(vec2(text_width, 20.0), |ui| {
                        ui.set_width(text_width);
                        ui.add(egui::Label::new(&notice.text).wrap());
                    });
                    ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                        if ui.button(text::get("canvas.dismiss")).clicked() {
                            app.queue.push(Action::DismissNotice);
                        }
                    });
                });
            });
    });
}
