//! What the program says about a plan, for people and for machines. Numbers come from `analysis`; nothing is computed here.

mod check_json;
mod check_text;
mod compose;
mod contact_table;
mod findings_section;
mod letter;
mod notes;
mod outcome;
mod parts_csv;
mod plain_text;
mod sizing;
mod summary;
pub mod tree;
mod working;
mod zone_text;

pub use check_json::{SCHEMA, check_json};
pub use check_text::check_text;
pub use compose::client_report;
pub use letter::{NothingToAsk, supplier_letter};
pub use outcome::{brought, change_in_words};
pub use parts_csv::parts_csv;
pub use plain_text::plain_text;
pub use sizing::{SizingWords, sizing_json, sizing_text, sizing_words};
pub use summary::{Cases, ZoneSummary, zone_summaries};
pub use working::{StepWords, working_text, working_title, working_words};
pub use zone_text::zone_run_sentences;

use crate::analysis::{Analysis, Fix};
use crate::hydraulics::SupplyCase;
use crate::model::{Plan, Review};
use crate::units::UnitSystem;

/// Which supply case a reader wants to see.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Shown {
    /// One case.
    Case(SupplyCase),
    /// For each number the case that is worst for it: low pressures from the low case, high ones from the high case.
    Worst,
}

/// What a report is about.
#[derive(Clone, Copy, Debug)]
pub struct Checked<'a> {
    /// The plan.
    pub plan: &'a Plan,
    /// What people wrote beside the design.
    pub review: &'a Review,
    /// Everything about it.
    pub analysis: &'a Analysis,
    /// What would help, by finding id; empty if nobody asked.
    pub fixes: &'a [(String, Vec<Fix>)],
    /// The case shown.
    pub shown: Shown,
    /// The reader's units.
    pub units: UnitSystem,
    /// The date of the report, `YYYY-MM-DD`.
    pub date: &'a str,
}

/// The cautions that leave with every result, in order.
#[must_use]
pub fn cautions() -> Vec<&'static str> {
    const KEYS: [&str; 6] = [
        "caution.who_decides",
        "caution.not_for_drinking",
        "caution.contact",
        "caution.chemicals",
        "caution.never_join",
        "caution.dig",
    ];
    KEYS.map(crate::text::get).to_vec()
}

/// A citation where nothing around says that it names a rule: many ids look like those of beds.
#[must_use]
pub fn ruled(citation: &crate::finding::Citation) -> String {
    format!("Rule {}", cited(citation))
}

/// How something is known, in words.
#[must_use]
pub const fn known(basis: crate::finding::Basis) -> &'static str {
    use crate::finding::Basis;
    match basis {
        Basis::Read => "read",
        Basis::Summary => "as summarised",
        Basis::Memory => "from memory, unverified",
        Basis::Computed => "computed",
        Basis::CommonPractice => "common practice, no source",
        Basis::Judgement => "our judgement",
    }
}

/// A citation on one line: clause, how it is known, as of when.
#[must_use]
pub fn cited(citation: &crate::finding::Citation) -> String {
    let known = known(citation.basis);
    let reading = if citation.interpretation {
        ", our cautious reading"
    } else {
        ""
    };
    format!(
        "{} {}, {known}{reading}, as of {}",
        citation.rule, citation.clause, citation.as_of
    )
}
