//! Which file: dialogs on a thread of their own, typed paths, and no plan written over what is none.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, TryRecvError, channel};

use aubergine_core::file;
use aubergine_core::model::Document;
use aubergine_core::text;

use crate::disk;

/// What a file is asked for.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Ask {
    /// A plan to open.
    Open,
    /// A place to save to.
    Save,
    /// A place to export to.
    Export,
    /// A place for the summary on paper.
    Paper,
    /// A place for the letter to the supplier.
    Letter,
    /// Local rules to add.
    Rules,
}

/// What came of it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Answer {
    /// A file was chosen.
    Chosen(Ask, PathBuf),
    /// Nothing was chosen.
    Cancelled,
    /// There is no dialog here: the path has to be typed.
    NoDialog(Ask),
}

type Wake = Arc<dyn Fn() + Send + Sync>;

/// File dialogs: one at a time.
#[derive(Default)]
pub struct Dialogs {
    pending: Option<Pending>,
    wake: Option<Wake>,
    is_off: bool,
}

/// A dialog that was asked for.
struct Pending {
    ask: Ask,
    reply: Receiver<Option<PathBuf>>,
    /// The keyboard was elsewhere meanwhile: something was shown. A desktop without dialogs answers as if somebody had
    /// pressed Cancel, sooner or later, but it never takes the keyboard from the window.
    was_shown: bool,
}

impl Dialogs {
    /// Dialogs that wake the window when they answer.
    pub fn waking(wake: impl Fn() + Send + Sync + 'static) -> Self {
        Self {
            wake: Some(Arc::new(wake)),
            ..Self::default()
        }
    }

    /// No dialogs at all: every path is typed.
    #[must_use]
    pub fn none() -> Self {
        Self {
            is_off: true,
            ..Self::default()
        }
    }

    /// Whether one is open.
    #[must_use]
    pub const fn is_open(&self) -> bool {
        self.pending.is_some()
    }

    /// Opens a dialog; `Some` when the path has to be typed instead.
    pub fn ask(&mut self, ask: Ask, suggested: Option<PathBuf>) -> Option<Answer> {
        if self.pending.is_some() {
            return None;
        }
        if self.is_off {
            return Some(Answer::NoDialog(ask));
        }
        self.begin(ask, move || choose(ask, suggested.as_deref()))
    }

    /// Lets somebody choose, on a thread of its own.
    fn begin(
        &mut self,
        ask: Ask,
        choose: impl FnOnce() -> Option<PathBuf> + Send + 'static,
    ) -> Option<Answer> {
        let (sender, reply) = channel();
        let wake = self.wake.clone();
        let thread = std::thread::Builder::new().name("file dialog".to_owned());
        let started = thread.spawn(move || {
            let _ = sender.send(choose());
            if let Some(wake) = wake {
                wake();
            }
        });
        if started.is_err() {
            return Some(Answer::NoDialog(ask));
        }
        self.pending = Some(Pending {
            ask,
            reply,
            was_shown: false,
        });
        None
    }

    /// The window lost the keyboard: to the dialog, if one is pending.
    pub const fn keyboard_went_away(&mut self) {
        if let Some(pending) = &mut self.pending {
            pending.was_shown = true;
        }
    }

    /// What came of the dialog, once.
    pub fn poll(&mut self) -> Option<Answer> {
        let pending = self.pending.as_ref()?;
        let ask = pending.ask;
        let answer = match pending.reply.try_recv() {
            Ok(Some(path)) => Answer::Chosen(ask, path),
            Ok(None) if pending.was_shown => Answer::Cancelled,
            Ok(None) | Err(TryRecvError::Disconnected) => Answer::NoDialog(ask),
            Err(TryRecvError::Empty) => return None,
        };
        self.pending = None;
        Some(answer)
    }
}

fn choose(ask: Ask, suggested: Option<&Path>) -> Option<PathBuf> {
    let mut dialog = rfd::FileDialog::new();
    if let Some(folder) = suggested
        .and_then(Path::parent)
        .filter(|folder| folder.is_dir())
    {
        dialog = dialog.set_directory(folder);
    }
    if let Some(name) = suggested.and_then(Path::file_name) {
        dialog = dialog.set_file_name(name.to_string_lossy());
    }
    match ask {
        Ask::Open => dialog
            .set_title("Open a plan")
            .add_filter("Plan", &["json"])
            .pick_file(),
        Ask::Save => dialog
            .set_title("Save the plan")
            .add_filter("Plan", &["json"])
            .save_file(),
        Ask::Export => dialog.set_title("Export").save_file(),
        Ask::Paper => dialog.set_title("Print the summary").save_file(),
        Ask::Letter => dialog
            .set_title("Write the letter to the supplier")
            .save_file(),
        Ask::Rules => dialog
            .set_title("Add local rules")
            .add_filter("Rules", &["toml"])
            .pick_file(),
    }
}

/// A path as it was typed: `~/` is the home folder, and the folder has to be there.
///
/// # Errors
/// A sentence that names the folder that is not there.
pub fn typed(typed: &str) -> Result<PathBuf, String> {
    let typed = typed.trim();
    let home = std::env::home_dir().filter(|home| home.is_absolute());
    let path = match (typed.strip_prefix("~/"), home) {
        (Some(rest), Some(home)) => home.join(rest),
        _ => PathBuf::from(typed),
    };
    let folder = path
        .parent()
        .filter(|folder| !folder.as_os_str().is_empty());
    match folder.filter(|folder| !folder.is_dir()) {
        Some(folder) => {
            let folder = folder.display().to_string();
            Err(text::fill("window.no_folder", [("folder", folder)]))
        }
        None => Ok(path),
    }
}

/// Writes a plan in one piece. A file that is there and is not a plan we
/// can read stays as it is.
///
/// # Errors
/// A sentence for people.
pub fn write(path: &Path, document: &Document) -> Result<(), String> {
    if let Ok(there) = std::fs::read(path)
        && let Err(error) = file::load(&there)
    {
        return Err(format!(
            "{} was not overwritten: what lies there is not a plan we can read. Save under another name. ({error})",
            path.display()
        ));
    }
    disk::write(path, &file::save(document))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_damaged_file_stays_as_it_is() {
        let folder = std::env::temp_dir().join(format!("aubergine-files-{}", std::process::id()));
        std::fs::create_dir_all(&folder).unwrap();
        let path = folder.join("damaged.json");
        std::fs::write(&path, b"{ half a plan").unwrap();
        let message = write(&path, &Document::default()).unwrap_err();
        assert!(message.contains("was not overwritten"), "{message}");
        assert_eq!(std::fs::read(&path).unwrap(), b"{ half a plan");
        let good = folder.join("good.json");
        write(&good, &Document::default()).unwrap();
        assert_eq!(
            std::fs::read(&good).unwrap(),
            file::save(&Document::default())
        );
        assert_eq!(std::fs::read_dir(&folder).unwrap().count(), 2);
        std::fs::remove_dir_all(&folder).unwrap();
    }

    #[test]
    fn a_typed_path_begins_at_home_and_ends_in_a_folder_that_is_there() {
        let home = std::env::home_dir().unwrap();
        assert_eq!(typed(" ~/plan.json "), Ok(home.join("plan.json")));
        assert_eq!(typed("plan.json"), Ok(PathBuf::from("plan.json")));
        let message = typed("/no/such/folder/plan.json").unwrap_err();
        assert!(message.contains("no folder /no/such/folder."), "{message}");
    }

    #[test]
    fn without_dialogs_the_path_is_typed() {
        let mut dialogs = Dialogs::none();
        assert_eq!(
            dialogs.ask(Ask::Open, None),
            Some(Answer::NoDialog(Ask::Open))
        );
        assert!(!dialogs.is_open());
    }

    /// The answer of a pending dialog, however late it is looked at.
    fn answer(dialogs: &mut Dialogs) -> Answer {
        loop {
            if let Some(answer) = dialogs.poll() {
                return answer;
            }
            std::thread::yield_now();
        }
    }

    #[test]
    fn a_desktop_that_shows_no_dialog_lets_the_path_be_typed() {
        for _ in 0..40 {
            let mut dialogs = Dialogs::default();
            assert_eq!(dialogs.begin(Ask::Save, || None), None);
            assert_eq!(answer(&mut dialogs), Answer::NoDialog(Ask::Save));
        }
        let mut dialogs = Dialogs::default();
        assert_eq!(dialogs.begin(Ask::Open, || None), None);
        dialogs.keyboard_went_away();
        assert_eq!(answer(&mut dialogs), Answer::Cancelled);
        assert!(!dialogs.is_open());
    }
}
