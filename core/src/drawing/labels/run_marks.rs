//! The letters and ticks along runs, at printed distances: which water it is and whether it is a main or a lateral, told
//! without colour.

use crate::model::{PipeRole, WaterKind};

/// The most millimetres between two codes of a run (`users.md` 4.4).
const CODES_APART_MM: f64 = 60.0;
/// A run shorter than this carries no letters.
const SHORTEST_WITH_CODE_MM: f64 = 11.0;
/// A run shorter than this carries nothing.
const SHORTEST_MM: f64 = 6.0;
/// Most codes of one run: close up they stand further apart.
const MOST_CODES: f64 = 40.0;
/// Half a tick, and half the distance of the two of a main.
const TICK_MM: f64 = 1.1;
const TWIN_MM: f64 = 0.45;

/// A run on the output, y down.
pub(super) struct Run {
    points: Vec<(f64, f64)>,
    mm: f64,
}

impl Run {
    pub fn new(points: Vec<(f64, f64)>, mm: f64) -> Self {
        Self { points, mm }
    }

    fn length(&self) -> f64 {
        let pairs = self.points.windows(2);
        pairs
            .map(|pair| (pair[1].0 - pair[0].0).hypot(pair[1].1 - pair[0].1))
            .sum()
    }

    /// The place at a station, and the direction there.
    fn at(&self, station: f64) -> Option<((f64, f64), (f64, f64))> {
        let mut left = station;
        for pair in self.points.windows(2) {
            let step = (pair[1].0 - pair[0].0, pair[1].1 - pair[0].1);
            let length = step.0.hypot(step.1);
            if length > 0.0 && left <= length {
                let share = left / length;
                let place = (pair[0].0 + step.0 * share, pair[0].1 + step.1 * share);
                return Some((place, (step.0 / length, step.1 / length)));
            }
            left -= length;
        }
        None
    }

    /// Distance of two codes; `None` where the run is too short for one.
    fn period(&self) -> Option<f64> {
        let length = self.length();
        let long_mm = length / self.mm;
        (long_mm >= SHORTEST_WITH_CODE_MM && long_mm.is_finite())
            .then(|| length / (long_mm / CODES_APART_MM).ceil().clamp(1.0, MOST_CODES))
    }

    /// For each code the places it may take, best first.
    pub fn codes(&self) -> Vec<Vec<(f64, f64)>> {
        let Some(period) = self.period() else {
            return Vec::new();
        };
        let length = self.length();
        let mut found = Vec::new();
        let mut station = period / 2.0;
        while station < length {
            let places = [0.0, 0.1, -0.1, 0.2, -0.2, 0.3, -0.3, 0.4, -0.4]
                .into_iter()
                .filter_map(|share| self.at(station + share * period))
                .map(|(place, _)| place);
            found.push(places.collect());
            station += period;
        }
        found
    }

    /// Whether a bend of the run lies within some distance of a place.
    pub fn has_bend_near(&self, (x, y): (f64, f64), (wide, high): (f64, f64)) -> bool {
        let near = |(px, py): &(f64, f64)| (px - x).abs() < wide && (py - y).abs() < high;
        self.points.iter().any(near)
    }

    /// One tick in the middle of a piece, however short.
    pub fn tick(&self, water: WaterKind, role: PipeRole) -> Vec<[(f64, f64); 2]> {
        self.tick_at(self.length() / 2.0, water, role)
    }

    /// The ticks: two strokes on mains of reclaimed water, one on laterals; other waters are told by their dashes.
    pub fn ticks(&self, water: WaterKind, role: PipeRole) -> Vec<[(f64, f64); 2]> {
        let length = self.length();
        if length / self.mm < SHORTEST_MM {
            return Vec::new();
        }
        // Between two codes, at their quarters; the middle where there is no code.
        let (first, step) = self.period().map_or((length / 2.0, length), |period| {
            (period / 4.0, period / 2.0)
        });
        let mut found = Vec::new();
        let mut station = first;
        while station < length {
            found.extend(self.tick_at(station, water, role));
            station += step;
        }
        found
    }

    fn tick_at(&self, station: f64, water: WaterKind, role: PipeRole) -> Vec<[(f64, f64); 2]> {
        let twins: &[f64] = match (water, role) {
            (WaterKind::Reclaimed, PipeRole::Main | PipeRole::Service) => &[-TWIN_MM, TWIN_MM],
            (WaterKind::Reclaimed, PipeRole::Lateral) => &[0.0],
            _ => &[],
        };
        let strokes = twins.iter().filter_map(|shift| {
            let ((x, y), (dx, dy)) = self.at(station + shift * self.mm)?;
            let half = TICK_MM * self.mm;
            Some([
                (x - dy * half, y + dx * half),
                (x + dy * half, y - dx * half),
            ])
        });
        strokes.collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn run(mm: f64) -> Run {
        Run::new(vec![(0.0, 0.0), (mm * 0.6, 0.0), (mm * 0.6, mm * 0.4)], 1.0)
    }

    #[test]
    fn codes_stand_no_further_apart_than_the_standard_and_ticks_half_that() {
        for mm in [12.0, 59.0, 61.0, 150.0, 900.0] {
            let run = run(mm);
            let codes = run.codes().len();
            assert!(
                codes >= 1 && mm / codes_as_f64(codes) <= CODES_APART_MM,
                "{mm}"
            );
            let singles = run.ticks(WaterKind::Reclaimed, PipeRole::Lateral).len();
            let twins = run.ticks(WaterKind::Reclaimed, PipeRole::Main).len();
            assert_eq!((singles, twins), (2 * codes, 4 * codes), "{mm}");
            assert!(mm / codes_as_f64(singles) <= 30.0, "{mm}");
        }
    }

    fn codes_as_f64(count: usize) -> f64 {
        f64::from(u32::try_from(count).unwrap())
    }

    #[test]
    fn a_short_run_has_a_tick_a_shorter_one_nothing_and_a_long_one_stays_bounded() {
        assert_eq!(run(8.0).codes().len(), 0);
        assert_eq!(
            run(8.0)
                .ticks(WaterKind::Reclaimed, PipeRole::Lateral)
                .len(),
            1
        );
        assert!(
            run(5.0)
                .ticks(WaterKind::Reclaimed, PipeRole::Main)
                .is_empty()
        );
        assert_eq!(run(1e6).codes().len(), 40);
        assert!(
            run(200.0)
                .ticks(WaterKind::Potable, PipeRole::Main)
                .is_empty()
        );
    }

    #[test]
    fn ticks_cross_their_run_at_right_angles() {
        for [from, to] in run(100.0).ticks(WaterKind::Reclaimed, PipeRole::Main) {
            let (x, y) = (to.0 - from.0, to.1 - from.1);
            assert!((x.hypot(y) - 2.0 * TICK_MM).abs() < 1e-9);
            assert!(x.abs() < 1e-9 || y.abs() < 1e-9);
        }
    }
}
