//! Marks of everything water flows through: runs with their letters or pressures, rows and lines with their emitters,
//! devices with their codes.

use std::collections::BTreeMap;

use super::build::Layers;
use super::footing::Footings;
use super::{Anchor, Footing, LayerKind, Role, Shape, Symbol, View, ViewOptions};
use crate::analysis::{Analysis, ZoneAnalysis};
use crate::geometry::{PlanPoint, Polyline};
use crate::ids::{Id, in_short};
use crate::model::{Emission, EmissionKind, PipeRole, Plan, PortRef, WaterKind};
use crate::units::{Length, Pressure};

/// Pieces of one row or line that get a pressure of their own.
const MOST_PIECES: usize = 12;

/// Draws the network.
pub(super) fn draw(
    plan: &Plan,
    analysis: &Analysis,
    footings: &Footings,
    options: ViewOptions,
    layers: &mut Layers,
) {
    pipes(plan, analysis, footings, options, layers);
    fills(plan, analysis, footings, options, layers);
    lines(plan, analysis, footings, options, layers);
    devices(plan, analysis, options, layers);
}

fn kind_of(plan: &Plan, water: Id) -> WaterKind {
    plan.water_kind(water).unwrap_or(WaterKind::OtherNonPotable)
}

fn pipes(
    plan: &Plan,
    analysis: &Analysis,
    footings: &Footings,
    options: ViewOptions,
    layers: &mut Layers,
) {
    for (id, pipe) in &plan.objects.pipes {
        let water = kind_of(plan, pipe.water);
        let by_supply = footings.of_pressure(pipe.water);
        let pressures = (options.view == View::Pressure)
            .then(|| pressures_along(plan, analysis, *id, options))
            .flatten();
        let is_coloured = pressures.is_some();
        match pressures {
            Some(stretches) => {
                for (from, to, pressure) in stretches {
                    let part = pipe.vertices.between(from, to);
                    layers.add(
                        LayerKind::Pipes,
                        Some(*id),
                        Role::PipePressure(pressure, water, pipe.role, by_supply),
                        Shape::Line(part),
                    );
                }
            }
            None => {
                layers.add(
                    LayerKind::Pipes,
                    Some(*id),
                    Role::Pipe(water, pipe.role),
                    Shape::Line(pipe.vertices.clone()),
                );
            }
        }
        // Told on every run, so that no water is known by colour alone.
        let footing = if is_coloured {
            by_supply
        } else {
            Footing::Stated
        };
        layers.add(
            LayerKind::Labels,
            Some(*id),
            Role::RunCode(water, pipe.role, footing),
            Shape::Line(pipe.vertices.clone()),
        );
    }
}

/// Stretches between taps with the mean pressure of their ends.
fn pressures_along(
    plan: &Plan,
    analysis: &Analysis,
    id: Id,
    options: ViewOptions,
) -> Option<Vec<(Length, Length, Pressure)>> {
    let pipe = plan.objects.pipes.get(&id)?;
    let length = pipe.vertices.length();
    let mut ports = vec![
        (Length::ZERO, "start".to_owned()),
        (length, "end".to_owned()),
    ];
    ports.extend(
        pipe.taps
            .iter()
            .map(|(name, station)| (station.max(Length::ZERO).min(length), name.clone())),
    );
    ports.sort_by(|a, b| a.0.total_cmp(&b.0));
    let known: Option<Vec<(Length, Pressure)>> = ports
        .into_iter()
        .map(|(station, name)| {
            Some((
                station,
                analysis.lowest_pressure(&PortRef::new(id, name), options.case)?,
            ))
        })
        .collect();
    let known = known?;
    let stretches = known.windows(2).filter(|pair| pair[1].0 > pair[0].0);
    Some(
        stretches
            .map(|pair| (pair[0].0, pair[1].0, (pair[0].1 + pair[1].1) / 2.0))
            .collect(),
    )
}

fn fills(
    plan: &Plan,
    analysis: &Analysis,
    footings: &Footings,
    options: ViewOptions,
    layers: &mut Layers,
) {
    for (id, laid) in &analysis.beds {
        let Some(fill) = plan.objects.beds.get(id).and_then(|bed| bed.fill.as_ref()) else {
            continue;
        };
        let water = kind_of(plan, fill.water);
        let zone = analysis
            .zones
            .values()
            .find(|zone| zone.members.contains(id));
        let at_inlet = analysis.lowest_pressure(&PortRef::new(*id, "in"), options.case);
        let header_role = match at_inlet.filter(|_| options.view == View::Pressure) {
            Some(pressure) => {
                let by_supply = footings.of_pressure(fill.water);
                Role::PipePressure(pressure, water, PipeRole::Lateral, by_supply)
            }
            None => Role::Pipe(water, PipeRole::Lateral),
        };
        for header in std::iter::once(&laid.header).chain(&laid.second_header) {
            layers.add(
                LayerKind::Pipes,
                Some(*id),
                header_role,
                Shape::Line(header.clone()),
            );
        }
        for (index, row) in laid.rows.iter().enumerate() {
            let path = Polyline(vec![row.start, row.end]);
            let pressures = zone
                .map(|zone| pressures_of(zone, *id, index + 1, options))
                .unwrap_or_default();
            tubing(
                *id,
                &path,
                &row.emitters,
                &pressures,
                (water, footings.of_pressure(fill.water)),
                options,
                layers,
            );
        }
        let dots: Vec<PlanPoint> = laid
            .rows
            .iter()
            .flat_map(crate::layout::Row::emitter_places)
            .collect();
        layers.add(
            LayerKind::Emitters,
            Some(*id),
            Role::Emitter(water),
            Shape::Dots(dots),
        );
    }
}

fn lines(
    plan: &Plan,
    analysis: &Analysis,
    footings: &Footings,
    options: ViewOptions,
    layers: &mut Layers,
) {
    for (id, line) in &plan.objects.lines {
        let water = kind_of(plan, line.water);
        let spacing = plan
            .catalog
            .emission(&line.part)
            .and_then(|part| part.spacing)
            .unwrap_or_default();
        let stations = crate::layout::stations(line.vertices.length(), spacing);
        let zone = analysis
            .zones
            .values()
            .find(|zone| zone.members.contains(id));
        let pressures = zone
            .map(|zone| pressures_of(zone, *id, 0, options))
            .unwrap_or_default();
        tubing(
            *id,
            &line.vertices,
            &stations,
            &pressures,
            (water, footings.of_pressure(line.water)),
            options,
            layers,
        );
        let dots = stations
            .iter()
            .filter_map(|station| line.vertices.point_at(*station))
            .collect();
        layers.add(
            LayerKind::Emitters,
            Some(*id),
            Role::Emitter(water),
            Shape::Dots(dots),
        );
        if let Some(middle) = line.vertices.point_at(line.vertices.length() / 2.0) {
            layers.number(*id, middle, Anchor::Above);
        }
    }
}

fn pressures_of(zone: &ZoneAnalysis, owner: Id, row: usize, options: ViewOptions) -> Vec<Pressure> {
    let emitters = zone.emitters(options.case);
    emitters
        .filter(|found| found.point.owner == owner && found.point.row == row)
        .map(|found| found.pressure)
        .collect()
}

/// Tubing with emitters: one line, or pieces coloured by the pressure at their emitters.
fn tubing(
    id: Id,
    path: &Polyline,
    stations: &[Length],
    pressures: &[Pressure],
    (water, footing): (WaterKind, Footing),
    options: ViewOptions,
    layers: &mut Layers,
) {
    if options.view != View::Pressure || pressures.is_empty() || pressures.len() != stations.len() {
        layers.add(
            LayerKind::Emitters,
            Some(id),
            Role::EmitterLine(water),
            Shape::Line(path.clone()),
        );
        return;
    }
    let piece = stations.len().div_ceil(MOST_PIECES).max(1);
    let mut from = Length::ZERO;
    let num_pieces = stations.len().div_ceil(piece);
    for (index, (places, values)) in stations
        .chunks(piece)
        .zip(pressures.chunks(piece))
        .enumerate()
    {
        let is_last = index + 1 == num_pieces;
        let to = if is_last {
            path.length()
        } else {
            places.last().copied().unwrap_or(from)
        };
        let Some(pressure) = values.get(values.len() / 2) else {
            continue;
        };
        let part = path.between(from, to);
        layers.add(
            LayerKind::Emitters,
            Some(id),
            Role::EmitterLinePressure(*pressure, footing),
            Shape::Line(part),
        );
        from = to;
    }
}

fn devices(plan: &Plan, analysis: &Analysis, options: ViewOptions, layers: &mut Layers) {
    let objects = &plan.objects;
    for (id, supply) in &objects.supplies {
        let role = Role::Device(kind_of(plan, supply.water));
        layers.symbol(
            LayerKind::Devices,
            *id,
            role,
            Symbol::PointOfConnection,
            supply.at,
        );
        label(
            *id,
            Symbol::PointOfConnection,
            supply.at,
            analysis,
            &PortRef::new(*id, "out"),
            options,
            layers,
        );
    }
    for (id, device) in &objects.devices {
        let role = Role::Device(kind_of(plan, device.water));
        layers.symbol(
            LayerKind::Devices,
            *id,
            role,
            Symbol::Device(device.kind),
            device.at,
        );
        label(
            *id,
            Symbol::Device(device.kind),
            device.at,
            analysis,
            &PortRef::new(*id, "out"),
            options,
            layers,
        );
    }
    let drip = numbered_drip(plan);
    for (id, emission) in &objects.emissions {
        let role = Role::Device(kind_of(plan, emission.water));
        layers.symbol(
            LayerKind::Devices,
            *id,
            role,
            Symbol::Emission(emission.kind),
            emission.at,
        );
        let told = if emission.kind == EmissionKind::Emitter {
            drip.get(id).cloned()
        } else {
            Some(id.to_string())
        };
        let Some(number) = told else { continue };
        let detail = match options.view {
            View::Pressure => analysis
                .lowest_pressure(&PortRef::new(*id, "in"), options.case)
                .map(|pressure| options.units.pressure(pressure)),
            // The throw is read where it is judged; elsewhere the outline tells it.
            View::Contact => analysis
                .sprays
                .get(id)
                .map(|reach| format!("{id} {}", options.units.run(reach.largest.throw))),
            View::Water | View::Plain | View::Coverage => None,
        };
        let told = detail.unwrap_or(number);
        layers.text(Some(*id), Role::Detail, emission.at, Anchor::Above, told);
    }
    for (id, outlet) in &objects.outlets {
        let role = Role::Device(kind_of(plan, outlet.water));
        layers.symbol(
            LayerKind::Devices,
            *id,
            role,
            Symbol::Outlet(outlet.kind),
            outlet.at,
        );
        layers.text(
            Some(*id),
            Role::Name,
            outlet.at,
            Anchor::Right,
            id.to_string(),
        );
    }
    if options.view == View::Pressure {
        for id in analysis.beds.keys() {
            let port = PortRef::new(*id, "in");
            let place = crate::layout::port_place(objects, &plan.catalog, &port);
            if let (Some(pressure), Some(at)) =
                (analysis.lowest_pressure(&port, options.case), place)
            {
                layers.text(
                    Some(*id),
                    Role::Number,
                    at,
                    Anchor::Above,
                    options.units.pressure(pressure),
                );
            }
        }
    }
}

/// The code and name of a device, and in the pressure view the pressure behind it.
fn label(
    id: Id,
    symbol: Symbol,
    at: PlanPoint,
    analysis: &Analysis,
    outlet: &PortRef,
    options: ViewOptions,
    layers: &mut Layers,
) {
    let pressure = (options.view == View::Pressure)
        .then(|| analysis.lowest_pressure(outlet, options.case))
        .flatten();
    match pressure {
        Some(pressure) => {
            layers.text(
                Some(id),
                Role::Number,
                at,
                Anchor::Right,
                options.units.pressure(pressure),
            );
        }
        None => layers.text(
            Some(id),
            Role::Name,
            at,
            Anchor::Right,
            format!("{} {id}", symbol.code()),
        ),
    }
}

/// The numbers of single emitters: those in a row that are there for the same plants are told once, at the middle one.
fn numbered_drip(plan: &Plan) -> BTreeMap<Id, String> {
    let mut groups: Vec<Vec<(Id, &Emission)>> = Vec::new();
    let emitters = plan.objects.emissions.iter();
    for (id, emission) in emitters.filter(|(_, each)| each.kind == EmissionKind::Emitter) {
        match groups.last_mut() {
            Some(group)
                if group
                    .last()
                    .is_some_and(|last| last.1.serves == emission.serves) =>
            {
                group.push((*id, emission));
            }
            _ => groups.push(vec![(*id, emission)]),
        }
    }
    let named = groups.into_iter().filter_map(|group| {
        let middle = group.get(group.len() / 2)?.0;
        Some((middle, in_short(group.into_iter().map(|(id, _)| id))))
    });
    named.collect()
}
