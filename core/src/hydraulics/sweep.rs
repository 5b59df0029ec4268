//! One Newton step. The forest is folded into the core from its leaves inwards, the core is solved by a sparse factorisation, and the
//! way back moves heads and flows and evaluates every loss at the new point: two passes over the places, no matrix for the forest.
//!
//! For a forest place of folded diagonal d, right-hand side r, whose link from its parent has flow Q, slope s and misfit e, with
//! k = 1/(1 + s d): its step is k (s (r + Q) + e) + k · (the parent's step); the parent's diagonal gains k d, its right-hand side
//! k (r − d (s Q + e)); and the new flow is d · step − r, which is the mass balance itself. A slope of zero does no harm.

use super::assembly::{Compiled, DEVICE};
use super::newton::{Mode, Work};
use super::solution::LinkState;
use super::topology::{NONE, Topology};

/// Least slope of a loss used in a step of a core link, in m/(m³/s). A zero-length pipe or lossless valve would otherwise conduct
/// without limit; the loss itself is never changed, so the solution is not either, only the way to it.
pub(super) const LEAST_SLOPE_SPM2: f64 = 1e-2;

/// Passes over a chain of regulators within one step; what is left goes into the next step.
const MAX_REGULATOR_PASSES: usize = 6;

// Proof for the indices of this file: `Work::fit` makes every list as long as the places, links, supplies or outlets of `Compiled`,
// which name places of their topology only; a parent's place is below its child's.

impl Work {
    /// Evaluates every law at the present point.
    pub fn evaluate(&mut self, compiled: &Compiled, topology: &Topology) {
        self.energy_m = 0.0;
        self.held_m3s = 0.0;
        self.trace = 0.0;
        self.evaluate_core(compiled, topology);
        self.move_forest::<false>(compiled, topology, 0.0);
        self.move_supplies::<false>(compiled, 0.0);
        self.move_outlets::<false>(compiled, 0.0);
    }

    /// Takes a share of one step; the place of a pivot that is not positive is the error.
    pub fn step(
        &mut self,
        compiled: &Compiled,
        topology: &Topology,
        share: f64,
    ) -> Result<(), usize> {
        let num_core = topology.num_core();
        for pass in 0..MAX_REGULATOR_PASSES {
            self.assemble(compiled, topology);
            self.fold_forest(compiled, topology);
            for place in 0..num_core {
                let free = !self.pinned[place];
                self.numeric.diagonal[place] = if free { self.diagonal[place] } else { 1.0 };
                self.step_m[place] = if free { self.rhs[place] } else { 0.0 };
            }
            self.numeric.factor(topology.core())?;
            self.numeric
                .solve(topology.core(), &mut self.step_m[..num_core]);
            if !self.passes_needed || pass + 1 == MAX_REGULATOR_PASSES {
                break;
            }
            for i in num_core..topology.num_places() {
                self.step_m[i] =
                    self.shift_m[i] + self.fold[i] * self.step_m[topology.parents()[i] as usize];
            }
            if !self.update_regulated_flows(compiled, topology) {
                break;
            }
        }
        self.head_change_m = 0.0;
        self.energy_m = 0.0;
        self.held_m3s = 0.0;
        self.trace = 0.0;
        self.move_core(compiled, topology, share);
        self.move_forest::<true>(compiled, topology, share);
        self.move_supplies::<true>(compiled, share);
        self.move_outlets::<true>(compiled, share);
        Ok(())
    }

    /// Writes what outlets, supplies and core links give to the nodal equations.
    fn assemble(&mut self, compiled: &Compiled, topology: &Topology) {
        self.diagonal.fill(0.0);
        self.rhs.fill(0.0);
        let (diagonal, rhs) = (self.diagonal.as_mut_slice(), self.rhs.as_mut_slice());
        let outlets = compiled
            .outlet_place
            .iter()
            .zip(&self.outlet_conductance)
            .zip(&self.outlet_ahead_m3s);
        for ((place, conductance), ahead) in outlets {
            diagonal[*place as usize] += conductance;
            rhs[*place as usize] -= ahead;
        }
        for (s, supply) in compiled.supplies.iter().enumerate() {
            diagonal[supply.place] += self.supply_conductance[s];
            rhs[supply.place] += self.supply_ahead_m3s[s];
        }
        self.numeric.entries.fill(0.0);
        let n = topology.num_places();
        for (c, link) in topology.core_links().iter().enumerate() {
            let (a, b) = (link.a as usize, link.b as usize);
            let mut ahead = self.flows_m3s[n + c];
            if self.mode[n + c] == Mode::Active {
                let g = self.core_conductance[c];
                ahead += g * self.rest_m[n + c];
                diagonal[a] += g;
                diagonal[b] += g;
                if link.slot != NONE && !self.pinned[a] && !self.pinned[b] {
                    self.numeric.entries[link.slot as usize] -= g;
                }
            }
            rhs[a] -= ahead;
            rhs[b] += ahead;
        }
    }

    /// Folds every forest place into its parent, leaves first.
    fn fold_forest(&mut self, compiled: &Compiled, topology: &Topology) {
        let mut end = topology.num_places();
        loop {
            end = self.fold_run(topology, end);
            if end == topology.num_core() {
                return;
            }
            end -= 1;
            self.fold_other(compiled, end, topology.parents()[end] as usize);
        }
    }

    /// Folds backwards from `end` and returns the place after the first one that is not like the others, or the first of the forest.
    fn fold_run(&mut self, topology: &Topology, end: usize) -> usize {
        let num_core = topology.num_core();
        let parents = &topology.parents()[..end];
        let slopes = &self.slope[..end];
        let flows = &self.flows_m3s[..end];
        let rests = &self.rest_m[..end];
        let plain = &self.plain[..end];
        let folds = &mut self.fold[..end];
        let shifts = &mut self.shift_m[..end];
        let diagonal = &mut self.diagonal[..end];
        let rhs = &mut self.rhs[..end];
        for i in (num_core..end).rev() {
            if plain[i] == NONE {
                return i + 1;
            }
            let p = parents[i] as usize;
            let (d, r) = (diagonal[i], rhs[i]);
            let (s, q, e) = (slopes[i], flows[i], rests[i]);
            let k = 1.0 / (1.0 + s * d);
            folds[i] = k;
            shifts[i] = k * (s * (r + q) + e);
            diagonal[p] += k * d;
            rhs[p] += k * (r - d * (s * q + e));
        }
        num_core
    }

    /// Folds a place of known head, or one whose link to its parent has no loss equation now.
    #[cold]
    fn fold_other(&mut self, compiled: &Compiled, i: usize, p: usize) {
        let (d, r) = (self.diagonal[i], self.rhs[i]);
        self.fold[i] = 0.0;
        self.shift_m[i] = 0.0;
        if self.mode[i] == Mode::Active {
            let g = 1.0 / self.slope[i].max(LEAST_SLOPE_SPM2);
            self.diagonal[p] += g;
            self.rhs[p] -= self.flows_m3s[i] + g * self.rest_m[i];
            return;
        }
        if self.pinned[i] {
            // A regulator gives what the place it holds takes with everything behind it.
            if self.mode[i] == Mode::Regulating
                && let Some(special) = special_of(compiled, i)
                && compiled.specials[special].b == i
                && self.team[special] == 1
            {
                self.flows_m3s[i] = -r;
            }
        } else {
            self.shift_m[i] = (r + self.flows_m3s[i]) / d;
        }
        self.rhs[p] -= self.flows_m3s[i];
    }

    /// Moves heads and flows of the forest, or leaves them where they are, and evaluates its losses there.
    fn move_forest<const MOVE: bool>(
        &mut self,
        compiled: &Compiled,
        topology: &Topology,
        share: f64,
    ) {
        let mut from = topology.num_core();
        loop {
            from = self.move_run::<MOVE>(compiled, topology, share, from);
            if from == topology.num_places() {
                return;
            }
            let parent = topology.parents()[from] as usize;
            if MOVE {
                self.move_other(from, parent, share);
            }
            let fall_m = self.heads_m[parent] - self.heads_m[from];
            self.evaluate_link(compiled, from, fall_m);
            from += 1;
        }
    }

    /// Moves from a place on and returns the first one whose link is no plain pipe, or the number of places.
    fn move_run<const MOVE: bool>(
        &mut self,
        compiled: &Compiled,
        topology: &Topology,
        share: f64,
        from: usize,
    ) -> usize {
        let n = topology.num_places();
        let sizes = compiled.sizes.list.as_slice();
        let runs = &compiled.run[..n];
        let parents = &topology.parents()[..n];
        let plain = &self.plain[..n];
        let folds = &self.fold[..n];
        let shifts = &self.shift_m[..n];
        let diagonal = &self.diagonal[..n];
        let rhs = &self.rhs[..n];
        let steps = &mut self.step_m[..n];
        let heads = &mut self.heads_m[..n];
        let flows = &mut self.flows_m3s[..n];
        let slopes = &mut self.slope[..n];
        let rests = &mut self.rest_m[..n];
        let mut change = self.head_change_m;
        let mut energy = self.energy_m;
        let mut trace = self.trace;
        let mut i = from;
        while i < n {
            let Some(size) = sizes.get(plain[i] as usize) else {
                break;
            };
            let p = parents[i] as usize;
            let mut step = 0.0;
            if MOVE {
                step = shifts[i] + folds[i] * steps[p];
                steps[i] = step;
                heads[i] += share * step;
                flows[i] += share * (diagonal[i] * step - rhs[i] - flows[i]);
            }
            let (loss, slope) = size.loss_and_slope(flows[i], runs[i]);
            let rest = heads[p] - heads[i] - loss;
            slopes[i] = slope;
            rests[i] = rest;
            change = if step.abs() > change {
                step.abs()
            } else {
                change
            };
            energy = if rest.abs() > energy {
                rest.abs()
            } else {
                energy
            };
            trace += step + rest;
            i += 1;
        }
        self.head_change_m = change;
        self.energy_m = energy;
        self.trace = trace;
        i
    }

    #[cold]
    fn move_other(&mut self, i: usize, p: usize, share: f64) {
        let step = self.shift_m[i] + self.fold[i] * self.step_m[p];
        let old = self.flows_m3s[i];
        let target = match self.mode[i] {
            Mode::Active if self.pinned[i] => {
                old + (self.rest_m[i] + self.step_m[p]) / self.slope[i].max(LEAST_SLOPE_SPM2)
            }
            Mode::Active => self.diagonal[i] * step - self.rhs[i],
            Mode::Regulating | Mode::Off => old,
        };
        self.step_m[i] = step;
        self.heads_m[i] += share * step;
        self.flows_m3s[i] += share * (target - old);
        self.head_change_m = self.head_change_m.max(step.abs());
        self.trace += step;
    }

    /// Loss, slope and misfit of any link for the fall of head along it.
    fn evaluate_link(&mut self, compiled: &Compiled, link: usize, fall_m: f64) {
        if self.mode[link] != Mode::Active {
            self.slope[link] = 0.0;
            self.rest_m[link] = 0.0;
            return;
        }
        let (code, flow) = (compiled.code[link], self.flows_m3s[link]);
        let (loss, slope) = if let Some(size) = compiled.sizes.list.get(code as usize) {
            size.loss_and_slope(flow, compiled.run[link])
        } else if let Some(device) = compiled.devices.get(code.wrapping_sub(DEVICE) as usize) {
            let (loss, slope) = device.kernel.loss_and_slope(device.sign * flow);
            (device.sign * loss, slope)
        } else {
            (0.0, 0.0)
        };
        let rest = fall_m - loss;
        self.slope[link] = slope;
        self.rest_m[link] = rest;
        self.energy_m = self.energy_m.max(rest.abs());
        self.trace += rest;
    }

    fn evaluate_core(&mut self, compiled: &Compiled, topology: &Topology) {
        let n = topology.num_places();
        for (c, link) in topology.core_links().iter().enumerate() {
            let fall_m = self.heads_m[link.a as usize] - self.heads_m[link.b as usize];
            self.evaluate_link(compiled, n + c, fall_m);
            self.core_conductance[c] = 1.0 / self.slope[n + c].max(LEAST_SLOPE_SPM2);
        }
    }

    fn move_core(&mut self, compiled: &Compiled, topology: &Topology, share: f64) {
        for place in 0..topology.num_core() {
            let step = self.step_m[place];
            self.heads_m[place] += share * step;
            self.head_change_m = self.head_change_m.max(step.abs());
            self.trace += step;
        }
        let n = topology.num_places();
        for (c, link) in topology.core_links().iter().enumerate() {
            if self.mode[n + c] == Mode::Active {
                let fall = self.step_m[link.a as usize] - self.step_m[link.b as usize];
                self.flows_m3s[n + c] +=
                    share * self.core_conductance[c] * (self.rest_m[n + c] + fall);
            }
        }
        self.evaluate_core(compiled, topology);
    }

    /// Moves the flows of supplies by a share of the step, or leaves them, and evaluates their losses.
    fn move_supplies<const MOVE: bool>(&mut self, compiled: &Compiled, share: f64) {
        for (s, supply) in compiled.supplies.iter().enumerate() {
            let mut flow = self.supply_flows_m3s[s];
            if MOVE {
                let target = self.supply_ahead_m3s[s]
                    - self.supply_conductance[s] * self.step_m[supply.place];
                flow += share * (target - flow);
            }
            let (loss, slope) = supply.kernel.loss_and_slope(flow);
            let rest = supply.head_m - self.heads_m[supply.place] - loss;
            let conductance = 1.0 / slope.max(LEAST_SLOPE_SPM2);
            self.supply_flows_m3s[s] = flow;
            self.supply_conductance[s] = conductance;
            self.supply_ahead_m3s[s] = flow + conductance * rest;
            self.energy_m = self.energy_m.max(rest.abs());
            self.trace += rest;
        }
    }

    /// Moves the flows of outlets by a share of the step, or leaves them, and makes their laws linear there.
    fn move_outlets<const MOVE: bool>(&mut self, compiled: &Compiled, share: f64) {
        let num = compiled.outlet_place.len();
        let places = &compiled.outlet_place[..num];
        let of_law = &compiled.outlet_law[..num];
        let (orifices, laws) = (compiled.orifices.as_slice(), compiled.laws.as_slice());
        let levels = compiled.level_m.as_slice();
        let (heads, steps) = (self.heads_m.as_slice(), self.step_m.as_slice());
        let live = self.live.as_slice();
        let flows = &mut self.outlet_flows_m3s[..num];
        let conductances = &mut self.outlet_conductance[..num];
        let aheads = &mut self.outlet_ahead_m3s[..num];
        let (mut energy, mut held, mut trace) = (self.energy_m, self.held_m3s, self.trace);
        for o in 0..num {
            let (place, law) = (places[o] as usize, of_law[o] as usize);
            let mut flow = flows[o];
            if MOVE {
                let target = aheads[o] + conductances[o] * steps[place];
                flow += share * (target - flow);
            }
            let head = heads[place] - levels[place];
            let orifice = &orifices[law];
            // An outlet that is not supplied has no flow from the first evaluation on.
            if flow > orifice.above_m3s && (MOVE || live[place]) {
                let rest = head - flow * flow * orifice.per_k2;
                let conductance = orifice.half_k2 / flow;
                flows[o] = flow;
                conductances[o] = conductance;
                aheads[o] = flow + conductance * rest;
                energy = if rest.abs() > energy {
                    rest.abs()
                } else {
                    energy
                };
                trace += rest;
            } else if live[place] {
                // Nothing enters through an outlet; only a fixed one may feed the network.
                flow = flow.max(laws[law].least_flow_m3s());
                let step = laws[law].linearised(flow, head);
                flows[o] = flow;
                conductances[o] = step.conductance;
                aheads[o] = step.ahead_m3s;
                energy = energy.max(step.rest_m.abs());
                held = held.max(step.rest_m3s.abs());
                trace += step.rest_m + step.rest_m3s;
            } else {
                flows[o] = 0.0;
                conductances[o] = 0.0;
                aheads[o] = 0.0;
            }
        }
        self.energy_m = energy;
        self.held_m3s = held;
        self.trace = trace;
    }

    /// Sets the flow of each regulating link whose flow was not found while folding to what its outlet's surroundings take after the
    /// step. True where that changed the equations, so that they are solved again: the outlet side of a regulator does not depend
    /// on its inlet side, so a chain of regulators needs one pass for each and then stands.
    fn update_regulated_flows(&mut self, compiled: &Compiled, topology: &Topology) -> bool {
        let mut changed = false;
        for (i, special) in compiled.specials.iter().enumerate() {
            if self.states[i] != LinkState::Regulating
                || self.mode[special.link] != Mode::Regulating
                || (self.team[i] == 1 && folds(topology, special.link, special.b))
            {
                continue;
            }
            let mut taken = 0.0;
            for link in topology.links_at(special.b) {
                let (a, b) = topology.ends(link);
                let out = if a == special.b { 1.0 } else { -1.0 };
                let flow = self.flows_m3s[link];
                taken += out
                    * match self.mode[link] {
                        Mode::Active => {
                            let fall = self.step_m[a] - self.step_m[b];
                            let slope = self.slope[link].max(LEAST_SLOPE_SPM2);
                            flow + (self.rest_m[link] + fall) / slope
                        }
                        Mode::Regulating
                            if special_of(compiled, link)
                                .is_some_and(|s| compiled.specials[s].b == special.b) =>
                        {
                            0.0
                        }
                        Mode::Regulating | Mode::Off => flow,
                    };
            }
            let b = u32::try_from(special.b).unwrap_or(NONE);
            let first = compiled.outlet_place.partition_point(|place| *place < b);
            let outlets = compiled.outlet_place[first..]
                .iter()
                .take_while(|place| **place == b);
            for ahead in self.outlet_ahead_m3s[first..]
                .iter()
                .zip(outlets)
                .map(|(ahead, _)| ahead)
            {
                taken += ahead;
            }
            for (supply, ahead) in compiled.supplies.iter().zip(&self.supply_ahead_m3s) {
                if supply.place == special.b {
                    taken -= ahead;
                }
            }
            let flow = &mut self.flows_m3s[special.link];
            let target = special.sign * taken / f64::from(self.team[i]);
            changed |= (target - *flow).abs() > 1e-14;
            *flow = target;
        }
        changed
    }
}

/// True where folding finds the flow of a regulating link: it leads from a parent to the child it holds.
pub(super) fn folds(topology: &Topology, link: usize, held: usize) -> bool {
    link < topology.num_places() && link == held
}

/// The special of a link, by position.
pub(super) fn special_of(compiled: &Compiled, link: usize) -> Option<usize> {
    let code = compiled.code[link];
    if code < DEVICE {
        return None;
    }
    let device = compiled.devices.get((code & !DEVICE) as usize)?;
    (device.special != NONE).then_some(device.special as usize)
}
