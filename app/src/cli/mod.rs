//! The command line: arguments, exit codes, and what goes where.
//!
//! Results go to standard output, messages to standard error. Exit codes: 0 no Stop, 1 some Stop or no sizes, 2 unreadable file,
//! unsupported version or wrong arguments.

mod check;
mod draw;
mod input;
mod letter;
mod output;
mod parts;
mod report;
mod size;

use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use aubergine_core::drawing::theme::Theme;
use aubergine_core::hydraulics::SupplyCase;
use aubergine_core::report::Shown;
use aubergine_core::text;
use aubergine_core::units::UnitSystem;
use clap::error::ErrorKind;
use clap::{Args, CommandFactory as _, Parser, Subcommand, ValueEnum};

use crate::disk;

/// Checks and shows yard plans that are watered with reclaimed water and also grow food.
#[derive(Parser, Debug)]
#[command(
    name = "aubergine",
    version,
    about,
    args_conflicts_with_subcommands = true
)]
struct Arguments {
    /// The plan file to open in the window; a built-in sample when absent.
    plan: Option<PathBuf>,
    #[command(subcommand)]
    command: Option<Command>,
}

#[derive(Subcommand, Debug)]
enum Command {
    /// Tells findings, verdicts, pressures and flows. Exit code 1 when some finding is a Stop.
    Check {
        /// The plan file.
        plan: PathBuf,
        /// As JSON for machines.
        #[arg(long)]
        json: bool,
        /// Also tells what would help, each change tried out.
        #[arg(long)]
        fixes: bool,
        /// Tells instead how the numbers of one object come about: a run, device, bed, line, emitter such as B3.2.7,
        /// port, zone or supply. The worst case is taken as the low one.
        #[arg(long, value_name = "NAME", conflicts_with_all = ["json", "fixes"])]
        working: Option<String>,
        #[command(flatten)]
        common: Common,
    },
    /// Writes the plan as PDF.
    Report {
        /// The plan file.
        plan: PathBuf,
        /// The PDF, or - for standard output.
        #[arg(short, long)]
        output: PathBuf,
        /// Whom it is for.
        #[arg(long, value_enum, default_value_t = report::Set::Client)]
        set: report::Set,
        #[command(flatten)]
        common: Common,
    },
    /// Writes the drawing at an exact scale, as SVG or PNG.
    Draw {
        /// The plan file.
        plan: PathBuf,
        /// The drawing, a name ending in .svg or .png, or - for SVG on standard output.
        #[arg(short, long)]
        output: PathBuf,
        /// What it shows.
        #[arg(long, value_enum, default_value_t = draw::View::Water)]
        view: draw::View,
        /// Light letters on dark ground.
        #[arg(long)]
        dark: bool,
        #[command(flatten)]
        common: Common,
    },
    /// Writes the parts list as CSV.
    Parts {
        /// The plan file.
        plan: PathBuf,
        /// The list, or - for standard output.
        #[arg(short, long)]
        output: PathBuf,
        #[command(flatten)]
        common: Common,
    },
    /// Writes the questions for the supplier of the water.
    Letter {
        /// The plan file.
        plan: PathBuf,
        /// The letter, a name ending in .pdf or .txt, or - for text on standard output.
        #[arg(short, long)]
        output: PathBuf,
        #[command(flatten)]
        common: Common,
    },
    /// Finds the pipe sizes of least cost that keep pressure and velocity at every supply. Exit code 1 when none do.
    Size {
        /// The plan file.
        plan: PathBuf,
        /// Only the runs behind the valve of this zone; every run that waters when absent.
        #[arg(long)]
        zone: Option<String>,
        /// Writes the plan with these sizes there, or to standard output for -, in place of the list.
        #[arg(short, long)]
        output: Option<PathBuf>,
        /// As JSON for machines.
        #[arg(long)]
        json: bool,
        #[command(flatten)]
        common: Common,
    },
    /// Minutes by zone and month. Not there yet.
    #[command(hide = true)]
    Schedule {
        /// Taken, not read yet.
        #[arg(trailing_var_arg = true, allow_hyphen_values = true, hide = true)]
        rest: Vec<std::ffi::OsString>,
    },
    /// What changed between two plans. Not there yet.
    #[command(hide = true)]
    Compare {
        /// Taken, not read yet.
        #[arg(trailing_var_arg = true, allow_hyphen_values = true, hide = true)]
        rest: Vec<std::ffi::OsString>,
    },
}

/// What every command takes.
#[derive(Args, Debug)]
struct Common {
    /// The supply case whose numbers are shown.
    #[arg(long, value_enum, default_value_t = Case::Low)]
    case: Case,
    /// Units of the text; the plan's own when absent. JSON is in SI.
    #[arg(long, value_enum)]
    units: Option<Units>,
    /// Date of the report, YYYY-MM-DD; today when absent.
    #[arg(long, value_parser = date)]
    date: Option<String>,
    /// The option of the plan to look at.
    #[arg(long)]
    option: Option<String>,
}

#[derive(ValueEnum, Clone, Copy, Debug)]
enum Case {
    Low,
    Normal,
    High,
    /// For each number the case that is worst for it.
    Worst,
}

#[derive(ValueEnum, Clone, Copy, Debug)]
enum Units {
    Us,
    Metric,
}

impl Common {
    const fn shown(&self) -> Shown {
        match self.case {
            Case::Low => Shown::Case(SupplyCase::Low),
            Case::Normal => Shown::Case(SupplyCase::Normal),
            Case::High => Shown::Case(SupplyCase::High),
            Case::Worst => Shown::Worst,
        }
    }

    fn units(&self, of_plan: UnitSystem) -> UnitSystem {
        match self.units {
            Some(Units::Us) => UnitSystem::Us,
            Some(Units::Metric) => UnitSystem::Metric,
            None => of_plan,
        }
    }

    fn date(&self) -> String {
        self.date.clone().unwrap_or_else(crate::today)
    }
}

fn date(text: &str) -> Result<String, String> {
    text.parse::<jiff::civil::Date>()
        .map(|date| date.to_string())
        .map_err(|_| "expected a date such as 2027-05-14".to_owned())
}

/// Why a command gives no result.
#[derive(Debug)]
struct Failure(String);

impl<T: std::fmt::Display> From<T> for Failure {
    fn from(message: T) -> Self {
        Self(message.to_string())
    }
}

const UNREADABLE: u8 = 2;

/// Runs the command of the process's arguments.
pub fn run() -> ExitCode {
    let arguments = match Arguments::try_parse() {
        Ok(arguments) => arguments,
        Err(error) if error.kind() == ErrorKind::ArgumentConflict => {
            // Two words that are no command: the first was taken for a plan to open.
            let first = std::env::args().nth(1).unwrap_or_default();
            eprintln!(
                "error: '{first}' is no command, and the window opens one plan at a time\n\n\
                 For more information, try '--help'."
            );
            return ExitCode::from(UNREADABLE);
        }
        Err(error) => {
            // Help and version are no mistakes.
            let code = if error.use_stderr() {
                ExitCode::from(UNREADABLE)
            } else {
                ExitCode::SUCCESS
            };
            let _ = error.print();
            return code;
        }
    };
    let result = match &arguments.command {
        None => match arguments.plan.as_deref() {
            Some(word) if is_neither(word) => Err(neither(word)),
            plan => crate::window::run(plan),
        }
        .map(|()| ExitCode::SUCCESS)
        .map_err(Failure),
        Some(command) => dispatch(command),
    };
    match result {
        Ok(code) => code,
        Err(Failure(message)) => {
            eprintln!("{message}");
            ExitCode::from(UNREADABLE)
        }
    }
}

/// Whether a lone word looks like a command that is not there: no file, and not even the name of one.
fn is_neither(word: &Path) -> bool {
    word.extension().is_none() && word.components().count() == 1 && !word.exists()
}

fn neither(word: &Path) -> String {
    let commands = Arguments::command();
    let shown = commands
        .get_subcommands()
        .filter(|each| !each.is_hide_set());
    let names: Vec<&str> = shown.map(clap::Command::get_name).collect();
    let gaps = [
        ("word", word.display().to_string()),
        ("commands", names.join(", ")),
    ];
    let told = text::fill("file.neither", gaps);
    format!("error: {told}\n\nFor more information, try '--help'.")
}

fn dispatch(command: &Command) -> Result<ExitCode, Failure> {
    match command {
        Command::Check {
            plan,
            json,
            fixes,
            working,
            common,
        } => match working {
            Some(name) => check::working(plan, name, common),
            None => check::run(plan, *json, *fixes, common),
        },
        Command::Report {
            plan,
            output,
            set,
            common,
        } => report::run(plan, output, *set, common),
        Command::Draw {
            plan,
            output,
            view,
            dark,
            common,
        } => {
            let theme = if *dark { Theme::Dark } else { Theme::Light };
            draw::run(plan, output, *view, theme, common)
        }
        Command::Parts {
            plan,
            output,
            common,
        } => parts::run(plan, output, common),
        Command::Letter {
            plan,
            output,
            common,
        } => letter::run(plan, output, common),
        Command::Size {
            plan,
            zone,
            output,
            json,
            common,
        } => size::run(plan, zone.as_deref(), output.as_deref(), *json, common),
        Command::Schedule { .. } => not_yet("schedule"),
        Command::Compare { .. } => not_yet("compare"),
    }
}

fn not_yet(command: &str) -> Result<ExitCode, Failure> {
    Err(Failure(format!("The command {command} is not there yet.")))
}

/// Writes a result to standard output. A reader that stops listening is no mistake.
fn print(bytes: &[u8]) -> Result<(), Failure> {
    match std::io::stdout().lock().write_all(bytes) {
        Err(error) if error.kind() != std::io::ErrorKind::BrokenPipe => {
            let why = disk::why(&error, Path::new("-"));
            Err(Failure(text::fill("file.unprinted", [("why", why)])))
        }
        _ => Ok(()),
    }
}
