//! Times what each step of a drag costs: the whole plan worked out anew after one bed moved an inch, and its drawing.
//!
//! `cargo bench -p aubergine-core --bench update`. Figures are in DEVELOPERS.md.

#![expect(clippy::disallowed_methods, reason = "a bench reads the samples")]

use std::hint::black_box;
use std::path::Path;

use aubergine_core::analysis::Analyzer;
use aubergine_core::drawing::{View, ViewOptions, build};
use aubergine_core::edit::{Edit, apply};
use aubergine_core::file;
use aubergine_core::geometry::PlanVector;
use aubergine_core::hydraulics::SupplyCase;
use aubergine_core::ids::{Id, Kind};
use aubergine_core::units::UnitSystem;
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
    criterion.final_summary();
}
