//! The air that a drawing needs around it: what its symbols, ticks and letters reach beyond the yard at a scale.

use crate::drawing::svg::{self, Mapping, SYMBOL_PT};
use crate::drawing::{Drawing, labels};
use crate::geometry::PlanPoint;

/// Points beyond the outermost marks on each side, and how many names found no room.
#[derive(Clone, Copy, Default)]
pub(super) struct Air {
    pub left: f64,
    pub top: f64,
    pub right: f64,
    pub bottom: f64,
    pub left_out: usize,
}

/// The least on each side: half a symbol and a little more.
const LEAST_PT: f64 = SYMBOL_PT * 0.6;

impl Air {
    /// Of a drawing between two corners at one to `denominator`.
    pub fn around(
        drawing: &Drawing,
        (low, high): (PlanPoint, PlanPoint),
        denominator: f64,
    ) -> Self {
        let mapping = Mapping {
            corner: PlanPoint::new(low.x, high.y),
            left: 0.0,
            top: 0.0,
            denominator,
        };
        let (right, bottom) = mapping.place(PlanPoint::new(high.x, low.y));
        let placed = labels::place(drawing, |point| mapping.place(point), svg::PRINTED);
        let mut air = Self {
            left: LEAST_PT,
            top: LEAST_PT,
            right: LEAST_PT,
            bottom: LEAST_PT,
            left_out: placed.left_out,
        };
        for text in &placed.texts {
            let frame = labels::frame_of(text, svg::LABEL_PT);
            air.left = air.left.max(-frame.left);
            air.top = air.top.max(-frame.top);
            air.right = air.right.max(frame.right - right);
            air.bottom = air.bottom.max(frame.bottom - bottom);
        }
        air
    }
}
