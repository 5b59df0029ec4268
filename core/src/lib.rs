//! Everything about a reclaimed-water site plan that can be computed.
//!
//! Bytes in, bytes out: no window, no files, no clock, no environment, no threads. Imports only go down the ladder
//! `report → drawing → analysis → {agronomy, contact, coverage, takeoff} → wetting → hydraulics → file → edit → layout → model →
//! rulebook → catalog → finding → {ids, text} → geometry → units`, which a test guards.

pub mod agronomy;
pub mod analysis;
pub mod catalog;
pub mod contact;
pub mod coverage;
pub mod drawing;
pub mod edit;
pub mod file;
pub mod finding;
pub mod geometry;
pub mod hydraulics;
pub mod ids;
pub mod layout;
pub mod margin;
pub mod model;
pub mod report;
pub mod rulebook;
pub mod takeoff;
pub mod text;
pub mod units;
pub mod wetting;
