//! Marks of the drawing as shapes of the window, kept until the drawing, the look or the camera changes.

use aubergine_core::drawing::hatch::{self, HatchStroke};
use aubergine_core::drawing::symbols::{CELL, STROKE, Stroke as SymbolStroke};
use aubergine_core::drawing::theme::{Colour, Hatch, Ink, Pen, Theme, ink};
use aubergine_core::drawing::{Layer, LayerKind, Mark, Role, Shape as MarkShape, Symbol, labels};
use aubergine_core::geometry::{PlanPoint, Polygon};
use aubergine_core::units::{Angle, UnitSystem};
use eframe::egui::{self, Color32, Pos2, Rect, Shape, Stroke, pos2, vec2};

use super::Screen;
use super::fill;
use crate::window::app::App;
use crate::window::state::Camera;
use crate::window::theme;

/// Printed millimetres on the screen.
const PX_PER_MM: f32 = 3.0;
/// Side of a symbol's cell on the screen.
const SYMBOL_PX: f32 = 22.0;
/// Type size of labels.
const LABEL_PX: f32 = 12.0;
/// Type size of labels while presenting.
const LARGE_LABEL_PX: f32 = 17.0;

/// The shapes of the last frame.
#[derive(Default)]
pub struct Cache {
    key: Option<(u64, bool, Camera, f32, bool)>,
    shapes: Shapes,
}

/// The drawing in two parts: what selected things are haloed over, and what is seen over the halo.
#[derive(Default)]
pub(super) struct Shapes {
    /// Ground, areas, beds.
    pub below: Vec<Shape>,
    /// Runs, lines, devices, words, notes: their colours and letters stay as they are when they are selected.
    pub above: Vec<Shape>,
}

impl Cache {
    /// The shapes of the drawing, made again only if something changed.
    pub(super) fn shapes(
        &mut self,
        ui: &egui::Ui,
        app: &App,
        screen: &Screen<'_>,
        palette: Theme,
    ) -> &Shapes {
        let key = (
            app.times_drawn(),
            palette == Theme::Dark,
            *screen.camera,
            screen.rect.min.x + screen.rect.min.y * 7.0,
            app.view.is_presenting,
        );
        if self.key != Some(key) {
            self.shapes = shapes(ui, app, screen, palette);
            self.key = Some(key);
        }
        &self.shapes
    }
}

fn shapes(ui: &egui::Ui, app: &App, screen: &Screen<'_>, palette: Theme) -> Shapes {
    let (mut below, mut out) = (Vec::new(), Vec::new());
    let seen = screen.rect.expand(40.0);
    let layers = &app.results.drawing.layers;
    let is_note = |layer: &&Layer| layer.kind == LayerKind::Notes;
    for layer in layers.iter().filter(|layer| !is_note(layer)) {
        let is_below = layer.kind < LayerKind::Contact;
        let into = if is_below { &mut below } else { &mut out };
        for mark in &layer.marks {
            paint_mark(mark, screen, palette, seen, into);
        }
    }
    let size = if app.view.is_presenting {
        LARGE_LABEL_PX
    } else {
        LABEL_PX
    };
    let place = |point: PlanPoint| {
        let at = screen.place(point);
        (f64::from(at.x), f64::from(at.y))
    };
    let near = screen.rect.expand(200.0);
    let output = labels::Output {
        letters: f64::from(size),
        mm: f64::from(PX_PER_MM),
        symbol: f64::from(SYMBOL_PX),
        seen: Some(labels::Frame {
            left: f64::from(near.min.x),
            top: f64::from(near.min.y),
            right: f64::from(near.max.x),
            bottom: f64::from(near.max.y),
        }),
    };
    let placed = labels::place(&app.results.drawing, place, output);
    for tick in &placed.ticks {
        #[expect(
            clippy::cast_possible_truncation,
            reason = "screen places are single precision"
        )]
        let ends = tick.ends.map(|(x, y)| pos2(x as f32, y as f32));
        let colour = ink(tick.role, palette)
            .fill
            .map_or(Color32::GRAY, theme::colour);
        out.push(Shape::line_segment(ends, Stroke::new(1.2, colour)));
    }
    for text in &placed.texts {
        label(ui, text, size, palette, seen, &mut out);
    }
    for mark in layers.iter().filter(is_note).flat_map(|layer| &layer.marks) {
        note(ui, mark, screen, palette, &mut out);
    }
    Shapes { below, above: out }
}

/// A note stands beside what it is about, on a leader, so that it covers neither name nor symbol.
#[expect(
    clippy::cast_possible_truncation,
    reason = "screen places are single precision"
)]
fn note(ui: &egui::Ui, mark: &Mark, screen: &Screen<'_>, palette: Theme, out: &mut Vec<Shape>) {
    let (MarkShape::Symbol { at, .. }, Some(id)) = (&mark.shape, mark.subject) else {
        return;
    };
    let place = screen.place(*at);
    let (right, down) = labels::NOTE_OFFSET;
    let middle = place + vec2(right as f32, down as f32) * SYMBOL_PX;
    let colour = ink(mark.role, palette)
        .fill
        .map_or(Color32::GRAY, theme::colour);
    let ground = theme::token(palette, "canvas");
    out.push(Shape::line_segment(
        [place, middle],
        Stroke::new(1.2, colour),
    ));
    out.push(Shape::circle_filled(place, 2.2, colour));
    out.push(Shape::circle_filled(middle, 11.0, ground));
    // Closed notes are rings: the state is not told by colour alone.
    let (fill, text) = if mark.role == Role::NoteClosed {
        (ground, colour)
    } else {
        (colour, ground)
    };
    out.push(Shape::circle_filled(middle, 9.5, fill));
    out.push(Shape::circle_stroke(middle, 9.5, Stroke::new(1.5, colour)));
    let font = theme::type_of(12.0, true);
    let words = id.number.to_string();
    let galley = ui
        .ctx()
        .fonts_mut(|fonts| fonts.layout_no_wrap(words, font, text));
    out.push(Shape::galley(middle - galley.size() / 2.0, galley, text));
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "screen places are single precision"
)]
fn label(
    ui: &egui::Ui,
    text: &labels::PlacedText<'_>,
    size: f32,
    palette: Theme,
    seen: Rect,
    out: &mut Vec<Shape>,
) {
    let at = pos2(text.x as f32, text.y as f32);
    if !seen.contains(at) {
        return;
    }
    let look = ink(text.mark.role, palette);
    let colour = look.fill.map_or(Color32::GRAY, theme::colour);
    let is_note = |id: aubergine_core::ids::Id| id.kind == aubergine_core::ids::Kind::Note;
    if text.mark.subject.is_some_and(is_note) {
        return;
    }
    let is_bold = text.face == aubergine_core::drawing::font::Face::Bold;
    let font = theme::type_of(size, is_bold);
    let galley = ui
        .ctx()
        .fonts_mut(|fonts| fonts.layout_no_wrap(text.text.clone().into_owned(), font, colour));
    // The galley hangs from its top left corner; the place is the left end of the base line.
    let ascent = (aubergine_core::drawing::font::ASCENT as f32) * size;
    let top_left = pos2(
        at.x,
        at.y - ascent - (galley.size().y - size * 1.215).max(0.0) / 2.0,
    );
    // Letters stand on a patch of their ground, so that no line runs through them.
    let ground = text.ground.and_then(|role| ink(role, palette).fill);
    let ground = ground.map_or_else(|| theme::token(palette, "canvas"), theme::colour);
    let patch = Rect::from_min_size(top_left, galley.size()).expand2(vec2(2.0, -2.0));
    out.push(Shape::rect_filled(patch, 2.0, ground.gamma_multiply(0.88)));
    out.push(Shape::galley(top_left, galley, colour));
}

fn paint_mark(mark: &Mark, screen: &Screen<'_>, palette: Theme, seen: Rect, out: &mut Vec<Shape>) {
    let look = ink(mark.role, palette);
    match &mark.shape {
        MarkShape::Area(outline) => area(outline, &look, screen, seen, out),
        MarkShape::Line(line) => {
            let points: Vec<Pos2> = line.0.iter().map(|point| screen.place(*point)).collect();
            if let Some(pen) = look.pen
                && is_seen(&points, seen)
            {
                stroke(&points, &pen, out);
            }
        }
        MarkShape::Dots(places) => {
            // Emitters closer than this would be one smear.
            const LEAST_PX: f32 = 4.0;
            let places: Vec<Pos2> = places.iter().map(|place| screen.place(*place)).collect();
            let spread = places
                .windows(2)
                .map(|pair| pair[0].distance(pair[1]))
                .fold(f32::INFINITY, f32::min);
            if spread < LEAST_PX {
                return;
            }
            let colour = look.fill.map_or(Color32::GRAY, theme::colour);
            let radius = (spread * 0.16).clamp(1.2, 2.6);
            let dots = places.into_iter().filter(|at| seen.contains(*at));
            out.extend(dots.map(|at| Shape::circle_filled(at, radius, colour)));
        }
        MarkShape::Symbol { symbol, at, turn } => {
            let at = screen.place(*at);
            if seen.contains(at) {
                turned_symbol(
                    (*symbol, *turn),
                    at,
                    SYMBOL_PX,
                    &look,
                    theme::token(palette, "canvas"),
                    out,
                );
            }
        }
        MarkShape::Text { .. } => {}
    }
}

fn is_seen(points: &[Pos2], seen: Rect) -> bool {
    Rect::from_points(points).intersects(seen)
}

fn area(outline: &Polygon, look: &Ink, screen: &Screen<'_>, seen: Rect, out: &mut Vec<Shape>) {
    let points: Vec<Pos2> = outline.0.iter().map(|point| screen.place(*point)).collect();
    if !is_seen(&points, seen) {
        return;
    }
    if let Some(colour) = look.fill {
        out.push(fill::area(&points, theme::colour(colour)));
    }
    if let Some(pattern) = look.hatch {
        hatched(outline, pattern, screen, seen, out);
    }
    if let Some(pen) = look.pen {
        let closed: Vec<Pos2> = points.iter().chain(points.first()).copied().collect();
        stroke(&closed, &pen, out);
    }
}

/// A small area with its marks, in a rectangle of the window.
pub(in crate::window) fn area_sample(rect: Rect, look: &Ink) -> Vec<Shape> {
    let camera = Camera {
        px_per_m: 1.0,
        ..Camera::default()
    };
    let screen = Screen {
        camera: &camera,
        rect,
    };
    let corners = [
        rect.left_bottom(),
        rect.right_bottom(),
        rect.right_top(),
        rect.left_top(),
    ];
    let outline = Polygon(corners.map(|corner| screen.plan(corner)).to_vec());
    let mut out = Vec::new();
    area(&outline, look, &screen, rect.expand(2.0), &mut out);
    out
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "pen widths are single precision on the screen"
)]
fn stroke(points: &[Pos2], pen: &Pen, out: &mut Vec<Shape>) {
    let width = (pen.width_mm as f32 * PX_PER_MM).max(1.0);
    let stroke = Stroke::new(width, theme::colour(pen.colour));
    if pen.dash_mm.is_empty() {
        out.push(Shape::line(points.to_vec(), stroke));
        return;
    }
    let lengths: Vec<f32> = pen
        .dash_mm
        .iter()
        .map(|length| (*length as f32 * PX_PER_MM).max(1.0))
        .collect();
    let (dashes, gaps): (Vec<f32>, Vec<f32>) = lengths
        .chunks(2)
        .map(|pair| (pair[0], *pair.last().unwrap_or(&1.0)))
        .unzip();
    out.extend(Shape::dashed_line_with_offset(
        points, stroke, &dashes, &gaps, 0.0,
    ));
}

/// The strokes of a pattern that are seen.
#[expect(
    clippy::cast_possible_truncation,
    reason = "printed sizes are single precision on the screen"
)]
fn hatched(
    outline: &Polygon,
    (pattern, colour, rows): (Hatch, Colour, Angle),
    screen: &Screen<'_>,
    seen: Rect,
    out: &mut Vec<Shape>,
) {
    let colour = theme::colour(colour);
    let px = |mm: f64| mm as f32 * PX_PER_MM;
    let thin = Stroke::new(px(hatch::HATCH_MM), colour);
    let metres_per_mm = f64::from(PX_PER_MM) / screen.camera.px_per_m;
    for stroke in hatch::strokes(outline, pattern, rows, metres_per_mm) {
        match stroke {
            HatchStroke::Line(from, to) => {
                let ends = [screen.place(from), screen.place(to)];
                if is_seen(&ends, seen) {
                    out.push(Shape::line_segment(ends, thin));
                }
            }
            HatchStroke::Dot(at) => {
                let at = screen.place(at);
                if seen.contains(at) {
                    out.push(Shape::circle_filled(at, px(hatch::DOT_MM), colour));
                }
            }
            HatchStroke::Ring(at) => {
                let at = screen.place(at);
                if seen.contains(at) {
                    out.push(Shape::circle_stroke(at, px(hatch::RING_MM), thin));
                }
            }
        }
    }
}

/// A symbol at a place, in its cell of a size.
pub(in crate::window) fn symbol_shapes(
    symbol: Symbol,
    at: Pos2,
    size: f32,
    look: &Ink,
    ground: Color32,
    out: &mut Vec<Shape>,
) {
    turned_symbol((symbol, Angle::ZERO), at, size, look, ground, out);
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "screen places are single precision"
)]
fn turned_symbol(
    (symbol, turn): (Symbol, Angle),
    at: Pos2,
    size: f32,
    look: &Ink,
    ground: Color32,
    out: &mut Vec<Shape>,
) {
    let scale = size / CELL as f32;
    let line = look
        .pen
        .map(|pen| pen.colour)
        .or(look.fill)
        .map_or(Color32::GRAY, theme::colour);
    let stroke = Stroke::new(STROKE as f32 * scale, line);
    let place = |(x, y): (f64, f64)| at + vec2(x as f32, y as f32) * scale;
    // What lies beneath must not be read as part of the symbol.
    if !matches!(symbol, Symbol::Emission(_) | Symbol::Tree | Symbol::Fall) {
        out.push(Shape::circle_filled(at, 9.5 * scale, ground));
    }
    for part in symbol.turned(turn) {
        match part {
            SymbolStroke::Line(points) => {
                out.push(Shape::line(points.into_iter().map(place).collect(), stroke));
            }
            SymbolStroke::Outline(points) => {
                let points: Vec<Pos2> = points.into_iter().map(place).collect();
                out.push(fill::area(&points, ground));
                out.push(Shape::closed_line(points, stroke));
            }
            SymbolStroke::Filled(points) => {
                let points: Vec<Pos2> = points.into_iter().map(place).collect();
                out.push(fill::area(&points, line));
            }
            SymbolStroke::Circle { at, radius, filled } => {
                let (middle, radius) = (place(at), radius as f32 * scale);
                out.push(if filled {
                    Shape::circle_filled(middle, radius, line)
                } else {
                    Shape::circle_stroke(middle, radius, stroke)
                });
            }
        }
    }
}

/// A grid of round steps: 1, 5, 10, 50, 100 ft or m, whichever keeps its lines apart.
pub(super) fn grid(screen: &Screen<'_>, units: UnitSystem, palette: Theme) -> Vec<Shape> {
    const LEAST_PX: f64 = 14.0;
    let unit = match units {
        UnitSystem::Us => 0.3048,
        UnitSystem::Metric => 1.0,
    };
    let steps = [1.0, 5.0, 10.0, 50.0, 100.0, 500.0];
    let Some(step) = steps
        .into_iter()
        .map(|step| step * unit)
        .find(|step| step * screen.camera.px_per_m >= LEAST_PX)
    else {
        return Vec::new();
    };
    let colour = theme::token(palette, "rule").gamma_multiply(0.32);
    let (low, high) = (
        screen.plan(screen.rect.left_bottom()),
        screen.plan(screen.rect.right_top()),
    );
    let mut out = Vec::new();
    let mut x = (low.x / step).ceil() * step;
    while x < high.x {
        let at = screen.place(PlanPoint::new(x, low.y)).x;
        out.push(Shape::vline(
            at,
            screen.rect.y_range(),
            Stroke::new(1.0, colour),
        ));
        x += step;
    }
    let mut y = (low.y / step).ceil() * step;
    while y < high.y {
        let at = screen.place(PlanPoint::new(low.x, y)).y;
        out.push(Shape::hline(
            screen.rect.x_range(),
            at,
            Stroke::new(1.0, colour),
        ));
        y += step;
    }
    out
}
