//! Workings of what is lost in runs, headers and rows, and of velocities in them.

use super::{Bench, Number, Quantity, Step};
use crate::finding::{Message, Value};
use crate::hydraulics::{FactorLaw, FactorReading, LinkKind, Pipe, factor_reading, velocity_in};
use crate::ids::Id;
use crate::units::{Amount, Flow, GRAVITY_MPS2, Length, Velocity};

/// So many stretches are worked in full; of a longer row only the one that loses most.
const IN_FULL: usize = 3;

/// A stretch of pipe with its solved flow and loss.
#[derive(Clone, Copy)]
pub(super) struct Stretch<'a> {
    pub(super) pipe: &'a Pipe,
    pub(super) flow: Flow,
    pub(super) lost: Length,
    /// From the start of its run, counted from 1.
    pub(super) number: usize,
}

/// Loss and velocity of a run.
pub(super) fn run(bench: &Bench<'_>, id: Id) -> Vec<(Number, Step)> {
    let Some(links) = bench.zone.built.pipes.get(&id) else {
        return Vec::new();
    };
    let stretches = stretches(bench, links);
    let loss = loss(bench, id.to_string(), &stretches).map(|step| (Number::Loss, step));
    let fastest = stretches
        .iter()
        .max_by(|a, b| speed(a).total_cmp(&speed(b)))
        .filter(|stretch| speed(stretch) > Velocity::ZERO)
        .map(|stretch| (Number::Velocity, velocity(stretch)));
    loss.into_iter().chain(fastest).collect()
}

/// Loss in the header of a bed and in the row that loses most; of a line the loss along it.
pub(super) fn area(bench: &Bench<'_>, id: Id) -> Vec<(Number, Step)> {
    let built = &bench.zone.built;
    let header = built
        .headers
        .get(&id)
        .and_then(|links| loss(bench, format!("{id}.in"), &stretches(bench, links)));
    let row = built
        .rows
        .iter()
        .filter(|((owner, _), _)| *owner == id)
        .map(|((_, row), links)| (*row, links, bench.zone.loss(links, bench.case)))
        .max_by(|a, b| a.2.total_cmp(&b.2).then(b.0.cmp(&a.0)))
        .and_then(|(row, links, _)| {
            let name = if row == 0 {
                id.to_string()
            } else {
                format!("{id}.{row}")
            };
            loss(bench, name, &stretches(bench, links))
        });
    let steps = header.into_iter().chain(row);
    steps.map(|step| (Number::Loss, step)).collect()
}

fn stretches<'a>(bench: &Bench<'a>, links: &[usize]) -> Vec<Stretch<'a>> {
    let solution = bench.zone.solution(bench.case);
    let network = &bench.zone.built.network;
    links
        .iter()
        .enumerate()
        .filter_map(|(index, link)| match &network.links.get(*link)?.kind {
            LinkKind::Pipe(pipe) => Some(Stretch {
                pipe,
                flow: solution.flows.get(*link)?.abs(),
                lost: solution.losses.get(*link)?.abs(),
                number: index + 1,
            }),
            _ => None,
        })
        .collect()
}

fn speed(stretch: &Stretch<'_>) -> Velocity {
    velocity_in(stretch.pipe.bore, stretch.flow)
}

/// Δp = γ · Σh over the stretches.
fn loss(bench: &Bench<'_>, name: String, stretches: &[Stretch<'_>]) -> Option<Step> {
    let water = bench.zone.built.network.water;
    let sum: Length = stretches.iter().map(|stretch| stretch.lost).sum();
    let most = stretches
        .iter()
        .max_by(|a, b| a.lost.total_cmp(&b.lost).then(b.number.cmp(&a.number)))?;
    let in_full: Vec<&Stretch<'_>> = if stretches.len() <= IN_FULL {
        stretches.iter().collect()
    } else {
        vec![most]
    };
    let mut from: Vec<Step> = in_full
        .iter()
        .filter(|stretch| stretch.flow > Flow::ZERO)
        .map(|stretch| friction(bench, stretch))
        .collect();
    let others: Vec<Stretch<'_>> = stretches
        .iter()
        .filter(|stretch| in_full.iter().all(|full| full.number != stretch.number))
        .copied()
        .collect();
    from.extend(together(bench, &others));
    // The band is that of the stretches, each at the flow it has.
    let bands: Vec<(Length, Length)> = stretches
        .iter()
        .map(|stretch| band(bench, stretch).unwrap_or((stretch.lost, stretch.lost)))
        .collect();
    let low: Length = bands.iter().map(|band| band.0).sum();
    let high: Length = bands.iter().map(|band| band.1).sum();
    let pressure = |head| Amount::Pressure(water.pressure_of(head));
    Some(Step {
        what: Message::new("work.loss", vec![("of", Value::Text(name))]),
        formula: "Δp = γ · Σh",
        inputs: vec![
            Quantity::new("γ", "work.weight", Amount::Weight(water.density)),
            Quantity::new("Σh", "work.head_lost", Amount::Length(sum)),
        ],
        result: Quantity::new("Δp", "work.pressure_lost", pressure(sum)),
        band: (high > low).then(|| (pressure(low), pressure(high))),
        source: "work.source_statics",
        from,
    })
}

/// The stretches of a long row that are not worked in full.
fn together(bench: &Bench<'_>, others: &[Stretch<'_>]) -> Option<Step> {
    let water = bench.zone.built.network.water;
    let reynolds = |stretch: &Stretch<'_>| {
        speed(stretch).metres_per_second() * stretch.pipe.bore.metres()
            / water.viscosity.square_metres_per_second()
    };
    let least = others.iter().map(reynolds).reduce(f64::min)?;
    let most = others.iter().map(reynolds).reduce(f64::max)?;
    let sum: Length = others.iter().map(|stretch| stretch.lost).sum();
    Some(Step {
        what: Message::new(
            "work.other_stretches",
            vec![("count", Value::Count(others.len()))],
        ),
        formula: "h = Σh_i",
        inputs: vec![
            Quantity::new("Re min", "work.reynolds", Amount::Number(least)),
            Quantity::new("Re max", "work.reynolds", Amount::Number(most)),
        ],
        result: Quantity::new("h", "work.head_lost", Amount::Length(sum)),
        band: None,
        source: "work.source_darcy",
        from: Vec::new(),
    })
}

/// h = f · (L + L_e)/D · V²/2g + ΣK · V²/2g.
pub(super) fn friction(bench: &Bench<'_>, stretch: &Stretch<'_>) -> Step {
    let network = &bench.zone.built.network;
    let pipe = stretch.pipe;
    let mut from = vec![velocity(stretch)];
    let mut inputs = vec![
        Quantity::new("L", "work.length", Amount::Length(pipe.length)),
        Quantity::new("L_e", "work.equivalent", Amount::Length(pipe.equivalent)),
        Quantity::new("D", "work.bore", Amount::Bore(pipe.bore)),
        Quantity::new("ΣK", "work.coefficients", Amount::Number(pipe.fittings)),
        Quantity::new("V", "work.velocity", Amount::Velocity(speed(stretch))),
        Quantity::new("2g", "work.twice_gravity", TWICE_GRAVITY),
    ];
    if let Some(read) = factor_reading(pipe, network.water, network.law, stretch.flow) {
        inputs.insert(
            0,
            Quantity::new("f", "work.factor", Amount::Number(read.factor)),
        );
        from.push(reynolds(bench, stretch, &read));
        from.push(factor(pipe, &read));
    }
    Step {
        what: Message::new(
            "work.stretch",
            vec![("number", Value::Count(stretch.number))],
        ),
        formula: "h = (f · (L + L_e)/D + ΣK) · V²/2g",
        inputs,
        result: Quantity::new("h", "work.head_lost", Amount::Length(stretch.lost)),
        band: band(bench, stretch).map(|(low, high)| (Amount::Length(low), Amount::Length(high))),
        source: "work.source_darcy",
        from,
    }
}

/// 2g as the length it is per second squared.
const TWICE_GRAVITY: Amount = Amount::Acceleration(2.0 * GRAVITY_MPS2);

/// The head that the stretch would lose by 64/Re and by Colebrook–White, in uncertain flow.
fn band(bench: &Bench<'_>, stretch: &Stretch<'_>) -> Option<(Length, Length)> {
    let network = &bench.zone.built.network;
    let read = factor_reading(stretch.pipe, network.water, network.law, stretch.flow)
        .filter(FactorReading::is_uncertain)?;
    let speed = speed(stretch).metres_per_second();
    let velocity_head = speed * speed / (2.0 * GRAVITY_MPS2);
    let pipe = stretch.pipe;
    let lost = |factor: f64| {
        let by_length = factor * ((pipe.length + pipe.equivalent) / pipe.bore);
        Length::from_metres((by_length + pipe.fittings) * velocity_head)
    };
    let (low, high) = read.band();
    Some((lost(low), lost(high)))
}

fn velocity(stretch: &Stretch<'_>) -> Step {
    Step {
        what: Message::new("work.velocity", vec![]),
        formula: "V = 4Q/(π D²)",
        inputs: vec![
            Quantity::new("Q", "work.flow", Amount::Flow(stretch.flow)),
            Quantity::new("D", "work.bore", Amount::Bore(stretch.pipe.bore)),
        ],
        result: Quantity::new("V", "work.velocity", Amount::Velocity(speed(stretch))),
        band: None,
        source: "work.source_continuity",
        from: Vec::new(),
    }
}

fn reynolds(bench: &Bench<'_>, stretch: &Stretch<'_>, read: &FactorReading) -> Step {
    let viscosity = bench.zone.built.network.water.viscosity;
    Step {
        what: Message::new("work.reynolds", vec![]),
        formula: "Re = V · D/ν",
        inputs: vec![
            Quantity::new("V", "work.velocity", Amount::Velocity(speed(stretch))),
            Quantity::new("D", "work.bore", Amount::Bore(stretch.pipe.bore)),
            Quantity::new("ν", "work.viscosity", Amount::Viscosity(viscosity)),
        ],
        result: Quantity::new("Re", "work.reynolds", Amount::Number(read.reynolds)),
        band: None,
        source: "work.source_water",
        from: Vec::new(),
    }
}

fn factor(pipe: &Pipe, read: &FactorReading) -> Step {
    let reynolds = Quantity::new("Re", "work.reynolds", Amount::Number(read.reynolds));
    let mut inputs = vec![reynolds];
    let mut of = |letter: &str, coefficients: [f64; 4]| {
        for (index, value) in ["₀", "₁", "₂", "₃"].into_iter().zip(coefficients) {
            let symbol = format!("{letter}{index}");
            inputs.push(Quantity::new(
                symbol,
                "work.coefficient",
                Amount::Number(value),
            ));
        }
    };
    let (formula, source) = match read.law {
        FactorLaw::Laminar => ("f = 64/Re", "work.source_laminar"),
        FactorLaw::Join(a) => {
            of("a", a);
            (
                "f = a₀ + a₁·s + a₂·s² + a₃·s³, s = (Re − 2000)/2000",
                "work.source_join",
            )
        }
        FactorLaw::Cubic(c) => {
            of("c", c);
            (
                "f = c₀ + c₁·r + c₂·r² + c₃·r³, r = Re^(−1/4)",
                "work.source_cubic",
            )
        }
        FactorLaw::Colebrook | FactorLaw::Other => (
            "1/√f = −2 log₁₀(ε/(3.7 D) + 2.51/(Re √f))",
            "work.source_colebrook",
        ),
    };
    if read.law != FactorLaw::Laminar {
        inputs.push(Quantity::new(
            "ε",
            "work.roughness",
            Amount::Bore(pipe.roughness),
        ));
        inputs.push(Quantity::new(
            "f CW",
            "work.colebrook",
            Amount::Number(read.turbulent),
        ));
    }
    if read.is_uncertain() {
        inputs.push(Quantity::new(
            "64/Re",
            "work.laminar",
            Amount::Number(read.laminar),
        ));
    }
    let (low, high) = read.band();
    Step {
        what: Message::new("work.factor", vec![]),
        formula,
        inputs,
        result: Quantity::new("f", "work.factor", Amount::Number(read.factor)),
        band: read
            .is_uncertain()
            .then_some((Amount::Number(low), Amount::Number(high))),
        source,
        from: Vec::new(),
    }
}
