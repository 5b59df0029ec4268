//! How the flows of a zone's emission devices spread, with their mean, the mean of the low quarter, the rating and what the
//! product gives over its working range.

use aubergine_core::analysis::readings::FlowSpread;
use aubergine_core::ids::Id;
use aubergine_core::text;
use aubergine_core::units::{Flow, UnitSystem};
use eframe::egui::{self, CollapsingHeader, Sense, Ui, vec2};
use egui_plot::{Bar, BarChart, HoverPosition, Line, LineStyle, PlotPoints, VLine};

use super::{NAME_ROW, along_bottom, in_rows, marks, still, write_names};
use crate::window::app::App;
use crate::window::theme;
use crate::window::widgets::{self, TableRow, table};

/// The picture of a zone in the case shown.
pub(super) fn show(ui: &mut Ui, app: &App, zone: Id) {
    let (units, case) = (app.view.units, app.view.case);
    let spreads = app.spreads(zone);
    let head = [("zone", zone.to_string()), ("case", case.word().to_owned())];
    widgets::group(ui, &text::fill("read.flows_head", head));
    let Some(first) = spreads.first() else {
        let zone = ("zone", zone.to_string());
        widgets::hint(ui, text::fill("read.no_flows", [zone]));
        return;
    };
    let memory = egui::Id::unique(("product", zone.to_string()));
    let chosen: Option<String> = ui.data(|data| data.get_temp(memory));
    let spread = spreads
        .iter()
        .find(|spread| Some(&spread.part) == chosen.as_ref())
        .unwrap_or(first);
    let name = |spread: &FlowSpread| {
        let part = app.plan().catalog.emission(&spread.part);
        part.map_or_else(|| spread.part.clone(), |part| part.name.clone())
    };
    let label = text::get("read.product");
    if spreads.len() > 1 {
        let names: Vec<String> = spreads.iter().map(name).collect();
        let rows: Vec<(&str, &str)> = spreads
            .iter()
            .zip(&names)
            .map(|(spread, name)| (spread.part.as_str(), name.as_str()))
            .collect();
        if let Some(part) = widgets::choice(ui, "product", label, spread.part.as_str(), &rows) {
            ui.data_mut(|data| data.insert_temp(memory, part.to_owned()));
        }
    } else {
        widgets::fact(ui, label, &name(spread));
    }
    picture(ui, app, zone, spread);
    widgets::hint(ui, text::get("read.flows_key"));
    facts(ui, units, spread);
    CollapsingHeader::new(text::get("read.numbers"))
        .id_salt(("flows in numbers", zone.to_string()))
        .show(ui, |ui| numbers(ui, units, spread));
}

const fn shown_flow(units: UnitSystem, flow: Flow) -> f64 {
    match units {
        UnitSystem::Us => flow.gallons_per_hour(),
        UnitSystem::Metric => flow.litres_per_hour(),
    }
}

const fn unit_of(units: UnitSystem) -> &'static str {
    match units {
        UnitSystem::Us => "gph",
        UnitSystem::Metric => "L/h",
    }
}

fn picture(ui: &mut Ui, app: &App, zone: Id, spread: &FlowSpread) {
    let palette = theme::current(ui);
    let units = app.view.units;
    let value = |flow: Flow| shown_flow(units, flow);
    let lines = [
        ("read.mean", spread.mean, LineStyle::Solid),
        (
            "read.low_quarter",
            spread.low_quarter,
            LineStyle::dashed_loose(),
        ),
        ("read.rated", spread.rated, LineStyle::dotted_dense()),
    ];
    let most = spread
        .heaps
        .iter()
        .map(|heap| heap.count)
        .max()
        .unwrap_or(1);
    #[expect(
        clippy::cast_precision_loss,
        reason = "counts of devices are far below 2^52"
    )]
    let most = most as f64;
    let ends = spread.heaps.first().map(|heap| value(heap.from));
    let ends = ends.zip(spread.heaps.last().map(|heap| value(heap.to)));
    let (least, largest) = ends.unwrap_or_default();
    let of_marks = lines.iter().map(|(_, flow, _)| value(*flow));
    let reach = [
        least,
        largest,
        value(spread.working.0),
        value(spread.working.1),
    ];
    let all: Vec<f64> = reach.into_iter().chain(of_marks).collect();
    let low = all.iter().copied().fold(f64::INFINITY, f64::min);
    let high = all.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let spare = (0.06 * (high - low)).max(1e-6);
    let strip_height = NAME_ROW * 3.0;
    let (strip, _) =
        ui.allocate_exact_size(vec2(ui.available_width(), strip_height), Sense::hover());
    let unit = unit_of(units);
    let names: Vec<String> = spread
        .heaps
        .iter()
        .map(|heap| {
            let middle = (heap.from + heap.to) / 2.0;
            text::fill(
                "read.heap",
                [
                    ("count", heap.count.to_string()),
                    ("flow", units.emitter_flow(middle)),
                ],
            )
        })
        .collect();
    let plot = still(("spread of flows", zone.to_string(), spread.part.clone()))
        .height(190.0)
        .set_margin_fraction(vec2(0.0, 0.0))
        .include_x(low - spare)
        .include_x(high + spare)
        .include_y(-0.09 * most)
        .include_y(1.08 * most)
        .x_grid_spacer(|axis| marks(axis.bounds, 0.01))
        .y_grid_spacer(|axis| marks((0.0, axis.bounds.1), 1.0))
        .custom_x_axes(along_bottom(text::fill(
            "read.flow_axis",
            [("unit", unit.to_owned())],
        )))
        .y_axis_label(text::get("read.count_axis"))
        .label_formatter(|hover| match hover {
            HoverPosition::NearDataPoint { plot_name, .. } => Some(plot_name.to_string()),
            HoverPosition::Elsewhere { .. } => None,
        });
    let shown = plot.show(ui, |plot| {
        let fill = theme::token(palette, "accent");
        for (heap, name) in spread.heaps.iter().zip(&names) {
            let (from, to) = (value(heap.from), value(heap.to));
            #[expect(
                clippy::cast_precision_loss,
                reason = "counts of devices are far below 2^52"
            )]
            let bar = Bar::new(f64::midpoint(from, to), heap.count as f64)
                .width((to - from) * 0.92)
                .name(name)
                .fill(fill.gamma_multiply(0.55))
                .stroke(egui::Stroke::new(1.0, fill));
            let chart = BarChart::new(name, vec![bar]).color(fill);
            let told = name.clone();
            plot.bar_chart(chart.element_formatter(Box::new(move |_, _| told.clone())));
        }
        let ink = theme::token(palette, "ink");
        let (from, to) = (value(spread.working.0), value(spread.working.1));
        let y = -0.045 * most;
        let works = text::fill(
            "read.works",
            [
                ("low", units.emitter_flow(spread.working.0)),
                ("high", units.emitter_flow(spread.working.1)),
            ],
        );
        // A product that gives the same over its whole range has a short bar rather than none.
        let half = (0.5 * (to - from)).max(0.004 * (high - low + 2.0 * spare));
        let middle = f64::midpoint(from, to);
        let range = vec![[middle - half, y], [middle + half, y]];
        let grey = theme::token(palette, "ink2");
        plot.line(
            Line::new(works, PlotPoints::from(range))
                .color(grey)
                .width(5.0),
        );
        for (key, flow, style) in lines {
            let line = VLine::new(text::get(key), value(flow))
                .color(ink)
                .width(1.4);
            plot.vline(line.style(style).allow_hover(false));
        }
    });
    let mut names: Vec<(f32, String)> = lines
        .iter()
        .map(|(key, flow, _)| {
            let x = shown.transform.position_from_point_x(value(*flow));
            (x, text::get(key).to_owned())
        })
        .collect();
    names.sort_by(|a, b| a.0.total_cmp(&b.0));
    let rows = in_rows(ui, &names, strip.max.x);
    write_names(ui, &rows, strip.max.y, theme::token(palette, "ink2"));
}

/// The marks of the picture in words.
fn facts(ui: &mut Ui, units: UnitSystem, spread: &FlowSpread) {
    let capital = crate::window::panels::bars::capital;
    for (key, flow) in [
        ("read.mean", spread.mean),
        ("read.low_quarter", spread.low_quarter),
        ("read.rated", spread.rated),
    ] {
        widgets::fact(ui, &capital(text::get(key)), &units.emitter_flow(flow));
    }
    let works = text::fill(
        "read.works",
        [
            ("low", units.emitter_flow(spread.working.0)),
            ("high", units.emitter_flow(spread.working.1)),
        ],
    );
    widgets::hint(ui, capital(&works));
}

fn numbers(ui: &mut Ui, units: UnitSystem, spread: &FlowSpread) {
    let unit = unit_of(units);
    let bare = |flow: Flow| {
        let words = units.emitter_flow(flow);
        words.trim_end_matches(unit).trim_end().to_owned()
    };
    let rows: Vec<TableRow<'_>> = spread
        .heaps
        .iter()
        .map(|heap| {
            TableRow::plain(
                bare((heap.from + heap.to) / 2.0),
                vec![heap.count.to_string()],
            )
        })
        .collect();
    let first = text::fill("read.from_to", [("unit", unit.to_owned())]);
    let heads = [(text::get("read.devices_count"), 80.0)];
    table(ui, ("heaps", &spread.part), &first, &heads, &rows);
}
