//! What a dose does: published dose–response models in their exact forms. A model of many people, not a measurement of one
//! garden; other published fits differ by more than a power of ten.

use std::sync::LazyLock;

use crate::finding::Basis;

/// How the chance of infection grows with the dose.
#[derive(Clone, Copy, PartialEq, Debug, serde::Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case", deny_unknown_fields)]
pub enum DoseResponse {
    /// 1 − e^(−r·d).
    Exponential {
        /// Chance that one germ infects.
        r: f64,
    },
    /// 1 − (1 + d/β)^(−α) with β = N50 / (2^(1/α) − 1): an approximation that holds where β is well above 1 and α.
    BetaPoisson {
        /// Shape.
        alpha: f64,
        /// Dose that infects half.
        n50: f64,
    },
    /// 1 − 1F1(α; α+β; −d).
    BetaPoissonExact {
        /// First shape.
        alpha: f64,
        /// Second shape.
        beta: f64,
    },
}

impl DoseResponse {
    /// The chance that a dose infects, from 0 to 1; a dose below zero counts as none.
    #[must_use]
    pub fn infection(self, dose: f64) -> f64 {
        let dose = dose.max(0.0);
        match self {
            // expm1 keeps the digits of small doses.
            Self::Exponential { r } => -(-r * dose).exp_m1(),
            Self::BetaPoisson { alpha, n50 } => {
                let beta = beta(alpha, n50);
                -(-alpha * (dose / beta).ln_1p()).exp_m1()
            }
            Self::BetaPoissonExact { alpha, beta } => exact(alpha, beta, dose),
        }
    }

    /// How the chance begins to grow: its slope at dose zero.
    #[must_use]
    pub fn slope(self) -> f64 {
        match self {
            Self::Exponential { r } => r,
            Self::BetaPoisson { alpha, n50 } => alpha / beta(alpha, n50),
            Self::BetaPoissonExact { alpha, beta } => alpha / (alpha + beta),
        }
    }
}

fn beta(alpha: f64, n50: f64) -> f64 {
    n50 / (2.0_f64.powf(1.0 / alpha) - 1.0)
}

/// 1 − 1F1(α; α+β; −d). By Kummer's turn this is the mean of 1 − (β)k/(α+β)k over a Poisson count k: a sum of positive terms,
/// which loses no digits. Beyond the largest dose summed the known fall d^(−α) of 1F1 goes on from there.
fn exact(alpha: f64, beta: f64, dose: f64) -> f64 {
    /// e^(−d) is still a full number here.
    const MOST_SUMMED: f64 = 600.0;
    if dose > MOST_SUMMED {
        let left = 1.0 - exact(alpha, beta, MOST_SUMMED);
        // The first terms of the asymptotic series; the next is below 1e-7 of the whole.
        let (first, second) = (alpha * (1.0 - beta), (alpha + 1.0) * (2.0 - beta) / 2.0);
        let series = |d: f64| 1.0 + first / d * (1.0 + second / d);
        let ratio = (dose / MOST_SUMMED).powf(-alpha) * series(dose) / series(MOST_SUMMED);
        return 1.0 - left * ratio;
    }
    let mut weight = (-dose).exp();
    let mut kept = 1.0;
    let mut sum = 0.0;
    let mut k = 0.0;
    loop {
        sum += weight * (1.0 - kept);
        kept *= (beta + k) / (alpha + beta + k);
        k += 1.0;
        weight *= dose / k;
        // Past the top of the weights they only fall; what is left is below rounding.
        if k > dose && weight < 1e-18 {
            return sum;
        }
    }
}

/// A germ with its model, and what the guideline takes of sewage, illness and burden.
#[derive(Clone, PartialEq, Debug, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Pathogen {
    /// Stable name.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// What sort of germ: treatments hold back one and let another pass.
    pub group: Group,
    /// Dose and response.
    pub model: DoseResponse,
    /// Germs in a litre of raw sewage.
    pub sewage_per_litre: f64,
    /// Share of the infected who fall ill.
    pub illness: f64,
    /// Share of people who can fall ill.
    pub susceptible: f64,
    /// Burden of one case, in years of healthy life.
    pub daly_per_case: f64,
    /// How the model is known.
    pub basis: Basis,
    /// From where.
    pub source: String,
}

/// Sorts of germs, as suppliers state removal.
#[derive(Clone, Copy, PartialEq, Eq, Debug, serde::Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Group {
    /// Viruses: the targets of the guidelines are theirs.
    Virus,
    /// Bacteria.
    Bacterium,
    /// Protozoa.
    Protozoon,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Pathogens {
    pathogen: Vec<Pathogen>,
}

static PATHOGENS: LazyLock<Vec<Pathogen>> = LazyLock::new(|| {
    // A table that does not parse is left out, which a test reports.
    toml::from_str::<Pathogens>(include_str!("../../data/margin/pathogens.toml"))
        .map_or_else(|_| Vec::new(), |read| read.pathogen)
});

/// The germs that come with the program.
#[must_use]
pub fn pathogens() -> &'static [Pathogen] {
    &PATHOGENS
}

/// How much of the water is eaten, and how often.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Exposure {
    /// Millilitres each time.
    pub millilitres: f64,
    /// Times a year.
    pub times_a_year: f64,
}

impl Exposure {
    /// Water that a serve of lettuce holds, and serves in a year.
    ///
    /// *Source*: 10.8 mL per 100 g and 70 serves from a public table (KWB-R/qmra.db, after Shuval 1997); 40 g a serve.
    pub const LETTUCE: Self = Self {
        millilitres: 5.0,
        times_a_year: 70.0,
    };
}

/// What the model makes of it.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Estimate {
    /// Germs in one serve.
    pub dose: f64,
    /// Chance of infection by one serve.
    pub each_time: f64,
    /// Chance of infection in a year.
    pub yearly: f64,
    /// Years of healthy life lost a person and year.
    pub daly: f64,
}

/// Works the model out for a water whose raw sewage was brought down by `log` powers of ten.
#[must_use]
pub fn estimate(pathogen: &Pathogen, log: f64, exposure: Exposure) -> Estimate {
    const MILLILITRES: f64 = 1000.0;
    let dose = pathogen.sewage_per_litre * 10.0_f64.powf(-log) * exposure.millilitres / MILLILITRES;
    let each_time = pathogen.model.infection(dose);
    // 1 − (1 − P)^n, with the digits of small P kept.
    let yearly = -(exposure.times_a_year * (-each_time).ln_1p()).exp_m1();
    Estimate {
        dose,
        each_time,
        yearly,
        daly: yearly * pathogen.illness * pathogen.susceptible * pathogen.daly_per_case,
    }
}

/// The powers of ten that bring a yearly volume of raw sewage, in litres, down to a burden, in years of healthy life a person
/// and year, with the response taken as its slope at small doses.
#[must_use]
pub fn log_target(pathogen: &Pathogen, litres_a_year: f64, burden: f64) -> f64 {
    let infections = burden / (pathogen.illness * pathogen.susceptible * pathogen.daly_per_case);
    let dose_a_year = infections / pathogen.model.slope();
    (pathogen.sewage_per_litre * litres_a_year / dose_a_year).log10()
}
