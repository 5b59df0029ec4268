//! What is known about an object: pressures, flows, verdicts with their rules, findings.

use std::sync::Arc;

use aubergine_core::analysis::working::Number;
use aubergine_core::coverage::{Evenness, SpotKind};
use aubergine_core::hydraulics::SupplyCase;
use aubergine_core::ids::{Id, Kind};
use aubergine_core::model::{Joints, Pipe};
use aubergine_core::report::zone_summaries;
use aubergine_core::text;
use aubergine_core::units::display::percent;
use aubergine_core::units::{Flow, Pressure};
use eframe::egui::{self, Ui, UiBuilder};

use super::{read_offs, sizing};
use crate::window::action::Action;
use crate::window::app::App;
use crate::window::panels::{describe, working};
use crate::window::widgets;

/// `L 25.0  N 25.0  H 25.0 psi`: the three cases by their letters, the unit once.
pub(super) fn three(of: impl Fn(SupplyCase) -> Option<String>) -> Option<String> {
    let values: Option<Vec<(char, String)>> = SupplyCase::ALL
        .into_iter()
        .map(|case| Some((case.letter(), of(case)?)))
        .collect();
    let values = values?;
    let unit = values.first()?.1.rsplit_once(' ')?.1.to_owned();
    let numbers: Vec<String> = values
        .iter()
        .map(|(letter, value)| {
            let number = value.strip_suffix(unit.as_str()).unwrap_or(value);
            format!("{letter} {}", number.trim_end())
        })
        .collect();
    Some(format!("{} {unit}", numbers.join("   ")))
}

/// The heading of results, and what the letters of the supply cases stand for.
pub(super) fn head(ui: &mut Ui) {
    widgets::group(ui, "Results");
    widgets::hint(ui, text::get("word.cases"));
}

/// The pressures of a port in the three cases.
pub(super) fn pressures(ui: &mut Ui, app: &App, id: Id, port: &str, label: &str) {
    let units = app.view.units;
    // Joined to a supply and yet dry: what is missing is the valve that makes a zone.
    let is_joined = || !Joints::of(&app.plan().objects).supplies_of(id).is_empty();
    let dry = || match id.kind {
        _ if app.analysis().zone_of(id).is_none() && is_joined() => "window.no_valve",
        Kind::Bed => "window.draw_run",
        _ => "window.no_water",
    };
    let shown = three(|case| {
        describe::pressure_at(app, id, port, case).map(|pressure| units.pressure(pressure))
    });
    widgets::fact(
        ui,
        label,
        &shown.unwrap_or_else(|| text::get(dry()).to_owned()),
    );
}

pub(super) fn bed(ui: &mut Ui, app: &App, id: Id) {
    let beds = &app.plan().objects.beds;
    // Without lines a bed has no inlet.
    let is_filled = beds.get(&id).is_some_and(|bed| bed.fill.is_some());
    if !is_filled && app.analysis().zone_of(id).is_none() {
        return;
    }
    head(ui);
    if is_filled {
        pressures(ui, app, id, "in", "Inlet");
    }
    emitters(ui, app, id);
    if let Some(laid) = app.analysis().beds.get(&id) {
        let words = format!(
            "{} rows, {} emitters, {} of line",
            laid.rows.len(),
            laid.num_emitters(),
            app.view.units.run(laid.line_length())
        );
        widgets::fact(ui, "Laid out", &words);
    }
    read_offs::area(ui, app, id);
    sprayed(ui, app, id);
    if let Some(zone) = app.analysis().zone_of(id) {
        widgets::fact(ui, "Zone", &zone_words(app, zone));
    }
}

/// How the water of sprays falls on an area, in the case shown.
fn sprayed(ui: &mut Ui, app: &App, id: Id) {
    let area = app.analysis().sprayed.get(&id);
    let Some(map) = area.and_then(|area| area.in_case(app.view.case)) else {
        return;
    };
    let units = app.view.units;
    widgets::fact(ui, "Mean rate", &units.rate(map.mean));
    let class = text::get(Evenness::of(map.low_quarter).key());
    let low_quarter = percent(map.low_quarter);
    widgets::fact(
        ui,
        "Driest quarter",
        &format!("{low_quarter} of the mean, {class}"),
    );
    widgets::fact(ui, "Christiansen", &percent(map.christiansen));
    widgets::fact(ui, "Thrown off", &percent(map.off_share()));
    for spot in &map.spots {
        let word = match spot.kind {
            SpotKind::Dry => "Dry",
            SpotKind::Flooded => "Flooded",
        };
        let (place, size) = (text::get(spot.place.key()), units.area(spot.area));
        widgets::fact(
            ui,
            word,
            &format!("{size}, {place}: {}", units.rate(spot.rate)),
        );
    }
}

fn zone_words(app: &App, zone: Id) -> String {
    let label = app
        .plan()
        .objects
        .zones
        .get(&zone)
        .map(|zone| zone.meta.label.clone())
        .unwrap_or_default();
    if label.is_empty() {
        zone.to_string()
    } else {
        format!("{zone} {label}")
    }
}

/// Lowest and highest pressures of an object's emitters, and what its part needs.
pub(super) fn emitters(ui: &mut Ui, app: &App, id: Id) {
    let units = app.view.units;
    let extreme = |case: SupplyCase, pick: fn(Pressure, Pressure) -> Pressure| {
        let zones = app.analysis().zones.values();
        zones
            .flat_map(|zone| zone.emitters(case))
            .filter(|emitter| emitter.point.owner == id)
            .map(|emitter| emitter.pressure)
            .reduce(pick)
    };
    if let Some(words) =
        three(|case| extreme(case, Pressure::min).map(|pressure| units.pressure(pressure)))
    {
        let of = id.to_string();
        let label = match id.kind {
            Kind::Emission => "At its inlet",
            _ => "Lowest emitter",
        };
        working::fact(ui, app, label, &words, &of, Number::Pressure);
        if let Some(flow) = weakest_flow(app, id) {
            let words = units.emitter_flow(flow);
            working::fact(ui, app, "It gives", &words, &of, Number::Flow);
        }
        if id.kind != Kind::Emission {
            row_loss(ui, app, id);
        }
    } else if id.kind == Kind::Emission {
        widgets::fact(ui, "At its inlet", text::get("window.no_water"));
    }
    let part = app
        .analysis()
        .zones
        .values()
        .flat_map(|zone| zone.emitters(SupplyCase::Low))
        .find(|emitter| emitter.point.owner == id)
        .and_then(|emitter| app.plan().catalog.emission(&emitter.point.part));
    if let Some(part) = part {
        let is_off = |case: &SupplyCase| {
            let lowest = extreme(*case, Pressure::min);
            let highest = extreme(*case, Pressure::max);
            lowest.is_some_and(|lowest| lowest < part.minimum)
                || highest.is_some_and(|highest| highest > part.maximum)
        };
        let off: Vec<String> = SupplyCase::ALL
            .into_iter()
            .filter(is_off)
            .map(|case| case.word().to_owned())
            .collect();
        if !off.is_empty() {
            let cases = ("cases", aubergine_core::finding::listed(off));
            widgets::problem(ui, &text::fill("window.out_of_range", [cases]));
        }
        widgets::fact(
            ui,
            "Works from",
            &format!(
                "{} to {}",
                units.pressure(part.minimum),
                units.pressure(part.maximum)
            ),
        );
        widgets::fact(
            ui,
            "Gives",
            &format!(
                "{}{} at {}",
                units.emitter_flow(part.flow),
                if id.kind == Kind::Emission {
                    ""
                } else {
                    " each"
                },
                units.pressure(part.at)
            ),
        );
    }
}

pub(super) fn pipe(ui: &mut Ui, app: &App, id: Id, pipe: &Arc<Pipe>) {
    let units = app.view.units;
    head(ui);
    widgets::fact(ui, "Length", &units.run(pipe.vertices.length()));
    pressures(ui, app, id, "start", "At its start");
    pressures(ui, app, id, "end", "At its end");
    let case = app.view.case;
    let zone = app.analysis().busiest(id, case);
    let Some((zone, found)) = zone.and_then(|zone| Some((zone, app.analysis().zones.get(&zone)?)))
    else {
        return;
    };
    let Some(links) = found.built.pipes.get(&id) else {
        return;
    };
    let (flow, velocity) = found.fastest(links, case);
    let lost = found
        .built
        .network
        .water
        .pressure_of(found.loss(links, case));
    let of = id.to_string();
    let words = format!("{} with {zone}", units.flow(flow));
    widgets::fact(ui, "Most flow", &words);
    let words = units.velocity(velocity);
    working::fact(ui, app, "Velocity", &words, &of, Number::Velocity);
    working::fact(
        ui,
        app,
        "Lost in it",
        &units.pressure(lost),
        &of,
        Number::Loss,
    );
}

/// What a device takes, or leaves behind it, with its working.
pub(super) fn device(ui: &mut Ui, app: &App, id: Id) {
    let of = id.to_string();
    let found = app.working(&of);
    let numbers = found.as_ref().as_ref().map(|working| &working.numbers);
    if let Some((number, step)) = numbers.and_then(|numbers| numbers.first()) {
        let words = step.result.amount.shown(app.view.units);
        let label = match number {
            Number::Loss => "Lost in it",
            _ => "It leaves",
        };
        working::fact(ui, app, label, &words, &of, *number);
    }
}

/// What the weakest emitter of an object gives in the case shown.
fn weakest_flow(app: &App, id: Id) -> Option<Flow> {
    let zones = app.analysis().zones.values();
    zones
        .flat_map(|zone| zone.emitters(app.view.case))
        .filter(|emitter| emitter.point.owner == id)
        .min_by(|a, b| a.pressure.total_cmp(&b.pressure))
        .map(|emitter| emitter.flow)
}

/// What the row of an object loses that loses most.
fn row_loss(ui: &mut Ui, app: &App, id: Id) {
    let case = app.view.case;
    let lost = app.analysis().zones.values().flat_map(|zone| {
        let water = zone.built.network.water;
        let rows = zone
            .built
            .rows
            .iter()
            .filter(move |((owner, _), _)| *owner == id);
        rows.map(move |(_, links)| water.pressure_of(zone.loss(links, case)))
    });
    if let Some(most) = lost.reduce(Pressure::max) {
        let words = app.view.units.pressure(most);
        let label = match id.kind {
            Kind::Line => "Lost along it",
            _ => "Lost in a row",
        };
        working::fact(ui, app, label, &words, &id.to_string(), Number::Loss);
    }
}

pub(super) fn zone(ui: &mut Ui, app: &App, id: Id) {
    let Some(zone) = zone_summaries(app.plan(), app.analysis())
        .into_iter()
        .find(|zone| zone.id == id)
    else {
        return;
    };
    // Where the zone itself is selected its name stands above already.
    if app.selected_one() != Some(id) {
        widgets::group(ui, &format!("Zone {}", zone_words(app, id)));
    }
    if zone.is_fed {
        read_offs::zone(ui, app, &zone);
    } else {
        widgets::fact(ui, text::get("read.at_valve"), text::get("window.no_water"));
    }
    widgets::fact(ui, "Emitters", &zone.num_emitters.to_string());
    for (area, found) in &app.analysis().sprayed {
        if found.zones.contains(&id) {
            widgets::group(ui, &format!("Sprays on {area}"));
            sprayed(ui, app, *area);
        }
    }
    sizing::show(ui, app, Some(id));
}

/// The findings about one object, each leading to the list.
pub(super) fn findings(ui: &mut Ui, app: &App, id: Id) {
    let about: Vec<_> = app
        .analysis()
        .findings
        .iter()
        .filter(|finding| finding.subjects.contains(&id))
        .collect();
    if about.is_empty() {
        return;
    }
    widgets::group(ui, "Findings about it");
    for finding in about {
        let key = finding.id();
        let scope =
            UiBuilder::new().scope_id(egui::Id::unique(("finding about", id.to_string(), &key)));
        ui.scope_builder(scope, |ui| {
            ui.horizontal_top(|ui| {
                widgets::severity_mark(ui, finding.severity);
                let sentence = format!(
                    "{}: {}",
                    finding.severity.word(),
                    finding.message.sentence(app.view.units)
                );
                let button = egui::Button::new(sentence).frame(false).wrap();
                if ui.add(button).clicked() && app.view.open_finding.as_ref() != Some(&key) {
                    app.queue().push(Action::OpenFinding(key.clone()));
                }
            });
        });
    }
}
