//! The legend of each view, on the canvas.

use std::collections::BTreeSet;

use aubergine_core::drawing::gauge::Gauge;
use aubergine_core::drawing::theme::{BAND_END, BAND_STOPS_PSI, Theme, ink, water_code};
use aubergine_core::drawing::{Footing, Role, Shape as MarkShape, Symbol, View, footing, legend};
use aubergine_core::model::{BedUse, FeatureKind, PipeRole, WaterKind};
use aubergine_core::rulebook::Verdict;
use aubergine_core::text;
use aubergine_core::units::{Angle, Pressure};
use eframe::egui::{
    self, Align, Align2, Button, Frame, Label, Layout, Margin, Mesh, Painter, Pos2, Rect, RichText,
    Sense, Shape, Stroke, Ui, UiBuilder, pos2, vec2,
};

use super::paint::area_sample;
use super::{Screen, setbacks};
use crate::window::action::Action;
use crate::window::app::App;
use crate::window::command::{Command, Keys};
use crate::window::panels::describe;
use crate::window::theme;
use crate::window::widgets;

const WIDTH: f32 = 344.0;

pub(super) fn show(ui: &mut Ui, app: &App, screen: &Screen<'_>) {
    let palette = theme::current(ui);
    if app.view.view == View::Plain {
        return;
    }
    // The legend grows upward from its corner: its height is that of the last frame.
    let id = egui::Id::unique("height of the legend");
    let height: f32 = ui.data(|data| data.get_temp(id)).unwrap_or(120.0);
    let corner = screen.rect.left_bottom() + vec2(12.0, -12.0 - height);
    let room = Rect::from_min_size(corner, vec2(WIDTH, height));
    let shown = ui.scope_builder(UiBuilder::new().max_rect(room), |ui| {
        Frame::NONE
            .fill(theme::token(palette, "panel"))
            .stroke(Stroke::new(1.0, theme::token(palette, "rule")))
            .corner_radius(3)
            .inner_margin(Margin::symmetric(12, 10))
            .show(ui, |ui| {
                ui.set_width(WIDTH - 24.0);
                ui.spacing_mut().item_spacing.y = 4.0;
                heading(ui, app);
                if !app.view.has_legend {
                    return;
                }
                match app.view.view {
                    View::Water => water(ui, app, palette),
                    View::Pressure => pressure(ui, app, palette),
                    View::Contact => contact(ui, app),
                    View::Coverage => coverage(ui, app, palette),
                    View::Plain => {}
                }
                areas(ui, app, palette);
                features(ui, app, palette);
                ground(ui, app);
                reach(ui, app, palette);
                setbacks::key(ui, app, palette);
                if let Some(told) = footing::told(&app.results.drawing) {
                    widgets::hint(ui, told);
                }
            })
            .response
            .rect
            .height()
    });
    if (shown.inner - height).abs() > 0.5 {
        ui.data_mut(|data| data.insert_temp(id, shown.inner));
        ui.request_repaint();
    }
}

/// What the legend is of, and the button that folds it away from what it covers.
fn heading(ui: &mut Ui, app: &App) {
    let case = [("case", app.view.case.word().to_owned())];
    let words = match app.view.view {
        View::Water => text::get("canvas.waters").to_owned(),
        View::Pressure => text::fill("canvas.gauge", case),
        View::Contact => text::get("canvas.contact").to_owned(),
        View::Coverage => text::fill("canvas.coverage", case),
        View::Plain => return,
    };
    ui.allocate_ui_with_layout(
        vec2(ui.available_width(), 0.0),
        Layout::right_to_left(Align::Min),
        |ui| {
            let entry = Command::Legend.entry();
            let word = if app.view.has_legend { "Fold" } else { "Show" };
            let button = Button::new(RichText::new(word).size(12.0)).small();
            let keys = entry.keys.map(Keys::shown).unwrap_or_default();
            let response = ui
                .add(button)
                .on_hover_text(format!("{} ({keys})", entry.hint))
                .accessible_name(format!("{word} the legend"));
            if response.clicked() {
                app.queue().push(Action::Run(Command::Legend));
            }
            ui.with_layout(Layout::top_down(Align::Min), |ui| {
                let words = RichText::new(words).font(theme::type_of(13.0, true));
                ui.add(Label::new(words).wrap());
            });
        },
    );
}

fn water(ui: &mut Ui, app: &App, palette: Theme) {
    let mut kinds: Vec<WaterKind> = app
        .plan()
        .objects
        .waters
        .values()
        .map(|water| water.kind)
        .collect();
    kinds.dedup();
    if kinds.is_empty() {
        widgets::hint(ui, text::get("canvas.no_waters"));
    }
    for kind in kinds {
        ui.horizontal(|ui| {
            let (rect, _) = ui.allocate_exact_size(vec2(46.0, 16.0), Sense::hover());
            let mut shapes = Vec::new();
            sample(rect, kind, palette, &mut shapes);
            ui.painter().extend(shapes);
            ui.label(RichText::new(water_code(kind)).font(theme::type_of(13.0, true)));
            ui.label(RichText::new(describe::water_word(kind)).size(13.0));
        });
    }
    widgets::hint(ui, text::get("canvas.not_joined"));
}

/// The kinds of planting on the plan, each with the marks that tell it without colour.
fn areas(ui: &mut Ui, app: &App, palette: Theme) {
    let is_there = |usage: BedUse| {
        let beds = &app.plan().objects.beds;
        beds.values().any(|bed| bed.use_ == usage)
    };
    ui.horizontal(|ui| {
        for (usage, key) in [
            (BedUse::Food, "area.food"),
            (BedUse::Lawn, "area.lawn"),
            (BedUse::Ornamental, "area.ornamental"),
        ] {
            if is_there(usage) {
                let (rect, _) = ui.allocate_exact_size(vec2(30.0, 14.0), Sense::hover());
                let look = ink(Role::Planted(usage, Angle::ZERO), palette);
                ui.painter().extend(area_sample(rect, &look));
                ui.label(RichText::new(text::get(key)).size(12.0));
            }
        }
    });
}

/// The kinds of feature on the plan, a line each that holds as many as fit.
fn features(ui: &mut Ui, app: &App, palette: Theme) {
    let features = app.plan().objects.features.values();
    let kinds: BTreeSet<FeatureKind> = features.map(|feature| feature.kind).collect();
    if kinds.is_empty() {
        return;
    }
    ui.horizontal_wrapped(|ui| {
        for kind in kinds {
            // Sample and words stay on one line.
            ui.horizontal(|ui| {
                let (rect, _) = ui.allocate_exact_size(vec2(30.0, 14.0), Sense::hover());
                let look = ink(Role::Feature(kind), palette);
                ui.painter().extend(area_sample(rect, &look));
                ui.label(RichText::new(text::get(legend::feature_key(kind))).size(12.0));
            });
        }
    });
}

/// What the arrows of the ground mean, where some are drawn.
fn ground(ui: &mut Ui, app: &App) {
    let arrow = app
        .results
        .drawing
        .marks()
        .find_map(|mark| match &mark.shape {
            MarkShape::Symbol { symbol, .. } if *symbol == Symbol::Fall => Some(mark.role),
            _ => None,
        });
    if let Some(role) = arrow {
        ui.horizontal(|ui| {
            widgets::symbol(ui, Symbol::Fall, role, 20.0);
            ui.label(RichText::new(Symbol::Fall.name()).size(12.0));
        });
    }
}

/// What the dashed edges of sprays mean, where some are drawn.
fn reach(ui: &mut Ui, app: &App, palette: Theme) {
    let mut marks = app.results.drawing.marks();
    let Some(role) = marks.find_map(|mark| match mark.role {
        Role::Wetted(_) => Some(mark.role),
        _ => None,
    }) else {
        return;
    };
    ui.horizontal_wrapped(|ui| {
        let (rect, _) = ui.allocate_exact_size(vec2(46.0, 15.0), Sense::hover());
        if let Some(pen) = ink(role, palette).pen {
            let stroke = Stroke::new(1.6, theme::colour(pen.colour));
            let ends = [rect.left_center(), rect.right_center()];
            ui.painter()
                .extend(Shape::dashed_line(&ends, stroke, 3.0, 3.0));
        }
        let key = match app.view.view {
            View::Contact => "canvas.reach_wind",
            _ => "canvas.reach",
        };
        ui.label(RichText::new(text::get(key)).size(12.0));
    });
}

fn sample(rect: Rect, kind: WaterKind, palette: Theme, out: &mut Vec<Shape>) {
    let Some(pen) = ink(Role::Pipe(kind, PipeRole::Main), palette).pen else {
        return;
    };
    let stroke = Stroke::new(2.2, theme::colour(pen.colour));
    let ends = [rect.left_center(), rect.right_center()];
    match kind {
        WaterKind::Reclaimed => out.push(Shape::line_segment(ends, stroke)),
        WaterKind::Potable => out.extend(Shape::dashed_line(&ends, stroke, 12.0, 5.0)),
        WaterKind::OtherNonPotable => {
            out.extend(Shape::dashed_line_with_offset(
                &ends,
                stroke,
                &[12.0, 2.0],
                &[5.0, 5.0],
                0.0,
            ));
        }
    }
}

/// The bands that the drawing shows, with dry and flooded, in two columns.
fn coverage(ui: &mut Ui, app: &App, palette: Theme) {
    let entries = legend::entries(&app.results.drawing, app.view.units);
    let bands: Vec<_> = entries
        .into_iter()
        .filter(|entry| entry.group == legend::Group::Rates)
        .collect();
    if bands.is_empty() {
        widgets::hint(ui, text::get("canvas.no_coverage"));
    }
    for entry in bands {
        ui.horizontal(|ui| {
            let (rect, _) = ui.allocate_exact_size(vec2(46.0, 15.0), Sense::hover());
            if let legend::Sample::Area(role) = entry.sample {
                ui.painter().extend(area_sample(rect, &ink(role, palette)));
            }
            ui.label(RichText::new(entry.words).size(13.0));
        });
    }
}

fn contact(ui: &mut Ui, app: &App) {
    let rulings = app
        .analysis()
        .contact
        .values()
        .flat_map(|judged| &judged.rulings);
    let mut found: Vec<Verdict> = rulings.map(|ruling| ruling.verdict).collect();
    found.sort_unstable();
    found.dedup();
    found.reverse();
    for verdict in found {
        ui.horizontal(|ui| {
            widgets::symbol(
                ui,
                Symbol::Verdict(verdict),
                Role::Verdict(verdict, Footing::Stated),
                20.0,
            );
            ui.label(RichText::new(text::get(verdict.key())).size(13.0));
        });
    }
    let books: Vec<String> = app
        .plan()
        .rules
        .books_in_force()
        .map(|book| {
            text::fill(
                "canvas.book",
                [
                    ("book", book.jurisdiction.clone()),
                    ("date", book.as_of.clone()),
                ],
            )
        })
        .collect();
    let words = if books.is_empty() {
        text::get("window.rules_unjudged").to_owned()
    } else {
        text::fill("canvas.books", [("books", books.join("; "))])
    };
    widgets::hint(ui, words);
}

fn pressure(ui: &mut Ui, app: &App, palette: Theme) {
    let (case, units) = (app.view.case, app.view.units);
    let Some(gauge) = Gauge::of(app.plan(), app.analysis(), case, app.selection()) else {
        widgets::hint(ui, text::get("canvas.no_emitter"));
        return;
    };
    let (rect, _) = ui.allocate_exact_size(vec2(WIDTH - 24.0, 60.0), Sense::hover());
    let band = Rect::from_min_max(
        pos2(rect.min.x + 8.0, rect.min.y + 24.0),
        pos2(rect.max.x - 8.0, rect.min.y + 38.0),
    );
    #[expect(
        clippy::cast_possible_truncation,
        reason = "screen places are single precision"
    )]
    let x = |pressure: Pressure| {
        band.min.x + band.width() * ((pressure / BAND_END).clamp(0.0, 1.0) as f32)
    };
    ui.painter().add(Shape::mesh(continuous(band, palette)));
    let small = theme::type_of(12.0, false);
    let (faint, ink) = (theme::token(palette, "ink2"), theme::token(palette, "ink"));
    for (value, words) in Gauge::ticks(units) {
        let at = x(value);
        ui.painter()
            .vline(at, band.max.y..=band.max.y + 4.0, Stroke::new(1.0, faint));
        ui.painter().text(
            pos2(at, band.max.y + 4.0),
            Align2::CENTER_TOP,
            words,
            small.clone(),
            faint,
        );
    }
    // The working range hangs over the band as a bracket.
    let (low, high) = gauge.worst.range;
    let (from, to, top) = (x(low), x(high), band.min.y - 7.0);
    let corners = vec![
        pos2(from, band.min.y - 2.0),
        pos2(from, top),
        pos2(to, top),
        pos2(to, band.min.y - 2.0),
    ];
    ui.painter()
        .add(Shape::line(corners, Stroke::new(1.5, ink)));
    ui.painter().text(
        pos2(f32::midpoint(from, to), top - 1.0),
        Align2::CENTER_BOTTOM,
        text::get("canvas.works"),
        small,
        ink,
    );
    let panel = theme::token(palette, "panel");
    let devices = [(&gauge.worst, "▼", true), (&gauge.best, "▽", false)];
    for ((device, mark, is_filled), words) in devices.into_iter().zip(gauge.words(units)) {
        pointer(
            ui.painter(),
            x(device.pressure),
            band,
            is_filled,
            ink,
            panel,
        );
        ui.label(RichText::new(format!("{mark} {words}")).size(12.0));
    }
    widgets::hint(ui, text::get("window.alone"));
}

/// A needle over the band: filled for the worst, open for the best.
fn pointer(
    painter: &Painter,
    x: f32,
    band: Rect,
    is_filled: bool,
    ink: egui::Color32,
    ground: egui::Color32,
) {
    let tip = pos2(x, band.max.y - 3.0);
    let points: Vec<Pos2> = vec![tip, tip + vec2(-5.0, -9.0), tip + vec2(5.0, -9.0)];
    let fill = if is_filled { ink } else { ground };
    painter.add(Shape::convex_polygon(
        points,
        fill,
        Stroke::new(1.5, if is_filled { ground } else { ink }),
    ));
}

/// One band from end to end, its colours at the stops of the drawing.
fn continuous(band: Rect, palette: Theme) -> Mesh {
    let mut mesh = Mesh::default();
    let stops = std::iter::once(0.0)
        .chain(BAND_STOPS_PSI)
        .chain(std::iter::once(BAND_END.psi()));
    for psi in stops {
        let colour = theme::colour(palette.pressure(Pressure::from_psi(psi)));
        #[expect(
            clippy::cast_possible_truncation,
            reason = "screen places are single precision"
        )]
        let x = band.min.x + band.width() * ((psi / BAND_END.psi()) as f32);
        mesh.colored_vertex(pos2(x, band.min.y), colour);
        mesh.colored_vertex(pos2(x, band.max.y), colour);
    }
    let count = u32::try_from(mesh.vertices.len()).unwrap_or(0);
    let mut first = 0;
    while first + 3 < count {
        mesh.add_triangle(first, first + 1, first + 2);
        mesh.add_triangle(first + 1, first + 2, first + 3);
        first += 2;
    }
    mesh
}
