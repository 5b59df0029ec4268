//! Which checks are shut, which regulators regulate, and what is supplied at all. The flows for given states are found elsewhere.

use super::assembly::{BLOCKED, Compiled, Special};
use super::newton::{Mode, Work};
use super::solution::LinkState;
use super::sweep::{folds, special_of};
use super::topology::{NONE, Topology, small};

/// A state changes only when its condition is missed by more than this: far above rounding, far below what is shown.
const HEAD_HYSTERESIS_M: f64 = 1e-6;

/// As above, for reverse flow.
const FLOW_HYSTERESIS_M3S: f64 = 1e-11;

/// How states are corrected.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Switching {
    /// All that contradict the solution at once: quick, and nearly always enough.
    Together,
    /// The first that contradicts it: slower, and calmer where devices act on each other.
    OneByOne,
}

impl Switching {
    /// How often a device may change its state.
    fn most_changes(self) -> u32 {
        match self {
            Self::Together => 5,
            Self::OneByOne => 10,
        }
    }
}

/// All combinations of states are tried, when switching goes in circles, while their number times that of the links stays below
/// this: a second or two at worst.
const MAX_EXHAUSTIVE_WORK: usize = 100_000;

// Proof for the indices of this file: specials name links and places of the same `Compiled`; `Work::fit` makes all lists as
// long as it needs.

impl Work {
    /// The states a cold solve starts from: checks open; at each place the regulators of the highest setting regulate,
    /// lower ones are shut; a regulator into a place of fixed head is open.
    pub fn start_states(&mut self, compiled: &Compiled) {
        self.switches.fill(0);
        for (state, special) in self.states.iter_mut().zip(&compiled.specials) {
            *state = match special.set_head_m {
                Some(set_head_m) if !compiled.is_fixed[special.b] => {
                    if set_head_m >= special.highest_set_m - 1e-9 {
                        LinkState::Regulating
                    } else {
                        LinkState::Shut
                    }
                }
                _ => LinkState::Open,
            };
        }
    }

    /// Fixes how each link and place takes part in the present states. What is supplied is searched anew only where the states
    /// differ from those last applied.
    pub fn apply_states(&mut self, compiled: &Compiled, topology: &Topology) {
        if !self.is_applied || self.applied != self.states {
            self.search_supplied(compiled, topology);
            self.set_modes(compiled, topology);
            self.applied.clone_from(&self.states);
            self.is_applied = true;
        }
        for (place, head_m) in &self.pins {
            self.heads_m[*place as usize] = *head_m;
        }
        for link in &self.off {
            self.flows_m3s[*link as usize] = 0.0;
        }
    }

    /// Finds what a source reaches through links that are not shut, checks and regulators in their own direction only.
    fn search_supplied(&mut self, compiled: &Compiled, topology: &Topology) {
        self.live.fill(false);
        self.stack.clear();
        let fixed = compiled.fixed.iter().map(|(place, _)| *place);
        let supplied = compiled.supplies.iter().map(|supply| small(supply.place));
        for place in fixed.chain(supplied) {
            if !self.live[place as usize] {
                self.live[place as usize] = true;
                self.stack.push(place);
            }
        }
        while let Some(place) = self.stack.pop() {
            let place = place as usize;
            for link in topology.links_at(place) {
                let (a, b) = topology.ends(link);
                let passes = match special_of(compiled, link) {
                    Some(i) => compiled.specials[i].a == place && self.states[i] != LinkState::Shut,
                    None => compiled.code[link] != BLOCKED,
                };
                let other = if a == place { b } else { a };
                if passes && !self.live[other] {
                    self.live[other] = true;
                    self.stack.push(small(other));
                }
            }
        }
    }

    fn set_modes(&mut self, compiled: &Compiled, topology: &Topology) {
        self.pins.clear();
        for place in 0..topology.num_places() {
            self.pinned[place] = !self.live[place];
            if !self.live[place] {
                self.pins.push((small(place), compiled.level_m[place]));
            }
        }
        for (place, head_m) in &compiled.fixed {
            self.pinned[*place as usize] = true;
            self.pins.push((*place, *head_m));
        }
        self.off.clear();
        for link in topology.num_core()..topology.num_links() {
            let (a, b) = topology.ends(link);
            let usable = self.live[a] && self.live[b] && compiled.code[link] != BLOCKED;
            self.mode[link] = match special_of(compiled, link) {
                _ if !usable => Mode::Off,
                None => Mode::Active,
                Some(i) => match self.states[i] {
                    LinkState::Open => Mode::Active,
                    LinkState::Regulating => Mode::Regulating,
                    LinkState::Shut => Mode::Off,
                },
            };
            if self.mode[link] == Mode::Off {
                self.off.push(small(link));
            }
        }
        self.passes_needed = false;
        self.team.fill(0);
        let regulating = |mode: &[Mode], i: usize| {
            let special = &compiled.specials[i];
            special
                .set_head_m
                .filter(|_| mode[special.link] == Mode::Regulating)
        };
        self.num_holding.fill(0);
        for (i, special) in compiled.specials.iter().enumerate() {
            if let Some(set_head_m) = regulating(&self.mode, i) {
                self.pinned[special.b] = true;
                self.pins.push((small(special.b), set_head_m));
                self.num_holding[special.b] += 1;
            }
        }
        for (i, special) in compiled.specials.iter().enumerate() {
            if regulating(&self.mode, i).is_some() {
                self.team[i] = self.num_holding[special.b];
                self.passes_needed |= self.team[i] > 1 || !folds(topology, special.link, special.b);
            }
        }
        for link in topology.num_core()..topology.num_links() {
            let plain = self.mode[link] == Mode::Active
                && (link >= topology.num_places() || !self.pinned[link]);
            self.plain[link] = if plain { compiled.code[link] } else { NONE };
        }
    }

    /// The state a device should have by the present heads and flows.
    fn wanted_state(&self, compiled: &Compiled, i: usize) -> LinkState {
        let special = &compiled.specials[i];
        let flow = special.sign * self.flows_m3s[special.link];
        let (head_a, head_b) = (self.heads_m[special.a], self.heads_m[special.b]);
        let state = self.states[i];
        if !self.live[special.a] {
            return state;
        }
        let backward = flow < -FLOW_HYSTERESIS_M3S;
        match (state, special.set_head_m) {
            // Nothing else supplies what lies behind it, so nothing can push back: open, if only with no flow.
            (LinkState::Shut, _) if !self.live[special.b] => LinkState::Open,
            (LinkState::Open | LinkState::Regulating, _) if backward => LinkState::Shut,
            (LinkState::Open, Some(set)) if head_b > set + HEAD_HYSTERESIS_M => {
                // Another regulator or a source may hold this place higher; then this one shuts. Of several that are open the
                // lowest regulates first: two settings cannot hold at once.
                if self.pinned[special.b] {
                    LinkState::Shut
                } else if special.shares && self.lower_one_is_open(compiled, i) {
                    state
                } else {
                    LinkState::Regulating
                }
            }
            (LinkState::Regulating, Some(set)) => {
                let (loss, _) = compiled.devices[special.device].kernel.loss_and_slope(flow);
                if head_a - head_b < loss - HEAD_HYSTERESIS_M || head_b < set - HEAD_HYSTERESIS_M {
                    LinkState::Open
                } else if head_b > set + HEAD_HYSTERESIS_M {
                    LinkState::Shut
                } else {
                    state
                }
            }
            (LinkState::Shut, set) => {
                let pushes = head_a - head_b > special.opening_m + HEAD_HYSTERESIS_M;
                let wanted = set.is_none_or(|set| head_b < set - HEAD_HYSTERESIS_M);
                if pushes && wanted {
                    LinkState::Open
                } else {
                    state
                }
            }
            (LinkState::Open | LinkState::Regulating, _) => state,
        }
    }

    /// True where an open regulator of a lower setting leads to the place of this one.
    fn lower_one_is_open(&self, compiled: &Compiled, i: usize) -> bool {
        let special = &compiled.specials[i];
        let lower = |other: &Special| {
            other.b == special.b
                && other
                    .set_head_m
                    .zip(special.set_head_m)
                    .is_some_and(|(other, own)| other < own - 1e-9)
        };
        let mut specials = compiled.specials.iter().zip(&self.states);
        specials.any(|(other, state)| *state == LinkState::Open && lower(other))
    }

    /// True where no device contradicts its state.
    pub fn states_agree(&self, compiled: &Compiled) -> bool {
        (0..compiled.specials.len()).all(|i| self.wanted_state(compiled, i) == self.states[i])
    }

    /// Changes the states that contradict the present point and returns how many changed. A device that has used up its
    /// changes keeps its state.
    pub fn switch_states(
        &mut self,
        compiled: &Compiled,
        topology: &Topology,
        switching: Switching,
    ) -> usize {
        let limit = switching.most_changes();
        let mut changed = 0;
        for i in 0..compiled.specials.len() {
            let wanted = self.wanted_state(compiled, i);
            if wanted != self.states[i] && self.switches[i] < limit {
                self.set_state(compiled, i, wanted);
                self.switches[i] += 1;
                changed += 1;
                if switching == Switching::OneByOne {
                    break;
                }
            }
        }
        if changed > 0 {
            self.apply_states(compiled, topology);
        }
        changed
    }

    /// Opens every device and gives it its changes back.
    pub fn open_all(&mut self, compiled: &Compiled, topology: &Topology) {
        self.states.fill(LinkState::Open);
        self.switches.fill(0);
        self.apply_states(compiled, topology);
    }

    fn set_state(&mut self, compiled: &Compiled, i: usize, state: LinkState) {
        let link = compiled.specials[i].link;
        if self.states[i] == LinkState::Shut {
            // Any forward flow will do to start from; at rest a loss curve may have no slope.
            self.flows_m3s[link] = compiled.usual_flow_m3s[link];
        }
        self.states[i] = state;
    }

    /// Sets the states of one combination; false where it is no combination: two regulators of different settings cannot
    /// hold one place, and none can hold a place of fixed head.
    pub fn set_combination(
        &mut self,
        compiled: &Compiled,
        topology: &Topology,
        mut number: usize,
    ) -> bool {
        for (i, special) in compiled.specials.iter().enumerate() {
            let choices = if special.set_head_m.is_some() { 3 } else { 2 };
            let state = match number % choices {
                0 => LinkState::Open,
                1 => LinkState::Shut,
                _ => LinkState::Regulating,
            };
            number /= choices;
            self.set_state(compiled, i, state);
        }
        let held = |i: usize| self.states[i] == LinkState::Regulating;
        for (i, special) in compiled.specials.iter().enumerate() {
            let clash = |j: usize| {
                let other = &compiled.specials[j];
                let apart = other
                    .set_head_m
                    .zip(special.set_head_m)
                    .is_some_and(|(x, y)| (x - y).abs() > 1e-9);
                other.b == special.b && held(j) && apart
            };
            if held(i) && (compiled.is_fixed[special.b] || (0..i).any(clash)) {
                return false;
            }
        }
        self.apply_states(compiled, topology);
        true
    }
}

/// Number of combinations of states worth trying one by one; `None` where that would take too long.
pub(crate) fn num_combinations(compiled: &Compiled) -> Option<usize> {
    let choices = |set: Option<f64>| if set.is_some() { 3_usize } else { 2 };
    let mut product = 1_usize;
    for special in &compiled.specials {
        product = product.saturating_mul(choices(special.set_head_m));
    }
    let work = product.saturating_mul(compiled.code.len());
    (product > 1 && work <= MAX_EXHAUSTIVE_WORK).then_some(product)
}
