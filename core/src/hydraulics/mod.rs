//! Pressures and flows of a network of pipes, devices, outlets and sources, and how even the outlets are.
//!
//! Everything here is numbers: a [`Network`] goes in, a [`Solution`] comes out, and both are plain data. Whether a pressure or
//! a velocity is good enough is judged elsewhere, and so is which plan object a junction belongs to.

mod assembly;
mod devices;
mod friction;
pub mod from_plan;
mod kernel;
mod ldl;
mod longest_run;
mod network;
mod newton;
mod ordering;
mod outlets;
mod points;
pub mod sizing;
mod solution;
mod solver;
mod states;
mod supply;
mod surge;
mod sweep;
mod topology;
pub mod uniformity;
mod water;
pub mod zones;

pub use devices::LossCurve;
pub use friction::{
    FactorLaw, FactorReading, FrictionLaw, HeadLoss, PipeFriction, Regime, factor_reading,
};
pub use from_plan::{EmitterPoint, PlanNetwork, SupplyCase, supply_curve};
pub use kernel::open_loss;
pub use longest_run::{EvenLine, RunLength};
pub use network::{
    Junction, Link, LinkKind, Network, Outlet, Pipe, Source, flow_through, velocity_in,
};
pub use outlets::OutletLaw;
pub use points::{PointCurve, PointsError};
pub use solution::{Convergence, LinkState, Solution, Tolerance};
pub use solver::{Prepared, solve};
pub use supply::{SupplyCurve, SupplyError};
pub use surge::{closing_surge, sudden_surge, wave_speed, wave_speed_in};
pub use water::Water;
pub use zones::OperatingSet;
