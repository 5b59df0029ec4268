//! Solving a network: cold or from an earlier solution, with device states found on the way, and the answer written out. It keeps
//! buffers, never results: the same network gives the same bits, whatever was solved before.

use super::assembly::{Compiled, CompiledSource};
use super::network::{LinkKind, Network};
use super::newton::{Limits, Misfit, Mode, Work};
use super::solution::{
    Convergence, LinkState, Solution, Tolerance, quantised_flow, quantised_head,
};
use super::states::{Switching, num_combinations};
use super::topology::{NONE, Topology};
use super::water::Water;
use crate::units::{Flow, Length};

/// How close heads must be before states of devices are looked at.
const STATE_CHECK_M: f64 = 1e-2;

/// Steps after which states of devices are looked at even if heads are not close.
const PATIENCE_WITH_STATES: usize = 15;

/// A network prepared for solving: the order of elimination, tables of coefficients, and all buffers.
///
/// It is solved as often as wanted, and takes over other numbers of the same topology – lengths, bores, levels, laws, pressures,
/// closed valves – without ordering anything anew.
#[derive(Clone, Debug)]
pub struct Prepared {
    water: Water,
    topology: Topology,
    compiled: Compiled,
    /// For each link of the network whether it is a closed valve.
    closed: Vec<bool>,
    num_outlets: usize,
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
    Prepared::new(network).solve(&Tolerance::FINAL, None)
}

impl Prepared {
    /// Orders the unknowns of a network and takes over its numbers.
    #[must_use]
    pub fn new(network: &Network) -> Self {
        let mut prepared = Self {
            water: network.water,
            topology: Topology::new(network),
            compiled: Compiled::default(),
            closed: Vec::new(),
            num_outlets: 0,
            work: Work::default(),
        };
        prepared.take_numbers(network);
        prepared
    }

    /// Takes over the numbers of a network. The order is kept where junctions, ends of links and places of sources are those of the
    /// network before, and found anew otherwise; the answers are the same either way.
    pub fn update(&mut self, network: &Network) -> &mut Self {
        if !self.topology.fits(network) {
            self.topology = Topology::new(network);
        }
        self.take_numbers(network);
        self
    }

    fn take_numbers(&mut self, network: &Network) {
        self.water = network.water;
        self.compiled.update(network, &self.topology);
        self.work.fit(&self.compiled, &self.topology);
        self.num_outlets = network.outlets.len();
        self.closed.clear();
        let closed = network
            .links
            .iter()
            .map(|link| link.kind == LinkKind::Closed);
        self.closed.extend(closed);
    }

    /// Solves from rest, or from an earlier solution of nearly the same network. A solve from rest does not depend on what was
    /// solved before.
    ///
    /// Degenerate input never panics. What no source reaches is reported as not supplied; a number without sense (a bore
    /// of zero, NaN, an end that is no junction) takes its link, outlet or source out and clears `converged`, with the
    /// junction where it is.
    pub fn solve(&mut self, tolerance: &Tolerance, start: Option<&Solution>) -> Solution {
        let mut solution = Solution::default();
        self.solve_into(tolerance, start, &mut solution);
        solution
    }

    /// The same into the lists of an earlier solution, without allocating where they are as long.
    pub fn solve_into(
        &mut self,
        tolerance: &Tolerance,
        start: Option<&Solution>,
        solution: &mut Solution,
    ) {
        self.work.start_states(&self.compiled);
        self.work.iterations = 0;
        self.work.misfit = Misfit::default();
        match start {
            Some(start) => self.start_from(start),
            None => self.start_cold(),
        }
        let limits = Limits {
            head_m: tolerance.head.metres(),
            mass_m3s: tolerance.mass.cubic_metres_per_second(),
            max_iterations: tolerance.max_iterations,
        };
        let (fits, state_changes) = self.find_states(limits);
        self.answer(fits, state_changes, solution);
    }

    /// Heads of the last solve in metres before they were rounded, by junction, for comparison with other solvers.
    pub fn unrounded_heads(&self) -> impl Iterator<Item = f64> {
        // Proof: places are below the length of the heads.
        self.topology
            .places()
            .iter()
            .map(|place| self.work.heads_m[*place as usize])
    }

    /// Every pipe at 0.3 m/s and every junction at the highest head of a source.
    fn start_cold(&mut self) {
        let (compiled, work) = (&self.compiled, &mut self.work);
        let highest_m = compiled.highest_head_m;
        work.heads_m.fill(highest_m);
        work.flows_m3s.copy_from_slice(&compiled.usual_flow_m3s);
        for (flow, supply) in work.supply_flows_m3s.iter_mut().zip(&compiled.supplies) {
            *flow = supply.usual_flow_m3s;
        }
        // What an outlet would give at that head is more than it will give: from there steps are safe. Neighbours are often alike.
        let mut last = (NONE, f64::NAN, 0.0);
        let outlets = compiled.outlet_place.iter().zip(&compiled.outlet_law);
        for (flow, (place, law)) in work.outlet_flows_m3s.iter_mut().zip(outlets) {
            // Proof: compiled places and laws are below the lengths of their tables.
            let head_m = highest_m - compiled.level_m[*place as usize];
            if last.0 != *law || last.1.to_bits() != head_m.to_bits() {
                let (full, _) = compiled.laws[*law as usize].flow_and_slope(head_m);
                last = (*law, head_m, full);
            }
            *flow = last.2;
        }
    }

    /// Takes heads, flows and states from an earlier solution as far as it fits.
    fn start_from(&mut self, start: &Solution) {
        self.start_cold();
        let (topology, compiled, work) = (&self.topology, &self.compiled, &mut self.work);
        // Proof for the indices: places, numbers of links and positions of outlets are those of this topology and network.
        if start.heads.len() == topology.num_places() {
            let known = start
                .heads
                .iter()
                .zip(&start.supplied)
                .zip(topology.places());
            for ((head, supplied), place) in known {
                if *supplied && head.is_finite() {
                    work.heads_m[*place as usize] = head.metres();
                }
            }
        }
        if start.flows.len() == topology.homes().len() {
            for (flow, &(link, forward)) in start.flows.iter().zip(topology.homes()) {
                if link != NONE && flow.is_finite() {
                    let flow = flow.cubic_metres_per_second();
                    work.flows_m3s[link as usize] = if forward { flow } else { -flow };
                }
            }
            for (i, special) in compiled.specials.iter().enumerate() {
                if let Some(state) = start.states.get(special.of) {
                    let possible = *state != LinkState::Regulating
                        || (special.set_head_m.is_some()
                            && work.states[i] == LinkState::Regulating);
                    if possible {
                        work.states[i] = *state;
                    }
                }
            }
        }
        if start.outlet_flows.len() == self.num_outlets {
            for (flow, of) in work.outlet_flows_m3s.iter_mut().zip(&compiled.outlet_of) {
                if let Some(known) = start.outlet_flows.get(*of as usize)
                    && known.is_finite()
                {
                    *flow = known.cubic_metres_per_second();
                }
            }
        }
        for (source, known) in compiled.sources.iter().zip(&start.source_flows) {
            if let CompiledSource::Supply(supply) = source
                && known.is_finite()
            {
                work.supply_flows_m3s[*supply] = known.cubic_metres_per_second();
            }
        }
    }

    /// Solves with the states the devices have, corrects the states, and so on until they agree. Where that goes in
    /// circles it begins again with all devices open and changes one at a time; where that fails too and the devices
    /// are few, every combination is tried.
    fn find_states(&mut self, limits: Limits) -> (bool, usize) {
        self.work.apply_states(&self.compiled, &self.topology);
        let mut state_changes = 0;
        if self.correct_states(limits, Switching::Together, &mut state_changes) {
            return (true, state_changes);
        }
        if self.compiled.specials.is_empty() {
            return (false, state_changes);
        }
        self.start_cold();
        self.work.open_all(&self.compiled, &self.topology);
        if self.correct_states(limits, Switching::OneByOne, &mut state_changes) {
            return (true, state_changes);
        }
        for number in 0..num_combinations(&self.compiled).unwrap_or(0) {
            self.start_cold();
            let work = &mut self.work;
            if work.set_combination(&self.compiled, &self.topology, number)
                && work.newton(&self.compiled, &self.topology, limits)
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
        let (compiled, topology, work) = (&self.compiled, &self.topology, &mut self.work);
        let coarse = Limits {
            head_m: limits.head_m.max(STATE_CHECK_M),
            mass_m3s: f64::INFINITY,
            max_iterations: limits.max_iterations.min(PATIENCE_WITH_STATES),
        };
        loop {
            // Wrong states may have no solution to come near to, as when a regulator is taken to feed its own inlet; so
            // they are looked at after a few steps in any case.
            if !compiled.specials.is_empty() {
                work.newton(compiled, topology, coarse);
                let changed = work.switch_states(compiled, topology, switching);
                *changes += changed;
                if changed > 0 {
                    continue;
                }
            }
            let fits = work.newton(compiled, topology, limits);
            if fits && work.states_agree(compiled) {
                return true;
            }
            // Each device has a limited number of changes, so this ends.
            let changed = if fits {
                work.switch_states(compiled, topology, switching)
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
    fn answer(&self, fits: bool, state_changes: usize, solution: &mut Solution) {
        let (topology, compiled, work) = (&self.topology, &self.compiled, &self.work);
        let places = topology.places();
        let Solution {
            heads,
            pressures,
            flows,
            losses,
            outlet_flows,
            source_flows,
            states,
            supplied,
            convergence,
        } = solution;
        // Proof for the indices: places and numbers of links are those of the topology, and `work` fits it; `supplied` and
        // `heads` get an item for every junction.
        let live = |place: &u32| work.live[*place as usize];
        refill(supplied, places.iter().map(live));
        // The compiled level is a number even where the network's is none.
        let level = |place: &u32| Length::from_metres(compiled.level_m[*place as usize]);
        let head = |(place, supplied): (&u32, &bool)| {
            if *supplied {
                quantised_head(work.heads_m[*place as usize])
            } else {
                level(place)
            }
        };
        refill(heads, places.iter().zip(supplied.iter()).map(head));
        let above = heads
            .iter()
            .zip(places)
            .map(|(head, place)| *head - level(place));
        refill(pressures, above.map(|head| self.water.pressure_of(head)));
        let flow = |&(link, forward): &(u32, bool)| {
            // A link that joins nothing has the number of none.
            let flow = work.flows_m3s.get(link as usize).copied().unwrap_or(0.0);
            quantised_flow(if forward { flow } else { -flow })
        };
        refill(flows, topology.homes().iter().map(flow));
        let known = |node: usize| heads.get(node).filter(|_| supplied[node]);
        let loss = |&(from, to): &(usize, usize)| {
            known(from)
                .zip(known(to))
                .map_or(Length::ZERO, |(above, below)| *above - *below)
        };
        refill(losses, topology.links().iter().map(loss));
        let state = |closed: &bool| {
            if *closed {
                LinkState::Shut
            } else {
                LinkState::Open
            }
        };
        refill(states, self.closed.iter().map(state));
        for special in &compiled.specials {
            states[special.of] = match work.mode[special.link] {
                Mode::Active => LinkState::Open,
                Mode::Regulating => LinkState::Regulating,
                Mode::Off => LinkState::Shut,
            };
        }
        outlet_flows.clear();
        outlet_flows.resize(self.num_outlets, Flow::ZERO);
        for (flow, of) in work.outlet_flows_m3s.iter().zip(&compiled.outlet_of) {
            if let Some(slot) = outlet_flows.get_mut(*of as usize) {
                *slot = quantised_flow(*flow);
            }
        }
        let source = |source: &CompiledSource| match source {
            CompiledSource::Supply(supply) => quantised_flow(work.supply_flows_m3s[*supply]),
            CompiledSource::Fixed(place) => quantised_flow(-work.net_at(*place)),
            CompiledSource::Idle => Flow::ZERO,
        };
        refill(source_flows, compiled.sources.iter().map(source));
        let worst = || {
            let at = |place: &u32| *place as usize == work.misfit.worst_place;
            places.iter().position(at)
        };
        *convergence = Convergence {
            converged: fits && compiled.nonsense.is_none(),
            iterations: work.iterations,
            head_ahead_m: work.head_ahead_m,
            energy_residual_m: work.misfit.energy_m,
            mass_residual_m3s: work.misfit.mass_m3s,
            state_changes,
            worst_junction: match (compiled.nonsense, fits) {
                (Some(junction), _) => junction,
                (None, false) => worst(),
                (None, true) => None,
            },
        };
    }
}

/// New items for a list, in the room it has.
fn refill<T>(list: &mut Vec<T>, items: impl Iterator<Item = T>) {
    list.clear();
    list.extend(items);
}

#[cfg(test)]
mod tests;
