//! What would help: changes of the design that make a finding go or get better, each tried before it is offered.
//!
//! A fix changes the design only, never a fact such as the class of the water, how a crop is eaten or where the yard is.
//! None proposes to feed drinking water into the system, and none a pump.

mod branches;
mod chain;
mod demand;
mod hydraulic;
mod lines;
mod places;

use std::collections::BTreeMap;

use super::effect::{Progress, preview};
use super::{Analysis, Analyzer, ZoneAnalysis};
use crate::edit::Edit;
use crate::finding::{Finding, Message, Value, named};
use crate::ids::{Id, Kind};
use crate::model::{Document, Plan};
use crate::rulebook::built_in_book;

/// A change that helps, tried out.
#[derive(Clone, Debug)]
pub struct Fix {
    /// What to do, in words.
    pub message: Message,
    /// The change.
    pub edit: Edit,
    /// What becomes of the finding.
    pub progress: Progress,
    /// What was told of a run that the change cuts in two, and is then told of its other half as well.
    pub halves: Vec<Finding>,
    /// What is told then and was not told before; a Stop only under other rules, and no Note.
    pub brings: Vec<Finding>,
}

/// The changes that help against a finding, in the order in which they are thought of.
#[must_use]
pub fn fixes(
    document: &Document,
    analyzer: &mut Analyzer,
    now: &Analysis,
    finding: &Finding,
) -> Vec<Fix> {
    let mut found: Vec<Fix> = Vec::new();
    for (message, edit) in candidates(document, now, finding) {
        let is_more_of_the_same = ONE_WILL_DO.contains(&message.key.as_str())
            && found.iter().any(|fix| fix.message.key == message.key);
        if is_more_of_the_same {
            continue;
        }
        let Ok(effect) = preview(document, analyzer, now, &edit) else {
            continue;
        };
        let progress = effect.progress(finding);
        // Other rules are no change of the design: what they forbid is told and not held back.
        let is_rules = finding.check.starts_with("rules.");
        let mut brings = effect.new_stops;
        if progress != Progress::NoBetter && (brings.is_empty() || is_rules) {
            brings.extend(effect.brings);
            found.push(Fix {
                message,
                edit,
                progress,
                halves: effect.halves,
                brings,
            });
        }
    }
    found
}

/// Changes of which the first that helps is offered: other products, the nearest first; places to cut, the best first.
const ONE_WILL_DO: [&str; 3] = ["fix.compensated", "fix.other_part", "fix.second_valve"];

/// The changes that help against every finding, by the finding's id, in the order of the findings.
#[must_use]
pub fn fixes_for_all(
    document: &Document,
    analyzer: &mut Analyzer,
    now: &Analysis,
) -> Vec<(String, Vec<Fix>)> {
    now.findings
        .iter()
        .map(|finding| (finding.id(), fixes(document, analyzer, now, finding)))
        .collect()
}

type Candidate = (Message, Edit);

fn candidates(document: &Document, now: &Analysis, finding: &Finding) -> Vec<Candidate> {
    let plan = &document.design;
    match finding.check.as_str() {
        "hydraulics.demand" => demand::second_valve(document, now, finding)
            .into_iter()
            .chain(demand::less_flow(plan, now, finding))
            .collect(),
        "hydraulics.low_pressure" => hydraulic::low_pressure(plan, now, finding),
        "hydraulics.line_too_long" => finding
            .subjects
            .iter()
            .flat_map(|id| {
                lines::compensated(plan, *id)
                    .into_iter()
                    .chain(lines::feed_middle(document, *id))
                    .chain(lines::second_header(plan, *id))
            })
            .collect(),
        "hydraulics.velocity" => hydraulic::larger_pipes(plan, now, finding)
            .into_iter()
            .collect(),
        "hydraulics.uneven_ground" => finding
            .subjects
            .iter()
            .flat_map(|id| lines::compensated(plan, *id))
            .collect(),
        "hydraulics.flush_velocity" => finding
            .subjects
            .iter()
            .flat_map(|id| lines::feed_middle(document, *id))
            .collect(),
        "hydraulics.high_pressure" | "hydraulics.static_pressure" => {
            chain::regulate_zone(document, now, finding)
                .into_iter()
                .collect()
        }
        "hydraulics.flow_too_small" | "hydraulics.flow_too_large" => {
            chain::fitting_size(plan, now, finding)
        }
        "order.regulator_before_filter" => chain::swapped(plan, finding).into_iter().collect(),
        "order.shut_off_after_breaker" => {
            chain::pressure_breaker(plan, finding).into_iter().collect()
        }
        "order.tubing_before_regulator" => chain::rigid_pipe(plan, finding).into_iter().collect(),
        "order.no_air" => branches::air_valve(document, now, finding)
            .into_iter()
            .collect(),
        "strength.rating" | "strength.sudden" => chain::regulate_main(plan, now, finding)
            .into_iter()
            .chain(chain::stronger_pipes(plan, finding))
            .collect(),
        "drawing.mixed_zone" => branches::split_zone(document, now, finding)
            .into_iter()
            .collect(),
        "drawing.no_filter" => hydraulic::filters(document, finding).into_iter().collect(),
        "crossing.unmarked" => places::mark_crossing(plan, finding).into_iter().collect(),
        "outlet" => places::lock_outlet(plan, finding).into_iter().collect(),
        "signs" => places::signs(plan, finding).into_iter().collect(),
        check if check.starts_with("rules.newer.") => {
            let book = check.trim_start_matches("rules.newer.");
            let edit = super::newer_rules::take_over(plan, book);
            let title = built_in_book(book).map_or(book, |own| own.title.as_str());
            let title = Value::Text(title.to_owned());
            edit.map(|edit| (text("newer_rules", vec![("title", title)]), edit))
                .into_iter()
                .collect()
        }
        check if check.starts_with("marking.") => {
            places::purple(plan, finding).into_iter().collect()
        }
        check if check.starts_with("backflow.") => {
            places::protect_service(plan, finding).into_iter().collect()
        }
        check if check.starts_with("contact.not_allowed") || check.starts_with("setback.") => {
            places::hold_spray_back(plan, now, finding)
        }
        _ => Vec::new(),
    }
}

fn text(key: &str, values: Vec<(&'static str, Value)>) -> Message {
    Message::new(format!("fix.{key}"), values)
}

/// Runs and the pipe they would be of: a sentence a change of size.
fn pipe_changes(plan: &Plan, changes: &[(Id, String)]) -> Value {
    let name = |key: &str| {
        let row = plan.catalog.pipe(key);
        row.map_or_else(|| key.to_owned(), |row| row.name.clone())
    };
    let mut same: BTreeMap<(String, String), Vec<Id>> = BTreeMap::new();
    for (id, to) in changes {
        if let Some(pipe) = plan.objects.pipes.get(id) {
            let sizes = (name(&pipe.part), name(to));
            same.entry(sizes).or_default().push(*id);
        }
    }
    let told = same.into_iter().map(|((from, to), runs)| {
        let gaps = [("to", to), ("from", from), ("runs", named(&runs))];
        crate::text::fill("fix.pipe_change", gaps)
    });
    Value::Text(told.collect::<Vec<_>>().join("; "))
}

fn zone_of<'a>(now: &'a Analysis, finding: &Finding) -> Option<&'a ZoneAnalysis> {
    let id = finding.subjects.iter().find(|id| id.kind == Kind::Zone)?;
    now.zones.get(id)
}
