//! Newton's method on heads and flows together, for given states of the devices: when to stop, when to shorten a step, and what is
//! left over. Which states are right is decided in `states`, the step itself is computed in `sweep`.

use super::assembly::Compiled;
use super::ldl::Numeric;
use super::solution::LinkState;
use super::topology::Topology;

/// Steps looked back for progress before a step is shortened.
const PATIENCE: usize = 8;

/// The first step after which misfits are measured in full; before it, most solves are done.
const FIRST_MEASURED: usize = 5;

/// How a link takes part in the equations.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Mode {
    /// Its loss equation holds.
    Active,
    /// Its flow follows from the balance at its outlet.
    Regulating,
    /// Nothing flows.
    Off,
}

/// Largest misfits of the equations, and where the worst of them is (a place).
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Misfit {
    pub energy_m: f64,
    pub mass_m3s: f64,
    /// The larger of the energy misfit and of the heads that the mass misfits stand for.
    pub merit_m: f64,
    pub worst_place: usize,
}

/// Absolute limits of a solve.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Limits {
    pub head_m: f64,
    pub mass_m3s: f64,
    pub max_iterations: usize,
}

/// The unknowns and all buffers of a solve: lists over places, numbers of links, supplies, and outlets by place.
#[derive(Clone, Debug, Default)]
pub(crate) struct Work {
    pub heads_m: Vec<f64>,
    /// Change of the head in the step.
    pub step_m: Vec<f64>,
    /// Diagonal and right-hand side of the nodal equations; of forest places, after folding in their children.
    pub diagonal: Vec<f64>,
    pub rhs: Vec<f64>,
    /// What folding leaves: the step of a forest place is its shift plus its share of the parent's step.
    pub fold: Vec<f64>,
    pub shift_m: Vec<f64>,
    /// Places whose head is known: fixed, held by a regulator, or not supplied.
    pub pinned: Vec<bool>,
    pub live: Vec<bool>,
    /// The pinned places and their heads.
    pub pins: Vec<(u32, f64)>,

    pub flows_m3s: Vec<f64>,
    /// Slope of the loss, and what is missing to the energy equation.
    pub slope: Vec<f64>,
    pub rest_m: Vec<f64>,
    pub mode: Vec<Mode>,
    /// The code of a link whose loss equation holds and whose lower end has no known head; `NONE` for every other link.
    pub plain: Vec<u32>,
    /// Links through which nothing flows.
    pub off: Vec<u32>,
    /// 1/slope of core links.
    pub core_conductance: Vec<f64>,

    pub supply_flows_m3s: Vec<f64>,
    pub supply_conductance: Vec<f64>,
    pub supply_ahead_m3s: Vec<f64>,

    pub outlet_flows_m3s: Vec<f64>,
    pub outlet_conductance: Vec<f64>,
    /// Flow after the step if no head changes.
    pub outlet_ahead_m3s: Vec<f64>,

    pub states: Vec<LinkState>,
    /// The states that modes and pins stand for, and whether they stand for any.
    pub applied: Vec<LinkState>,
    pub is_applied: bool,
    /// How many regulators share the place each special holds.
    pub team: Vec<u32>,
    /// The same by place.
    pub num_holding: Vec<u32>,
    /// True where a regulator's flow cannot be found while folding.
    pub passes_needed: bool,
    pub switches: Vec<u32>,
    pub stack: Vec<u32>,
    pub numeric: Numeric,

    pub iterations: usize,
    /// Largest change of a head in the last step.
    pub head_change_m: f64,
    /// The change that one more step is expected to make at most.
    pub head_ahead_m: f64,
    /// Largest misfit of energy and, of outlets that hold their flow, of flow at the present point.
    pub energy_m: f64,
    pub held_m3s: f64,
    /// No number if anything else is none.
    pub trace: f64,
    pub misfit: Misfit,
    net_m3s: Vec<f64>,
}

// Proof for the indices of this file: `fit` makes every list as long as the places, links, supplies or outlets of `Compiled`, which
// name places of their topology only.

impl Work {
    /// Makes every list as long as the network needs.
    pub fn fit(&mut self, compiled: &Compiled, topology: &Topology) {
        let (places, links) = (topology.num_places(), topology.num_links());
        for list in [
            &mut self.heads_m,
            &mut self.step_m,
            &mut self.diagonal,
            &mut self.rhs,
            &mut self.fold,
            &mut self.shift_m,
            &mut self.net_m3s,
        ] {
            list.resize(places, 0.0);
        }
        for list in [&mut self.flows_m3s, &mut self.slope, &mut self.rest_m] {
            list.resize(links, 0.0);
        }
        self.core_conductance.resize(links - places, 0.0);
        for list in [
            &mut self.supply_flows_m3s,
            &mut self.supply_conductance,
            &mut self.supply_ahead_m3s,
        ] {
            list.resize(compiled.supplies.len(), 0.0);
        }
        for list in [
            &mut self.outlet_flows_m3s,
            &mut self.outlet_conductance,
            &mut self.outlet_ahead_m3s,
        ] {
            list.resize(compiled.outlet_place.len(), 0.0);
        }
        self.mode.resize(links, Mode::Off);
        self.plain.resize(links, 0);
        for list in [&mut self.pinned, &mut self.live] {
            list.resize(places, false);
        }
        self.states.resize(compiled.specials.len(), LinkState::Open);
        self.team.resize(compiled.specials.len(), 1);
        self.num_holding.resize(places, 0);
        self.switches.resize(compiled.specials.len(), 0);
        self.numeric.fit(topology.core());
        self.is_applied = false;
    }

    /// Iterates until the limits are met; false where they are not, or where the equations have no solution.
    pub fn newton(&mut self, compiled: &Compiled, topology: &Topology, limits: Limits) -> bool {
        let mut recent = [f64::INFINITY; PATIENCE];
        let mut share = 1.0_f64;
        self.head_change_m = f64::INFINITY;
        self.head_ahead_m = f64::INFINITY;
        self.evaluate(compiled, topology);
        let mut step = 0;
        loop {
            if !self.trace.is_finite() {
                break;
            }
            if self.head_ahead_m <= 2.0 * limits.head_m + 1e-9
                && self.fits(compiled, topology, limits)
            {
                return true;
            }
            if step == limits.max_iterations {
                break;
            }
            // Steps that go in circles between two branches of a law come to rest when shortened.
            if step >= FIRST_MEASURED {
                let merit_m = self.measure(compiled, topology).merit_m;
                let best = recent.iter().copied().fold(f64::INFINITY, f64::min);
                share = if step > PATIENCE && merit_m > 0.9 * best {
                    recent.fill(f64::INFINITY);
                    (0.5 * share).max(0.1)
                } else {
                    (1.5 * share).min(1.0)
                };
                if let Some(slot) = recent.get_mut(step % PATIENCE) {
                    *slot = merit_m;
                }
            }
            let before_m = self.head_change_m;
            if let Err(place) = self.step(compiled, topology, share) {
                self.misfit = self.measure(compiled, topology);
                self.misfit.worst_place = place;
                return false;
            }
            // Whole steps shrink faster each time, so that the next shrinks by the last ratio at least.
            let ratio = if share >= 1.0 && before_m.is_finite() {
                (self.head_change_m / before_m).min(1.0)
            } else {
                1.0
            };
            self.head_ahead_m = ratio * self.head_change_m;
            self.iterations += 1;
            step += 1;
        }
        self.misfit = self.measure(compiled, topology);
        false
    }

    /// True where all limits are met at the present point; the misfit is then recorded.
    fn fits(&mut self, compiled: &Compiled, topology: &Topology, limits: Limits) -> bool {
        // Rounding of heads and flows sets a floor under what can be reached; it is looked for only where it matters.
        let reached_m = self.head_ahead_m.max(self.energy_m);
        if reached_m > limits.head_m && reached_m > limits.head_m + 1e-14 * largest(&self.heads_m) {
            return false;
        }
        let (mass_m3s, worst_place) = self.balance(compiled, topology);
        self.misfit = Misfit {
            energy_m: self.energy_m,
            mass_m3s,
            merit_m: self.energy_m,
            worst_place,
        };
        mass_m3s <= limits.mass_m3s
            || mass_m3s <= limits.mass_m3s + 1e-13 * largest(&self.flows_m3s)
    }

    /// Inflow less outflow of every place, and the largest misfit of it where it has to vanish, with its place.
    fn balance(&mut self, compiled: &Compiled, topology: &Topology) -> (f64, usize) {
        let (n, num_core) = (topology.num_places(), topology.num_core());
        let net = &mut self.net_m3s[..n];
        net.fill(0.0);
        let (down, core_flows) = self.flows_m3s.split_at(n);
        let (down, parents) = (&down[..n], &topology.parents()[..n]);
        for i in num_core..n {
            net[i] += down[i];
            net[parents[i] as usize] -= down[i];
        }
        for (link, flow) in topology.core_links().iter().zip(core_flows) {
            net[link.a as usize] -= flow;
            net[link.b as usize] += flow;
        }
        for (supply, flow) in compiled.supplies.iter().zip(&self.supply_flows_m3s) {
            net[supply.place] += flow;
        }
        for (place, flow) in compiled.outlet_place.iter().zip(&self.outlet_flows_m3s) {
            net[*place as usize] -= flow;
        }
        let (mut mass_m3s, mut worst) = (self.held_m3s, 0);
        let (live, fixed) = (&self.live[..n], &compiled.is_fixed[..n]);
        for place in 0..n {
            let misfit = net[place].abs();
            if misfit > mass_m3s && live[place] && !fixed[place] {
                (mass_m3s, worst) = (misfit, place);
            }
        }
        (mass_m3s, worst)
    }

    /// Every misfit of the present point, and the worst place.
    fn measure(&mut self, compiled: &Compiled, topology: &Topology) -> Misfit {
        let (mass_m3s, _) = self.balance(compiled, topology);
        let mut misfit = Misfit {
            mass_m3s,
            ..Misfit::default()
        };
        // What a unit of head moves at each place.
        let conductance = &mut self.step_m;
        conductance.fill(0.0);
        let note = |misfit: &mut Misfit, head_m: f64, place: usize| {
            if head_m > misfit.merit_m || head_m.is_nan() {
                misfit.merit_m = head_m;
                misfit.worst_place = place;
            }
        };
        for link in topology.num_core()..topology.num_links() {
            if self.mode[link] != Mode::Active {
                continue;
            }
            let (a, b) = topology.ends(link);
            let g = 1.0 / self.slope[link].max(super::sweep::LEAST_SLOPE_SPM2);
            conductance[a] += g;
            conductance[b] += g;
            misfit.energy_m = misfit.energy_m.max(self.rest_m[link].abs());
            note(&mut misfit, self.rest_m[link].abs(), b);
        }
        for (supply, g) in compiled.supplies.iter().zip(&self.supply_conductance) {
            conductance[supply.place] += g;
        }
        for (place, g) in compiled.outlet_place.iter().zip(&self.outlet_conductance) {
            conductance[*place as usize] += g;
        }
        for (place, net) in self.net_m3s.iter().enumerate() {
            if self.live[place] && !self.pinned[place] {
                note(&mut misfit, (net / conductance[place]).abs(), place);
            }
        }
        // Outlets and supplies are part of it without a place of their own.
        misfit.energy_m = misfit.energy_m.max(self.energy_m);
        misfit.merit_m = misfit.merit_m.max(self.energy_m);
        misfit
    }

    /// Inflow less outflow of a place at the present point, for what a fixed source must give.
    pub fn net_at(&self, place: usize) -> f64 {
        self.net_m3s[place]
    }
}

/// Largest absolute value.
fn largest(values: &[f64]) -> f64 {
    values
        .iter()
        .fold(0.0, |most: f64, value| most.max(value.abs()))
}
