//! What an edit would do: the same path as applying it, without keeping it.

use std::collections::BTreeSet;

use super::{Analysis, Analyzer};
use crate::edit::{self, Edit, EditError};
use crate::finding::{Finding, Severity};
use crate::ids::Id;
use crate::model::Document;

/// What becomes of one finding.
#[derive(Clone, PartialEq, Debug)]
pub enum Progress {
    /// It is gone.
    Gone,
    /// It stays, but milder or nearer to its limit: as it would be then.
    Better(Box<Finding>),
    /// It is no better.
    NoBetter,
}

/// What an edit would do to the findings of a plan.
#[derive(Clone, Debug)]
pub struct Effect {
    /// Everything about the plan as it would be.
    pub analysis: Analysis,
    /// Stops that are not there now, by id.
    pub new_stops: Vec<String>,
    /// Every finding that is there now, by id.
    known: BTreeSet<String>,
}

impl Effect {
    /// What becomes of a finding.
    #[must_use]
    pub fn progress(&self, finding: &Finding) -> Progress {
        match self.analysis.finding(&finding.id()) {
            Some(then) if is_better(finding, then) => Progress::Better(Box::new(then.clone())),
            Some(_) => Progress::NoBetter,
            // A new finding of the same check about some of the same objects took its place.
            None => {
                let rest = self.analysis.findings.iter().find(|then| {
                    then.check == finding.check
                        && !self.known.contains(&then.id())
                        && then.subjects.iter().any(|id| finding.subjects.contains(id))
                });
                match rest {
                    Some(then)
                        if is_better(finding, then)
                            || then.subjects.len() < finding.subjects.len() =>
                    {
                        Progress::Better(Box::new(then.clone()))
                    }
                    Some(_) => Progress::NoBetter,
                    None => Progress::Gone,
                }
            }
        }
    }
}

/// Milder, or nearer to its limit.
fn is_better(now: &Finding, then: &Finding) -> bool {
    if then.severity != now.severity {
        return then.severity > now.severity;
    }
    let excess = |finding: &Finding| {
        let measured = finding.measured.as_ref()?.number()?.0;
        let limit = finding.limit.as_ref()?.number()?.0;
        Some((measured - limit).abs())
    };
    // A change too small to see is none.
    const SEEN: f64 = 0.01;
    excess(now)
        .zip(excess(then))
        .is_some_and(|(now, then)| then < now * (1.0 - SEEN))
}

fn stops(analysis: &Analysis) -> impl Iterator<Item = &Finding> {
    analysis
        .findings
        .iter()
        .filter(|finding| finding.severity == Severity::Stop)
}

/// Works out what an edit would do. The document stays as it is.
///
/// # Errors
/// The edit's own.
pub fn preview(
    document: &Document,
    analyzer: &mut Analyzer,
    now: &Analysis,
    edit: &Edit,
) -> Result<Effect, EditError> {
    let mut next_id = document.next_id.clone();
    let (plan, _) = edit::apply(&document.design, &mut next_id, edit)?;
    let analysis = analyzer.update(&plan);
    let known: BTreeSet<String> = stops(now).map(Finding::id).collect();
    let is_there_before = |id: &Id| document.design.objects.contains(*id);
    let mut cut = BTreeSet::new();
    cut_runs(edit, &mut cut);
    // A run that is cut gives its rear half a new name: what was told of the run is then told of that half.
    let is_renamed = |stop: &Finding| {
        stops(now).any(|before| {
            let mut old = stop
                .subjects
                .iter()
                .filter(|id| is_there_before(id))
                .peekable();
            before.check == stop.check
                && before.subjects.iter().any(|id| cut.contains(id))
                && old.peek().is_some()
                && old.all(|id| before.subjects.contains(id))
                && !is_better(stop, before)
        })
    };
    let new_stops = stops(&analysis)
        .filter(|stop| !known.contains(&stop.id()) && !is_renamed(stop))
        .map(Finding::id)
        .collect();
    Ok(Effect {
        analysis,
        new_stops,
        known: now.findings.iter().map(Finding::id).collect(),
    })
}

/// Runs that an edit cuts to put a device in.
fn cut_runs(edit: &Edit, cut: &mut BTreeSet<Id>) {
    match edit {
        Edit::InsertDevice { pipe, .. } => {
            cut.insert(*pipe);
        }
        Edit::All(edits) => edits.iter().for_each(|edit| cut_runs(edit, cut)),
        _ => {}
    }
}
