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
    /// Stops that are not there now.
    pub new_stops: Vec<Finding>,
    /// What was told of a run that the edit cuts in two, told once more of its other half.
    pub halves: Vec<Finding>,
    /// What is told then and not now, neither Stop nor Note.
    pub brings: Vec<Finding>,
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
    let known: BTreeSet<String> = now.findings.iter().map(Finding::id).collect();
    let mut cut = BTreeSet::new();
    cut_runs(edit, &mut cut);
    let objects = &document.design.objects;
    let is_half_of = |then: &Finding, before: &Finding| {
        let mut old = then.subjects.iter().filter(|id| objects.contains(**id));
        let has_old = old.clone().next().is_some();
        before.check == then.check
            && before.subjects.iter().any(|id| cut.contains(id))
            && has_old
            && old.all(|id| before.subjects.contains(id))
    };
    let mut new_stops = Vec::new();
    let (mut halves, mut brings) = (Vec::new(), Vec::new());
    let ids_then: BTreeSet<String> = analysis.findings.iter().map(Finding::id).collect();
    // What went from here may have moved there, one for one: that is neither gone nor new.
    let mut gone: Vec<&Finding> = now
        .findings
        .iter()
        .filter(|before| !ids_then.contains(&before.id()))
        .collect();
    for then in &analysis.findings {
        let before = now.finding(&then.id());
        let is_known = before.is_some_and(|before| before.severity <= then.severity);
        if then.severity == Severity::Note || is_known {
            continue;
        }
        let mut before = now.findings.iter();
        let is_half = before.any(|before| is_half_of(then, before) && !is_better(then, before));
        let moved = gone.iter().position(|before| {
            before.check == then.check
                && before.severity <= then.severity
                && (is_half_of(then, before)
                    || then.subjects.iter().any(|id| before.subjects.contains(id)))
        });
        if then.severity == Severity::Stop && !is_half {
            new_stops.push(then.clone());
        } else if let Some(moved) = moved {
            gone.remove(moved);
        } else if is_half {
            halves.push(then.clone());
        } else {
            brings.push(then.clone());
        }
    }
    Ok(Effect {
        analysis,
        new_stops,
        halves,
        brings,
        known,
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
