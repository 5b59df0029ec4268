//! How evenly outlets give water, and the factor for lines with many outlets. Measures and their class bands only: no limits of
//! a plan, no sentences.

use crate::finding::Basis;
use crate::units::Flow;

/// How even a set of outlet flows is. Shares are from 0 to 1, not percent.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Uniformity {
    /// Number of outlets.
    pub num_outlets: usize,
    /// Least flow.
    pub least: Flow,
    /// Largest flow.
    pub largest: Flow,
    /// Mean flow.
    pub mean: Flow,
    /// All flows together.
    pub total: Flow,
    /// Flow variation q_var = (largest − least)/largest (Wu & Gitlin 1974, from memory).
    pub flow_variation: f64,
    /// Christiansen's coefficient CU = 1 − mean absolute deviation / mean. *Source*: read,
    /// hydrology1.nmsu.edu/teaching/soil456/chpt5not.htm.
    pub christiansen: f64,
    /// Distribution uniformity of the low quarter: mean of the lowest n flows / mean, n = N/4 rounded half to even, at
    /// least one.
    pub low_quarter: f64,
    /// Statistical uniformity U_s = 1 − standard deviation of the sample / mean (Bralts & Kesner 1983, from memory); 1 for
    /// one outlet.
    pub statistical: f64,
}

impl Uniformity {
    /// Measures a set of flows; `None` where there is none, where one is negative or no number, or where all are zero.
    ///
    /// *Accuracy*: within 1e-6 of an independent program (validation cases `b1`–`f3`).
    ///
    /// ```
    /// use aubergine_core::hydraulics::uniformity::Uniformity;
    /// use aubergine_core::units::Flow;
    /// let flows = [2.0, 1.8, 2.0, 2.2].map(Flow::from_litres_per_hour);
    /// let even = Uniformity::of(&flows).expect("four flows");
    /// assert!((even.low_quarter - 0.9).abs() < 1e-12);
    /// assert!((even.christiansen - 0.95).abs() < 1e-12);
    /// ```
    #[must_use]
    pub fn of(flows: &[Flow]) -> Option<Self> {
        let mut sorted = flows.to_vec();
        sorted.sort_by(Flow::total_cmp);
        let (least, largest) = (*sorted.first()?, *sorted.last()?);
        let total: Flow = sorted.iter().copied().sum();
        if !(least >= Flow::ZERO && largest > Flow::ZERO && total.is_finite()) {
            return None;
        }
        let num = sorted.len() as f64;
        let mean = total / num;
        let deviation: Flow = sorted.iter().map(|flow| (*flow - mean).abs()).sum();
        let low = low_quarter_count(sorted.len());
        let low_total: Flow = sorted.iter().take(low).copied().sum();
        let squares: f64 = sorted
            .iter()
            .map(|flow| ((*flow - mean) / mean).powi(2))
            .sum();
        let variation = if sorted.len() > 1 {
            (squares / (num - 1.0)).sqrt()
        } else {
            0.0
        };
        Some(Self {
            num_outlets: sorted.len(),
            least,
            largest,
            mean,
            total,
            flow_variation: (largest - least) / largest,
            christiansen: 1.0 - deviation / total,
            low_quarter: low_total / (low as f64) / mean,
            statistical: 1.0 - variation,
        })
    }

    /// Emission uniformity, with what manufacture adds to the hydraulic variation if that is known.
    ///
    /// EU = (1 − 1.27 CV/√e) · least/mean, e emitters to a plant (Karmeli & Keller 1975; formula read as quoted at
    /// experts123.com/?p=3094051).
    #[must_use]
    pub fn emission(&self, manufacture: Option<Manufacture>) -> EmissionUniformity {
        let hydraulic = self.least / self.mean;
        match manufacture {
            Some(Manufacture {
                variation,
                emitters_per_plant,
            }) => EmissionUniformity {
                share: hydraulic
                    * (1.0 - 1.27 * variation / emitters_per_plant.max(1.0).sqrt()).max(0.0),
                hydraulic_only: false,
            },
            None => EmissionUniformity {
                share: hydraulic,
                hydraulic_only: true,
            },
        }
    }

    /// Statistical uniformity with the variation of manufacture: variances add (Bralts & Kesner 1983, from memory).
    #[must_use]
    pub fn statistical_with(&self, manufacture: Manufacture) -> f64 {
        let hydraulic = 1.0 - self.statistical;
        let made = manufacture.variation;
        1.0 - (hydraulic * hydraulic + made * made / manufacture.emitters_per_plant.max(1.0)).sqrt()
    }
}

/// How many outlets make the low quarter: N/4 rounded half to even, at least one. 42 outlets give 10, 46 give 12.
#[must_use]
pub fn low_quarter_count(num_outlets: usize) -> usize {
    let (whole, rest) = (num_outlets / 4, num_outlets % 4);
    let up = rest == 3 || (rest == 2 && whole % 2 == 1);
    (whole + usize::from(up)).max(1)
}

/// What is known of the making of an emitter.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Manufacture {
    /// Coefficient of variation of manufacture, a share.
    pub variation: f64,
    /// Emitters that serve one plant, at least one.
    pub emitters_per_plant: f64,
}

/// Emission uniformity and what it leaves out.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct EmissionUniformity {
    /// A share from 0 to 1.
    pub share: f64,
    /// True where the variation of manufacture is unknown and left out; the result must say so.
    pub hydraulic_only: bool,
}

/// Christiansen's factor F for a line of `num_outlets` equal outlets, the first a whole spacing from the inlet: the
/// loss with outlets over the loss with the whole flow carried to the end.
///
/// F = 1/(m+1) + 1/(2N) + √(m−1)/(6N²), m the exponent of the flow in the friction law (Christiansen 1942, from
/// memory). *Range*: one flow regime along the line, m from 1 to 2; one outlet gives 1. *Accuracy*: within 0.4 % of the
/// exact sum from two outlets up (test of this module). `None` without outlets or for an m outside 1–3.
///
/// ```
/// use aubergine_core::hydraulics::uniformity::christiansen_factor;
/// assert!((christiansen_factor(10, 1.852).expect("valid") - 0.4022).abs() < 5e-5);
/// ```
#[must_use]
pub fn christiansen_factor(num_outlets: usize, flow_exponent: f64) -> Option<f64> {
    if num_outlets == 0 || !(1.0..=3.0).contains(&flow_exponent) {
        return None;
    }
    if num_outlets == 1 {
        return Some(1.0);
    }
    let (n, m) = (num_outlets as f64, flow_exponent);
    Some(1.0 / (m + 1.0) + 1.0 / (2.0 * n) + (m - 1.0).sqrt() / (6.0 * n * n))
}

/// As [`christiansen_factor`] with the first outlet half a spacing from the inlet: F' = (2N F − 1)/(2N − 1)
/// (Jensen & Fratini 1957, from memory).
#[must_use]
pub fn christiansen_factor_half_spacing(num_outlets: usize, flow_exponent: f64) -> Option<f64> {
    let factor = christiansen_factor(num_outlets, flow_exponent)?;
    let twice = 2.0 * num_outlets as f64;
    Some((twice * factor - 1.0) / (twice - 1.0))
}

/// A class of evenness, best first. The word (by its key) and the band's source belong to the scale.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Class {
    /// Key of the scale's word in the text table.
    pub key: &'static str,
    /// 0 for the best class of its scale.
    pub rank: usize,
    /// How the band is known; every band here is recalled and must be checked before it is shown as a quotation.
    pub basis: Basis,
}

/// Bands of a scale: the word and the last value that still has it, best first; the final word takes the rest.
struct Scale {
    bands: &'static [(&'static str, f64)],
    rest: &'static str,
}

impl Scale {
    fn class_of(&self, value: f64) -> Class {
        let rank = self
            .bands
            .iter()
            .position(|(_, limit)| value <= *limit)
            .unwrap_or(self.bands.len());
        Class {
            key: self.bands.get(rank).map_or(self.rest, |(key, _)| key),
            rank,
            basis: Basis::Memory,
        }
    }
}

/// Class of a flow variation q_var: to 10 % desirable, to 20 % acceptable, beyond it not (Wu & Gitlin, Bralts; from
/// memory).
#[must_use]
pub fn flow_variation_class(flow_variation: f64) -> Class {
    const SCALE: Scale = Scale {
        bands: &[("class.desirable", 0.10), ("class.acceptable", 0.20)],
        rest: "class.not_acceptable",
    };
    SCALE.class_of(flow_variation)
}

/// Class of a statistical uniformity after ASABE EP458 (from memory): excellent from 95 %, good 85–90, fair 75–80,
/// poor 65–70, unacceptable below 60. The bands leave gaps; a value in a gap takes the worse class.
#[must_use]
pub fn statistical_class(statistical: f64) -> Class {
    const SCALE: Scale = Scale {
        bands: &[
            ("class.excellent", -0.95),
            ("class.good", -0.85),
            ("class.fair", -0.75),
            ("class.poor", -0.65),
        ],
        rest: "class.unacceptable",
    };
    SCALE.class_of(-statistical)
}

/// Class of an emission uniformity after ASABE EP458 (from memory): excellent from 94 %, good 81–87, fair 68–75, poor
/// 56–62, unacceptable below 50. A value in a gap takes the worse class.
#[must_use]
pub fn emission_class(emission: f64) -> Class {
    const SCALE: Scale = Scale {
        bands: &[
            ("class.excellent", -0.94),
            ("class.good", -0.81),
            ("class.fair", -0.68),
            ("class.poor", -0.56),
        ],
        rest: "class.unacceptable",
    };
    SCALE.class_of(-emission)
}

/// What an emitter waters, for the classes of manufacture.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum SourceShape {
    /// Single emitters.
    Point,
    /// Lines of close emitters.
    Line,
}

/// Class of a coefficient of variation of manufacture after ASABE EP405.1 (from memory). Points: to 0.05 excellent, 0.07
/// average, 0.11 marginal, 0.15 poor, beyond unacceptable; lines: to 0.10 good, 0.20 average, beyond marginal to
/// unacceptable.
#[must_use]
pub fn manufacture_class(variation: f64, shape: SourceShape) -> Class {
    const POINT: Scale = Scale {
        bands: &[
            ("class.excellent", 0.05),
            ("class.average", 0.07),
            ("class.marginal", 0.11),
            ("class.poor", 0.15),
        ],
        rest: "class.unacceptable",
    };
    const LINE: Scale = Scale {
        bands: &[("class.good", 0.10), ("class.average", 0.20)],
        rest: "class.marginal_to_unacceptable",
    };
    match shape {
        SourceShape::Point => POINT.class_of(variation),
        SourceShape::Line => LINE.class_of(variation),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn flows(litres_per_hour: &[f64]) -> Vec<Flow> {
        litres_per_hour
            .iter()
            .copied()
            .map(Flow::from_litres_per_hour)
            .collect()
    }

    #[test]
    fn the_low_quarter_rounds_half_to_even_and_keeps_one() {
        for (outlets, low) in [
            (1, 1),
            (2, 1),
            (3, 1),
            (4, 1),
            (6, 2),
            (10, 2),
            (14, 4),
            (42, 10),
            (46, 12),
            (100, 25),
        ] {
            assert_eq!(low_quarter_count(outlets), low, "{outlets}");
        }
    }

    #[test]
    fn equal_flows_are_perfectly_even() {
        let even = Uniformity::of(&flows(&[2.0; 8])).unwrap();
        assert!(even.flow_variation.abs() < 1e-15);
        for share in [
            even.christiansen,
            even.low_quarter,
            even.statistical,
            even.emission(None).share,
        ] {
            assert!((share - 1.0).abs() < 1e-12);
        }
    }

    #[test]
    fn manufacture_lowers_emission_uniformity_and_says_so() {
        let even = Uniformity::of(&flows(&[2.0; 8])).unwrap();
        let made = Manufacture {
            variation: 0.05,
            emitters_per_plant: 4.0,
        };
        assert!(even.emission(None).hydraulic_only);
        let found = even.emission(Some(made));
        assert!(!found.hydraulic_only && (found.share - (1.0 - 1.27 * 0.05 / 2.0)).abs() < 1e-12);
        assert!((even.statistical_with(made) - 0.975).abs() < 1e-12);
    }

    #[test]
    fn nothing_to_measure_gives_nothing() {
        assert!(Uniformity::of(&[]).is_none());
        assert!(Uniformity::of(&flows(&[0.0, 0.0])).is_none());
        assert!(Uniformity::of(&flows(&[-1.0, 2.0])).is_none());
        assert!(Uniformity::of(&flows(&[f64::NAN, 2.0])).is_none());
        let one = Uniformity::of(&flows(&[2.0])).unwrap();
        assert!((one.statistical - 1.0).abs() < 1e-15 && (one.low_quarter - 1.0).abs() < 1e-15);
    }

    #[test]
    fn the_factor_follows_the_exact_sum() {
        for m in [1.75, 1.852, 2.0] {
            for n in [2_usize, 3, 5, 10, 30, 100] {
                let exact: f64 =
                    (1..=n).map(|i| (i as f64 / n as f64).powf(m)).sum::<f64>() / n as f64;
                let factor = christiansen_factor(n, m).unwrap();
                assert!((factor / exact - 1.0).abs() < 0.004, "{n} {m}");
            }
        }
        assert_eq!(christiansen_factor(1, 1.852), Some(1.0));
        assert_eq!(christiansen_factor(0, 1.852), None);
        assert!((christiansen_factor_half_spacing(10, 1.852).unwrap() - 0.3707).abs() < 5e-5);
    }

    #[test]
    fn classes_take_their_limits_in_and_gaps_take_the_worse() {
        assert_eq!(flow_variation_class(0.10).key, "class.desirable");
        assert_eq!(flow_variation_class(0.11).key, "class.acceptable");
        assert_eq!(flow_variation_class(0.21).rank, 2);
        assert_eq!(statistical_class(0.95).key, "class.excellent");
        assert_eq!(statistical_class(0.92).key, "class.good");
        assert_eq!(statistical_class(0.5).key, "class.unacceptable");
        assert_eq!(emission_class(0.9).key, "class.good");
        assert_eq!(
            manufacture_class(0.06, SourceShape::Point).key,
            "class.average"
        );
        assert_eq!(manufacture_class(0.06, SourceShape::Line).key, "class.good");
    }
}
