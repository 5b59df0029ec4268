//! Times solves of the bench networks and prints one JSON object a line, for `tests/peers/run.py` to set beside the peers.
//!
//! `cargo run --release -p aubergine-core --example solve_bench -- 1000 10000`

#![expect(clippy::disallowed_methods, reason = "a bench measures time")]

use std::hint::black_box;
use std::time::{Duration, Instant};

use aubergine_core::hydraulics::{Prepared, Solution};
use networks::{Kind, TOLERANCE, supply};

#[path = "../benches/networks/mod.rs"]
mod networks;

fn main() {
    let mut sizes: Vec<usize> = std::env::args()
        .skip(1)
        .filter_map(|size| size.parse().ok())
        .collect();
    if sizes.is_empty() {
        sizes = vec![100, 1000, 10_000, 100_000];
    }
    for kind in [Kind::Beds, Kind::BedsLooped, Kind::OneBed, Kind::Mesh] {
        for &size in &sizes {
            println!("{}", measure(kind, size));
        }
    }
}

/// Median and least of a run in milliseconds: at least ten repetitions, more while they take less than two seconds together.
fn time<T>(mut run: impl FnMut() -> T) -> (f64, f64) {
    let mut times = Vec::new();
    let begin = Instant::now();
    while times.len() < 10 || (times.len() < 2000 && begin.elapsed() < Duration::from_secs(2)) {
        let start = Instant::now();
        black_box(run());
        times.push(1e3 * start.elapsed().as_secs_f64());
    }
    times.sort_by(f64::total_cmp);
    (times[times.len() / 2], times[0])
}

fn measure(kind: Kind, size: usize) -> serde_json::Value {
    let network = kind.network(size);
    let (prepare_ms, _) = time(|| Prepared::new(&network));
    let mut prepared = Prepared::new(&network);
    let (update_ms, _) = time(|| prepared.update(&network).unrounded_heads().next());
    let mut solution = Solution::default();
    let (cold_ms, cold_least_ms) = time(|| prepared.solve_into(&TOLERANCE, None, &mut solution));
    let before = prepared.solve(&TOLERANCE, None);
    assert!(before.convergence.converged, "{:?}", before.convergence);
    let min_head = prepared.unrounded_heads().fold(f64::INFINITY, f64::min);
    // Warm as the peers: 4 % more at the source, from the solution before.
    let mut other = network.clone();
    other.sources[0].curve = supply(1.04);
    prepared.update(&other);
    let (warm_ms, _) = time(|| prepared.solve_into(&TOLERANCE, Some(&before), &mut solution));
    let warm = prepared.solve(&TOLERANCE, Some(&before));
    serde_json::json!({
        "network": kind.name(),
        "nodes": network.junctions.len(),
        "links": network.links.len(),
        "iterations": before.convergence.iterations,
        "warm_iterations": warm.convergence.iterations,
        "ours_ms": cold_ms,
        "least_ms": cold_least_ms,
        "warm_ms": warm_ms,
        "prepare_ms": prepare_ms,
        "update_ms": update_ms,
        "ns_per_node_iteration": 1e6 * cold_least_ms / (network.junctions.len() * before.convergence.iterations) as f64,
        "min_head_m": min_head,
    })
}
