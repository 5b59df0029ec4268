//! Workings of what devices lose and of what regulators hold.

use super::{Bench, Number, Quantity, Step};
use crate::finding::{Message, Value};
use crate::hydraulics::{LinkKind, LinkState, LossCurve};
use crate::ids::Id;
use crate::units::{Amount, Flow, Pressure};

/// Loss of a device, or the pressure that a regulator leaves.
pub(super) fn numbers(bench: &Bench<'_>, id: Id) -> Vec<(Number, Step)> {
    let built = &bench.zone.built;
    let Some(index) = built.devices.get(&id) else {
        return Vec::new();
    };
    // The filter is dirty in the low case: the network of the case knows.
    let network = built.in_case(bench.plan, bench.case);
    let Some(link) = network.links.get(*index) else {
        return Vec::new();
    };
    match &link.kind {
        LinkKind::Closed | LinkKind::Pipe(_) => Vec::new(),
        LinkKind::Device(curve) => vec![(Number::Loss, loss(bench, id, *index, curve))],
        LinkKind::Regulator { set, loss: curve } => {
            regulator(bench, id, *index, *set, curve).unwrap_or_default()
        }
    }
}

fn flow(bench: &Bench<'_>, index: usize) -> Flow {
    let flows = &bench.zone.solution(bench.case).flows;
    flows.get(index).copied().unwrap_or_default()
}

/// What the solution has between the ends of a link.
fn lost(bench: &Bench<'_>, index: usize) -> Pressure {
    let losses = &bench.zone.solution(bench.case).losses;
    let head = losses.get(index).copied().unwrap_or_default();
    bench.zone.built.network.water.pressure_of(head)
}

fn inputs(curve: &LossCurve, flow: Flow) -> (&'static str, Vec<Quantity>, &'static str) {
    let quantity = Quantity::new("Q", "work.flow", Amount::Flow(flow));
    if let Some(points) = &curve.points {
        let read = points.at(flow.litres_per_second()).0;
        let read = Amount::Pressure(Pressure::from_kilopascals(read));
        let mut inputs = vec![
            quantity,
            Quantity::new("Δp(Q)", "work.read_from_points", read),
        ];
        if curve.per_lps_squared > 0.0 {
            inputs.push(Quantity::new(
                "c",
                "work.per_flow_squared",
                Amount::PerFlowSquared(curve.per_lps_squared),
            ));
            return ("Δp = Δp(Q) + c · Q²", inputs, "work.source_points");
        }
        return ("Δp = Δp(Q)", inputs, "work.source_points");
    }
    let inputs = vec![
        quantity,
        Quantity::new("p₁", "work.opening", Amount::Pressure(curve.opening)),
        Quantity::new(
            "c",
            "work.per_flow_squared",
            Amount::PerFlowSquared(curve.per_lps_squared),
        ),
    ];
    ("Δp = p₁ + c · Q²", inputs, "work.source_device")
}

fn loss(bench: &Bench<'_>, id: Id, index: usize, curve: &LossCurve) -> Step {
    let (formula, inputs, source) = inputs(curve, flow(bench, index).abs());
    Step {
        what: Message::new("work.loss", vec![("of", Value::Ids(vec![id]))]),
        formula,
        inputs,
        result: Quantity::new(
            "Δp",
            "work.pressure_lost",
            Amount::Pressure(lost(bench, index).abs()),
        ),
        band: None,
        source,
        from: Vec::new(),
    }
}

fn regulator(
    bench: &Bench<'_>,
    id: Id,
    index: usize,
    set: Pressure,
    curve: &LossCurve,
) -> Option<Vec<(Number, Step)>> {
    let built = &bench.zone.built;
    let solution = bench.zone.solution(bench.case);
    let behind = built.fall_offs.get(&id);
    let per_flow = behind.and_then(|link| match &built.network.links.get(*link)?.kind {
        LinkKind::Device(falls) => Some(falls.per_lps),
        _ => None,
    });
    let last = built.network.links.get(*behind.unwrap_or(&index))?.to;
    let first = built.network.links.get(index)?.from;
    let inlet = *solution.pressures.get(first)?;
    let outlet = *solution.pressures.get(last)?;
    let is_holding = solution.states.get(index) == Some(&LinkState::Regulating);
    let flow = flow(bench, index).abs();
    let mut given = Vec::new();
    let mut from = Vec::new();
    let formula = match (is_holding, per_flow.is_some()) {
        (true, true) => "p₂ = p_set − k · Q",
        (true, false) => "p₂ = p_set",
        (false, true) => "p₂ = p_in − Δp − k · Q",
        (false, false) => "p₂ = p_in − Δp",
    };
    if is_holding {
        given.push(Quantity::new(
            "p_set",
            "work.set_pressure",
            Amount::Pressure(set),
        ));
    } else {
        given.push(Quantity::new(
            "p_in",
            "work.inlet_pressure",
            Amount::Pressure(inlet),
        ));
        let open = loss(bench, id, index, curve);
        given.push(open.result.clone());
        from.push(open);
    }
    if let Some(per_flow) = per_flow {
        given.push(Quantity::new(
            "k",
            "work.fall_off",
            Amount::PerFlow(per_flow),
        ));
        given.push(Quantity::new("Q", "work.flow", Amount::Flow(flow)));
    }
    let what = if is_holding {
        "work.regulator_holds"
    } else {
        "work.regulator_open"
    };
    let step = Step {
        what: Message::new(what, vec![("of", Value::Ids(vec![id]))]),
        formula,
        inputs: given,
        result: Quantity::new("p₂", "work.pressure", Amount::Pressure(outlet)),
        band: None,
        source: "work.source_device",
        from,
    };
    Some(vec![(Number::Pressure, step)])
}
