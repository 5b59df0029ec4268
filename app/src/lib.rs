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
