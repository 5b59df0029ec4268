//! The sum: treatment as the supplier states it, and what a guideline credits for what is done after it.

use super::guideline::{Guideline, Measure};
use crate::catalog::crops::Position;
use crate::finding::Basis;
use crate::rulebook::Method;

/// What is done between the raw water and the plate.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Taken {
    /// Powers of ten that the supplier states for the treatment; never assumed.
    pub treatment: f64,
    /// Measures besides die-off.
    pub measures: Vec<Measure>,
    /// Days between the last watering and eating.
    pub days: f64,
    /// Powers of ten that die in a day, within what the guideline holds.
    pub per_day: f64,
}

/// One line of the sum.
#[derive(Clone, PartialEq, Debug)]
pub struct Entry {
    /// The measure; `None` for the treatment.
    pub measure: Option<Measure>,
    /// Powers of ten.
    pub log: f64,
    /// Where it stands.
    pub clause: String,
    /// How it is known; `None` for what the supplier states.
    pub basis: Option<Basis>,
}

/// The sum against what is asked for.
#[derive(Clone, PartialEq, Debug)]
pub struct Ledger {
    /// Line by line.
    pub entries: Vec<Entry>,
    /// Powers of ten in all.
    pub sum: f64,
    /// What the guideline asks for.
    pub target: f64,
    /// Where that stands.
    pub clause: String,
}

impl Ledger {
    /// What is over, or lacking where it is negative.
    #[must_use]
    pub fn over(&self) -> f64 {
        self.sum - self.target
    }
}

/// Why there is no sum.
#[derive(Clone, PartialEq, Debug, thiserror::Error)]
pub enum LedgerError {
    /// A figure that cannot be.
    #[error("{what} cannot be {value}: give a number from {least} to {greatest}")]
    OutOfRange {
        /// Which figure.
        what: &'static str,
        /// What was given.
        value: f64,
        /// The least.
        least: f64,
        /// The greatest.
        greatest: f64,
    },
    /// The guideline has no credit for that measure on that crop.
    #[error(
        "this guideline credits no {0:?} for this crop: take the measure out, or choose another guideline"
    )]
    NotCredited(Measure),
    /// The guideline says nothing of that crop.
    #[error("this guideline has no target for this crop")]
    NoTarget,
}

/// More than any treatment that is stated, in powers of ten.
pub const MOST_TREATMENT: f64 = 15.0;

/// The sum for a crop by one guideline.
///
/// # Errors
/// A figure out of its range, a measure that the guideline does not credit for this crop, or no target for it.
pub fn ledger(
    guideline: &Guideline,
    position: Position,
    taken: &Taken,
) -> Result<Ledger, LedgerError> {
    /// The worked cases go to four days; nothing we hold says that germs die at that pace for longer (our judgement).
    const MOST_DAYS: f64 = 4.0;
    within("the treatment", taken.treatment, 0.0, MOST_TREATMENT)?;
    within("the days", taken.days, 0.0, MOST_DAYS)?;
    let target = guideline.target(position).ok_or(LedgerError::NoTarget)?;
    let mut entries = vec![Entry {
        measure: None,
        log: taken.treatment,
        clause: String::new(),
        basis: None,
    }];
    let mut measures = taken.measures.clone();
    measures.sort_unstable();
    measures.dedup();
    measures.retain(|measure| *measure != Measure::DieOff);
    if taken.days > 0.0 {
        measures.push(Measure::DieOff);
    }
    for measure in measures {
        let credit = guideline
            .credit(measure, position)
            .ok_or(LedgerError::NotCredited(measure))?;
        let [least, greatest] = credit.log;
        let log = if measure == Measure::DieOff {
            within("the die-off of a day", taken.per_day, least, greatest)?;
            taken.per_day * taken.days
        } else {
            // Of a range the least.
            least
        };
        entries.push(Entry {
            measure: Some(measure),
            log,
            clause: credit.clause.clone(),
            basis: Some(credit.basis),
        });
    }
    Ok(Ledger {
        sum: entries.iter().map(|entry| entry.log).sum(),
        target: target.log,
        clause: target.clause.clone(),
        entries,
    })
}

fn within(what: &'static str, value: f64, least: f64, greatest: f64) -> Result<(), LedgerError> {
    // What is no number lies in no range.
    if (least..=greatest).contains(&value) {
        return Ok(());
    }
    Err(LedgerError::OutOfRange {
        what,
        value,
        least,
        greatest,
    })
}

/// The measure that a way of watering amounts to. What grows in the wet soil gets none.
#[must_use]
pub fn by_method(method: Method, position: Position) -> Option<Measure> {
    match method {
        _ if position == Position::Below => None,
        Method::SurfaceDrip | Method::DripUnderMulch => Some(Measure::Drip),
        Method::SubsurfaceDrip => Some(Measure::Subsurface),
        _ => None,
    }
}
