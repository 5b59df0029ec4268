//! Everything about a reclaimed-water site plan that can be computed.
//!
//! Bytes in, bytes out: no window, no files, no clock, no environment, no threads. Imports only go down the ladder
//! `analysis → {agronomy, contact, takeoff} → wetting → hydraulics → layout → edit → file → model → {catalog, rulebook}
//! → finding → ids, text → geometry → units`, which a test guards.

pub mod finding;
pub mod geometry;
pub mod hydraulics;
pub mod ids;
pub mod text;
pub mod units;
