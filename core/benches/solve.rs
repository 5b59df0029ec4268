//! Times cold and warm solves of the bench networks and prints with which power of the size they grow.
//!
//! `cargo bench -p aubergine-core`; `cargo bench -p aubergine-core -- cold/beds` for a part. Figures are in DEVELOPERS.md.

#![expect(clippy::disallowed_methods, reason = "a bench measures time")]

use std::hint::black_box;
use std::time::{Duration, Instant};

use aubergine_core::hydraulics::{Prepared, Solution};
use criterion::{BenchmarkId, Criterion, Throughput};
use networks::{Kind, TOLERANCE, supply};

mod networks;

/// Junctions, about. A mesh is not measured above the third: no yard has one.
const SIZES: [usize; 4] = [100, 1000, 10_000, 100_000];

fn main() {
    let mut criterion = Criterion::default()
        .sample_size(10)
        .warm_up_time(Duration::from_millis(300))
        .measurement_time(Duration::from_secs(2))
        .configure_from_args();
    solves(&mut criterion);
    criterion.final_summary();
    for kind in [Kind::Beds, Kind::BedsLooped] {
        println!(
            "{}: cold solve grows with size to the power {:.2}",
            kind.name(),
            growth(kind)
        );
    }
}

fn solves(criterion: &mut Criterion) {
    for (kind, sizes) in [
        (Kind::Beds, SIZES.as_slice()),
        (Kind::BedsLooped, SIZES.as_slice()),
        (Kind::OneBed, &SIZES[..1]),
        (Kind::Mesh, &SIZES[..3]),
    ] {
        for start in ["cold", "warm"] {
            let mut group = criterion.benchmark_group(format!("{start}/{}", kind.name()));
            for &size in sizes {
                let network = kind.network(size);
                let mut prepared = Prepared::new(&network);
                let before = prepared.solve(&TOLERANCE, None);
                assert!(before.convergence.converged, "{:?}", before.convergence);
                let start = (start == "warm").then_some(&before);
                if start.is_some() {
                    // The peers' warm case: 4 % more at the source.
                    let mut other = network.clone();
                    other.sources[0].curve = supply(1.04);
                    prepared.update(&other);
                }
                let mut solution = Solution::default();
                group.throughput(Throughput::Elements(network.junctions.len() as u64));
                group.bench_function(BenchmarkId::from_parameter(network.junctions.len()), |b| {
                    b.iter(|| prepared.solve_into(&TOLERANCE, start, black_box(&mut solution)));
                });
            }
            group.finish();
        }
    }
}

/// The slope of a straight line through the logarithms of time over size, from the least of some repetitions of each.
fn growth(kind: Kind) -> f64 {
    let points = SIZES.map(|size| {
        let network = kind.network(size);
        let mut prepared = Prepared::new(&network);
        let mut solution = Solution::default();
        let mut least = f64::INFINITY;
        for _ in 0..20 {
            let start = Instant::now();
            prepared.solve_into(&TOLERANCE, None, black_box(&mut solution));
            least = least.min(start.elapsed().as_secs_f64());
        }
        ((network.junctions.len() as f64).ln(), least.ln())
    });
    let mean =
        |of: fn(&(f64, f64)) -> f64| points.iter().map(of).sum::<f64>() / points.len() as f64;
    let (x, y) = (mean(|point| point.0), mean(|point| point.1));
    let covariance: f64 = points
        .iter()
        .map(|point| (point.0 - x) * (point.1 - y))
        .sum();
    let variance: f64 = points.iter().map(|point| (point.0 - x).powi(2)).sum();
    covariance / variance
}
