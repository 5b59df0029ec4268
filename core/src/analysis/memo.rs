//! Keeps the last answer to each question, and counts how often it had to be worked out anew.

use std::collections::BTreeMap;
use std::sync::Arc;

/// Answers by key; each is reused as long as its input is equal.
#[derive(Debug)]
pub(super) struct Memo<K, I, O> {
    known: BTreeMap<K, (I, Arc<O>)>,
    recomputed: usize,
}

impl<K, I, O> Default for Memo<K, I, O> {
    fn default() -> Self {
        Self {
            known: BTreeMap::new(),
            recomputed: 0,
        }
    }
}

impl<K: Ord + Clone, I: PartialEq, O> Memo<K, I, O> {
    /// The answer for an input: the kept one if the input is equal, a new one otherwise.
    pub(super) fn get(&mut self, key: &K, input: I, compute: impl FnOnce(&I) -> O) -> Arc<O> {
        if let Some((known, output)) = self.known.get(key)
            && *known == input
        {
            return Arc::clone(output);
        }
        self.recomputed += 1;
        let output = Arc::new(compute(&input));
        self.known.insert(key.clone(), (input, Arc::clone(&output)));
        output
    }

    /// Forgets answers to questions that are not asked any more.
    pub(super) fn keep(&mut self, is_asked: impl Fn(&K) -> bool) {
        self.known.retain(|key, _| is_asked(key));
    }

    /// How often an answer was worked out.
    pub(super) const fn recomputed(&self) -> usize {
        self.recomputed
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_equal_input_is_not_computed_again() {
        let mut memo = Memo::default();
        assert_eq!(*memo.get(&1, 10, |input| input * 2), 20);
        assert_eq!(*memo.get(&1, 10, |_| unreachable!("kept")), 20);
        assert_eq!(*memo.get(&1, 11, |input| input * 2), 22);
        assert_eq!(memo.recomputed(), 2);
    }
}
