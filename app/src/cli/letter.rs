//! `aubergine letter`: the questions for the supplier, as PDF with the plan or as text.

use std::ffi::OsStr;
use std::path::Path;
use std::process::ExitCode;

use aubergine_core::report::{plain_text, supplier_letter};

use super::input::Opened;
use super::{Common, Failure, output};

/// Writes the letter.
pub(super) fn run(path: &Path, output: &Path, common: &Common) -> Result<ExitCode, Failure> {
    let ending = output.extension().map(OsStr::to_ascii_lowercase);
    let is_pdf = ending.as_ref().is_some_and(|end| end == "pdf");
    if !is_pdf && output.as_os_str() != "-" && ending.is_none_or(|end| end != "txt") {
        return Err(Failure(format!(
            "The name of the letter must end in .pdf or .txt: {}",
            output.display()
        )));
    }
    let opened = Opened::read(path, common)?;
    let letter = supplier_letter(&opened.checked(&[], common))?;
    if is_pdf {
        let pdf = aubergine_print::pdf(&letter, &opened.date)?;
        output::write(output, &pdf.bytes, Some(pdf.pages))?;
    } else {
        output::write(output, plain_text(&letter).as_bytes(), None)?;
    }
    Ok(ExitCode::SUCCESS)
}
