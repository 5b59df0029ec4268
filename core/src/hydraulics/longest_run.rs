//! How long a line of equal emitters may be: by solving the line, and by the closed form as a check.

use super::friction::{FrictionLaw, PipeFriction};
use super::network::Pipe;
use super::outlets::OutletLaw;
use super::uniformity::christiansen_factor;
use super::water::Water;
use crate::units::{Flow, Length, Pressure};

/// More emitters than any line has.
const MOST: usize = 5000;

/// A level line of equal emitters, the first a whole spacing from the inlet.
#[derive(Clone, PartialEq, Debug)]
pub struct EvenLine {
    /// Bore of the tubing.
    pub bore: Length,
    /// Roughness of its wall.
    pub roughness: Length,
    /// Distance between emitters.
    pub spacing: Length,
    /// Length of plain tubing that loses as much as the body of one emitter.
    pub obstruction: Length,
    /// What an emitter gives.
    pub law: OutletLaw,
    /// The water.
    pub water: Water,
    /// The friction law.
    pub friction: FrictionLaw,
}

/// What a line of a given number of emitters does.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct RunLength {
    /// Number of emitters.
    pub num: usize,
    /// Length from the inlet to the last.
    pub length: Length,
    /// Flow variation (largest − least)/largest.
    pub variation: f64,
    /// What flows into it.
    pub inflow: Flow,
    /// Head at the first emitter, above its level.
    pub first: Length,
    /// Head at the last one.
    pub last: Length,
}

impl EvenLine {
    /// The longest line that keeps its flow variation within `most` at an inlet pressure; `None` where not even one emitter
    /// gives water, or a dimension has no sense. Each trial length is solved from its far end to 1e-9 of the inlet head.
    ///
    /// ```
    /// use aubergine_core::hydraulics::{EvenLine, FrictionLaw, OutletLaw, Water};
    /// use aubergine_core::units::{Flow, Length, Pressure, Temperature};
    /// let line = EvenLine {
    ///     bore: Length::from_inches(0.170),
    ///     roughness: Length::ZERO,
    ///     spacing: Length::from_inches(6.0),
    ///     obstruction: Length::ZERO,
    ///     law: OutletLaw::Power {
    ///         flow: Flow::from_gallons_per_hour(0.5),
    ///         at: Pressure::from_psi(15.0),
    ///         exponent: 0.5,
    ///     },
    ///     water: Water::at(Temperature::from_celsius(20.0)),
    ///     friction: FrictionLaw::Fitted,
    /// };
    /// let longest = line.longest(Pressure::from_psi(20.0), 0.10).expect("a line");
    /// assert!((longest.length.feet() - 22.0).abs() <= 1.0);
    /// ```
    #[must_use]
    pub fn longest(&self, inlet: Pressure, most: f64) -> Option<RunLength> {
        let one = self.of(1, inlet)?;
        let (mut good, mut bad) = (one, None::<usize>);
        let mut next = 2_usize;
        while next <= MOST && bad.is_none_or(|bad| good.num + 1 < bad) {
            let tried = self.of(next, inlet);
            match tried.filter(|tried| tried.variation <= most) {
                Some(kept) => good = kept,
                None => bad = Some(next),
            }
            next = match bad {
                Some(bad) => good.num.midpoint(bad),
                None => good.num * 2,
            };
            if next == good.num {
                break;
            }
        }
        Some(good)
    }

    /// The tubing from one emitter to the next.
    #[must_use]
    pub const fn stretch(&self) -> Pipe {
        let mut pipe = Pipe::plain(self.spacing, self.bore, self.roughness);
        pipe.equivalent = self.obstruction;
        pipe
    }

    /// The line of that many emitters at an inlet pressure, solved from its far end.
    #[must_use]
    pub fn of(&self, num: usize, inlet: Pressure) -> Option<RunLength> {
        let friction = PipeFriction::new(&self.stretch(), self.water, self.friction)?;
        let wanted = self.water.head_of(inlet);
        if !(wanted > Length::ZERO && wanted.is_finite()) || num == 0 {
            return None;
        }
        let give = |head: Length| self.law.flow_at(self.water.pressure_of(head), self.water);
        // Inlet head, inflow and first emitter's flow for a head at the far end.
        let march = |tip: Length| {
            let (mut head, mut carried, mut first) = (tip, Flow::ZERO, Flow::ZERO);
            for _ in 0..num {
                first = give(head);
                carried += first;
                head += friction.at(carried).loss;
                if head > wanted * 1e3 {
                    break;
                }
            }
            (head, carried, first)
        };
        let (mut low, mut high) = (Length::ZERO, wanted);
        let mut tip = wanted;
        for _ in 0..200 {
            let (head, _, _) = march(tip);
            if head > wanted {
                high = tip;
            } else {
                low = tip;
            }
            // Loss grows faster than the head at the tip, so the tip is bracketed; halving ends at rounding.
            if high - low <= wanted * 1e-12 {
                break;
            }
            let guess = tip * (wanted / head);
            tip = if guess > low && guess < high && head < wanted * 2.0 {
                guess
            } else {
                (low + high) / 2.0
            };
            if (head - wanted).abs() <= wanted * 1e-9 {
                break;
            }
        }
        let (head, inflow, first) = march(tip);
        let last = give(tip);
        (first > Flow::ZERO).then(|| RunLength {
            num,
            length: self.spacing * num as f64,
            variation: ((first - last) / first).max(0.0),
            inflow,
            first: head - friction.at(inflow).loss,
            last: tip,
        })
    }

    /// The number of emitters by the closed form for turbulent flow in smooth tubing, not rounded:
    /// N = [ΔH/(F K q^1.75 s)]^(1/2.75), K = h/(L Q^1.75) of f = 0.32 Re^−0.25, F Christiansen's factor for many outlets, ΔH
    /// the loss that lets the flow vary by `most` at the exponent of the emitter. Only for a power law.
    #[must_use]
    pub fn longest_by_closed_form(&self, inlet: Pressure, most: f64) -> Option<f64> {
        let OutletLaw::Power { exponent, .. } = self.law else {
            return None;
        };
        let allowed_m =
            self.water.head_of(inlet).metres() * (1.0 - (1.0 - most).powf(1.0 / exponent));
        // The mean emitter is taken a third of the way down.
        let mean = self.law.flow_at(inlet, self.water) * (1.0 - most * 2.0 / 3.0);
        let q = mean.cubic_metres_per_second();
        let (bore_m, s) = (
            self.bore.metres(),
            (self.spacing + self.obstruction).metres(),
        );
        let nu = self.water.viscosity.square_metres_per_second();
        let area_m2 = std::f64::consts::FRAC_PI_4 * bore_m * bore_m;
        let per_flow = 0.32 * (nu * area_m2 / bore_m).powf(0.25)
            / (bore_m * 2.0 * crate::units::GRAVITY_MPS2 * area_m2 * area_m2);
        let mut num = 50.0_f64;
        for _ in 0..20 {
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "a count of emitters, kept between 2 and a million"
            )]
            let factor = christiansen_factor(num.clamp(2.0, 1e6) as usize, 1.75)?;
            num = (allowed_m / (factor * per_flow * q.powf(1.75) * s)).powf(1.0 / 2.75);
        }
        num.is_finite().then_some(num)
    }
}
