//! The last answer to a question of the panels, kept until the results or the question change: they ask in every frame.

use std::cell::RefCell;
use std::sync::Arc;

use aubergine_core::analysis::Analysis;

/// One answer with the question and the results it belongs to.
type Kept<Q, A> = (Arc<Analysis>, Q, Arc<A>);

/// The last answer.
pub(super) struct Asked<Q, A>(RefCell<Option<Kept<Q, A>>>);

impl<Q, A> Default for Asked<Q, A> {
    fn default() -> Self {
        Self(RefCell::new(None))
    }
}

impl<Q: PartialEq, A> Asked<Q, A> {
    /// The answer, worked out only if the question or the results are new.
    pub fn get(&self, analysis: &Arc<Analysis>, question: Q, answer: impl FnOnce() -> A) -> Arc<A> {
        if let Some((known, asked, kept)) = &*self.0.borrow()
            && Arc::ptr_eq(known, analysis)
            && *asked == question
        {
            return Arc::clone(kept);
        }
        let found = Arc::new(answer());
        *self.0.borrow_mut() = Some((Arc::clone(analysis), question, Arc::clone(&found)));
        found
    }
}
