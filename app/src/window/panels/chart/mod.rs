//! Two pictures of a solved zone: head, ground and pressure along the way of the water, and how the emitter flows spread.

mod along;
mod spread;
mod tables;

use aubergine_core::ids::{Id, Kind};
use aubergine_core::text;
use aubergine_core::units::{Length, Pressure, UnitSystem};
use eframe::egui::{self, Align2, Button, Color32, Rangef, Ui, Vec2b, pos2};
use egui_plot::{AxisHints, GridMark, Plot};

use crate::window::app::App;
use crate::window::theme;

/// Which picture is looked at; it stays when another object is chosen.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
enum Picture {
    #[default]
    Along,
    Flows,
}

/// The pictures of an object that water reaches.
pub(super) fn show(ui: &mut Ui, app: &App, id: Id) {
    let takes_part = matches!(
        id.kind,
        Kind::Bed
            | Kind::Pipe
            | Kind::Line
            | Kind::Emission
            | Kind::Device
            | Kind::Outlet
            | Kind::Zone
    );
    if !takes_part {
        return;
    }
    let places = along::places(app, id);
    let zone = if id.kind == Kind::Zone {
        app.analysis().zones.contains_key(&id).then_some(id)
    } else {
        let zones = &app.analysis().zones;
        let of_valve = zones.iter().find(|(_, zone)| zone.valve == id);
        of_valve
            .map(|(zone, _)| *zone)
            .or_else(|| app.analysis().zone_of(id))
    };
    if places.is_empty() && zone.is_none() {
        return;
    }
    let memory = egui::Id::unique("picture of a zone");
    let mut picture: Picture = ui.data(|data| data.get_temp(memory)).unwrap_or_default();
    ui.add_space(10.0);
    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = 2.0;
        for (which, words) in [
            (Picture::Along, "read.along"),
            (Picture::Flows, "read.flows"),
        ] {
            let can = match which {
                Picture::Along => !places.is_empty(),
                Picture::Flows => zone.is_some(),
            };
            let button = Button::selectable(picture == which && can, text::get(words));
            if ui.add_enabled(can, button).clicked() {
                picture = which;
                ui.data_mut(|data| data.insert_temp(memory, which));
            }
        }
    });
    match (picture, zone) {
        (Picture::Flows, Some(zone)) => spread::show(ui, app, zone),
        _ if places.is_empty() => {}
        _ => along::show(ui, app, id, &places),
    }
}

/// Units of lengths and pressures in the pictures.
const fn units_of(units: UnitSystem) -> (&'static str, &'static str) {
    match units {
        UnitSystem::Us => ("ft", "psi"),
        UnitSystem::Metric => ("m", "kPa"),
    }
}

const fn shown_length(units: UnitSystem, length: Length) -> f64 {
    match units {
        UnitSystem::Us => length.feet(),
        UnitSystem::Metric => length.metres(),
    }
}

const fn shown_pressure(units: UnitSystem, pressure: Pressure) -> f64 {
    match units {
        UnitSystem::Us => pressure.psi(),
        UnitSystem::Metric => pressure.kilopascals(),
    }
}

/// Marks of an axis: some five at 1, 2 or 5 times a power of ten, never closer than `finest`.
fn marks((low, high): (f64, f64), finest: f64) -> Vec<GridMark> {
    let wanted = ((high - low) / 5.0).max(finest);
    let power = 10f64.powf(wanted.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|step| step * power)
        .find(|step| *step >= wanted)
        .unwrap_or(wanted);
    let mut found = Vec::new();
    // Adding nothing turns a minus zero, which would be written as such, into zero.
    let mut at = (low / step).ceil() + 0.0;
    // A picture has a handful of marks; bounds that are no numbers have none.
    while at * step <= high && found.len() < 20 {
        found.push(GridMark {
            value: at * step,
            step_size: step,
        });
        at += 1.0;
    }
    found
}

/// The axis along the bottom: its words, and numbers that stay legible side by side.
fn along_bottom<'a>(words: String) -> Vec<AxisHints<'a>> {
    vec![
        AxisHints::new_x()
            .label(words)
            .label_spacing(Rangef::new(24.0, 36.0)),
    ]
}

/// Height of a row of names above a picture.
const NAME_ROW: f32 = 14.0;

/// Names with the pixel that each belongs to, laid in rows so that none covers another; those that share a place are one
/// name. Gives the rows.
fn in_rows(ui: &Ui, names: &[(f32, String)], right: f32) -> Vec<(usize, f32, String)> {
    const NEAR: f32 = 7.0;
    const GAP: f32 = 6.0;
    let mut joined: Vec<(f32, String)> = Vec::new();
    for (x, name) in names {
        match joined.last_mut() {
            Some((last, words)) if (x - *last).abs() < NEAR => {
                words.push(' ');
                words.push_str(name);
            }
            _ => joined.push((*x, name.clone())),
        }
    }
    let mut ends: Vec<f32> = Vec::new();
    joined
        .into_iter()
        .map(|(x, words)| {
            let face = theme::type_of(11.0, false);
            let galley = ui
                .painter()
                .layout_no_wrap(words.clone(), face, Color32::WHITE);
            let width = galley.size().x;
            let from = (x - 3.0).min(right - width);
            let row = ends.iter().position(|end| *end + GAP <= from);
            let row = row.unwrap_or_else(|| {
                ends.push(f32::MIN);
                ends.len() - 1
            });
            ends[row] = from + width;
            (row, from, words)
        })
        .collect()
}

/// A picture that is read, not moved: with lines across from the numbers of its height.
fn still<'a>(id: impl std::hash::Hash + std::fmt::Debug) -> Plot<'a> {
    Plot::new(id)
        .allow_drag(false)
        .allow_scroll(false)
        .allow_zoom(false)
        .allow_boxed_zoom(false)
        .show_grid(Vec2b::new(false, true))
}

/// Writes names in the strip above a picture, the first row nearest to it.
fn write_names(ui: &Ui, rows: &[(usize, f32, String)], bottom: f32, colour: Color32) {
    for (row, x, words) in rows {
        // Rows are few; the cast is exact.
        #[expect(clippy::cast_precision_loss, reason = "a row number is below ten")]
        let y = bottom - NAME_ROW * *row as f32;
        ui.painter().text(
            pos2(*x, y),
            Align2::LEFT_BOTTOM,
            words,
            theme::type_of(11.0, false),
            colour,
        );
    }
}
