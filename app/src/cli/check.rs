//! `aubergine check`: findings, verdicts, pressures and flows of a plan.

use std::path::Path;
use std::process::ExitCode;

use aubergine_core::analysis::{Analyzer, Fix, fixes};
use aubergine_core::finding::{Finding, Severity};
use aubergine_core::report::{Checked, check_json, check_text};

use super::{Common, Failure, print, read};

/// Checks a plan and prints what was found.
pub(super) fn run(
    path: &Path,
    json: bool,
    with_fixes: bool,
    common: &Common,
) -> Result<ExitCode, Failure> {
    let mut document = read(path)?;
    if let Some(option) = &common.option {
        document.design = document
            .resolve(Some(option))
            .ok_or_else(|| format!("The plan has no option named \"{option}\"."))?;
    }
    let mut analyzer = Analyzer::default();
    let analysis = analyzer.update(&document.design);
    let helping: Vec<(String, Vec<Fix>)> = if with_fixes {
        let mut of = |finding: &Finding| {
            (
                finding.id(),
                fixes(&document, &mut analyzer, &analysis, finding),
            )
        };
        analysis.findings.iter().map(&mut of).collect()
    } else {
        Vec::new()
    };
    let date = common.date();
    let checked = Checked {
        plan: &document.design,
        analysis: &analysis,
        fixes: &helping,
        shown: common.shown(),
        units: common.units(document.design.site.units),
        date: &date,
    };
    let bytes = if json {
        check_json(&checked)
    } else {
        check_text(&checked).into_bytes()
    };
    print(&bytes)?;
    Ok(if analysis.count(Severity::Stop) > 0 {
        ExitCode::from(1)
    } else {
        ExitCode::SUCCESS
    })
}
