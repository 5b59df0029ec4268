//! Undo and redo: kept states of the design, one step a gesture.
//!
//! Undo covers the design only. Threads, season, prices are not undone, and names that were given out stay given out.

use std::sync::Arc;

use super::{Edit, EditError, Effects, apply};
use crate::model::{Document, Plan};

/// How many steps are kept; a state shares its unchanged objects with its neighbours.
const MOST_STEPS: usize = 10_000;

/// A document with its past and its undone future.
#[derive(Debug, Clone)]
pub struct History {
    document: Document,
    done: Vec<Step>,
    undone: Vec<Step>,
    gesture: Option<Step>,
    revision: u64,
}

/// The state before something was done, and what was done.
#[derive(Debug, Clone)]
struct Step {
    label: String,
    before: Arc<Plan>,
}

impl History {
    /// A document without a past.
    #[must_use]
    pub fn new(document: Document) -> Self {
        Self {
            document,
            done: Vec::new(),
            undone: Vec::new(),
            gesture: None,
            revision: 0,
        }
    }

    /// The document as it is now.
    #[must_use]
    pub const fn document(&self) -> &Document {
        &self.document
    }

    /// The parts of the document that are not undone: review, season, owner.
    pub fn beside_the_design(&mut self) -> (&mut crate::model::Review, &mut crate::model::Owner) {
        self.revision += 1;
        (&mut self.document.review, &mut self.document.owner)
    }

    /// Counts every change, undo and redo included.
    #[must_use]
    pub const fn revision(&self) -> u64 {
        self.revision
    }

    /// Opens a gesture: everything applied until it is committed is one step.
    pub fn begin(&mut self, label: impl Into<String>) {
        if self.gesture.is_none() {
            self.gesture = Some(Step {
                label: label.into(),
                before: Arc::new(self.document.design.clone()),
            });
        }
    }

    /// Applies an edit inside the open gesture, or as a step of its own under `label`.
    ///
    /// # Errors
    /// The edit's own; nothing has changed then.
    pub fn apply(&mut self, label: &str, edit: &Edit) -> Result<Effects, EditError> {
        let (plan, effects) = apply(&self.document.design, &mut self.document.next_id, edit)?;
        if effects.is_nothing() {
            return Ok(effects);
        }
        let before = std::mem::replace(&mut self.document.design, plan);
        self.revision += 1;
        if self.gesture.is_none() {
            self.push(Step {
                label: label.to_owned(),
                before: Arc::new(before),
            });
        }
        Ok(effects)
    }

    /// Closes the gesture; no step if nothing is other than before.
    pub fn commit(&mut self) {
        if let Some(step) = self.gesture.take()
            && *step.before != self.document.design
        {
            self.push(step);
        }
    }

    /// Closes the gesture and puts back what was before it.
    pub fn cancel(&mut self) {
        if let Some(step) = self.gesture.take()
            && *step.before != self.document.design
        {
            self.document.design = Arc::unwrap_or_clone(step.before);
            self.revision += 1;
        }
    }

    /// Takes the last step back; its label, or `None` if there is none.
    pub fn undo(&mut self) -> Option<String> {
        self.commit();
        let step = self.done.pop()?;
        let label = step.label.clone();
        let undone = self.swap(step);
        self.undone.push(undone);
        Some(label)
    }

    /// Does the last undone step again.
    pub fn redo(&mut self) -> Option<String> {
        self.commit();
        let step = self.undone.pop()?;
        let label = step.label.clone();
        let done = self.swap(step);
        self.done.push(done);
        Some(label)
    }

    /// What undo would take back.
    #[must_use]
    pub fn undo_label(&self) -> Option<&str> {
        self.done.last().map(|step| step.label.as_str())
    }

    /// What redo would do again.
    #[must_use]
    pub fn redo_label(&self) -> Option<&str> {
        self.undone.last().map(|step| step.label.as_str())
    }

    /// How many steps can be taken back.
    #[must_use]
    pub fn num_steps(&self) -> usize {
        self.done.len()
    }

    fn swap(&mut self, step: Step) -> Step {
        self.revision += 1;
        let now = std::mem::replace(&mut self.document.design, Arc::unwrap_or_clone(step.before));
        Step {
            label: step.label,
            before: Arc::new(now),
        }
    }

    fn push(&mut self, step: Step) {
        self.undone.clear();
        self.done.push(step);
        if self.done.len() > MOST_STEPS {
            self.done.remove(0);
        }
    }
}
