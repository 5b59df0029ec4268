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
#[derive(Clone, PartialEq, Debug)]
pub struct Choice {
    /// Friction and local losses of each stretch at its design flow, in metres of head, in the order of the water.
    pub losses_m: Vec<f64>,
    /// The largest velocity at the design flows, in metres per second.
    pub velocity_mps: f64,
    /// Price of the run in this size, in any one currency.
    pub cost: f64,
}

/// A run of the tree, with what may be chosen for it. Taps part it into stretches, which share its size.
#[derive(Clone, PartialEq, Debug)]
pub struct Run {
    /// The run before it, by its place in the list, and the stretch of that run at whose end it leaves; `None` behind
    /// the source. A run stands after the run before it.
    pub before: Option<(usize, usize)>,
    /// Its sizes, in the order of preference among equals.
    pub choices: Vec<Choice>,
    /// The head that must be left at the end of each stretch, above the datum of all heads, in metres; `None` where
    /// nothing is taken.
    pub needs_m: Vec<Option<f64>>,
    /// The most head there can be at its end, whatever arrives: that of a regulator.
    pub most_m: Option<f64>,
}

/// What the sizes must keep.
#[derive(Clone, PartialEq, Debug)]
pub struct Input {
    /// The runs.
    pub runs: Vec<Run>,
    /// Head at the source, in metres above the datum.
    pub source_m: f64,
    /// The fastest a run with several sizes may be, in metres per second.
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
    /// The runs whose every cheaper size is forbidden by velocity alone; the others are bound by head, or by nothing.
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
    /// What is behind a regulator needs more than it gives, whatever the sizes.
    #[error("behind run {run} {wanted_m:.2} m of head are needed, {most_m:.2} m are let through")]
    HeldDown {
        /// The run, by its place in the list.
        run: usize,
        /// What the best sizes need.
        wanted_m: f64,
        /// What there can be.
        most_m: f64,
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

/// A way to size everything from some place on.
#[derive(Clone, Copy, Debug)]
struct Pair {
    wanted_m: f64,
    cost: f64,
    /// How it is done: a place in the list of steps.
    step: usize,
}

/// How a pair came about.
#[derive(Clone, Copy, Debug)]
enum Step {
    Nothing,
    Size {
        run: usize,
        choice: usize,
        then: usize,
    },
    Both(usize, usize),
}

/// Sizes at least cost. Among sizes of equal cost the one that wants less head, then the one that stands first.
///
/// # Errors
/// No size is slow enough, the head does not suffice whatever the size, or the runs are no tree.
pub fn least_cost(input: &Input) -> Result<Sizes, Unsizable> {
    check(input)?;
    let mut search = Search {
        steps: vec![Step::Nothing],
        is_thinned: false,
    };
    // For the end of each stretch, what leaves there, joined.
    let mut behind: Vec<Vec<Vec<Pair>>> = input
        .runs
        .iter()
        .map(|run| run.needs_m.iter().map(|needs| start(*needs)).collect())
        .collect();
    let mut at_source = start(None);
    for (index, run) in input.runs.iter().enumerate().rev() {
        let ends = behind.pop().unwrap_or_default();
        let list = search.sized(run, index, &ends, input.fastest_mps)?;
        match run.before {
            Some((before, stretch)) => {
                let known = &mut behind[before][stretch];
                *known = search.join(known, &list);
            }
            None => at_source = search.join(&at_source, &list),
        }
    }
    let affordable = at_source
        .iter()
        .filter(|pair| pair.wanted_m <= input.source_m)
        .min_by(|a, b| {
            a.cost
                .total_cmp(&b.cost)
                .then(a.wanted_m.total_cmp(&b.wanted_m))
        });
    let Some(chosen) = affordable else {
        return Err(Unsizable::TooLittleHead {
            wanted_m: least_wanted(&at_source),
            source_m: input.source_m,
        });
    };
    let mut choice = vec![0; input.runs.len()];
    let mut open = vec![chosen.step];
    while let Some(step) = open.pop() {
        match search.steps[step] {
            Step::Nothing => {}
            Step::Size {
                run,
                choice: size,
                then,
            } => {
                choice[run] = size;
                open.push(then);
            }
            Step::Both(a, b) => open.extend([a, b]),
        }
    }
    let bound_by_velocity = (0..input.runs.len())
        .filter(|index| {
            is_bound_by_velocity(&input.runs[*index], choice[*index], input.fastest_mps)
        })
        .collect();
    Ok(Sizes {
        choice,
        cost: chosen.cost,
        wanted_m: chosen.wanted_m,
        bound_by_velocity,
        is_thinned: search.is_thinned,
    })
}

/// Where nothing is taken any head will do.
fn start(needs_m: Option<f64>) -> Vec<Pair> {
    vec![Pair {
        wanted_m: needs_m.unwrap_or(f64::NEG_INFINITY),
        cost: 0.0,
        step: 0,
    }]
}

fn least_wanted(pairs: &[Pair]) -> f64 {
    pairs
        .iter()
        .map(|pair| pair.wanted_m)
        .fold(f64::INFINITY, f64::min)
}

fn check(input: &Input) -> Result<(), Unsizable> {
    for (index, run) in input.runs.iter().enumerate() {
        let is_finite = run.choices.iter().all(|choice| {
            choice.losses_m.len() == run.needs_m.len()
                && choice
                    .losses_m
                    .iter()
                    .chain([&choice.velocity_mps, &choice.cost])
                    .all(|number| number.is_finite())
        });
        let is_after = run.before.is_none_or(|(before, stretch)| {
            before < index && stretch < input.runs[before].needs_m.len()
        });
        let needs_are_finite = run.needs_m.iter().flatten().all(|needs| needs.is_finite());
        let is_capped_well = run.most_m.is_none_or(f64::is_finite);
        if !is_finite || !is_after || !needs_are_finite || !is_capped_well {
            return Err(Unsizable::NotATree { run: index });
        }
    }
    Ok(())
}

struct Search {
    steps: Vec<Step>,
    is_thinned: bool,
}

impl Search {
    fn step(&mut self, step: Step) -> usize {
        self.steps.push(step);
        self.steps.len() - 1
    }

    /// Two lists that start at one place: the larger head, the sum of the costs. Both fall in head as they rise in cost.
    fn join(&mut self, a: &[Pair], b: &[Pair]) -> Vec<Pair> {
        let mut joined = Vec::with_capacity(a.len() + b.len());
        for level in a.iter().chain(b) {
            let cheapest = |list: &[Pair]| {
                let place = list.partition_point(|pair| pair.wanted_m > level.wanted_m);
                list.get(place).copied()
            };
            if let (Some(one), Some(other)) = (cheapest(a), cheapest(b)) {
                let step = match (one.step, other.step) {
                    (step, 0) | (0, step) => step,
                    (one, other) => self.step(Step::Both(one, other)),
                };
                joined.push(Pair {
                    wanted_m: one.wanted_m.max(other.wanted_m),
                    cost: one.cost + other.cost,
                    step,
                });
            }
        }
        self.unbeaten(joined)
    }

    /// The pairs of a run in all its sizes.
    fn sized(
        &mut self,
        run: &Run,
        index: usize,
        ends: &[Vec<Pair>],
        fastest_mps: f64,
    ) -> Result<Vec<Pair>, Unsizable> {
        let mut pairs = Vec::new();
        let mut held = f64::INFINITY;
        let mut is_slow = false;
        // What has but one size is there already, and not for this search to judge.
        let judges_velocity = run.choices.len() > 1;
        for (choice, size) in run.choices.iter().enumerate() {
            if judges_velocity && size.velocity_mps > fastest_mps {
                continue;
            }
            is_slow = true;
            let mut list = start(None);
            for (stretch, (end, loss_m)) in ends.iter().zip(&size.losses_m).enumerate().rev() {
                list = self.join(&list, end);
                if let Some(most_m) = run.most_m.filter(|_| stretch + 1 == ends.len()) {
                    held = held.min(least_wanted(&list));
                    list.retain(|pair| pair.wanted_m <= most_m);
                }
                for pair in &mut list {
                    pair.wanted_m += loss_m;
                }
            }
            for pair in list {
                let step = if judges_velocity {
                    self.step(Step::Size {
                        run: index,
                        choice,
                        then: pair.step,
                    })
                } else {
                    pair.step
                };
                pairs.push(Pair {
                    cost: pair.cost + size.cost,
                    step,
                    ..pair
                });
            }
        }
        match run.most_m {
            _ if !is_slow => Err(Unsizable::TooFast {
                run: index,
                fastest_mps,
            }),
            Some(most_m) if pairs.is_empty() => Err(Unsizable::HeldDown {
                run: index,
                wanted_m: held,
                most_m,
            }),
            _ => Ok(self.unbeaten(pairs)),
        }
    }

    /// Those that no other beats in both head and cost, by rising cost. The sort is stable: the first of equals stays.
    fn unbeaten(&mut self, mut all: Vec<Pair>) -> Vec<Pair> {
        all.sort_by(|a, b| {
            a.cost
                .total_cmp(&b.cost)
                .then(a.wanted_m.total_cmp(&b.wanted_m))
        });
        let mut kept: Vec<Pair> = Vec::new();
        for one in all {
            if kept.last().is_none_or(|last| one.wanted_m < last.wanted_m) {
                kept.push(one);
            }
        }
        if kept.len() > MOST_PAIRS {
            self.is_thinned = true;
            let last = kept.len() - 1;
            let mut thinned: Vec<Pair> = Vec::new();
            for (index, one) in kept.into_iter().enumerate() {
                let is_far = thinned
                    .last()
                    .is_none_or(|kept| kept.wanted_m - one.wanted_m >= THIN_M);
                if is_far || index == last {
                    thinned.push(one);
                }
            }
            kept = thinned;
        }
        kept
    }
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
mod tests;
