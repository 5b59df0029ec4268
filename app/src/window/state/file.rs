//! Which file a plan came from, and whether it changed since.

use std::path::PathBuf;

use aubergine_core::model::Document;
use aubergine_core::text;

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

    /// Where the plan comes from and how it stands: `plan.json, changed`. What has no file and began with something drawn
    /// is a sample.
    #[must_use]
    pub fn words(&self) -> String {
        let name = self.path.as_ref().and_then(|path| path.file_name());
        if let Some(name) = name {
            let key = if self.is_dirty {
                "window.file_changed"
            } else {
                "window.file_saved"
            };
            return text::fill(key, [("name", name.to_string_lossy().into_owned())]);
        }
        let is_sample = self
            .saved
            .as_ref()
            .is_some_and(|saved| !saved.design.objects.is_empty());
        text::get(match (is_sample, self.is_dirty) {
            (true, false) => "window.sample_unchanged",
            (true, true) => "window.sample_changed",
            (false, false) => "window.new_unchanged",
            (false, true) => "window.new_changed",
        })
        .to_owned()
    }
}
