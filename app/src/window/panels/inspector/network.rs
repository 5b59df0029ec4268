//! Runs, lines, devices, heads, outlets, supplies.

use std::sync::Arc;

use aubergine_core::catalog::{Catalog, EmissionPartKind};
use aubergine_core::edit::Edit;
use aubergine_core::geometry::PlanPoint;
use aubergine_core::ids::Id;
use aubergine_core::model::{
    Device, DeviceKind, Emission, End, Line, Object, Outlet, Pipe, PipeRole, Placement, PortRef,
    integrity,
};
use aubergine_core::text;
use eframe::egui::{ComboBox, Ui};

use super::{change, length, place, pressure, put, read_offs, results};
use crate::window::action::Action;
use crate::window::app::App;
use crate::window::tools::{Seek, join};
use crate::window::widgets;

/// Rows of a part choice: key and words.
pub(super) type Rows = Vec<(String, String)>;

/// A choice among catalog rows.
pub(super) fn part_choice(
    ui: &mut Ui,
    salt: &str,
    label: &str,
    now: &str,
    rows: &Rows,
) -> Option<String> {
    let word = rows
        .iter()
        .find(|(key, _)| key == now)
        .map_or(now, |(_, words)| words.as_str());
    widgets::row(ui, label, |ui| {
        let mut chosen = None;
        let combo = ComboBox::from_id_salt(("part", salt))
            .selected_text(word)
            .width(ui.available_width() - 4.0)
            .height(320.0)
            .truncate();
        let shown = combo.show_ui(ui, |ui| {
            for (key, words) in rows {
                if ui.selectable_label(key == now, words).clicked() && key != now {
                    chosen = Some(key.clone());
                }
            }
        });
        shown.response.accessible_name(format!("{label}: {word}"));
        chosen
    })
}

/// Emission rows of a kind.
pub(super) fn emission_rows(kind: EmissionPartKind) -> Rows {
    let rows = Catalog::built_in().emissions.iter();
    rows.filter(|(_, row)| row.kind == kind)
        .map(|(key, row)| (key.clone(), row.name.clone()))
        .collect()
}

fn pipe_rows() -> Rows {
    let mut rows: Vec<_> = Catalog::built_in().pipes.iter().collect();
    rows.sort_by(|a, b| {
        a.1.family
            .cmp(&b.1.family)
            .then(a.1.bore().total_cmp(&b.1.bore()))
    });
    rows.into_iter()
        .map(|(key, row)| (key.clone(), row.name.clone()))
        .collect()
}

/// Kinds of backflow device: which of them is fitted is a choice of part.
const BACKFLOW: [DeviceKind; 5] = [
    DeviceKind::BackflowReducedPressure,
    DeviceKind::BackflowDoubleCheck,
    DeviceKind::BackflowDualCheck,
    DeviceKind::BackflowPressureVacuumBreaker,
    DeviceKind::BackflowAtmosphericVacuumBreaker,
];

/// The kinds that a device can be made by choosing another part.
fn kinds_alike(kind: DeviceKind) -> Vec<DeviceKind> {
    if BACKFLOW.contains(&kind) {
        BACKFLOW.to_vec()
    } else {
        vec![kind]
    }
}

fn device_rows(kind: DeviceKind) -> Rows {
    // The word of the kind in the catalog is its word in the file.
    let words: Vec<&str> = kinds_alike(kind).into_iter().map(serde_word).collect();
    let rows = Catalog::built_in().devices.iter();
    rows.filter(|(_, row)| words.contains(&row.kind.as_str()))
        .map(|(key, row)| (key.clone(), row.name.clone()))
        .collect()
}

const fn serde_word(kind: DeviceKind) -> &'static str {
    match kind {
        DeviceKind::IsolationValve => "isolation_valve",
        DeviceKind::Meter => "meter",
        DeviceKind::BackflowReducedPressure => "backflow_reduced_pressure",
        DeviceKind::BackflowDoubleCheck => "backflow_double_check",
        DeviceKind::BackflowDualCheck => "backflow_dual_check",
        DeviceKind::BackflowPressureVacuumBreaker => "backflow_pressure_vacuum_breaker",
        DeviceKind::BackflowAtmosphericVacuumBreaker => "backflow_atmospheric_vacuum_breaker",
        DeviceKind::AirRelief => "air_relief",
        DeviceKind::AirGap => "air_gap",
        DeviceKind::MasterValve => "master_valve",
        DeviceKind::ZoneValve => "zone_valve",
        DeviceKind::Filter => "filter",
        DeviceKind::PressureRegulator => "pressure_regulator",
        DeviceKind::CheckValve => "check_valve",
        DeviceKind::Manifold => "manifold",
    }
}

fn end_words(end: &End) -> String {
    match end {
        End::Open => "open, nothing joined".to_owned(),
        End::Cap => "capped".to_owned(),
        End::Flush => "opens for rinsing".to_owned(),
        End::At(port) => format!("joined to {port}"),
    }
}

/// How a port is joined, by its own end or by one of another object.
fn joint_words(app: &App, id: Id, port: &str, end: &End) -> String {
    let own = PortRef::new(id, port);
    let mut joints = integrity::joints(&app.plan().objects);
    match joints.find(|(_, other)| *end == End::Open && other.port() == Some(&own)) {
        Some((by, _)) => format!("joined to {by}"),
        None => end_words(end),
    }
}

/// An end: how it is closed, and the way to join it without dragging.
fn end_field(
    ui: &mut Ui,
    app: &App,
    id: Id,
    label: &str,
    end: &End,
    at: Option<PlanPoint>,
    set: &dyn Fn(End) -> Option<Object>,
) {
    let port = if label == "Start" { "start" } else { "end" };
    let words = joint_words(app, id, port, end);
    widgets::row(ui, label, |ui| {
        let combo = ComboBox::from_id_salt(("end", label))
            .selected_text(&words)
            .width(ui.available_width() - 4.0);
        let shown = combo.show_ui(ui, |ui| {
            let choose = |ui: &mut Ui, words: &str, new: End, tap: Option<Edit>| {
                if ui.selectable_label(*end == new, words).clicked()
                    && *end != new
                    && let Some(object) = set(new)
                {
                    let put = Edit::Put { id, object };
                    let edit = tap.map_or(put.clone(), |tap| Edit::All(vec![tap, put]));
                    app.queue().push(Action::Edit {
                        label: format!("Join an end of {id}"),
                        edit,
                    });
                }
            };
            choose(ui, "leave open", End::Open, None);
            choose(ui, "cap", End::Cap, None);
            choose(ui, "open for rinsing", End::Flush, None);
            let water = integrity::water_of(&app.plan().objects, id);
            // What lies within five metres of the end can be joined from here.
            let near = water.zip(at).and_then(|(water, at)| {
                let seek = Seek {
                    plan: app.plan(),
                    water,
                    near: at,
                    reach: aubergine_core::units::Length::from_metres(5.0),
                    not: Some(id),
                };
                seek.nearest()
            });
            if let Some(near) = near.filter(|near| !near.is_refused)
                && let Some((joint, tap)) = join(app.plan(), &near)
            {
                choose(ui, &format!("join: {}", near.word), joint, tap);
            }
        });
        shown.response.accessible_name(format!("{label}: {words}"));
    });
}

pub(super) fn pipe(ui: &mut Ui, app: &App, id: Id, pipe: &Arc<Pipe>) {
    if let Some(key) = part_choice(ui, "pipe", "Pipe", &pipe.part, &pipe_rows()) {
        change(
            app,
            id,
            format!("Change the size of {id}"),
            pipe,
            Object::Pipe,
            |pipe| pipe.part = key,
        );
    }
    let roles = [
        (PipeRole::Service, "service"),
        (PipeRole::Main, "main, always under pressure"),
        (PipeRole::Lateral, "lateral, behind a zone valve"),
    ];
    if let Some(role) = widgets::choice(ui, "role", "Serves as", pipe.role, &roles) {
        change(
            app,
            id,
            format!("Change what {id} serves as"),
            pipe,
            Object::Pipe,
            |pipe| pipe.role = role,
        );
    }
    let first = pipe.vertices.0.first().copied();
    let last = pipe.vertices.0.last().copied();
    let set = |is_start: bool| {
        move |end: End| {
            let mut changed = (**pipe).clone();
            if is_start {
                changed.start = end;
            } else {
                changed.end = end;
            }
            Some(Object::Pipe(Arc::new(changed)))
        }
    };
    end_field(ui, app, id, "Start", &pipe.start, first, &set(true));
    end_field(ui, app, id, "End", &pipe.end, last, &set(false));
    if let Some(purple) = marked(ui, "purple pipe or tape", pipe.purple) {
        change(app, id, format!("Mark {id}"), pipe, Object::Pipe, |pipe| {
            pipe.purple = purple;
        });
    }
    let units = app.view.units;
    if let Some(depth) = length(
        ui,
        app,
        "depth",
        "Cover",
        &pipe
            .depth
            .map_or_else(String::new, |depth| units.length(depth)),
    ) {
        change(app, id, format!("Bury {id}"), pipe, Object::Pipe, |pipe| {
            pipe.depth = Some(depth);
        });
    }
    results::pipe(ui, app, id, pipe);
}

/// Whether a part is marked as reclaimed; the new answer when it was changed.
pub(super) fn marked(ui: &mut Ui, words: &str, now: bool) -> Option<bool> {
    widgets::row(ui, "Marked", |ui| {
        let mut purple = now;
        ui.checkbox(&mut purple, words).changed().then_some(purple)
    })
}

pub(super) fn line(ui: &mut Ui, app: &App, id: Id, line: &Arc<Line>) {
    if let Some(key) = part_choice(
        ui,
        "line",
        "Line",
        &line.part,
        &emission_rows(EmissionPartKind::EmitterLine),
    ) {
        change(
            app,
            id,
            format!("Change the part of {id}"),
            line,
            Object::Line,
            |line| line.part = key,
        );
    }
    let placements = [
        (Placement::OnSoil, "on the soil"),
        (Placement::UnderMulch, "under mulch"),
        (Placement::Buried, "buried"),
    ];
    if let Some(placement) =
        widgets::choice(ui, "placement", "It lies", line.placement, &placements)
    {
        change(
            app,
            id,
            format!("Lay {id} otherwise"),
            line,
            Object::Line,
            |line| line.placement = placement,
        );
    }
    if let Some(purple) = marked(ui, "purple, striped or tagged", line.purple) {
        let label = format!("Mark {id}");
        change(app, id, label, line, Object::Line, |line| {
            line.purple = purple;
        });
    }
    let first = line.vertices.0.first().copied();
    let last = line.vertices.0.last().copied();
    let set = |is_start: bool| {
        move |end: End| {
            let mut changed = (**line).clone();
            if is_start {
                changed.start = end;
            } else {
                changed.end = end;
            }
            Some(Object::Line(Arc::new(changed)))
        }
    };
    end_field(ui, app, id, "Start", &line.start, first, &set(true));
    end_field(ui, app, id, "End", &line.end, last, &set(false));
    results::head(ui);
    widgets::fact(ui, "Length", &app.view.units.run(line.vertices.length()));
    results::emitters(ui, app, id);
    read_offs::area(ui, app, id);
}

pub(super) fn device(ui: &mut Ui, app: &App, id: Id, device: &Arc<Device>) {
    place(ui, app, id, device.at);
    if let Some(key) = part_choice(
        ui,
        "device",
        "Part",
        &device.part,
        &device_rows(device.kind),
    ) {
        change(
            app,
            id,
            format!("Change the part of {id}"),
            device,
            Object::Device,
            |device| {
                let row = Catalog::built_in().device(&key);
                let mut kinds = kinds_alike(device.kind).into_iter();
                let of_row =
                    kinds.find(|kind| row.is_some_and(|row| row.kind == serde_word(*kind)));
                device.kind = of_row.unwrap_or(device.kind);
                device.part = key;
            },
        );
    }
    if device.kind == DeviceKind::PressureRegulator {
        set_pressure(ui, app, id, device);
    }
    if device.kind == DeviceKind::IsolationValve {
        widgets::row(ui, "Now", |ui| {
            let mut closed = device.closed;
            if ui.checkbox(&mut closed, "closed").changed() {
                change(
                    app,
                    id,
                    format!("Turn {id}"),
                    device,
                    Object::Device,
                    |device| device.closed = closed,
                );
            }
        });
    }
    if matches!(
        device.kind,
        DeviceKind::BackflowPressureVacuumBreaker | DeviceKind::BackflowAtmosphericVacuumBreaker
    ) {
        let shown = device
            .height
            .map_or_else(String::new, |height| app.view.units.length(height));
        if let Some(height) = length(ui, app, "height", "Above ground", &shown) {
            let label = format!("Raise {id}");
            change(app, id, label, device, Object::Device, |device| {
                device.height = Some(height);
            });
        }
    }
    if let Some(purple) = marked(ui, "purple, or a purple tag", device.purple) {
        let label = format!("Mark {id}");
        change(app, id, label, device, Object::Device, |device| {
            device.purple = purple;
        });
    }
    results::head(ui);
    results::pressures(ui, app, id, "in", "Before it");
    results::pressures(ui, app, id, "out", "Behind it");
    results::device(ui, app, id);
    let zone = app
        .plan()
        .objects
        .zones
        .iter()
        .find(|(_, zone)| zone.valve == id);
    if let Some((zone, _)) = zone {
        results::zone(ui, app, *zone);
    }
}

fn set_pressure(ui: &mut Ui, app: &App, id: Id, device: &Arc<Device>) {
    let of_part = app
        .plan()
        .catalog
        .device(&device.part)
        .and_then(|part| part.set);
    if let Some(set) = pressure(ui, app, "set", "Set to", device.set.or(of_part)) {
        let label = format!("Set {id} to {}", app.view.units.pressure(set));
        change(app, id, label, device, Object::Device, |device| {
            device.set = Some(set);
        });
    }
}

pub(super) fn emission(ui: &mut Ui, app: &App, id: Id, emission: &Arc<Emission>) {
    place(ui, app, id, emission.at);
    let kind = app
        .plan()
        .catalog
        .emission(&emission.part)
        .map(|part| part.kind);
    if let Some(kind) = kind
        && let Some(key) = part_choice(ui, "emission", "Part", &emission.part, &emission_rows(kind))
    {
        change(
            app,
            id,
            format!("Change the part of {id}"),
            emission,
            Object::Emission,
            |emission| emission.part = key,
        );
    }
    widgets::fact(ui, "Fed by", &joint_words(app, id, "in", &emission.inlet));
    if emission.kind.sprays() {
        let mut low = emission.low_trajectory;
        if ui
            .checkbox(&mut low, text::get("window.low_trajectory"))
            .changed()
        {
            let label = format!("State the nozzle of {id}");
            change(app, id, label, emission, Object::Emission, |emission| {
                emission.low_trajectory = low;
            });
        }
    }
    results::head(ui);
    results::emitters(ui, app, id);
    if let Some(reach) = app.analysis().sprays.get(&id) {
        widgets::fact(
            ui,
            "Throws up to",
            &app.view.units.length(reach.largest.throw),
        );
    }
}

pub(super) fn outlet(ui: &mut Ui, app: &App, id: Id, outlet: &Arc<Outlet>) {
    place(ui, app, id, outlet.at);
    widgets::fact(ui, "Fed by", &joint_words(app, id, "in", &outlet.inlet));
    type Flag = (&'static str, fn(&mut Outlet) -> &mut bool);
    let flags: [Flag; 7] = [
        ("takes a standard hose", |outlet| &mut outlet.hose_thread),
        ("behind a lock", |outlet| &mut outlet.locked),
        ("worked by a special tool only", |outlet| {
            &mut outlet.special_tool
        }),
        ("in a box of its own", |outlet| &mut outlet.in_box),
        ("above the ground", |outlet| &mut outlet.above_ground),
        ("purple", |outlet| &mut outlet.purple),
        ("do-not-drink symbol on it", |outlet| &mut outlet.symbol),
    ];
    for (words, flag) in flags {
        let mut changed = (**outlet).clone();
        let field = flag(&mut changed);
        if ui.checkbox(field, words).changed() {
            put(
                app,
                id,
                format!("Change {id}: {words}"),
                Object::Outlet(Arc::new(changed)),
            );
        }
    }
}
