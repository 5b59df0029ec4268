//! Pipe sizes at least cost: for a tree of runs with known design flows, the size of each run so that every end keeps the
//! head it needs, no run is too fast, and the material costs least.
//!
//! The search is exact. For every run it keeps the pairs (head wanted at its inlet, cost of everything behind it) that no
//! other pair beats in both; a branch joins the lists of its runs by the larger head and the sum of the costs, and a size
//! adds its loss and its price. On a yard the lists stay short. Where they grow beyond `MOST_PAIRS`, neighbours closer
//! than a millimetre of head are thinned out and the result says so.

/// Beyond this many pairs a list is thinned.
const MOST_PAIRS: usize = 4096;
/// How close, in metres of head, pairs must be to be thinned.
const THIN_M: f64 = 1e-3;

/// One size a run may have.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Choice {
    /// Friction and local losses at the design flow, in metres of head.
    pub loss_m: f64,
    /// Velocity at the design flow, in metres per second.
    pub velocity_mps: f64,
    /// Price of the run in this size, in any one currency.
    pub cost: f64,
}

/// A run of the tree, with what may be chosen for it.
#[derive(Clone, PartialEq, Debug)]
pub struct Run {
    /// The run before it, by its place in the list; `None` behind the source. A run stands after the run before it.
    pub before: Option<usize>,
    /// Its sizes, in the order of preference among equals.
    pub choices: Vec<Choice>,
    /// The head that must be left at its end, above the datum of all heads, in metres; `None` where nothing is taken.
    pub needs_m: Option<f64>,
}

/// What the sizes must keep.
#[derive(Clone, PartialEq, Debug)]
pub struct Input {
    /// The runs.
    pub runs: Vec<Run>,
    /// Head at the source, in metres above the datum.
    pub source_m: f64,
    /// The fastest a run may be, in metres per second.
    pub fastest_mps: f64,
}

/// The sizes found.
#[derive(Clone, PartialEq, Debug)]
pub struct Sizes {
    /// The choice of each run, by its place in the run's list.
    pub choice: Vec<usize>,
    /// What they cost together.
    pub cost: f64,
    /// Head at the source that they need at least, in metres: what is left to the head given is spare.
    pub wanted_m: f64,
    /// The runs whose next cheaper size is forbidden by velocity alone; the others are bound by head, or by nothing.
    pub bound_by_velocity: Vec<usize>,
    /// Lists were thinned: the cost may be beaten by sizes whose heads differ by less than a millimetre per run.
    pub is_thinned: bool,
}

/// Why there are no sizes.
#[derive(Clone, PartialEq, Debug, thiserror::Error)]
pub enum Unsizable {
    /// No size of a run is slow enough.
    #[error("no size of run {run} keeps the water under {fastest_mps:.2} m/s")]
    TooFast {
        /// The run, by its place in the list.
        run: usize,
        /// The limit.
        fastest_mps: f64,
    },
    /// Even the largest sizes lose too much.
    #[error(
        "the largest sizes would need {wanted_m:.2} m of head at the source, {source_m:.2} m are there"
    )]
    TooLittleHead {
        /// What the best sizes need.
        wanted_m: f64,
        /// What is there.
        source_m: f64,
    },
    /// A run names a run that does not stand before it, or a number is none.
    #[error("run {run} is not part of a tree with finite numbers")]
    NotATree {
        /// The run, by its place in the list.
        run: usize,
    },
}

/// A way to size everything from a run's inlet on.
#[derive(Clone, Copy, Debug)]
struct Pair {
    wanted_m: f64,
    cost: f64,
    /// The choice for the run itself.
    choice: usize,
    /// The pair of the joined list behind the run.
    behind: usize,
}

/// A way to size everything behind a node.
#[derive(Clone, Debug)]
struct Joined {
    wanted_m: f64,
    cost: f64,
    /// For each run that leaves the node, the pair of its list.
    pairs: Vec<usize>,
}

/// Sizes at least cost. Among sizes of equal cost the one that wants less head, then the one that stands first.
///
/// # Errors
/// No size is slow enough, the head does not suffice whatever the size, or the runs are no tree.
pub fn least_cost(input: &Input) -> Result<Sizes, Unsizable> {
    check(input)?;
    let count = input.runs.len();
    let mut leaving: Vec<Vec<usize>> = vec![Vec::new(); count];
    let mut first = Vec::new();
    for (index, run) in input.runs.iter().enumerate() {
        match run.before {
            Some(before) => leaving[before].push(index),
            None => first.push(index),
        }
    }
    let mut is_thinned = false;
    let mut lists: Vec<Vec<Pair>> = vec![Vec::new(); count];
    let mut behind: Vec<Vec<Joined>> = vec![Vec::new(); count];
    for index in (0..count).rev() {
        let run = &input.runs[index];
        behind[index] = join(&lists, &leaving[index], run.needs_m, &mut is_thinned);
        lists[index] = extend(
            run,
            index,
            &behind[index],
            input.fastest_mps,
            &mut is_thinned,
        )?;
    }
    let at_source = join(&lists, &first, None, &mut is_thinned);
    let affordable = at_source
        .iter()
        .enumerate()
        .filter(|(_, joined)| joined.wanted_m <= input.source_m)
        .min_by(|(_, a), (_, b)| {
            a.cost
                .total_cmp(&b.cost)
                .then(a.wanted_m.total_cmp(&b.wanted_m))
        });
    let Some((_, chosen)) = affordable else {
        let wanted_m = at_source
            .iter()
            .map(|joined| joined.wanted_m)
            .fold(f64::INFINITY, f64::min);
        return Err(Unsizable::TooLittleHead {
            wanted_m,
            source_m: input.source_m,
        });
    };
    let mut choice = vec![0; count];
    let mut open: Vec<(usize, usize)> = first
        .iter()
        .copied()
        .zip(chosen.pairs.iter().copied())
        .collect();
    while let Some((index, pair)) = open.pop() {
        let pair = lists[index][pair];
        choice[index] = pair.choice;
        let next = &behind[index][pair.behind];
        open.extend(
            leaving[index]
                .iter()
                .copied()
                .zip(next.pairs.iter().copied()),
        );
    }
    let bound_by_velocity = (0..count)
        .filter(|index| {
            is_bound_by_velocity(&input.runs[*index], choice[*index], input.fastest_mps)
        })
        .collect();
    Ok(Sizes {
        choice,
        cost: chosen.cost,
        wanted_m: chosen.wanted_m,
        bound_by_velocity,
        is_thinned,
    })
}

fn check(input: &Input) -> Result<(), Unsizable> {
    for (index, run) in input.runs.iter().enumerate() {
        let is_finite = run.choices.iter().all(|choice| {
            [choice.loss_m, choice.velocity_mps, choice.cost]
                .iter()
                .all(|number| number.is_finite())
        });
        let is_after = run.before.is_none_or(|before| before < index);
        if !is_finite || !is_after || run.needs_m.is_some_and(|needs| !needs.is_finite()) {
            return Err(Unsizable::NotATree { run: index });
        }
    }
    Ok(())
}

/// The pairs of the runs that leave a node, joined: the larger head, the sum of the costs.
fn join(
    lists: &[Vec<Pair>],
    leaving: &[usize],
    needs_m: Option<f64>,
    is_thinned: &mut bool,
) -> Vec<Joined> {
    // Where nothing is taken any head will do.
    let mut joined = vec![Joined {
        wanted_m: needs_m.unwrap_or(f64::NEG_INFINITY),
        cost: 0.0,
        pairs: Vec::new(),
    }];
    for run in leaving {
        let mut next: Vec<Joined> = Vec::new();
        for known in &joined {
            for (index, pair) in lists[*run].iter().enumerate() {
                let mut pairs = known.pairs.clone();
                pairs.push(index);
                next.push(Joined {
                    wanted_m: known.wanted_m.max(pair.wanted_m),
                    cost: known.cost + pair.cost,
                    pairs,
                });
            }
        }
        joined = unbeaten(next, |joined| (joined.wanted_m, joined.cost), is_thinned);
    }
    joined
}

fn extend(
    run: &Run,
    index: usize,
    behind: &[Joined],
    fastest_mps: f64,
    is_thinned: &mut bool,
) -> Result<Vec<Pair>, Unsizable> {
    let mut pairs = Vec::new();
    for (choice, size) in run.choices.iter().enumerate() {
        if size.velocity_mps > fastest_mps {
            continue;
        }
        pairs.extend(behind.iter().enumerate().map(|(place, joined)| Pair {
            wanted_m: joined.wanted_m + size.loss_m,
            cost: joined.cost + size.cost,
            choice,
            behind: place,
        }));
    }
    if pairs.is_empty() {
        return Err(Unsizable::TooFast {
            run: index,
            fastest_mps,
        });
    }
    Ok(unbeaten(
        pairs,
        |pair| (pair.wanted_m, pair.cost),
        is_thinned,
    ))
}

/// Those that no other beats in both head and cost, by rising cost. The sort is stable: the first of equals stays.
fn unbeaten<T>(mut all: Vec<T>, key: impl Fn(&T) -> (f64, f64), is_thinned: &mut bool) -> Vec<T> {
    all.sort_by(|a, b| {
        let ((head_a, cost_a), (head_b, cost_b)) = (key(a), key(b));
        cost_a.total_cmp(&cost_b).then(head_a.total_cmp(&head_b))
    });
    let mut kept: Vec<T> = Vec::new();
    for one in all {
        if kept.last().is_none_or(|last| key(&one).0 < key(last).0) {
            kept.push(one);
        }
    }
    if kept.len() > MOST_PAIRS {
        *is_thinned = true;
        let mut thinned: Vec<T> = Vec::new();
        let last = kept.len() - 1;
        for (index, one) in kept.into_iter().enumerate() {
            let is_far = thinned
                .last()
                .is_none_or(|kept: &T| key(kept).0 - key(&one).0 >= THIN_M);
            if is_far || index == last {
                thinned.push(one);
            }
        }
        kept = thinned;
    }
    kept
}

/// Whether every cheaper size of a run is too fast, and there is one.
fn is_bound_by_velocity(run: &Run, choice: usize, fastest_mps: f64) -> bool {
    let cost = run.choices[choice].cost;
    let mut cheaper = run
        .choices
        .iter()
        .filter(|other| other.cost < cost)
        .peekable();
    cheaper.peek().is_some() && cheaper.all(|other| other.velocity_mps > fastest_mps)
}

#[cfg(test)]
mod tests {
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
                            loss_m: length * flow.powf(1.75) / bore.powf(4.75),
                            velocity_mps: 1.5 * flow / (bore * bore),
                            cost: length * bore.powf(1.2),
                        }
                    })
                    .collect();
                Run {
                    before,
                    choices,
                    needs_m: Some(5.0 * numbers.next()),
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
                let size = run.choices[choice[index]];
                let from = run.before.map_or(input.source_m, |before| head[before]);
                head[index] = from - size.loss_m;
                cost += size.cost;
                fits &= size.velocity_mps <= input.fastest_mps
                    && run.needs_m.is_none_or(|needs| head[index] >= needs - 1e-12);
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
            loss_m,
            velocity_mps,
            cost,
        };
        let run = Run {
            before: None,
            choices: vec![size(0.5, 3.0, 1.0), size(0.2, 1.4, 2.0)],
            needs_m: Some(1.0),
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
        input.runs[0].before = Some(0);
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
            run.before = index.checked_sub(1);
        }
        input.source_m = 600.0;
        let sizes = least_cost(&input).unwrap();
        let lost: f64 = input
            .runs
            .iter()
            .zip(&sizes.choice)
            .map(|(run, choice)| run.choices[*choice].loss_m)
            .sum();
        assert!(lost + input.runs[399].needs_m.unwrap() <= input.source_m + 1e-9);
    }
}
