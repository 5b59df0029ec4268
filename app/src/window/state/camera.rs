//! Where the plan is looked at from: plan metres to canvas pixels and back, in double precision.

use aubergine_core::geometry::PlanPoint;

/// Largest and smallest scales: a 2 km site on a small screen, and an emitter as large as a hand.
const SCALES: (f64, f64) = (0.1, 4000.0);
/// What a fit leaves free around the plan, in pixels.
const MARGIN_PX: f64 = 44.0;
/// What it leaves free beside the plan, for words of things at its edge.
const BESIDE_PX: f64 = 72.0;
/// What it leaves free below, for the tallest legend.
const BELOW_PX: f64 = 236.0;

/// A view of the plan. Pixels are counted from the middle of the canvas, right and down.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Camera {
    /// The place in the middle of the canvas.
    pub centre: PlanPoint,
    /// Pixels a metre.
    pub px_per_m: f64,
    /// Width of the canvas in pixels.
    pub width: f64,
    /// Height of the canvas in pixels.
    pub height: f64,
}

impl Default for Camera {
    fn default() -> Self {
        Self {
            centre: PlanPoint::new(0.0, 0.0),
            px_per_m: 40.0,
            width: 0.0,
            height: 0.0,
        }
    }
}

impl Camera {
    /// A plan point in pixels from the middle of the canvas.
    #[must_use]
    pub fn to_canvas(&self, point: PlanPoint) -> (f64, f64) {
        (
            (point.x - self.centre.x) * self.px_per_m,
            (self.centre.y - point.y) * self.px_per_m,
        )
    }

    /// The plan point under pixels from the middle of the canvas.
    #[must_use]
    pub fn to_plan(&self, x: f64, y: f64) -> PlanPoint {
        PlanPoint::new(
            self.centre.x + x / self.px_per_m,
            self.centre.y - y / self.px_per_m,
        )
    }

    /// Moves what is seen by pixels.
    pub fn pan(&mut self, dx: f64, dy: f64) {
        self.centre = self.to_plan(-dx, -dy);
    }

    /// Zooms; what is under the place given stays there.
    pub fn zoom(&mut self, factor: f64, x: f64, y: f64) {
        let held = self.to_plan(x, y);
        self.px_per_m = (self.px_per_m * factor).clamp(SCALES.0, SCALES.1);
        let moved = self.to_plan(x, y);
        self.centre = PlanPoint::new(
            self.centre.x + held.x - moved.x,
            self.centre.y + held.y - moved.y,
        );
    }

    /// Brings a rectangle into view.
    pub fn fit(&mut self, low: PlanPoint, high: PlanPoint) {
        let least = 0.5;
        let (wide, tall) = ((high.x - low.x).max(least), (high.y - low.y).max(least));
        let room = |size: f64| size.max(40.0);
        let scale = (room(self.width - 2.0 * BESIDE_PX) / wide)
            .min(room(self.height - MARGIN_PX - BELOW_PX) / tall);
        self.px_per_m = scale.clamp(SCALES.0, SCALES.1);
        // The middle of what is free lies above the middle of the canvas.
        let raised_px = (BELOW_PX - MARGIN_PX) / 2.0;
        self.centre = PlanPoint::new(
            f64::midpoint(low.x, high.x),
            f64::midpoint(low.y, high.y) - raised_px / self.px_per_m,
        );
    }

    /// Whether a point is well inside what is seen.
    #[must_use]
    pub fn sees(&self, point: PlanPoint) -> bool {
        let (x, y) = self.to_canvas(point);
        x.abs() < self.width / 2.0 - MARGIN_PX / 2.0
            && y.abs() < self.height / 2.0 - MARGIN_PX / 2.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn zoom_holds_the_place_under_the_pointer() {
        let mut camera = Camera {
            width: 800.0,
            height: 600.0,
            ..Camera::default()
        };
        camera.pan(31.0, -17.0);
        let before = camera.to_plan(120.0, -45.0);
        camera.zoom(1.7, 120.0, -45.0);
        assert!(before.distance(camera.to_plan(120.0, -45.0)).metres() < 1e-9);
    }

    #[test]
    fn a_fit_shows_both_corners() {
        let mut camera = Camera {
            width: 800.0,
            height: 600.0,
            ..Camera::default()
        };
        let (low, high) = (PlanPoint::new(3.0, 4.0), PlanPoint::new(30.0, 20.0));
        camera.fit(low, high);
        assert!(camera.sees(low) && camera.sees(high));
    }
}
