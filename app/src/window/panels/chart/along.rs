//! Head, ground and pressure along the way of the water to a place, in the three supply cases, and who takes the pressure.

use aubergine_core::analysis::readings::{self, Way};
use aubergine_core::drawing::Symbol;
use aubergine_core::hydraulics::SupplyCase;
use aubergine_core::ids::{Id, Kind};
use aubergine_core::text;
use aubergine_core::units::Pressure;
use aubergine_core::units::display::fixed;
use eframe::egui::{self, Align2, Button, CollapsingHeader, ComboBox, RichText, Sense, Ui, vec2};
use egui_plot::{
    HLine, HoverPosition, Line, LineStyle, PlotPoint, PlotPoints, PlotUi, Text, VLine,
};

use super::tables::{numbers, takers};
use super::{
    NAME_ROW, along_bottom, in_rows, marks, shown_length, shown_pressure, still, units_of,
    write_names,
};
use crate::window::app::App;
use crate::window::theme;
use crate::window::widgets;

/// Room left of the supply, as a share of the way, so that its own fall is seen.
const LEFT: f64 = 0.02;

/// What the heights of the picture are.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
enum Heights {
    #[default]
    Pressure,
    Heads,
}

/// Names of the places that a way can be read to, the one that stands for the object first.
pub(super) fn places(app: &App, id: Id) -> Vec<String> {
    if id.kind == Kind::Zone {
        let read = app.readings(id);
        let shares = read.as_ref().as_ref().and_then(|read| read.shares.as_ref());
        return shares
            .map(|shares| shares.outlet.clone())
            .into_iter()
            .collect();
    }
    readings::places(app.analysis(), id, app.view.case)
        .into_iter()
        .map(|place| place.name)
        .collect()
}

/// The way to one of the places.
pub(super) fn show(ui: &mut Ui, app: &App, id: Id, places: &[String]) {
    let memory = egui::Id::unique(("way to", id.to_string()));
    let chosen: Option<String> = ui.data(|data| data.get_temp(memory));
    let Some(place) = chosen
        .filter(|chosen| places.contains(chosen))
        .or_else(|| places.first().cloned())
    else {
        return;
    };
    if places.len() > 1
        && let Some(other) = choose_place(ui, places, &place)
    {
        ui.data_mut(|data| data.insert_temp(memory, other));
    }
    let found = app.way(&place);
    let Some(way) = found.as_ref() else { return };
    widgets::group(ui, &text::fill("read.way_head", [("place", place)]));
    let memory = egui::Id::unique("heights of the way");
    let mut heights: Heights = ui.data(|data| data.get_temp(memory)).unwrap_or_default();
    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = 2.0;
        for (which, words) in [
            (Heights::Pressure, "read.pressure"),
            (Heights::Heads, "read.heads"),
        ] {
            let button = Button::selectable(heights == which, text::get(words));
            if ui.add(button).clicked() {
                heights = which;
                ui.data_mut(|data| data.insert_temp(memory, which));
            }
        }
    });
    picture(ui, app, way, heights);
    let mut key = text::get("read.way_key").to_owned();
    if heights == Heights::Heads {
        key = format!("{key} {}", text::get("read.heads_key"));
    }
    widgets::hint(ui, key);
    takers(ui, app, way);
    CollapsingHeader::new(text::get("read.numbers"))
        .id_salt(("the same in numbers", id.to_string()))
        .show(ui, |ui| numbers(ui, app, way));
}

fn choose_place(ui: &mut Ui, places: &[String], now: &str) -> Option<String> {
    let label = text::get("read.way_to");
    widgets::row(ui, label, |ui| {
        let mut chosen = None;
        let combo = ComboBox::from_id_salt("way to")
            .selected_text(now)
            .width(ui.available_width() - 4.0)
            .height(280.0);
        let shown = combo.show_ui(ui, |ui| {
            for place in places {
                if ui.selectable_label(place == now, place).clicked() && place != now {
                    chosen = Some(place.clone());
                }
            }
        });
        shown.response.accessible_name(format!("{label}: {now}"));
        chosen
    })
}

/// Short names of the devices on the way with their distance.
fn device_names(app: &App, way: &Way) -> Vec<(f64, String)> {
    way.devices()
        .map(|(id, point)| {
            let code = app.plan().objects.devices.get(&id).map_or_else(
                || id.to_string(),
                |device| Symbol::Device(device.kind).code().to_owned(),
            );
            (shown_length(app.view.units, point.along), code)
        })
        .collect()
}

/// The least pressure that the device at the end works with.
fn needed(app: &App, way: &Way) -> Option<Pressure> {
    let zone = app.analysis().zones.get(&way.place.zone)?;
    let emitter = zone
        .emitters(app.view.case)
        .find(|emitter| way.place.is_emitter && emitter.point.name() == way.place.name)?;
    let part = app.plan().catalog.emission(&emitter.point.part)?;
    Some(part.minimum)
}

fn picture(ui: &mut Ui, app: &App, way: &Way, heights: Heights) {
    let palette = theme::current(ui);
    let units = app.view.units;
    let (length_unit, pressure_unit) = units_of(units);
    let unit = match heights {
        Heights::Pressure => pressure_unit,
        Heights::Heads => length_unit,
    };
    let curve = |case: usize| -> Vec<[f64; 2]> {
        let points = way.points.iter().map(|point| {
            let height = match heights {
                Heights::Pressure => shown_pressure(units, point.pressure[case]),
                Heights::Heads => shown_length(units, point.head[case]),
            };
            [shown_length(units, point.along), height]
        });
        let mut points: Vec<[f64; 2]> = points.collect();
        // The supply's own fall is a step at the start.
        if let (Some(first), Some(zone)) = (
            way.points.first(),
            app.analysis().zones.get(&way.place.zone),
        ) {
            let at_rest = way.at_rest[case];
            let height = match heights {
                Heights::Pressure => shown_pressure(units, at_rest),
                Heights::Heads => {
                    let head = zone.built.network.water.head_of(at_rest);
                    shown_length(units, first.level + head)
                }
            };
            points.insert(0, [0.0, height]);
        }
        points
    };
    let curves = [0, 1, 2].map(curve);
    let ground: Vec<[f64; 2]> = way
        .points
        .iter()
        .map(|point| {
            [
                shown_length(units, point.along),
                shown_length(units, point.level),
            ]
        })
        .collect();
    let far = ground.last().map_or(1.0, |last| last[0]).max(1e-3);
    let all = curves.iter().flatten();
    let top = all.map(|point| point[1]).fold(0.0, f64::max).max(1e-6);
    let needed = needed(app, way).filter(|_| heights == Heights::Pressure);
    let needed = needed.map(|least| (shown_pressure(units, least), units.pressure(least)));
    let devices = device_names(app, way);
    // The strip for the names of devices: as many rows as the names will need, by the pixels that the picture is
    // going to have.
    const AXIS_WIDTH: f32 = 46.0;
    let width = ui.available_width() - AXIS_WIDTH;
    let room = 1.13;
    let left = ui.cursor().min.x + AXIS_WIDTH;
    #[expect(
        clippy::cast_possible_truncation,
        reason = "pixels are single precision"
    )]
    let at = |x: f64| left + width * ((x / far + LEFT) / (room + LEFT)) as f32;
    let guessed: Vec<(f32, String)> = devices
        .iter()
        .map(|(x, name)| (at(*x), name.clone()))
        .collect();
    let rows = in_rows(ui, &guessed, left + width);
    let num_rows = rows.iter().map(|(row, ..)| row + 1).max().unwrap_or(0);
    #[expect(clippy::cast_precision_loss, reason = "rows of names are few")]
    let strip_height = NAME_ROW * num_rows as f32;
    let (strip, _) =
        ui.allocate_exact_size(vec2(ui.available_width(), strip_height), Sense::hover());
    let plot = still(("along the way", way.place.name.clone(), heights as u8))
        .height(220.0)
        .set_margin_fraction(vec2(0.0, 0.06))
        .include_x(-LEFT * far)
        .include_x(far * room)
        .x_grid_spacer(|axis| marks(axis.bounds, 0.1))
        .y_grid_spacer(|axis| marks(axis.bounds, 0.1))
        .custom_x_axes(along_bottom(text::fill(
            "read.along_axis",
            [("unit", length_unit.to_owned())],
        )))
        .y_axis_label(match heights {
            Heights::Pressure => unit.to_owned(),
            Heights::Heads => text::fill("read.head_axis", [("unit", unit.to_owned())]),
        })
        .label_formatter(move |hover| match hover {
            HoverPosition::NearDataPoint {
                plot_name,
                position,
                ..
            } => Some(text::fill(
                "read.hover",
                [
                    ("what", plot_name.to_string()),
                    ("value", format!("{} {unit}", fixed(position.y, 1))),
                    ("along", format!("{} {length_unit}", fixed(position.x, 1))),
                ],
            )),
            HoverPosition::Elsewhere { .. } => None,
        });
    let plot = if heights == Heights::Pressure {
        plot.include_y(0.0)
    } else {
        plot
    };
    let shown = plot.show(ui, |plot| {
        let faint = theme::token(palette, "rule");
        for (x, _) in &devices {
            plot.vline(
                VLine::new("", *x)
                    .color(faint)
                    .width(1.0)
                    .allow_hover(false),
            );
        }
        if heights == Heights::Heads {
            let colour = theme::token(palette, "ink2");
            let base = ground.iter().map(|point| point[1]).fold(top, f64::min);
            let line = Line::new(text::get("read.ground"), PlotPoints::from(ground.clone()));
            #[expect(
                clippy::cast_possible_truncation,
                reason = "the plot fills in single precision"
            )]
            let filled = line.fill((base - 0.05 * top) as f32).fill_alpha(0.18);
            plot.line(filled.color(colour).width(1.5));
        }
        if let Some((y, words)) = &needed {
            let colour = theme::token(palette, "ink2");
            let words = text::fill("read.needs", [("pressure", words.clone())]);
            let line = HLine::new(words.clone(), *y)
                .color(colour)
                .width(1.0)
                .style(LineStyle::dotted_loose());
            plot.hline(line);
            letter(
                plot,
                0.01 * far,
                *y,
                &words,
                Align2::LEFT_BOTTOM,
                colour,
                11.0,
            );
        }
        for (case, points) in SupplyCase::ALL.into_iter().zip(&curves) {
            let is_shown = case == app.view.case;
            let colour = theme::token(palette, if is_shown { "accent" } else { "ink2" });
            let style = match case {
                SupplyCase::Low => LineStyle::Solid,
                SupplyCase::Normal => LineStyle::dashed_loose(),
                SupplyCase::High => LineStyle::dotted_dense(),
            };
            // A fall at one place is drawn apart: sharp corners burst in one stroke.
            for piece in pieces(points) {
                let name = text::fill("read.case_curve", [("case", case.word().to_owned())]);
                let line = Line::new(name, PlotPoints::from(piece));
                let width = if is_shown { 2.4 } else { 1.3 };
                plot.line(line.color(colour).width(width).style(style));
            }
        }
        let ink = theme::token(palette, "ink");
        for (y, words) in letters(&curves, top) {
            letter(plot, far * 1.015, y, &words, Align2::LEFT_CENTER, ink, 12.0);
        }
    });
    let colour = theme::token(palette, "ink2");
    let named: Vec<(f32, String)> = devices
        .iter()
        .map(|(x, name)| (shown.transform.position_from_point_x(*x), name.clone()))
        .collect();
    let rows = in_rows(ui, &named, strip.max.x);
    write_names(ui, &rows, strip.max.y, colour);
}

fn letter(
    plot: &mut PlotUi<'_>,
    x: f64,
    y: f64,
    words: &str,
    anchor: Align2,
    colour: egui::Color32,
    size: f32,
) {
    let words = RichText::new(words).font(theme::type_of(size, false));
    let text = Text::new("", PlotPoint::new(x, y), words)
        .anchor(anchor)
        .color(colour)
        .allow_hover(false);
    plot.text(text);
}

/// The letters of the cases at the ends of their curves; those that end together stand together.
fn letters(curves: &[Vec<[f64; 2]>; 3], top: f64) -> Vec<(f64, String)> {
    const NEAR: f64 = 0.07;
    let mut ends: Vec<(f64, char)> = SupplyCase::ALL
        .into_iter()
        .zip(curves)
        .filter_map(|(case, points)| Some((points.last()?[1], case.letter())))
        .collect();
    ends.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut found: Vec<(f64, f64, String)> = Vec::new();
    for (y, letter) in ends {
        match found.last_mut() {
            Some((last, _, words)) if y - *last < NEAR * top => {
                words.push_str(", ");
                words.push(letter);
                *last = y;
            }
            _ => found.push((y, y, letter.to_string())),
        }
    }
    found
        .into_iter()
        .map(|(last, first, words)| (f64::midpoint(first, last), words))
        .collect()
}

/// The chain cut before and behind every fall at one place; points that stand twice would make the line burst.
fn pieces(points: &[[f64; 2]]) -> Vec<Vec<[f64; 2]>> {
    const STEEP: f64 = 0.05;
    let mut apart: Vec<[f64; 2]> = Vec::new();
    for point in points {
        let is_same = |last: &[f64; 2]| {
            (last[0] - point[0]).abs() < STEEP && (last[1] - point[1]).abs() < STEEP
        };
        if !apart.last().is_some_and(is_same) {
            apart.push(*point);
        }
    }
    let mut found: Vec<Vec<[f64; 2]>> = Vec::new();
    let mut was_steep = None;
    for pair in apart.windows(2) {
        let is_steep = (pair[1][0] - pair[0][0]).abs() < STEEP;
        match found.last_mut() {
            Some(piece) if was_steep == Some(is_steep) => piece.push(pair[1]),
            _ => found.push(pair.to_vec()),
        }
        was_steep = Some(is_steep);
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_of_cases_that_end_close_together_stand_apart_by_a_comma() {
        let curve = |y: f64| vec![[0.0, y], [1.0, y]];
        let words = |found: Vec<(f64, String)>| -> Vec<String> {
            found.into_iter().map(|(_, words)| words).collect()
        };
        let close = letters(&[curve(10.0), curve(30.0), curve(31.0)], 40.0);
        assert_eq!(words(close), ["L", "N, H"]);
        let apart = letters(&[curve(10.0), curve(20.0), curve(30.0)], 40.0);
        assert_eq!(words(apart), ["L", "N", "H"]);
    }
}
