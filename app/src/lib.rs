//! The application: command line and window around `aubergine_core`.

mod cli;
mod disk;
pub mod window;

use std::process::ExitCode;

/// Runs the program with the arguments of the process.
#[must_use]
pub fn run() -> ExitCode {
    cli::run()
}

/// The day by the clock of this machine, as `YYYY-MM-DD`.
fn today() -> String {
    jiff::ZonedDateTime::now().date().to_string()
}
