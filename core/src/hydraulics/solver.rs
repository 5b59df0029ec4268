//! Solving a network: cold or from an earlier solution, with device states found on the way, and the answer written out. It keeps
//! buffers, never results: the same network gives the same bits, whatever was solved before.

use super::assembly::{Compiled, CompiledSource, NO_SLOT};
use super::ldl::Symbolic;
use super::network::{LinkKind, Network};
use super::newton::{Limits, Mode, Work};
use super::solution::{
    Convergence, LinkState, Solution, Tolerance, quantised_flow, quantised_head,
};
use super::states::{Switching, num_combinations};
use crate::units::{Flow, Length};

/// How close heads must be before states of devices are looked at.
const STATE_CHECK_M: f64 = 1e-2;

/// Steps after which states of devices are looked at even if heads are not close.
const PATIENCE_WITH_STATES: usize = 15;

/// Solves networks of one topology again and again without ordering unknowns anew.
///
/// The topology is the number of junctions and the ends of the links; everything else may change between solves,
/// closed valves included. A network of another topology is accepted too: the pattern is then built anew.
#[derive(Clone, Debug)]
pub struct Solver {
    ends: Vec<(usize, usize)>,
    symbolic: Symbolic,
    compiled: Compiled,
    work: Work,
}

/// Solves a network cold, at the final tolerance.
///
/// ```
/// use aubergine_core::hydraulics::{
///     FrictionLaw, LinkKind, Network, OutletLaw, Pipe, SupplyCurve, Water, solve,
/// };
/// use aubergine_core::units::{Flow, Length, Pressure, Temperature};
/// let water = Water::at(Temperature::from_celsius(20.0));
/// let mut network = Network::new(water, FrictionLaw::Fitted);
/// let tap = network.add_junction(Length::ZERO);
/// let end = network.add_junction(Length::from_metres(1.0));
/// let pipe = Pipe::plain(Length::from_metres(30.0), Length::from_millimetres(16.0), Length::ZERO);
/// network.add_link(tap, end, LinkKind::Pipe(pipe));
/// network.add_outlet(end, OutletLaw::Fixed(Flow::from_litres_per_hour(300.0)));
/// network.add_source(tap, SupplyCurve::fixed(Pressure::from_kilopascals(200.0)));
/// let solution = solve(&network);
/// assert!(solution.convergence.converged);
/// assert!((solution.source_flows[0].litres_per_hour() - 300.0).abs() < 1e-5);
/// ```
#[must_use]
pub fn solve(network: &Network) -> Solution {
    Solver::new(network).solve(network, &Tolerance::FINAL, None)
}

impl Solver {
    /// Orders the unknowns of a network.
    #[must_use]
    pub fn new(network: &Network) -> Self {
        let ends: Vec<_> = network
            .links
            .iter()
            .map(|link| (link.from, link.to))
            .collect();
        let symbolic = Symbolic::new(network.junctions.len(), &ends);
        Self {
            ends,
            symbolic,
            compiled: Compiled::default(),
            work: Work::default(),
        }
    }

    /// The pattern of the factor.
    #[must_use]
    pub fn symbolic(&self) -> &Symbolic {
        &self.symbolic
    }

    /// Solves a network, from rest or from an earlier solution of nearly the same network. A cold solve does not depend on
    /// earlier ones.
    ///
    /// Degenerate input never panics. What no source reaches is reported as not supplied; a number without sense (a bore
    /// of zero, NaN, an end that is no junction) takes its link, outlet or source out and clears `converged`, with the
    /// junction where it is.
    pub fn solve(
        &mut self,
        network: &Network,
        tolerance: &Tolerance,
        start: Option<&Solution>,
    ) -> Solution {
        let same = network.junctions.len() == self.symbolic.num_nodes()
            && network.links.len() == self.ends.len()
            && network
                .links
                .iter()
                .zip(&self.ends)
                .all(|(link, ends)| (link.from, link.to) == *ends);
        if !same {
            *self = Self::new(network);
        }
        self.compiled.update(network, &self.symbolic);
        self.work.fit(&self.compiled, &self.symbolic);
        self.work.start_states(&self.compiled);
        self.start_cold();
        if let Some(start) = start {
            self.start_from(start);
        }
        let limits = Limits {
            head_m: tolerance.head.metres(),
            mass_m3s: tolerance.mass.cubic_metres_per_second(),
            max_iterations: tolerance.max_iterations,
        };
        let (fits, state_changes) = self.find_states(limits);
        self.answer(network, fits, state_changes)
    }

    /// Every pipe at 0.3 m/s and every junction at the highest head of a source.
    fn start_cold(&mut self) {
        let compiled = &self.compiled;
        let fixed = compiled.fixed.iter().zip(&compiled.fixed_head_m);
        let highest = fixed
            .filter(|(fixed, _)| **fixed)
            .map(|(_, head)| *head)
            .fold(f64::NEG_INFINITY, f64::max);
        let highest = if highest.is_finite() { highest } else { 0.0 };
        let work = &mut self.work;
        work.heads_m.fill(highest);
        work.flows_m3s.copy_from_slice(&compiled.usual_flow_m3s);
        for (flow, outlet) in work.outlet_flows_m3s.iter_mut().zip(&compiled.outlets) {
            // What it would give at that head is more than it will give: from there steps are safe.
            (*flow, _) = outlet.kernel.flow_and_slope(highest - outlet.level_m);
        }
    }

    /// Takes heads, flows and states from an earlier solution as far as it fits.
    fn start_from(&mut self, start: &Solution) {
        let (compiled, work) = (&self.compiled, &mut self.work);
        if start.heads.len() == compiled.num_junctions {
            for (node, (head, supplied)) in start.heads.iter().zip(&start.supplied).enumerate() {
                if let Some(place) = self.symbolic.place(node)
                    && *supplied
                    && head.is_finite()
                {
                    work.heads_m[place as usize] = head.metres();
                }
            }
        }
        if start.flows.len() == compiled.special_of_link.len() {
            for (flow, known) in work.flows_m3s.iter_mut().zip(&start.flows) {
                if known.is_finite() {
                    *flow = known.cubic_metres_per_second();
                }
            }
            for (i, special) in compiled.specials.iter().enumerate() {
                let state = start
                    .states
                    .get(special.link)
                    .copied()
                    .unwrap_or(LinkState::Open);
                let possible = state != LinkState::Regulating
                    || (special.set_head_m.is_some() && work.states[i] == LinkState::Regulating);
                if possible {
                    work.states[i] = state;
                }
            }
        }
        if start.outlet_flows.len() == compiled.outlets.len() {
            for (flow, known) in work.outlet_flows_m3s.iter_mut().zip(&start.outlet_flows) {
                if known.is_finite() {
                    *flow = known.cubic_metres_per_second();
                }
            }
        }
        for (source, known) in compiled.sources.iter().zip(&start.source_flows) {
            if let CompiledSource::Link(link) = source
                && known.is_finite()
            {
                work.flows_m3s[*link] = known.cubic_metres_per_second();
            }
        }
    }

    /// Solves with the states the devices have, corrects the states, and so on until they agree. Where that goes in
    /// circles it begins again with all devices open and changes one at a time; where that fails too and the devices
    /// are few, every combination is tried.
    fn find_states(&mut self, limits: Limits) -> (bool, usize) {
        self.work.apply_states(&self.compiled);
        let mut state_changes = 0;
        if self.correct_states(limits, Switching::Together, &mut state_changes) {
            return (true, state_changes);
        }
        if self.compiled.specials.is_empty() {
            return (false, state_changes);
        }
        self.start_cold();
        self.work.open_all(&self.compiled);
        if self.correct_states(limits, Switching::OneByOne, &mut state_changes) {
            return (true, state_changes);
        }
        for number in 0..num_combinations(&self.compiled).unwrap_or(0) {
            self.start_cold();
            let work = &mut self.work;
            if work.set_combination(&self.compiled, number)
                && work.newton(&self.compiled, &self.symbolic, limits)
                && work.states_agree(&self.compiled)
            {
                return (true, state_changes + 1);
            }
        }
        (false, state_changes)
    }

    /// Solves and switches in turn; false where no solution agrees with its states within the changes allowed.
    fn correct_states(
        &mut self,
        limits: Limits,
        switching: Switching,
        changes: &mut usize,
    ) -> bool {
        let (compiled, symbolic, work) = (&self.compiled, &self.symbolic, &mut self.work);
        let coarse = Limits {
            head_m: limits.head_m.max(STATE_CHECK_M),
            mass_m3s: f64::INFINITY,
            max_iterations: limits.max_iterations.min(PATIENCE_WITH_STATES),
        };
        loop {
            // Wrong states may have no solution to come near to, as when a regulator is taken to feed its own inlet; so
            // they are looked at after a few steps in any case.
            if !compiled.specials.is_empty() {
                work.newton(compiled, symbolic, coarse);
                let changed = work.switch_states(compiled, switching);
                *changes += changed;
                if changed > 0 {
                    continue;
                }
            }
            let fits = work.newton(compiled, symbolic, limits);
            if fits && work.states_agree(compiled) {
                return true;
            }
            // Each device has a limited number of changes, so this ends.
            let changed = if fits {
                work.switch_states(compiled, switching)
            } else {
                0
            };
            *changes += changed;
            if changed == 0 {
                return false;
            }
        }
    }

    /// Writes the answer in the order of the network.
    fn answer(&self, network: &Network, fits: bool, state_changes: usize) -> Solution {
        let (compiled, work) = (&self.compiled, &self.work);
        // Proof for the indices: places come from `symbolic`, links and specials from `compiled`, and `work` fits both.
        let place = |node: usize| self.symbolic.place(node).map(|place| place as usize);
        let live = |node: usize| place(node).is_some_and(|place| work.live[place]);
        let num = network.junctions.len();
        let mut heads = Vec::with_capacity(num);
        let mut pressures = Vec::with_capacity(num);
        for node in 0..num {
            // The compiled level, which is a number even where the network's is none.
            let (level_m, head_m) = place(node).map_or((0.0, 0.0), |place| {
                (compiled.level_m[place], work.heads_m[place])
            });
            let level = Length::from_metres(level_m);
            let head = if live(node) {
                quantised_head(head_m)
            } else {
                level
            };
            heads.push(head);
            pressures.push(network.water.pressure_of(head - level));
        }
        let losses = network
            .links
            .iter()
            .map(|link| match (heads.get(link.from), heads.get(link.to)) {
                (Some(from), Some(to)) if live(link.from) && live(link.to) => *from - *to,
                _ => Length::ZERO,
            })
            .collect();
        let states = network.links.iter().enumerate().map(|(l, link)| {
            let special = compiled.special_of_link.get(l).copied().unwrap_or(NO_SLOT);
            match (work.mode.get(l), link.kind) {
                (_, LinkKind::Closed) => LinkState::Shut,
                (Some(Mode::Regulating), _) => LinkState::Regulating,
                (Some(Mode::Off), _) if special != NO_SLOT => LinkState::Shut,
                _ => LinkState::Open,
            }
        });
        let outlet_flows = compiled.outlets.iter().zip(&work.outlet_flows_m3s);
        let outlet_flows = outlet_flows.map(|(outlet, flow)| {
            if work.live[outlet.place as usize] {
                quantised_flow(*flow)
            } else {
                Flow::ZERO
            }
        });
        let mut outlet_flows: Vec<Flow> = outlet_flows.collect();
        outlet_flows.resize(network.outlets.len(), Flow::ZERO);
        let source_flows = compiled.sources.iter().map(|source| match source {
            CompiledSource::Link(link) => quantised_flow(work.flows_m3s[*link]),
            CompiledSource::Fixed(place) => quantised_flow(-work.net_at(*place)),
            CompiledSource::Idle => Flow::ZERO,
        });
        let flows = work.flows_m3s.iter().take(network.links.len());
        let worst = (0..num).find(|node| place(*node) == Some(work.misfit.worst_place));
        Solution {
            flows: flows.map(|flow| quantised_flow(*flow)).collect(),
            source_flows: source_flows.collect(),
            outlet_flows,
            states: states.collect(),
            supplied: (0..num).map(live).collect(),
            convergence: Convergence {
                converged: fits && compiled.nonsense.is_none(),
                iterations: work.iterations,
                head_change_m: work.head_change_m,
                energy_residual_m: work.misfit.energy_m,
                mass_residual_m3s: work.misfit.mass_m3s,
                state_changes,
                worst_junction: match (compiled.nonsense, fits) {
                    (Some(junction), _) => junction,
                    (None, false) => worst,
                    (None, true) => None,
                },
            },
            heads,
            pressures,
            losses,
        }
    }
}

#[cfg(test)]
mod tests;
