//! Pressure along the way of the water, from the supply to the selected object, in the three supply cases.

use aubergine_core::analysis::ZoneAnalysis;
use aubergine_core::hydraulics::{LinkKind, SupplyCase};
use aubergine_core::ids::{Id, Kind};
use aubergine_core::model::PortRef;
use aubergine_core::units::display::fixed;
use aubergine_core::units::{Flow, Length, Pressure, UnitSystem};
use eframe::egui::{Ui, Vec2b};
use egui_plot::{HoverPosition, Line, LineStyle, Plot, PlotPoints, Points, VLine};

use crate::window::app::App;
use crate::window::theme;
use crate::window::widgets;

/// The way to one junction.
#[derive(Clone, PartialEq, Debug, Default)]
struct Way {
    /// Distance from the supply and pressure, one list a case.
    cases: [Vec<[f64; 2]>; 3],
    /// Devices on the way: distance and name.
    devices: Vec<(f64, String)>,
    /// What stands at its end.
    end: String,
}

/// The chart of an object that water reaches.
pub(super) fn show(ui: &mut Ui, app: &App, id: Id) {
    if !matches!(
        id.kind,
        Kind::Bed | Kind::Pipe | Kind::Line | Kind::Emission | Kind::Device
    ) {
        return;
    }
    let Some(way) = way(app, id) else { return };
    widgets::group(ui, &format!("Pressure from the supply to {}", way.end));
    let palette = theme::current(ui);
    let units = app.view.units;
    let (distance_unit, pressure_unit) = match units {
        UnitSystem::Us => ("ft", "psi"),
        UnitSystem::Metric => ("m", "kPa"),
    };
    let ink = theme::token(palette, "ink");
    let plot = Plot::new(("pressure along the way", id.to_string()))
        .height(210.0)
        .allow_drag(false)
        .allow_scroll(false)
        .allow_zoom(false)
        .allow_boxed_zoom(false)
        .show_grid(Vec2b::new(false, true))
        .include_y(0.0)
        .x_axis_label(format!("along the way, {distance_unit}"))
        .y_axis_label(pressure_unit)
        .label_formatter(move |hover| match hover {
            HoverPosition::NearDataPoint {
                plot_name,
                position,
                ..
            } => Some(format!(
                "{plot_name}: {} {pressure_unit} at {} {distance_unit}",
                fixed(position.y, 1),
                fixed(position.x, 1)
            )),
            HoverPosition::Elsewhere { .. } => None,
        });
    plot.show(ui, |plot| {
        for (x, _) in &way.devices {
            plot.vline(
                VLine::new("", *x)
                    .color(theme::token(palette, "rule"))
                    .width(1.0)
                    .allow_hover(false),
            );
        }
        for (case, points) in SupplyCase::ALL.into_iter().zip(way.cases.clone()) {
            let is_shown = case == app.view.case;
            let colour = if is_shown {
                theme::token(palette, "accent")
            } else {
                theme::token(palette, "ink3")
            };
            let style = match case {
                SupplyCase::Low => LineStyle::Solid,
                SupplyCase::Normal => LineStyle::dashed_loose(),
                SupplyCase::High => LineStyle::dotted_dense(),
            };
            // A fall at one place is drawn apart: sharp corners burst in one stroke.
            for piece in pieces(&points) {
                let name = format!("{} supply", case.word());
                let line = Line::new(name, PlotPoints::from(piece));
                let width = if is_shown { 2.2 } else { 1.3 };
                plot.line(line.color(colour).width(width).style(style));
            }
        }
        let shown = &way.cases[app.view.case as usize];
        let at_devices: Vec<[f64; 2]> = way
            .devices
            .iter()
            .filter_map(|(x, _)| {
                shown
                    .iter()
                    .rev()
                    .find(|point| (point[0] - x).abs() < 1e-9)
                    .copied()
            })
            .collect();
        plot.points(
            Points::new("devices", PlotPoints::from(at_devices))
                .radius(3.5)
                .color(ink),
        );
    });
    let mut words = vec!["Solid: low supply. Dashed: normal. Dotted: high.".to_owned()];
    if !way.devices.is_empty() {
        let names: Vec<&str> = way.devices.iter().map(|(_, name)| name.as_str()).collect();
        words.push(format!("Points, from the supply on: {}.", names.join(", ")));
    }
    widgets::hint(ui, words.join(" "));
}

/// The junction that stands for an object: its worst emitter, or the end of a run.
fn target(app: &App, id: Id) -> Option<(&ZoneAnalysis, usize, String)> {
    let zones = || app.analysis().zones.values();
    let worst = zones()
        .flat_map(|zone| {
            zone.emitters(app.view.case)
                .map(move |emitter| (zone, emitter))
        })
        .filter(|(_, emitter)| emitter.point.owner == id)
        .min_by(|a, b| a.1.pressure.total_cmp(&b.1.pressure));
    if let Some((zone, emitter)) = worst {
        return Some((zone, emitter.junction, emitter.point.name()));
    }
    let name = match id.kind {
        Kind::Pipe => "end",
        Kind::Device => "out",
        _ => "in",
    };
    let port = PortRef::new(id, name);
    zones()
        .filter_map(|zone| Some((zone, *zone.built.ports.get(&port)?, port.to_string())))
        .find(|(zone, junction, _)| !zone.path_to(*junction, app.view.case).is_empty())
}

fn way(app: &App, id: Id) -> Option<Way> {
    let (zone, junction, end) = target(app, id)?;
    let mut links = zone.path_to(junction, app.view.case);
    if links.is_empty() {
        return None;
    }
    links.reverse();
    let units = app.view.units;
    let network = &zone.built.network;
    let solution = zone.solution(app.view.case);
    let mut way = Way {
        end,
        ..Way::default()
    };
    let mut along = Length::ZERO;
    let push = |way: &mut Way, along: Length, junction: usize| {
        for (index, case) in SupplyCase::ALL.into_iter().enumerate() {
            let Some(pressure) = zone.solution(case).pressures.get(junction) else {
                continue;
            };
            let point = [shown_length(units, along), shown_pressure(units, *pressure)];
            // A point that stands twice would make the line burst.
            const SAME: f64 = 0.05;
            let is_same = |last: &[f64; 2]| {
                (last[0] - point[0]).abs() < SAME && (last[1] - point[1]).abs() < SAME
            };
            if !way.cases[index].last().is_some_and(is_same) {
                way.cases[index].push(point);
            }
        }
    };
    for (index, link_index) in links.iter().enumerate() {
        let link = network.links.get(*link_index)?;
        let is_back = solution
            .flows
            .get(*link_index)
            .is_some_and(|flow| *flow < Flow::ZERO);
        let (from, to) = if is_back {
            (link.to, link.from)
        } else {
            (link.from, link.to)
        };
        if index == 0 {
            push(&mut way, along, from);
        }
        if let LinkKind::Pipe(pipe) = link.kind {
            along += pipe.length;
        }
        push(&mut way, along, to);
        if let Some((device, _)) = zone
            .built
            .devices
            .iter()
            .find(|(_, known)| *known == link_index)
        {
            let code = app.plan().objects.devices.get(device).map_or("", |device| {
                aubergine_core::drawing::Symbol::Device(device.kind).code()
            });
            way.devices
                .push((shown_length(units, along), format!("{code} {device}")));
        }
    }
    Some(way)
}

/// The chain cut before and behind every fall at one place.
fn pieces(points: &[[f64; 2]]) -> Vec<Vec<[f64; 2]>> {
    const STEEP: f64 = 0.05;
    let mut found: Vec<Vec<[f64; 2]>> = Vec::new();
    let mut was_steep = None;
    for pair in points.windows(2) {
        let is_steep = (pair[1][0] - pair[0][0]).abs() < STEEP;
        match found.last_mut() {
            Some(piece) if was_steep == Some(is_steep) => piece.push(pair[1]),
            _ => found.push(pair.to_vec()),
        }
        was_steep = Some(is_steep);
    }
    found
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
