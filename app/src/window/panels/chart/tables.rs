//! The way of the water in numbers: who takes the pressure, and the points of the picture.

use aubergine_core::analysis::readings::{Eater, Way};
use aubergine_core::text;
use aubergine_core::units::display::{fixed, percent};
use aubergine_core::units::{Pressure, UnitSystem};
use eframe::egui::Ui;

use super::{shown_length, units_of};
use crate::window::app::App;
use crate::window::widgets::{self, TableRow, table};

/// Who takes the pressure: each part of the way in the three cases, and its share in the case shown.
pub(super) fn takers(ui: &mut Ui, app: &App, way: &Way) {
    let units = app.view.units;
    let unit = units_of(units).1;
    widgets::group(ui, text::get("read.takes"));
    let case = app.view.case;
    let at_rest = *case.of(&way.at_rest);
    let share = |lost: Pressure| {
        if at_rest > Pressure::ZERO {
            percent(lost / at_rest)
        } else {
            String::new()
        }
    };
    let row = |name: String, values: [Pressure; 3]| {
        let mut numbers: Vec<String> = values.map(|value| bare(units, value)).to_vec();
        numbers.push(share(*case.of(&values)));
        TableRow::plain(name, numbers)
    };
    let mut rows = vec![row(text::get("read.at_rest").to_owned(), way.at_rest)];
    for (index, part) in way.shares[0].iter().enumerate() {
        let name = match part.eater {
            Eater::Supply(id) => text::fill("read.supply_part", [("id", id.to_string())]),
            Eater::Object(id) => app
                .words(id)
                .split(',')
                .next()
                .unwrap_or_default()
                .to_owned(),
            Eater::Height => text::get("read.rise").to_owned(),
        };
        let lost = [0, 1, 2].map(|case| {
            let share = way.shares[case].get(index);
            share.map_or(Pressure::ZERO, |share| share.lost)
        });
        // What shows as nothing in every case says nothing.
        let nothing = bare(units, Pressure::ZERO);
        if lost.iter().any(|lost| bare(units, *lost) != nothing) {
            rows.push(row(name, lost));
        }
    }
    rows.push(row(text::get("read.arrives").to_owned(), way.arrives()));
    let heads = [
        ("L", 46.0),
        ("N", 46.0),
        ("H", 46.0),
        (text::get("read.share"), 56.0),
    ];
    table(
        ui,
        ("takers", &way.place.name),
        text::get("read.part"),
        &heads,
        &rows,
    );
    widgets::hint(
        ui,
        text::fill(
            "read.takes_hint",
            [("unit", unit.to_owned()), ("case", case.word().to_owned())],
        ),
    );
}

/// A pressure without its unit, as tables with the unit in their hint show it.
fn bare(units: UnitSystem, pressure: Pressure) -> String {
    let words = units.pressure(pressure);
    words
        .rsplit_once(' ')
        .map_or_else(|| words.clone(), |(number, _)| number.to_owned())
}

/// The points of the picture as a table: every port on the way, and its end.
pub(super) fn numbers(ui: &mut Ui, app: &App, way: &Way) {
    let units = app.view.units;
    let last = way.points.len().saturating_sub(1);
    let rows: Vec<TableRow<'_>> = way
        .points
        .iter()
        .enumerate()
        .filter_map(|(index, point)| {
            let name = point.name.clone().or_else(|| {
                let is_end = way
                    .points
                    .get(index + 1)
                    .is_none_or(|next| next.through != point.through);
                (is_end || index == last).then(|| point.through.to_string())
            })?;
            let mut numbers = vec![
                fixed(shown_length(units, point.along), 1),
                fixed(shown_length(units, point.level), 1),
            ];
            numbers.extend(point.pressure.map(|pressure| bare(units, pressure)));
            numbers.push(fixed(
                shown_length(units, *app.view.case.of(&point.head)),
                1,
            ));
            Some(TableRow::plain(name, numbers))
        })
        .collect();
    let head = format!("{} {}", text::get("read.head"), app.view.case.letter());
    let heads = [
        (text::get("read.far"), 46.0),
        (text::get("read.level"), 48.0),
        ("L", 40.0),
        ("N", 40.0),
        ("H", 40.0),
        (head.as_str(), 50.0),
    ];
    table(
        ui,
        ("numbers", &way.place.name),
        text::get("read.place"),
        &heads,
        &rows,
    );
    let (length, pressure) = units_of(units);
    widgets::hint(
        ui,
        text::fill(
            "read.in_units",
            [
                ("length", length.to_owned()),
                ("pressure", pressure.to_owned()),
            ],
        ),
    );
}
