//! Physical quantities as types: one newtype a quantity, the unit named at every border.
//!
//! Each type keeps its value in the unit of the plan file (metres, kilopascals, litres per second …), so that
//! a value read and written again keeps its bits. It does not know what a person wants to see: that is [`display`],
//! and it does not read what a person types: that is [`entry`].
//! Numbers from outside are checked when they are read: a quantity never starts its life as NaN or infinity.

#[macro_use]
mod quantity;

pub mod agronomic;
pub mod amount;
pub mod display;
pub mod entry;
pub mod hydraulic;
pub mod space;

pub use agronomic::{Concentration, DepthRate, Salinity};
pub use amount::Amount;
pub use display::UnitSystem;
pub use hydraulic::{
    Density, Flow, KinematicViscosity, Pressure, Temperature, Velocity, head_of, pressure_of,
};
pub use space::{Angle, Area, Length};

/// Standard acceleration of gravity in m/s². Source: ISO 80000-3, exact by definition (from memory).
pub const GRAVITY_MPS2: f64 = 9.806_65;
