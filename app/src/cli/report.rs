//! `aubergine report`: the plan as PDF.

use std::path::Path;
use std::process::ExitCode;

use aubergine_core::report::client_report;
use clap::ValueEnum;

use super::input::Opened;
use super::{Common, Failure, output};

/// Whom a report is for.
#[derive(ValueEnum, Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Set {
    /// The people of the yard.
    Client,
    /// The body that reviews the plan.
    #[value(hide = true)]
    Submittal,
    /// Who builds it.
    #[value(hide = true)]
    Installer,
    /// The comments on the plan.
    #[value(hide = true)]
    Review,
}

/// Writes the report.
pub(super) fn run(
    path: &Path,
    output: &Path,
    set: Set,
    common: &Common,
) -> Result<ExitCode, Failure> {
    if set != Set::Client {
        return Err(Failure(
            "Only the client set can be printed yet; the other sets are not there.".to_owned(),
        ));
    }
    if output.as_os_str() != "-"
        && output
            .extension()
            .is_none_or(|end| !end.eq_ignore_ascii_case("pdf"))
    {
        return Err(Failure(format!(
            "The report is a PDF: give it a name that ends in .pdf, not {}",
            output.display()
        )));
    }
    let mut opened = Opened::read(path, common)?;
    let fixes = opened.fixes();
    let report = client_report(&opened.checked(&fixes, common));
    let pdf = aubergine_print::pdf(&report, &opened.date)?;
    output::write(output, &pdf.bytes, Some(pdf.pages))?;
    Ok(ExitCode::SUCCESS)
}
