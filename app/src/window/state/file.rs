//! Which file a plan came from, and whether it changed since.

use std::path::PathBuf;

use aubergine_core::model::Document;

/// The file behind the plan.
#[derive(Clone, Debug, Default)]
pub struct FileState {
    /// Where it lies; `None` before the first save.
    pub path: Option<PathBuf>,
    /// The plan as it was last saved or opened.
    pub saved: Option<Document>,
    /// Whether the plan differs from that.
    pub is_dirty: bool,
}

impl FileState {
    /// Notes that this is what lies in the file.
    pub fn is_saved(&mut self, document: &Document) {
        self.saved = Some(document.clone());
        self.is_dirty = false;
    }

    /// Compares. Names given out meanwhile do not count: undo back to the saved state is clean.
    pub fn compare(&mut self, document: &Document) {
        self.is_dirty = self.saved.as_ref().is_none_or(|saved| {
            saved.design != document.design
                || saved.review != document.review
                || saved.owner != document.owner
                || saved.options != document.options
        });
    }

    /// The name of the file, for people.
    #[must_use]
    pub fn name(&self) -> String {
        self.path
            .as_ref()
            .and_then(|path| path.file_name())
            .map_or_else(
                || "not saved yet".to_owned(),
                |name| name.to_string_lossy().into_owned(),
            )
    }
}
