//! What would help: changes of the design that make a finding go or get better, each tried before it is offered.
//!
//! A fix changes the design only, never a fact such as the class of the water, how a crop is eaten or where the yard is.
//! None proposes to feed drinking water into the system, and none a pump.

mod branches;
mod chain;
mod hydraulic;
mod lines;
mod places;

use super::effect::{Progress, preview};
use super::{Analysis, Analyzer, ZoneAnalysis};
use crate::edit::Edit;
use crate::finding::{Finding, Message, Value};
use crate::ids::Kind;
use crate::model::Document;

/// A change that helps, tried out.
#[derive(Clone, Debug)]
pub struct Fix {
    /// What to do, in words.
    pub message: Message,
    /// The change.
    pub edit: Edit,
    /// What becomes of the finding.
    pub progress: Progress,
}

/// The changes that help against a finding, in the order in which they are thought of.
#[must_use]
pub fn fixes(
    document: &Document,
    analyzer: &mut Analyzer,
    now: &Analysis,
    finding: &Finding,
) -> Vec<Fix> {
    candidates(document, now, finding)
        .into_iter()
        .filter_map(|(message, edit)| {
            let effect = preview(document, analyzer, now, &edit).ok()?;
            let progress = effect.progress(finding);
            let helps = progress != Progress::NoBetter && effect.new_stops.is_empty();
            helps.then_some(Fix {
                message,
                edit,
                progress,
            })
        })
        .collect()
}

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
        "hydraulics.low_pressure" => hydraulic::low_pressure(plan, now, finding),
        "hydraulics.line_too_long" => finding
            .subjects
            .iter()
            .flat_map(|id| {
                [
                    lines::compensated(plan, *id),
                    lines::feed_middle(document, *id),
                    lines::second_header(plan, *id),
                ]
            })
            .flatten()
            .collect(),
        "hydraulics.velocity" => hydraulic::larger_pipes(plan, now, finding)
            .into_iter()
            .collect(),
        "hydraulics.uneven_ground" => finding
            .subjects
            .iter()
            .filter_map(|id| lines::compensated(plan, *id))
            .collect(),
        "hydraulics.flush_velocity" => finding
            .subjects
            .iter()
            .filter_map(|id| lines::feed_middle(document, *id))
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
        "strength.rating" => chain::regulate_main(plan, now, finding)
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

fn zone_of<'a>(now: &'a Analysis, finding: &Finding) -> Option<&'a ZoneAnalysis> {
    let id = finding.subjects.iter().find(|id| id.kind == Kind::Zone)?;
    now.zones.get(id)
}
