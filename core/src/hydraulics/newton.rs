//! Newton's method on heads and flows together, for given states of the devices: assembling the nodal equations, solving them and
//! stepping. Which states are right is decided elsewhere.

use super::assembly::{Compiled, NO_SLOT};
use super::ldl::{Numeric, Symbolic};
use super::outlets::OutletStep;
use super::solution::LinkState;

/// Least slope of a loss used in a step, in m/(m³/s). A zero-length pipe or lossless valve would otherwise conduct without
/// limit; the loss itself is never changed, so the solution is not either, only the way to it.
const LEAST_SLOPE_SPM2: f64 = 1e-2;

/// Steps looked back for progress before a step is shortened.
const PATIENCE: usize = 8;

/// Passes over a chain of regulators within one step; what is left goes into the next step.
const MAX_REGULATOR_PASSES: usize = 6;

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

/// The unknowns and all buffers of a solve. Lists run over places or links.
#[derive(Clone, Debug, Default)]
pub(crate) struct Work {
    pub heads_m: Vec<f64>,
    pub flows_m3s: Vec<f64>,
    pub outlet_flows_m3s: Vec<f64>,
    outlet_steps: Vec<OutletStep>,
    pub mode: Vec<Mode>,
    /// Places whose head is known: fixed, held by a regulator, or not supplied.
    pub pinned: Vec<bool>,
    pub live: Vec<bool>,
    pub states: Vec<LinkState>,
    /// How many regulators share the place each special holds.
    pub team: Vec<f64>,
    pub switches: Vec<u32>,
    pub stack: Vec<u32>,
    pub numeric: Numeric,
    /// 1/slope of each link.
    conductance: Vec<f64>,
    /// Flow after the step if no head changes.
    flow_ahead_m3s: Vec<f64>,
    /// Inflow less outflow now, and after the step if no head changes.
    net_m3s: Vec<f64>,
    net_ahead_m3s: Vec<f64>,
    head_step_m: Vec<f64>,
    pub iterations: usize,
    pub head_change_m: f64,
    pub misfit: Misfit,
}

// Proof for the indices of this file: `fit` makes every list as long as the places or links of `Compiled`, whose links and
// outlets name places of its own only; matrix slots come from `Symbolic::entry`.

impl Work {
    /// Makes every list as long as the network needs.
    pub fn fit(&mut self, compiled: &Compiled, symbolic: &Symbolic) {
        let (places, links) = (compiled.level_m.len(), compiled.links.len());
        for list in [
            &mut self.heads_m,
            &mut self.net_m3s,
            &mut self.net_ahead_m3s,
            &mut self.head_step_m,
        ] {
            list.clear();
            list.resize(places, 0.0);
        }
        for list in [
            &mut self.flows_m3s,
            &mut self.conductance,
            &mut self.flow_ahead_m3s,
        ] {
            list.clear();
            list.resize(links, 0.0);
        }
        self.outlet_flows_m3s.clear();
        self.outlet_flows_m3s.resize(compiled.outlets.len(), 0.0);
        self.outlet_steps.clear();
        self.outlet_steps
            .resize(compiled.outlets.len(), OutletStep::default());
        self.mode.clear();
        self.mode.resize(links, Mode::Off);
        for list in [&mut self.pinned, &mut self.live] {
            list.clear();
            list.resize(places, false);
        }
        self.states.clear();
        self.states.resize(compiled.specials.len(), LinkState::Open);
        self.team.clear();
        self.team.resize(compiled.specials.len(), 1.0);
        self.switches.clear();
        self.switches.resize(compiled.specials.len(), 0);
        if self.numeric.diagonal.len() != symbolic.num_nodes()
            || self.numeric.entries.len() != symbolic.num_entries()
        {
            self.numeric = Numeric::new(symbolic);
        }
        self.iterations = 0;
        self.head_change_m = f64::INFINITY;
        self.misfit = Misfit::default();
    }

    /// Iterates until the limits are met; false where they are not, or where the equations have no solution.
    pub fn newton(&mut self, compiled: &Compiled, symbolic: &Symbolic, limits: Limits) -> bool {
        let mut recent = [f64::INFINITY; PATIENCE];
        let mut share = 1.0_f64;
        self.head_change_m = f64::INFINITY;
        for step in 0..=limits.max_iterations {
            self.misfit = self.assemble(compiled);
            // Rounding of heads and flows sets a floor under what can be reached.
            let largest_head = largest(&self.heads_m);
            let largest_flow = largest(&self.flows_m3s);
            let head_limit = limits.head_m + 1e-14 * largest_head;
            let mass_limit = limits.mass_m3s + 1e-13 * largest_flow;
            if !(self.misfit.merit_m.is_finite()
                && largest_head.is_finite()
                && largest_flow.is_finite())
            {
                return false;
            }
            if self.head_change_m <= head_limit
                && self.misfit.energy_m <= head_limit
                && self.misfit.mass_m3s <= mass_limit
            {
                return true;
            }
            if step == limits.max_iterations {
                return false;
            }
            // Steps that go in circles between two branches of a law come to rest when shortened.
            let best = recent.iter().copied().fold(f64::INFINITY, f64::min);
            share = if step > PATIENCE && self.misfit.merit_m > 0.9 * best {
                recent.fill(f64::INFINITY);
                (0.5 * share).max(0.1)
            } else {
                (1.5 * share).min(1.0)
            };
            if let Some(slot) = recent.get_mut(step % PATIENCE) {
                *slot = self.misfit.merit_m;
            }
            if let Err(place) = self.numeric.factor(symbolic) {
                self.misfit.worst_place = place;
                return false;
            }
            self.step(compiled, symbolic, share);
            self.iterations += 1;
        }
        false
    }

    /// Writes the nodal equations of the present point and measures its misfit.
    fn assemble(&mut self, compiled: &Compiled) -> Misfit {
        let n = compiled.num_junctions;
        self.numeric.diagonal.fill(0.0);
        self.numeric.entries.fill(0.0);
        self.net_m3s.fill(0.0);
        self.net_ahead_m3s.fill(0.0);
        let mut misfit = Misfit::default();
        let curves = compiled.curves.list.as_slice();
        for (l, link) in compiled.links.iter().enumerate() {
            let (a, b) = (link.a as usize, link.b as usize);
            let flow = self.flows_m3s[l];
            match self.mode[l] {
                Mode::Off => continue,
                Mode::Regulating => {
                    self.net_m3s[a] -= flow;
                    self.net_m3s[b] += flow;
                    // The outlet's balance decides this flow, so it is left out there.
                    self.net_ahead_m3s[a] -= flow;
                    continue;
                }
                Mode::Active => {}
            }
            let (loss, slope) = link.kernel.loss_and_slope(flow, curves);
            let conductance = 1.0 / slope.max(LEAST_SLOPE_SPM2);
            let rest = self.heads_m[a] - self.heads_m[b] - loss;
            let ahead = flow + conductance * rest;
            self.conductance[l] = conductance;
            self.flow_ahead_m3s[l] = ahead;
            if rest.abs() > misfit.energy_m || rest.is_nan() {
                misfit.energy_m = rest.abs();
                misfit.worst_place = if b < n { b } else { a };
            }
            self.net_m3s[a] -= flow;
            self.net_m3s[b] += flow;
            self.net_ahead_m3s[a] -= ahead;
            self.net_ahead_m3s[b] += ahead;
            if a < n {
                self.numeric.diagonal[a] += conductance;
            }
            if b < n {
                self.numeric.diagonal[b] += conductance;
            }
            if link.slot != NO_SLOT && !self.pinned[a] && !self.pinned[b] {
                self.numeric.entries[link.slot as usize] -= conductance;
            }
        }
        for (o, outlet) in compiled.outlets.iter().enumerate() {
            let place = outlet.place as usize;
            if !self.live[place] {
                continue;
            }
            let flow = self.outlet_flows_m3s[o];
            let step = outlet
                .kernel
                .linearised(flow, self.heads_m[place] - outlet.level_m);
            self.outlet_steps[o] = step;
            self.net_m3s[place] -= flow;
            self.net_ahead_m3s[place] -= step.ahead_m3s;
            self.numeric.diagonal[place] += step.conductance;
            misfit.mass_m3s = misfit.mass_m3s.max(step.rest_m3s.abs());
            if step.rest_m.abs() > misfit.energy_m || step.rest_m.is_nan() {
                misfit.energy_m = step.rest_m.abs();
                misfit.worst_place = place;
            }
        }
        misfit.merit_m = misfit.energy_m;
        for (place, diagonal) in self.numeric.diagonal.iter_mut().enumerate() {
            if self.pinned[place] {
                *diagonal = 1.0;
                continue;
            }
            let net = self.net_m3s[place].abs();
            misfit.mass_m3s = misfit.mass_m3s.max(net);
            let as_head = net / *diagonal;
            if as_head > misfit.merit_m || as_head.is_nan() {
                misfit.merit_m = as_head;
                misfit.worst_place = place;
            }
        }
        misfit
    }

    /// Solves the assembled equations and moves by a share of the step.
    fn step(&mut self, compiled: &Compiled, symbolic: &Symbolic, share: f64) {
        let n = compiled.num_junctions;
        for pass in 0..MAX_REGULATOR_PASSES {
            for (place, target) in self.head_step_m.iter_mut().enumerate() {
                *target = if self.pinned[place] {
                    0.0
                } else {
                    self.net_ahead_m3s[place]
                };
            }
            self.numeric.solve(symbolic, &mut self.head_step_m[..n]);
            if !self.update_regulated_flows(compiled, pass) {
                break;
            }
        }
        let mut change = 0.0_f64;
        for (head, step) in self.heads_m.iter_mut().zip(&self.head_step_m) {
            change = change.max(step.abs());
            *head += share * step;
        }
        self.head_change_m = change;
        for (l, link) in compiled.links.iter().enumerate() {
            if self.mode[l] == Mode::Active {
                let fall = self.head_step_m[link.a as usize] - self.head_step_m[link.b as usize];
                let target = self.flow_ahead_m3s[l] + self.conductance[l] * fall;
                self.flows_m3s[l] += share * (target - self.flows_m3s[l]);
            }
        }
        for (o, outlet) in compiled.outlets.iter().enumerate() {
            let place = outlet.place as usize;
            if self.live[place] {
                let step = &self.outlet_steps[o];
                let target = step.ahead_m3s + step.conductance * self.head_step_m[place];
                let flow = self.outlet_flows_m3s[o] + share * (target - self.outlet_flows_m3s[o]);
                // Nothing enters through an outlet; only a fixed one may feed the network.
                let least = outlet.kernel.least_flow_m3s();
                self.outlet_flows_m3s[o] = flow.max(least);
            }
        }
    }

    /// Sets the flow of each regulating link to what its outlet's surroundings take after the step, and takes it from its
    /// inlet. True where that changed the equations, so that they are solved again: the outlet side of a regulator does
    /// not depend on its inlet side, so a chain of regulators needs one pass for each and then stands.
    fn update_regulated_flows(&mut self, compiled: &Compiled, pass: usize) -> bool {
        let mut changed = false;
        for (special, (state, team)) in compiled
            .specials
            .iter()
            .zip(self.states.iter().zip(&self.team))
        {
            if *state != LinkState::Regulating || self.mode[special.link] != Mode::Regulating {
                continue;
            }
            let mut taken = -self.net_ahead_m3s[special.b];
            for l in compiled.links_at(special.b) {
                let (l, link) = (*l as usize, &compiled.links[*l as usize]);
                if self.mode[l] == Mode::Active {
                    let other = if link.a as usize == special.b {
                        link.b
                    } else {
                        link.a
                    };
                    taken -= self.conductance[l] * self.head_step_m[other as usize];
                }
            }
            let flow = &mut self.flows_m3s[special.link];
            let change = taken / team - *flow;
            *flow += change;
            self.net_ahead_m3s[special.a] -= change;
            changed |= change.abs() > 1e-14;
        }
        changed && pass + 1 < MAX_REGULATOR_PASSES
    }

    /// Inflow less outflow of a place at the present point, for what a fixed source must give.
    pub fn net_at(&self, place: usize) -> f64 {
        self.net_m3s[place]
    }
}

/// Largest absolute value; NaN counts as infinite.
fn largest(values: &[f64]) -> f64 {
    values.iter().fold(0.0, |most: f64, value| {
        if value.is_nan() {
            f64::INFINITY
        } else {
            most.max(value.abs())
        }
    })
}
