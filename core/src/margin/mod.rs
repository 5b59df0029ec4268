//! How much margin a guideline sees between the water and the plate: log credits against a target, and what dose–response
//! models make of the rest. Models, not measurements: nothing here is a verdict, and no finding rests on it.

mod dose;
mod guideline;
mod ledger;

pub use dose::{
    DoseResponse, Estimate, Exposure, Group, Pathogen, estimate, log_target, pathogens,
};
pub use guideline::{Credit, Guideline, Measure, Target, guideline, guidelines};
pub use ledger::{Entry, Ledger, LedgerError, MOST_TREATMENT, Taken, by_method, ledger};
