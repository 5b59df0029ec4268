//! A run while it is drawn point by point. It joins the plan only when it is finished.

use aubergine_core::edit::Edit;
use aubergine_core::geometry::PlanPoint;
use aubergine_core::ids::Id;
use aubergine_core::model::{End, Joints, Object, Plan};

use super::land::tidy;
use super::snap::{Seek, Snap, join, water_here};
use super::{Pointer, starts};

/// The points so far.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct RunDraft {
    /// The water it carries, known with its first point.
    pub water: Option<Id>,
    /// Points, each with what it caught.
    pub points: Vec<(PlanPoint, Option<Snap>)>,
    /// Where the next would be.
    pub next: Option<(PlanPoint, Option<Snap>)>,
}

impl RunDraft {
    /// Where a point under the pointer would be.
    pub fn aim(&mut self, plan: &Plan, pointer: &Pointer) {
        if self.points.is_empty() {
            self.water = water_here(plan, pointer);
        }
        let caught = self
            .water
            .and_then(|water| Seek::under(plan, water, pointer, None).end())
            .filter(|_| !pointer.free);
        let at = match &caught {
            Some(caught) if !caught.is_refused => caught.at,
            _ => {
                let mut at = tidy(pointer, pointer.at);
                // Shift keeps the stretch level or upright.
                if let (true, Some((last, _))) = (pointer.shift, self.points.last()) {
                    if (at.x - last.x).abs() >= (at.y - last.y).abs() {
                        at.y = last.y;
                    } else {
                        at.x = last.x;
                    }
                }
                at
            }
        };
        self.next = Some((at, caught));
    }

    /// Sets the point; true when it was joined to something and the run can end there.
    pub fn set(&mut self) -> bool {
        let Some(next) = self.next.clone() else {
            return false;
        };
        if self
            .points
            .last()
            .is_some_and(|(last, _)| last.distance(next.0).metres() < 1e-6)
        {
            return false;
        }
        let is_joined = next.1.as_ref().is_some_and(|caught| !caught.is_refused);
        self.points.push(next);
        is_joined && self.points.len() > 1
    }
}

/// The edit for a finished run; `None` when it has no length.
#[must_use]
pub fn run_edit(plan: &Plan, draft: &RunDraft) -> Option<Edit> {
    let water = draft.water?;
    if draft.points.len() < 2 {
        return None;
    }
    let mut scratch = plan.clone();
    let mut edits = Vec::new();
    let mut end_of = |snap: Option<&Snap>| -> End {
        let Some((end, tap)) = snap
            .filter(|snap| !snap.is_refused)
            .and_then(|snap| join(&scratch, snap))
        else {
            return End::Open;
        };
        if let Some(Edit::Put { id, object }) = &tap {
            scratch.objects.put(*id, object.clone());
        }
        edits.extend(tap);
        end
    };
    let start = end_of(draft.points.first().and_then(|(_, snap)| snap.as_ref()));
    let end = end_of(draft.points.last().and_then(|(_, snap)| snap.as_ref()));
    let mut pipe = starts::run(
        plan,
        water,
        draft.points.iter().map(|(at, _)| *at).collect(),
    );
    pipe.start = start;
    pipe.end = end;
    // Runs lead from their supply, whichever way they were drawn.
    let joints = Joints::of(&scratch.objects);
    let is_fed = |end: &End| {
        let port = end.port();
        port.is_some_and(|port| !joints.supplies_of(port.object).is_empty())
    };
    if is_fed(&pipe.end) && !is_fed(&pipe.start) {
        pipe = pipe.turned();
    }
    edits.push(Edit::Add(Object::Pipe(starts::shared(pipe))));
    Some(Edit::All(edits))
}
