//! The search against every combination, tried out.

use super::*;

/// A repeatable stream of numbers between 0 and 1 (64-bit linear congruential, Knuth's multiplier, from memory).
struct Numbers(u64);

impl Numbers {
    #[expect(clippy::cast_precision_loss, reason = "53 bits fit")]
    fn next(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }
}

/// A random tree: larger sizes lose less and cost more, as pipes do.
fn tree(numbers: &mut Numbers, count: usize, sizes: u32) -> Input {
    let runs = (0..count)
        .map(|index| {
            let before = (index > 0).then(|| {
                #[expect(
                    clippy::cast_possible_truncation,
                    clippy::cast_sign_loss,
                    clippy::cast_precision_loss,
                    reason = "a place in a short list"
                )]
                let place = (numbers.next() * index as f64) as usize;
                place.min(index - 1)
            });
            let (length, flow) = (1.0 + 9.0 * numbers.next(), 0.1 + numbers.next());
            let choices = (0..sizes)
                .map(|size| {
                    let bore = 1.0 + 0.3 * f64::from(size);
                    Choice {
                        losses_m: vec![length * flow.powf(1.75) / bore.powf(4.75)],
                        velocity_mps: 1.5 * flow / (bore * bore),
                        cost: length * bore.powf(1.2),
                    }
                })
                .collect();
            Run {
                before: before.map(|run| (run, 0)),
                choices,
                needs_m: vec![Some(5.0 * numbers.next())],
                most_m: None,
            }
        })
        .collect();
    Input {
        runs,
        source_m: 3.0 + 6.0 * numbers.next(),
        fastest_mps: 1.5,
    }
}

/// Every combination of sizes, tried one after the other.
fn exhaustive(input: &Input) -> Option<f64> {
    let count = input.runs.len();
    let mut choice = vec![0; count];
    let mut best: Option<f64> = None;
    loop {
        let mut head = vec![0.0; count];
        let mut cost = 0.0;
        let mut fits = true;
        for (index, run) in input.runs.iter().enumerate() {
            let size = &run.choices[choice[index]];
            let from = run
                .before
                .map_or(input.source_m, |(before, _)| head[before]);
            head[index] = from - size.losses_m[0];
            cost += size.cost;
            fits &= size.velocity_mps <= input.fastest_mps
                && run.needs_m[0].is_none_or(|needs| head[index] >= needs - 1e-12);
        }
        if fits && best.is_none_or(|known| cost < known) {
            best = Some(cost);
        }
        let mut place = 0;
        loop {
            if place == count {
                return best;
            }
            choice[place] += 1;
            if choice[place] < input.runs[place].choices.len() {
                break;
            }
            choice[place] = 0;
            place += 1;
        }
    }
}

#[test]
fn no_combination_of_sizes_is_cheaper() {
    let mut numbers = Numbers(7);
    let (mut sized, mut refused) = (0, 0);
    for round in 0..60 {
        let input = tree(&mut numbers, 2 + round % 6, 5);
        match (least_cost(&input), exhaustive(&input)) {
            (Ok(sizes), Some(cost)) => {
                assert!((sizes.cost - cost).abs() < 1e-9, "{} {cost}", sizes.cost);
                assert!(!sizes.is_thinned);
                sized += 1;
            }
            (Err(_), None) => refused += 1,
            (found, expected) => panic!("{found:?}, tried out {expected:?}"),
        }
    }
    assert!(
        sized > 20 && refused > 2,
        "{sized} sized, {refused} refused"
    );
}

#[test]
fn ten_runs_of_four_sizes_cost_as_little_as_the_best_combination() {
    let mut numbers = Numbers(11);
    let mut input = tree(&mut numbers, 10, 4);
    input.source_m = 40.0;
    let sizes = least_cost(&input).unwrap();
    assert!((sizes.cost - exhaustive(&input).unwrap()).abs() < 1e-9);
}

#[test]
fn what_binds_is_told() {
    let size = |loss_m, velocity_mps, cost| Choice {
        losses_m: vec![loss_m],
        velocity_mps,
        cost,
    };
    let run = Run {
        before: None,
        choices: vec![size(0.5, 3.0, 1.0), size(0.2, 1.4, 2.0)],
        needs_m: vec![Some(1.0)],
        most_m: None,
    };
    let mut input = Input {
        runs: vec![run],
        source_m: 10.0,
        fastest_mps: 1.5,
    };
    let sizes = least_cost(&input).unwrap();
    assert_eq!((sizes.choice, sizes.bound_by_velocity), (vec![1], vec![0]));
    input.source_m = 1.1;
    assert!(matches!(
        least_cost(&input),
        Err(Unsizable::TooLittleHead { .. })
    ));
    input.fastest_mps = 1.0;
    assert!(matches!(
        least_cost(&input),
        Err(Unsizable::TooFast { run: 0, .. })
    ));
    input.runs[0].before = Some((0, 0));
    assert!(matches!(
        least_cost(&input),
        Err(Unsizable::NotATree { run: 0 })
    ));
}

#[test]
fn a_long_chain_stays_quick_and_keeps_its_limits() {
    let mut numbers = Numbers(3);
    let mut input = tree(&mut numbers, 400, 5);
    for (index, run) in input.runs.iter_mut().enumerate() {
        run.before = index.checked_sub(1).map(|run| (run, 0));
    }
    input.source_m = 600.0;
    let sizes = least_cost(&input).unwrap();
    let lost: f64 = input
        .runs
        .iter()
        .zip(&sizes.choice)
        .map(|(run, choice)| run.choices[*choice].losses_m[0])
        .sum();
    assert!(lost + input.runs[399].needs_m[0].unwrap() <= input.source_m + 1e-9);
}

/// A run with a tap has one size on both sides of it, and a regulator gives no more than it is set to.
#[test]
fn a_tapped_run_has_one_size_and_a_regulator_caps_what_is_behind_it() {
    let size = |near: f64, far: f64, cost: f64| Choice {
        losses_m: vec![near, far],
        velocity_mps: 1.0,
        cost,
    };
    let one = |loss_m: f64, cost: f64| Choice {
        losses_m: vec![loss_m],
        velocity_mps: 1.0,
        cost,
    };
    let trunk = Run {
        before: None,
        choices: vec![size(1.0, 2.0, 1.0), size(0.5, 1.0, 3.0)],
        needs_m: vec![None, Some(5.0)],
        most_m: None,
    };
    let branch = Run {
        before: Some((0, 0)),
        choices: vec![one(3.0, 1.0), one(0.5, 2.0)],
        needs_m: vec![Some(5.0)],
        most_m: Some(6.0),
    };
    let mut input = Input {
        runs: vec![trunk, branch],
        source_m: 8.0,
        fastest_mps: 1.5,
    };
    // The small trunk leaves 7 m at its tap and 5 m at its end: the branch may lose 2 m.
    let sizes = least_cost(&input).unwrap();
    assert_eq!((sizes.choice, sizes.cost), (vec![0, 1], 3.0));
    assert!((sizes.wanted_m - 8.0).abs() < 1e-12);
    input.source_m = 9.0;
    assert_eq!(least_cost(&input).unwrap().choice, vec![0, 0]);
    input.runs[1].most_m = Some(4.0);
    assert!(matches!(
        least_cost(&input),
        Err(Unsizable::HeldDown { run: 1, .. })
    ));
}
