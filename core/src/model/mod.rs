//! The plan as plain data. Nothing here computes; nothing here knows a file or a window.

pub mod ids;

pub use ids::{Id, Kind};
