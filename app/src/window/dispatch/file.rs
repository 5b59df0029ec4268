//! New, open, save, export, and the question about unsaved changes before anything is lost.

use std::path::{Path, PathBuf};

use aubergine_core::model::Document;
use aubergine_core::text;

use super::rules;
use crate::disk;
use crate::window::app::App;
use crate::window::export::{self, Kind, Source};
use crate::window::files::{self, Answer, Ask};
use crate::window::state::{Dialog, Next};

/// Goes on at once when nothing would be lost; asks otherwise.
pub(in crate::window) fn guard(app: &mut App, next: Next) {
    app.history.cancel();
    app.file.compare(app.history.document());
    if app.file.is_dirty {
        app.view.dialog = Some(Dialog::Unsaved(next));
    } else {
        go(app, next);
    }
}

fn go(app: &mut App, next: Next) {
    match next {
        Next::New => app.replace(Document::default(), None),
        Next::Sample(sample) => match sample.document() {
            Ok(document) => app.replace(document, None),
            Err(text) => app.say_problem(text),
        },
        Next::Choose => ask(app, Ask::Open),
        Next::TypePath => no_dialog(app, Ask::Open),
        Next::Open(path) => app.open(&path),
        Next::Quit => app.is_quitting = true,
    }
}

pub(super) fn go_on(app: &mut App) {
    if let Some(Dialog::Unsaved(next)) = app.view.dialog.take() {
        go(app, next);
    }
}

pub(super) fn save_and_go_on(app: &mut App) {
    let Some(Dialog::Unsaved(next)) = app.view.dialog.take() else {
        return;
    };
    match app.file.path.clone() {
        Some(path) => {
            if save_to(app, &path) {
                go(app, next);
            }
        }
        None => save_as(app),
    }
}

pub(super) fn save(app: &mut App) {
    match app.file.path.clone() {
        Some(path) => {
            save_to(app, &path);
        }
        None => save_as(app),
    }
}

pub(super) fn save_as(app: &mut App) {
    ask(app, Ask::Save);
}

pub(super) fn ask_typed_save(app: &mut App) {
    no_dialog(app, Ask::Save);
}

pub(super) fn export(app: &mut App) {
    ask(app, Ask::Export);
}

pub(super) fn add_rules(app: &mut App) {
    ask(app, Ask::Rules);
}

pub(super) fn print(app: &mut App) {
    ask(app, Ask::Paper);
}

pub(super) fn letter(app: &mut App) {
    ask(app, Ask::Letter);
}

fn ask(app: &mut App, ask: Ask) {
    let suggested = suggestion(app, ask);
    if let Some(answer) = app.dialogs.ask(ask, Some(suggested)) {
        answered(app, answer);
    }
}

/// A path to begin with.
fn suggestion(app: &App, ask: Ask) -> PathBuf {
    let name = app.plan().name.to_lowercase().replace(' ', "-");
    let stem = if name.is_empty() {
        "plan".to_owned()
    } else {
        name
    };
    let here = app.file.path.clone().unwrap_or_else(|| {
        let folder = std::env::current_dir().unwrap_or_default();
        folder.join(format!("{stem}.json"))
    });
    match ask {
        Ask::Open | Ask::Save => here,
        Ask::Export => here.with_extension("png"),
        Ask::Paper => here.with_extension("pdf"),
        Ask::Letter => here.with_file_name(format!("{stem}-letter.pdf")),
        Ask::Rules => here.with_file_name(""),
    }
}

fn no_dialog(app: &mut App, ask: Ask) {
    let path = suggestion(app, ask).display().to_string();
    app.view.dialog = Some(match ask {
        Ask::Open => Dialog::OpenPath(path),
        Ask::Save => Dialog::SavePath(path),
        Ask::Export => Dialog::ExportPath(path),
        Ask::Paper => Dialog::PaperPath(path),
        Ask::Letter => Dialog::LetterPath(path),
        Ask::Rules => Dialog::RulesPath(path),
    });
}

/// What came of a dialog.
pub(in crate::window) fn answered(app: &mut App, answer: Answer) {
    match answer {
        Answer::Chosen(Ask::Open, path) => app.open(&path),
        Answer::Chosen(Ask::Save, path) => {
            save_to(app, &path);
        }
        Answer::Chosen(Ask::Export | Ask::Paper, path) => export_to(app, &path, export::KINDS),
        Answer::Chosen(Ask::Letter, path) => export_to(app, &path, export::LETTER_KINDS),
        Answer::Chosen(Ask::Rules, path) => rules::add_from(app, &path),
        Answer::Cancelled => {}
        Answer::NoDialog(ask) => no_dialog(app, ask),
    }
}

/// A path was typed and accepted. The dialog stays with its message when it leads nowhere.
pub(super) fn typed(app: &mut App, typed: &str) {
    let Some(dialog) = app.view.dialog.take() else {
        return;
    };
    let told = app.view.notice.take().map(|notice| notice.text);
    match (files::typed(typed), &dialog) {
        (Err(problem), _) => app.say_problem(problem),
        (Ok(path), Dialog::OpenPath(_)) => app.open(&path),
        (Ok(path), Dialog::RulesPath(_)) => rules::add_from(app, &path),
        (
            Ok(path),
            Dialog::SavePath(_)
            | Dialog::ExportPath(_)
            | Dialog::PaperPath(_)
            | Dialog::LetterPath(_),
        ) if path.is_dir() => {
            let path = ("path", path.display().to_string());
            app.say_problem(text::fill("window.is_folder", [path]));
        }
        (Ok(path), Dialog::SavePath(_)) if path.extension().is_none() => {
            app.say_problem(text::get("window.no_plan_ending"));
        }
        // Somebody else's file is not replaced before that is said; the same path once more is the answer.
        (Ok(path), _)
            if replaces(app, &dialog, &path) && told.as_ref() != Some(&is_there(&path)) =>
        {
            app.say_problem(is_there(&path));
        }
        (Ok(path), Dialog::SavePath(_)) => {
            save_to(app, &path);
        }
        (Ok(path), Dialog::ExportPath(_) | Dialog::PaperPath(_)) => {
            export_to(app, &path, export::KINDS);
        }
        (Ok(path), Dialog::LetterPath(_)) => export_to(app, &path, export::LETTER_KINDS),
        _ => return,
    }
    if has_problem(app) {
        let text = typed.to_owned();
        app.view.dialog = Some(match dialog {
            Dialog::OpenPath(_) => Dialog::OpenPath(text),
            Dialog::SavePath(_) => Dialog::SavePath(text),
            Dialog::PaperPath(_) => Dialog::PaperPath(text),
            Dialog::LetterPath(_) => Dialog::LetterPath(text),
            Dialog::RulesPath(_) => Dialog::RulesPath(text),
            _ => Dialog::ExportPath(text),
        });
    }
}

/// Whether a file that is not the plan's own would be replaced. One that is no plan is never replaced by one.
fn replaces(app: &App, dialog: &Dialog, path: &PathBuf) -> bool {
    match dialog {
        Dialog::SavePath(_) => app.file.path.as_ref() != Some(path) && disk::read(path).is_ok(),
        Dialog::ExportPath(_) | Dialog::PaperPath(_) | Dialog::LetterPath(_) => path.exists(),
        _ => false,
    }
}

/// That a file would be replaced.
fn is_there(path: &Path) -> String {
    let path = ("path", path.display().to_string());
    text::fill("window.is_there", [path])
}

fn has_problem(app: &App) -> bool {
    let notice = app.view.notice.as_ref();
    notice.is_some_and(|notice| notice.is_problem)
}

/// Closes the question that is open, and with it what it complained of. True when one was open.
pub(super) fn close_dialog(app: &mut App) -> bool {
    let dialog = app.view.dialog.take();
    if dialog.is_some() && has_problem(app) {
        app.view.notice = None;
    }
    dialog.is_some()
}

/// True when the plan lies in the file.
pub(super) fn save_to(app: &mut App, path: &Path) -> bool {
    app.history.commit();
    match files::write(path, app.history.document()) {
        Ok(()) => {
            app.file.path = Some(path.to_owned());
            let now = app.history.document().clone();
            app.file.is_saved(&now);
            app.say(text::fill(
                "window.saved",
                [("path", path.display().to_string())],
            ));
            true
        }
        Err(text) => {
            app.say_problem(text);
            false
        }
    }
}

fn export_to(app: &mut App, path: &Path, kinds: &'static [Kind]) {
    let Some(kind) = export::kind_of(&path.to_string_lossy(), kinds) else {
        let ending = path.extension().map(|ending| ending.to_string_lossy());
        let endings = ("endings", export::kinds_in_words(kinds));
        app.say_problem(match ending {
            None => text::fill("window.no_ending", [endings]),
            Some(ending) => {
                let ending = ("ending", ending.into_owned());
                text::fill("window.other_ending", [ending, endings])
            }
        });
        return;
    };
    let date = crate::today();
    let source = Source {
        document: app.document(),
        analysis: &app.results.analysis,
        view: &app.view,
        date: &date,
    };
    let done = (kind.make)(&source).and_then(|bytes| disk::write(path, &bytes));
    match done {
        Ok(()) => app.say(text::fill(
            "window.exported",
            [("path", path.display().to_string())],
        )),
        Err(text) => app.say_problem(text),
    }
}
