//! Times what each step of a drag costs: the whole plan worked out anew after one bed moved an inch, and its drawing; and
//! the rules alone after one spray head moved an inch in a garden that is watered by sprays and drip.
//!
//! `cargo bench -p aubergine-core --bench update`. Figures are in DEVELOPERS.md.

#![expect(clippy::disallowed_methods, reason = "a bench reads the samples")]

use std::hint::black_box;
use std::path::Path;

use aubergine_core::analysis::Analyzer;
use aubergine_core::drawing::{View, ViewOptions, build};
use aubergine_core::edit::{Edit, apply};
use aubergine_core::file;
use aubergine_core::geometry::{PlanPoint, PlanVector};
use aubergine_core::hydraulics::SupplyCase;
use aubergine_core::ids::{Id, Kind};
use aubergine_core::model::{Emission, EmissionKind, End, Meta, Object};
use aubergine_core::units::{Angle, UnitSystem};
use criterion::{BenchmarkId, Criterion};

const SAMPLES: [&str; 2] = ["larkmead-close", "saltbush-commons"];

fn main() {
    let mut criterion = Criterion::default().sample_size(20).configure_from_args();
    let options = ViewOptions {
        view: View::Pressure,
        case: SupplyCase::Low,
        units: UnitSystem::Us,
    };
    let mut group = criterion.benchmark_group("a step of a drag");
    for name in SAMPLES {
        let path = Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("../sample-plans")
            .join(name)
            .with_extension("json");
        let Some(document) = std::fs::read(path).ok().and_then(|it| file::load(&it).ok()) else {
            eprintln!("{name} cannot be read");
            continue;
        };
        let inch = PlanVector::new(0.0254, 0.0);
        let moved = Edit::Move {
            ids: vec![Id::new(Kind::Bed, 3)],
            by: inch,
        };
        let Ok((after, _)) = apply(&document.design, &mut document.next_id.clone(), &moved) else {
            eprintln!("B3 of {name} cannot be moved");
            continue;
        };
        let plans = [document.design.clone(), after];
        let mut analyzer = Analyzer::default();
        let first = analyzer.update(&plans[0]);
        let emitters: usize = first
            .zones
            .values()
            .map(|zone| zone.emitters(SupplyCase::Low).count())
            .sum();
        println!(
            "{name}: {} objects, {emitters} emitters",
            plans[0].objects.len()
        );
        let mut turn = 0;
        group.bench_function(BenchmarkId::new("analysis", name), |b| {
            b.iter(|| {
                turn = 1 - turn;
                black_box(analyzer.update(&plans[turn]))
            });
        });
        group.bench_function(BenchmarkId::new("drawing", name), |b| {
            b.iter(|| black_box(build(&plans[0], &document.review, &first, options)));
        });
    }
    group.finish();
    head_of_a_garden(&mut criterion);
    criterion.final_summary();
}

/// Sprays beside every fifth bed of the garden of 128 filled beds; the first of them moves.
fn head_of_a_garden(criterion: &mut Criterion) {
    const EVERY: usize = 5;
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../sample-plans/saltbush-commons.json");
    let Some(document) = std::fs::read(path).ok().and_then(|it| file::load(&it).ok()) else {
        eprintln!("the garden cannot be read");
        return;
    };
    let mut plan = document.design;
    let water = plan
        .objects
        .beds
        .values()
        .find_map(|bed| Some(bed.fill.as_ref()?.water));
    let Some(water) = water else {
        eprintln!("no bed of the garden is filled");
        return;
    };
    let places: Vec<PlanPoint> = plan
        .objects
        .beds
        .values()
        .step_by(EVERY)
        .map(|bed| bed.at)
        .collect();
    let heads: Vec<Id> = (0..places.len())
        .map(|number| Id::new(Kind::Emission, 1000 + u32::try_from(number).unwrap_or(0)))
        .collect();
    for (id, at) in heads.iter().zip(&places) {
        let head = Emission {
            kind: EmissionKind::Spray,
            part: "spray-12".to_owned(),
            water,
            at: *at,
            inlet: End::Open,
            arc_from: Angle::ZERO,
            arc_sweep: Angle::from_degrees(360.0),
            radius: None,
            low_trajectory: false,
            serves: Vec::new(),
            meta: Meta::default(),
        };
        plan.objects.put(*id, Object::Emission(head.into()));
    }
    let mut after = plan.clone();
    let by = PlanVector::new(0.0254, 0.0);
    let moved = plan.objects.emissions.get(&heads[0]).map(|head| Emission {
        at: head.at + by,
        ..(**head).clone()
    });
    if let Some(moved) = moved {
        after.objects.put(heads[0], Object::Emission(moved.into()));
    }
    let plans = [plan, after];
    let mut analyzer = Analyzer::default();
    let found = plans.each_ref().map(|plan| analyzer.update(plan));
    println!(
        "the garden with {} heads: {} rulings",
        heads.len(),
        found[0]
            .contact
            .values()
            .map(|it| it.rulings.len())
            .sum::<usize>()
    );
    let mut group = criterion.benchmark_group("a step of a head's drag");
    let mut turn = 0;
    group.bench_function("rules", |b| {
        b.iter(|| {
            turn = 1 - turn;
            let (plan, found) = (&plans[turn], &found[turn]);
            black_box(analyzer.contact(plan, &found.zones, &found.sprays))
        });
    });
    group.finish();
}
