//! Changes to a plan as values: one list of what can be done to a design, and the one function that does it.
//!
//! An edit never leaves a broken plan behind: what hangs on a removed object is opened or removed with it, and ends that
//! are joined to something that moved follow it.

mod follow;
pub mod history;
mod insert;
mod remove;

use std::sync::Arc;

pub use history::History;
pub(crate) use insert::rename_joints;

use crate::geometry::PlanVector;
use crate::ids::Id;
use crate::model::{Device, NextId, Object, Plan, RuleChoice, Site};
use crate::units::Length;

/// One change.
#[derive(Clone, PartialEq, Debug)]
pub enum Edit {
    /// Adds an object under the next free name of its kind.
    Add(Object),
    /// Puts an object in place of the one of that name.
    Put {
        /// The name.
        id: Id,
        /// What it is from now on.
        object: Object,
    },
    /// Removes objects and what cannot be without them.
    Remove(Vec<Id>),
    /// Moves objects as a whole; lines drawn by hand follow with the part that lies in a bed they serve.
    Move {
        /// Which.
        ids: Vec<Id>,
        /// How far.
        by: PlanVector,
    },
    /// Cuts a pipe run and puts a device between its halves.
    InsertDevice {
        /// The run.
        pipe: Id,
        /// How far along it.
        station: Length,
        /// The device; its place and inlet follow from the run.
        device: Arc<Device>,
    },
    /// Changes facts of the site.
    SetSite(Box<Site>),
    /// The name of the plan.
    Rename(String),
    /// Chooses other rules.
    SetRules(Box<RuleChoice>),
    /// Several changes as one.
    All(Vec<Edit>),
}

/// Why an edit is refused. The plan is as it was.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum EditError {
    /// No object has that name.
    #[error("{0} is not in the plan any more")]
    NotThere(Id),
    /// An id of another kind.
    #[error("{0} cannot name an object of that kind")]
    WrongKind(Id),
    /// Two waters would meet.
    #[error(
        "{a} and {b} carry different waters. Only an air gap keeps them apart; they cannot be joined."
    )]
    WatersMeet {
        /// One side.
        a: Id,
        /// The other side.
        b: Id,
    },
    /// The end of something would lead nowhere or onto something taken.
    #[error("{0}")]
    Unsound(String),
    /// The place is not on the run.
    #[error("There is no room for a device at that place of {0}")]
    NoRoom(Id),
}

/// What an edit did.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Effects {
    /// Names that were added, in order.
    pub added: Vec<Id>,
    /// Every name whose object is other than before: added, removed or changed.
    pub touched: Vec<Id>,
    /// Name, site or rules changed.
    pub site: bool,
}

impl Effects {
    /// Whether nothing is other than before.
    #[must_use]
    pub fn is_nothing(&self) -> bool {
        self.touched.is_empty() && !self.site
    }
}

/// Applies an edit to a plan. The plan given is not changed; `next_id` grows by the names that were given out.
///
/// # Errors
/// [`EditError`] when the edit cannot be done or would break a structural rule that held before.
pub fn apply(plan: &Plan, next_id: &mut NextId, edit: &Edit) -> Result<(Plan, Effects), EditError> {
    let mut changed = plan.clone();
    let mut added = Vec::new();
    step(&mut changed, next_id, edit, &mut added)?;
    follow::joined_ends(&mut changed);
    sound(plan, &changed)?;
    let touched = changed.objects.differences(&plan.objects);
    let site =
        changed.site != plan.site || changed.rules != plan.rules || changed.name != plan.name;
    Ok((
        changed,
        Effects {
            added,
            touched,
            site,
        },
    ))
}

fn step(
    plan: &mut Plan,
    next_id: &mut NextId,
    edit: &Edit,
    added: &mut Vec<Id>,
) -> Result<(), EditError> {
    match edit {
        Edit::Add(object) => {
            let id = next_id.take(object.kind());
            plan.objects.put(id, object.clone());
            added.push(id);
        }
        Edit::Put { id, object } => {
            if !plan.objects.contains(*id) {
                return Err(EditError::NotThere(*id));
            }
            if !plan.objects.put(*id, object.clone()) {
                return Err(EditError::WrongKind(*id));
            }
        }
        Edit::Remove(ids) => remove::with_dependents(plan, ids)?,
        Edit::Move { ids, by } => {
            follow::lines_within(plan, ids, *by);
            for id in ids {
                let object = plan.objects.get(*id).ok_or(EditError::NotThere(*id))?;
                plan.objects.put(*id, follow::moved(object, *by));
            }
        }
        Edit::InsertDevice {
            pipe,
            station,
            device,
        } => {
            insert::device(plan, next_id, *pipe, *station, device, added)?;
        }
        Edit::SetSite(site) => plan.site = (**site).clone(),
        Edit::Rename(name) => plan.name.clone_from(name),
        Edit::SetRules(rules) => plan.rules = (**rules).clone(),
        Edit::All(edits) => edits
            .iter()
            .try_for_each(|edit| step(plan, next_id, edit, added))?,
    }
    Ok(())
}

/// Refuses a plan with a broken structural rule that was not broken before.
fn sound(before: &Plan, after: &Plan) -> Result<(), EditError> {
    use crate::model::integrity::{Violation, violations};
    let known = violations(&before.objects);
    match violations(&after.objects)
        .into_iter()
        .find(|violation| !known.contains(violation))
    {
        None => Ok(()),
        Some(Violation::WatersMeet { a, b }) => Err(EditError::WatersMeet { a, b }),
        Some(other) => Err(EditError::Unsound(other.to_string())),
    }
}
