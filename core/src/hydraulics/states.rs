//! Which checks are shut, which regulators regulate, and what is supplied at all. The flows for given states are found elsewhere.

use super::assembly::{Compiled, NO_SLOT};
use super::kernel::LinkKernel;
use super::newton::{Mode, Work};
use super::solution::LinkState;

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
        for (i, special) in compiled.specials.iter().enumerate() {
            let Some(set_head_m) = special.set_head_m else {
                self.states[i] = LinkState::Open;
                continue;
            };
            let highest = compiled
                .specials
                .iter()
                .filter(|other| other.b == special.b)
                .filter_map(|other| other.set_head_m)
                .fold(f64::NEG_INFINITY, f64::max);
            self.states[i] = if compiled.fixed[special.b] {
                LinkState::Open
            } else if set_head_m >= highest - 1e-9 {
                LinkState::Regulating
            } else {
                LinkState::Shut
            };
        }
    }

    /// Searches what is supplied through links that are not shut, checks and regulators in their own direction only, and
    /// fixes how each link and place takes part. Called after every change of states.
    pub fn apply_states(&mut self, compiled: &Compiled) {
        self.live.fill(false);
        self.stack.clear();
        for place in 0..compiled.level_m.len() {
            if compiled.fixed[place] {
                self.live[place] = true;
                self.stack.push(u32::try_from(place).unwrap_or(NO_SLOT));
            }
        }
        while let Some(place) = self.stack.pop() {
            for l in compiled.links_at(place as usize) {
                let link = &compiled.links[*l as usize];
                let forward = link.a == place;
                let passes = match self.special_at(compiled, *l as usize) {
                    Some(i) => forward && self.states[i] != LinkState::Shut,
                    None => !matches!(link.kernel, LinkKernel::Blocked),
                };
                let other = if forward { link.b } else { link.a };
                if passes && !self.live[other as usize] {
                    self.live[other as usize] = true;
                    self.stack.push(other);
                }
            }
        }
        for place in 0..compiled.level_m.len() {
            self.pinned[place] = compiled.fixed[place] || !self.live[place];
            if compiled.fixed[place] {
                self.heads_m[place] = compiled.fixed_head_m[place];
            } else if !self.live[place] {
                self.heads_m[place] = compiled.level_m[place];
            }
        }
        for (l, link) in compiled.links.iter().enumerate() {
            let both = self.live[link.a as usize] && self.live[link.b as usize];
            let usable = both && link.a != link.b && !matches!(link.kernel, LinkKernel::Blocked);
            self.mode[l] = match self.special_at(compiled, l) {
                _ if !usable => Mode::Off,
                None => Mode::Active,
                Some(i) => match self.states[i] {
                    LinkState::Open => Mode::Active,
                    LinkState::Regulating => Mode::Regulating,
                    LinkState::Shut => Mode::Off,
                },
            };
            if self.mode[l] == Mode::Off {
                self.flows_m3s[l] = 0.0;
            }
        }
        for (i, special) in compiled.specials.iter().enumerate() {
            if self.mode[special.link] == Mode::Regulating
                && let Some(set_head_m) = special.set_head_m
            {
                self.pinned[special.b] = true;
                self.heads_m[special.b] = set_head_m;
                let team = compiled
                    .specials
                    .iter()
                    .filter(|other| {
                        other.b == special.b && self.mode[other.link] == Mode::Regulating
                    })
                    .count();
                self.team[i] = team as f64;
            }
        }
    }

    /// The special of a link, by its position among the links.
    fn special_at(&self, compiled: &Compiled, link: usize) -> Option<usize> {
        let special = compiled
            .special_of_link
            .get(link)
            .copied()
            .unwrap_or(NO_SLOT);
        (special != NO_SLOT).then_some(special as usize)
    }

    /// The state a device should have by the present heads and flows.
    fn wanted_state(&self, compiled: &Compiled, i: usize) -> LinkState {
        let special = &compiled.specials[i];
        let flow = self.flows_m3s[special.link];
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
                // Another regulator or a source may hold this place higher; then this one shuts.
                if self.pinned[special.b] {
                    LinkState::Shut
                } else {
                    LinkState::Regulating
                }
            }
            (LinkState::Regulating, Some(_)) => {
                let (loss, _) = compiled.links[special.link]
                    .kernel
                    .loss_and_slope(flow, &compiled.curves.list);
                if head_a - head_b < loss - HEAD_HYSTERESIS_M {
                    LinkState::Open
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

    /// True where no device contradicts its state.
    pub fn states_agree(&self, compiled: &Compiled) -> bool {
        (0..compiled.specials.len()).all(|i| self.wanted_state(compiled, i) == self.states[i])
    }

    /// Changes the states that contradict the present point and returns how many changed. A device that has used up its
    /// changes keeps its state.
    pub fn switch_states(&mut self, compiled: &Compiled, switching: Switching) -> usize {
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
            self.apply_states(compiled);
        }
        changed
    }

    /// Opens every device and gives it its changes back.
    pub fn open_all(&mut self, compiled: &Compiled) {
        self.states.fill(LinkState::Open);
        self.switches.fill(0);
        self.apply_states(compiled);
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
    pub fn set_combination(&mut self, compiled: &Compiled, mut number: usize) -> bool {
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
            if held(i) && (compiled.fixed[special.b] || (0..i).any(clash)) {
                return false;
            }
        }
        self.apply_states(compiled);
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
    let work = product.saturating_mul(compiled.links.len());
    (product > 1 && work <= MAX_EXHAUSTIVE_WORK).then_some(product)
}
