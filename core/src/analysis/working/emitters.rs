//! Workings of the pressure at a place and of what an emission device gives there.

use super::{Bench, Number, Quantity, Step, bounds};
use crate::analysis::readings::{Eater, Place, way};
use crate::finding::{Message, Value};
use crate::hydraulics::OutletLaw;
use crate::units::{Amount, Flow, Length, Pressure};

/// Flow of an emission device, and the pressure at the place.
pub(super) fn numbers(bench: &Bench<'_>, place: &Place) -> Vec<(Number, Step)> {
    let mut numbers = Vec::new();
    let bounds = bounds::of(bench, place);
    let mut pressure = pressure(bench, place);
    if let (Some(step), Some(found)) = (&mut pressure, &bounds) {
        let (low, high) = found.pressure;
        step.band = (high > low).then_some((Amount::Pressure(low), Amount::Pressure(high)));
    }
    if place.is_emitter {
        let outlet = bench
            .zone
            .emitters(bench.case)
            .zip(&bench.zone.built.network.outlets)
            .find(|(emitter, _)| emitter.point.name() == place.name);
        if let Some((emitter, outlet)) = outlet {
            let mut step = flow(&place.name, &outlet.law, emitter.pressure, emitter.flow);
            step.band = bounds
                .as_ref()
                .map(|found| found.flow)
                .filter(|(low, high)| high > low)
                .map(|(low, high)| (Amount::EmitterFlow(low), Amount::EmitterFlow(high)));
            numbers.push((Number::Flow, step));
        }
    }
    numbers.extend(pressure.map(|step| (Number::Pressure, step)));
    numbers
}

pub(super) fn flow(name: &str, law: &OutletLaw, pressure: Pressure, flow: Flow) -> Step {
    let p = Quantity::new("p", "work.pressure", Amount::Pressure(pressure));
    let rated = |flow: Flow| Quantity::new("q_r", "work.rated_flow", Amount::EmitterFlow(flow));
    let at = |at: Pressure| Quantity::new("p_r", "work.rated_pressure", Amount::Pressure(at));
    let exponent = |x: f64| Quantity::new("x", "work.exponent", Amount::Number(x));
    let least = |at: Pressure| Quantity::new("p_min", "work.least_pressure", Amount::Pressure(at));
    let (formula, inputs, source) = match law {
        OutletLaw::Power {
            flow,
            at: rated_at,
            exponent: x,
        } => (
            "q = q_r · (p/p_r)^x",
            vec![rated(*flow), p, at(*rated_at), exponent(*x)],
            "work.source_emitter",
        ),
        OutletLaw::Compensating {
            flow,
            minimum,
            exponent_below,
            ..
        } if pressure < *minimum => (
            "q = q_r · (p/p_min)^x",
            vec![rated(*flow), p, least(*minimum), exponent(*exponent_below)],
            "work.source_below",
        ),
        OutletLaw::Compensating { flow, minimum, .. } => (
            "q = q_r, p ≥ p_min",
            vec![rated(*flow), p, least(*minimum)],
            "work.source_compensating",
        ),
        OutletLaw::Points(_) => ("q = q(p)", vec![p], "work.source_points"),
        OutletLaw::Fixed(flow) => ("q = q_r", vec![rated(*flow)], "work.source_emitter"),
    };
    Step {
        what: Message::new(
            "work.emitter_flow",
            vec![("of", Value::Text(name.to_owned()))],
        ),
        formula,
        inputs,
        result: Quantity::new("q", "work.flow", Amount::EmitterFlow(flow)),
        band: None,
        source,
        from: Vec::new(),
    }
}

/// p = p₀ − ΣΔp − γ · Δz along the way.
fn pressure(bench: &Bench<'_>, place: &Place) -> Option<Step> {
    let way = way(bench.plan, bench.analysis, place, bench.case)?;
    let water = bench.zone.built.network.water;
    let mut inputs = vec![Quantity::new(
        "p₀",
        "work.at_rest",
        Amount::Pressure(*bench.case.of(&way.at_rest)),
    )];
    for share in bench.case.of(&way.shares) {
        let (symbol, name) = match share.eater {
            Eater::Supply(id) => (format!("Δp {id}"), "work.supply_falls"),
            Eater::Object(id) => (format!("Δp {id}"), "work.pressure_lost"),
            Eater::Height => continue,
        };
        inputs.push(Quantity::new(symbol, name, Amount::Pressure(share.lost)));
    }
    let level = |point: Option<&crate::analysis::readings::WayPoint>| {
        point.map_or(Length::ZERO, |point| point.level)
    };
    let rise = level(way.points.last()) - level(way.points.first());
    inputs.push(Quantity::new(
        "γ",
        "work.weight",
        Amount::Weight(water.density),
    ));
    inputs.push(Quantity::new("Δz", "work.rise", Amount::Length(rise)));
    Some(Step {
        what: Message::new(
            "work.pressure_at",
            vec![("of", Value::Text(place.name.clone()))],
        ),
        formula: "p = p₀ − ΣΔp − γ · Δz",
        inputs,
        result: Quantity::new(
            "p",
            "work.pressure",
            Amount::Pressure(*bench.case.of(&way.arrives())),
        ),
        band: None,
        source: "work.source_energy",
        from: Vec::new(),
    })
}
