//! What the solver answers: heads, pressures, flows and how well they fit the equations. Plain data, no judgement.

use crate::units::{Flow, Length, Pressure};

/// How close a solve has to come.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Tolerance {
    /// Largest change of a head in the last step and largest misfit of the energy equation of a link. A relative part
    /// of 1e-14 of the largest head is added for rounding.
    pub head: Length,
    /// Largest misfit of the mass balance of a junction. A relative part of 1e-13 of the largest flow is added for
    /// rounding.
    pub mass: Flow,
    /// Newton steps before giving up, for one set of device states.
    pub max_iterations: usize,
}

impl Tolerance {
    /// For results: 1e-9 m and 1e-12 m³/s, a thousandth of what is shown and the step of quantisation. Newton's method
    /// squares the error at each step, so this costs about one step more than 1e-6 m.
    pub const FINAL: Self = Self {
        head: Length::from_metres(1e-9),
        mass: Flow::from_litres_per_second(1e-9),
        max_iterations: 100,
    };

    /// While something is being dragged: 1e-3 m (10 Pa) and 1e-8 m³/s (0.04 L/h).
    pub const MOVING: Self = Self {
        head: Length::from_metres(1e-3),
        mass: Flow::from_litres_per_second(1e-5),
        max_iterations: 30,
    };
}

/// What a link does.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum LinkState {
    /// Water may flow; a pipe is always open.
    Open,
    /// A regulator that holds its set pressure.
    Regulating,
    /// Nothing flows: closed valve, check against reverse flow, a device that is not supplied.
    Shut,
}

/// How well the solution fits.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct Convergence {
    /// True where all tolerances are met and every input could be used.
    pub converged: bool,
    /// Newton steps taken.
    pub iterations: usize,
    /// Largest change of a head that one more step is expected to make, from how the last two shrank, in metres.
    pub head_ahead_m: f64,
    /// Largest misfit of the energy equation of an open link, in metres.
    pub energy_residual_m: f64,
    /// Largest misfit of the mass balance of a junction, in m³/s.
    pub mass_residual_m3s: f64,
    /// How often a regulator or check changed its state.
    pub state_changes: usize,
    /// Where it fits worst, or where the input has no sense; `None` after success.
    pub worst_junction: Option<usize>,
}

/// Pressures and flows of a network. Lists are as long as those of the network.
///
/// Heads are rounded to 1e-6 m and flows to 1e-12 m³/s, so that a cold and a warm solve agree in what anyone sees.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Solution {
    /// Head of each junction above the datum; its level where it is not supplied.
    pub heads: Vec<Length>,
    /// Gauge pressure of each junction; zero where it is not supplied. It may be negative.
    pub pressures: Vec<Pressure>,
    /// Flow of each link, positive from `from` to `to`.
    pub flows: Vec<Flow>,
    /// Fall of head along each link from `from` to `to`, what a regulator takes off included; zero where an end is not
    /// supplied.
    pub losses: Vec<Length>,
    /// Flow of each outlet.
    pub outlet_flows: Vec<Flow>,
    /// Flow of each source into the network; negative where water flows back.
    pub source_flows: Vec<Flow>,
    /// State of each link.
    pub states: Vec<LinkState>,
    /// Whether a way through open links leads from a source to each junction.
    pub supplied: Vec<bool>,
    /// How well all this fits.
    pub convergence: Convergence,
}

/// To the nearest micrometre of head.
#[inline]
pub(crate) fn quantised_head(head_m: f64) -> Length {
    Length::from_metres(nearest(head_m * 1e6) / 1e6)
}

/// To the nearest 1e-12 m³/s.
#[inline]
pub(crate) fn quantised_flow(flow_m3s: f64) -> Flow {
    Flow::from_litres_per_second(nearest(flow_m3s * 1e12) / 1e9)
}

/// To the nearest whole number, of two equally near ones to the even one; never −0. Adding and taking away 1.5 · 2⁵² leaves no place
/// for a fraction, and is several times quicker than a call of the library where the processor has no instruction for it.
#[inline]
fn nearest(value: f64) -> f64 {
    const SHIFT: f64 = 6_755_399_441_055_744.0;
    if value.abs() < 1e15 {
        (value + SHIFT) - SHIFT
    } else {
        value
    }
}
