//! `aubergine draw`: the drawing as SVG or PNG.

use std::path::Path;
use std::process::ExitCode;

use aubergine_core::drawing::sheet::{SheetInput, single_sheet};
use aubergine_core::drawing::theme::Theme;
use aubergine_core::drawing::{self, ViewOptions, build};
use aubergine_core::hydraulics::SupplyCase;
use aubergine_core::report::Shown;
use clap::ValueEnum;

use super::input::Opened;
use super::{Common, Failure, output};

/// What the drawing shows.
#[derive(ValueEnum, Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum View {
    /// Which water flows where.
    Water,
    /// Pressure along every run.
    Pressure,
    /// Verdicts on the beds, and what sprays wet.
    Contact,
    /// How much water of sprays falls where.
    Coverage,
    /// The plan alone.
    Plain,
}

/// Writes the drawing; the ending of the output's name tells the format, `-` is SVG.
pub(super) fn run(
    path: &Path,
    output: &Path,
    view: View,
    theme: Theme,
    common: &Common,
) -> Result<ExitCode, Failure> {
    let ending = output
        .extension()
        .map(|ending| ending.to_string_lossy().to_lowercase());
    let is_png = match ending.as_deref() {
        Some("png") => true,
        Some("svg") => false,
        _ if output.as_os_str() == "-" => false,
        _ => {
            return Err(Failure(format!(
                "The name of the drawing must end in .svg or .png: {}",
                output.display()
            )));
        }
    };
    let opened = Opened::read(path, common)?;
    let checked = opened.checked(&[], common);
    let options = ViewOptions {
        view: match view {
            View::Water => drawing::View::Water,
            View::Pressure => drawing::View::Pressure,
            View::Contact => drawing::View::Contact,
            View::Coverage => drawing::View::Coverage,
            View::Plain => drawing::View::Plain,
        },
        case: match checked.shown {
            Shown::Case(case) => case,
            Shown::Worst => SupplyCase::Low,
        },
        units: checked.units,
    };
    let drawing = build(
        checked.plan,
        &opened.document.review,
        checked.analysis,
        options,
    );
    let sheet = single_sheet(&SheetInput {
        plan: checked.plan,
        analysis: checked.analysis,
        drawing: &drawing,
        options,
        theme,
        date: checked.date,
    })?;
    let bytes = if is_png {
        aubergine_print::png(&sheet.svg, aubergine_print::PNG_DPI)?
    } else {
        sheet.svg.into_bytes()
    };
    output::write(output, &bytes, None)?;
    Ok(ExitCode::SUCCESS)
}
