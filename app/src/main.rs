//! Starts the application.

use std::process::ExitCode;

fn main() -> ExitCode {
    aubergine::run()
}
