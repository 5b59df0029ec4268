//! Plane geometry of the yard: points, polylines, polygons, in metres, x to the east of the sheet and y up.
//!
//! Nothing here knows what the shapes mean. Exact overlaps go through the `geo` library.

mod frame;
pub mod point;
pub mod polygon;
pub mod polyline;
mod sector;

pub use frame::Frame;
pub use point::{PlanPoint, PlanVector};
pub use polygon::Polygon;
pub use polyline::{Polyline, share_of_nearest};
pub use sector::Sector;

/// The drawing's resolution in metres: distances that miss a limit by less than this still meet it.
pub const RESOLUTION_M: f64 = 1e-4;
