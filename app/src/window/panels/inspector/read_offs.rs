//! What a designer reads off a zone, a bed or a line: water, evenness, rates, longest runs, rinsing, surge, regulators.

use aubergine_core::analysis::readings::{LongestRun, RUN_VARIATION};
use aubergine_core::analysis::working::Number;
use aubergine_core::analysis::{ZoneReadings, readings::EvenReading};
use aubergine_core::ids::{Id, Kind};
use aubergine_core::report::{ZoneSummary, zone_run_sentences};
use aubergine_core::text;
use aubergine_core::units::UnitSystem;
use aubergine_core::units::display::percent;
use eframe::egui::{Label, RichText, Ui};

use crate::window::app::App;
use crate::window::panels::working;
use crate::window::widgets::{self, TableRow, table};

/// Columns of the three cases.
const CASES: [(&str, f32); 3] = [("L", 48.0), ("N", 48.0), ("H", 48.0)];

/// A row of three values that carry the same unit: the unit goes to the name.
fn row<'a>(name: &str, values: [Option<String>; 3]) -> Option<TableRow<'a>> {
    let unit = values
        .iter()
        .flatten()
        .next()?
        .rsplit_once(' ')?
        .1
        .to_owned();
    let numbers = values.map(|value| {
        value.map_or_else(
            || "–".to_owned(),
            |value| value.trim_end_matches(unit.as_str()).trim_end().to_owned(),
        )
    });
    Some(TableRow::plain(format!("{name}, {unit}"), numbers.to_vec()))
}

/// The row with the button to its working.
fn with_how<'a>(app: &'a App, of: Id, number: Number, row: TableRow<'a>) -> TableRow<'a> {
    let what = row.name.clone();
    TableRow {
        more: Some(Box::new(move |ui: &mut Ui| {
            working::button(ui, app, &of.to_string(), number, &what);
        })),
        ..row
    }
}

/// Everything about a zone.
pub(super) fn zone(ui: &mut Ui, app: &App, summary: &ZoneSummary) {
    let id = summary.id;
    let units = app.view.units;
    let found = app.readings(id);
    let Some(read) = found.as_ref() else { return };
    water(ui, app, summary, read);
    even(ui, app, id, read);
    widgets::group(ui, text::get("read.more"));
    for sentence in zone_run_sentences(app.plan(), read, units) {
        ui.add(Label::new(RichText::new(sentence).size(13.0)).wrap());
    }
    let worst = read
        .surges
        .iter()
        .max_by(|a, b| a.sudden.total_cmp(&b.sudden));
    if let Some(surge) = worst {
        let words = [
            ("closing", units.pressure(surge.closing)),
            ("run", surge.run.to_string()),
        ];
        let words = text::fill("read.surge_words", words);
        let label = text::get("read.surge");
        working::fact(ui, app, label, &words, &id.to_string(), Number::Surge);
    }
    let of = id.to_string();
    let label = text::get("read.longest");
    for run in &read.longest {
        let words = longest_words(run, units);
        working::fact(ui, app, label, &words, &of, Number::Longest);
    }
    if let Some(flush) = &read.flush {
        let words = [
            ("velocity", units.velocity(flush.worst.velocity)),
            ("end", flush.worst.end.name.clone()),
        ];
        let words = text::fill("read.rinse_words", words);
        working::fact(ui, app, text::get("read.rinse"), &words, &of, Number::Rinse);
        let words = [
            ("at_once", flush.at_once.to_string()),
            ("all", flush.ends.len().to_string()),
        ];
        let words = text::fill("read.at_once_words", words);
        working::fact(
            ui,
            app,
            text::get("read.at_once"),
            &words,
            &of,
            Number::AtOnce,
        );
    }
}

fn water(ui: &mut Ui, app: &App, summary: &ZoneSummary, read: &ZoneReadings) {
    let (id, units) = (summary.id, app.view.units);
    let pressures = |values: [Option<aubergine_core::units::Pressure>; 3]| {
        values.map(|value| value.map(|pressure| units.pressure(pressure)))
    };
    let mut rows = Vec::new();
    let flows = summary.flow.map(|flow| Some(units.flow(flow)));
    rows.extend(
        row(text::get("read.takes_flow"), flows).map(|row| with_how(app, id, Number::Flow, row)),
    );
    if let Some(supply) = &read.supply {
        let left = pressures(supply.pressure.map(Some));
        rows.extend(
            row(text::get("read.supply_left"), left)
                .map(|row| with_how(app, id, Number::Supply, row)),
        );
    }
    for (key, values) in [
        ("read.at_valve", summary.at_valve),
        ("read.highest", summary.first),
        ("read.lowest", summary.last),
    ] {
        rows.extend(row(text::get(key), pressures(values)));
    }
    for (area, rates) in &read.rates {
        let name = text::fill("read.rate_of", [("id", area.to_string())]);
        rows.extend(
            row(&name, rates.map(|rate| Some(units.rate(rate)))).map(|row| {
                // A zone on several areas has a working for each; the areas show their own.
                if read.rates.len() == 1 {
                    with_how(app, id, Number::Rate, row)
                } else {
                    row
                }
            }),
        );
    }
    table(ui, ("water", id), text::get("read.water"), &CASES, &rows);
    if let Some(supply) = &read.supply {
        let asked = ("asked", units.flow(supply.asked));
        let words = match supply.limit {
            Some(limit) => text::fill("read.of_limit", [asked, ("limit", units.flow(limit))]),
            None => text::fill("read.no_limit", [asked]),
        };
        widgets::fact(ui, text::get("read.asks"), &words);
    }
}

fn even(ui: &mut Ui, app: &App, id: Id, read: &ZoneReadings) {
    widgets::group(ui, text::get("read.even"));
    type Measure = (&'static str, Number, fn(&EvenReading) -> f64);
    let measures: [Measure; 5] = [
        ("read.emission", Number::Emission, |even| even.emission),
        ("read.low_quarter_row", Number::LowQuarter, |even| {
            even.hydraulic.low_quarter
        }),
        ("read.statistical", Number::Statistical, |even| {
            even.statistical
        }),
        ("read.christiansen", Number::Christiansen, |even| {
            even.hydraulic.christiansen
        }),
        ("read.variation", Number::Variation, |even| {
            even.hydraulic.flow_variation
        }),
    ];
    let rows: Vec<TableRow<'_>> = measures
        .into_iter()
        .filter_map(|(key, number, of)| {
            let values = read
                .even
                .each_ref()
                .map(|even| even.as_ref().map(|even| percent(of(even))));
            Some(with_how(app, id, number, row(text::get(key), values)?))
        })
        .collect();
    if rows.is_empty() {
        return;
    }
    table(ui, ("even", id), "", &CASES, &rows);
    let case = app.view.case;
    if let Some(even) = case.of(&read.even) {
        let word = |key: &str| text::get(key).to_owned();
        let words = [
            ("case", case.word().to_owned()),
            ("emission", word(even.emission_class.key)),
            ("statistical", word(even.statistical_class.key)),
            ("variation", word(even.variation_class.key)),
            ("made", percent(even.manufacture)),
        ];
        widgets::hint(ui, text::fill("read.even_words", words));
    }
}

/// What is read off a bed or a line: rate, longest even run, ends for rinsing.
pub(super) fn area(ui: &mut Ui, app: &App, id: Id) {
    let Some(zone) = app.analysis().zone_of(id) else {
        return;
    };
    let units = app.view.units;
    let found = app.readings(zone);
    let Some(read) = found.as_ref() else { return };
    let rate = read.rates.iter().find(|(area, _)| *area == id);
    if let Some((_, rates)) = rate {
        let words = super::results::three(|case| Some(units.rate(*case.of(rates))));
        widgets::fact(ui, text::get("read.rate"), &words.unwrap_or_default());
    }
    longest(ui, app, id, read, units);
    if let Some(flush) = &read.flush {
        let own = flush.ends.iter().filter(|end| end.owner == id).count();
        if own > 0 {
            let words = [
                ("count", own.to_string()),
                ("at_once", flush.at_once.to_string()),
                ("all", flush.ends.len().to_string()),
                ("zone", zone.to_string()),
            ];
            working::fact(
                ui,
                app,
                text::get("read.ends"),
                &text::fill("read.ends_words", words),
                &zone.to_string(),
                Number::AtOnce,
            );
        }
    }
}

fn longest(ui: &mut Ui, app: &App, id: Id, read: &ZoneReadings, units: UnitSystem) {
    let objects = &app.plan().objects;
    let part = match id.kind {
        Kind::Line => objects.lines.get(&id).map(|line| line.part.as_str()),
        _ => objects
            .beds
            .get(&id)
            .and_then(|bed| bed.fill.as_ref())
            .map(|fill| fill.line.as_str()),
    };
    if let Some(run) = read
        .longest
        .iter()
        .find(|run| Some(run.part.as_str()) == part)
    {
        let words = longest_words(run, units);
        let label = text::get("read.longest");
        working::fact(ui, app, label, &words, &id.to_string(), Number::Longest);
    }
}

fn longest_words(run: &LongestRun, units: UnitSystem) -> String {
    let words = [
        ("length", units.run(run.length)),
        ("count", run.num.to_string()),
        ("variation", percent(RUN_VARIATION)),
    ];
    text::fill("read.longest_words", words)
}
