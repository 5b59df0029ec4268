//! The select tool: what a drag moves, the handles of runs, and the steps in which things move.

use std::sync::Arc;

use aubergine_core::edit::Edit;
use aubergine_core::geometry::{PlanPoint, PlanVector};
use aubergine_core::ids::{Id, Kind};
use aubergine_core::model::{End, Object, Plan};
use aubergine_core::units::{Length, Pressure, UnitSystem};

use super::snap::{Seek, Snap, join};
use super::{Pointer, corners};

/// What the select tool is doing.
#[derive(Clone, PartialEq, Debug, Default)]
pub enum SelectState {
    /// Nothing.
    #[default]
    Idle,
    /// Moving objects.
    Moving {
        /// Which.
        ids: Vec<Id>,
        /// Where they were taken hold of.
        origin: PlanPoint,
        /// How far they are now.
        by: PlanVector,
        /// The pressure at the one object that is moved, before.
        was: Option<Pressure>,
    },
    /// Moving an end or a bend of a run, or a corner of an area.
    Handle {
        /// Which.
        handle: Handle,
        /// What it has caught.
        caught: Option<Snap>,
    },
    /// Spanning a frame.
    Marquee {
        /// One corner.
        from: PlanPoint,
        /// The other.
        to: PlanPoint,
        /// Only what lies wholly inside is meant.
        inside: bool,
    },
}

/// What a handle takes hold of.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Grip {
    /// An end of a run or line, which can be joined.
    End,
    /// A bend of a run or line.
    Bend,
    /// A corner of an area.
    Corner,
}

impl Grip {
    /// Its word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::End => "end",
            Self::Bend => "bend",
            Self::Corner => "corner",
        }
    }
}

/// A point of a run, a line or an area that can be moved on its own.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Handle {
    /// The run, line or area.
    pub id: Id,
    /// Which of its points.
    pub index: usize,
    /// Where it is.
    pub at: PlanPoint,
    /// What it is of.
    pub grip: Grip,
}

/// The handles of a run, a line or an area.
#[must_use]
pub fn handles(plan: &Plan, id: Id) -> Vec<Handle> {
    let points = match id.kind {
        Kind::Pipe => plan.objects.pipes.get(&id).map(|pipe| &pipe.vertices.0),
        Kind::Line => plan.objects.lines.get(&id).map(|line| &line.vertices.0),
        _ => return corners::handles(plan, id),
    };
    let points = points.map(Vec::as_slice).unwrap_or_default();
    let last = points.len().saturating_sub(1);
    points
        .iter()
        .enumerate()
        .map(|(index, at)| Handle {
            id,
            index,
            at: *at,
            grip: if index == 0 || index == last {
                Grip::End
            } else {
                Grip::Bend
            },
        })
        .collect()
}

/// The edit that puts a handle where the pointer is, and what it has caught there.
#[must_use]
pub(crate) fn handle_edit(
    plan: &Plan,
    handle: &Handle,
    pointer: &Pointer,
) -> Option<(Edit, Option<Snap>)> {
    if handle.grip == Grip::Corner {
        return corners::edit(plan, handle, pointer).map(|edit| (edit, None));
    }
    let (water, count) = match handle.id.kind {
        Kind::Pipe => plan
            .objects
            .pipes
            .get(&handle.id)
            .map(|pipe| (pipe.water, pipe.vertices.0.len())),
        _ => plan
            .objects
            .lines
            .get(&handle.id)
            .map(|line| (line.water, line.vertices.0.len())),
    }?;
    let caught = (handle.grip == Grip::End && !pointer.free)
        .then(|| Seek::under(plan, water, pointer, Some(handle.id)).end())
        .flatten();
    let (at, end, tap) = match &caught {
        // A port of another water is named to the core as well, which refuses it in its own words when let go.
        Some(found) => {
            let (end, tap) = join(plan, found)?;
            (found.at, end, tap)
        }
        None => (super::land::tidy(pointer, pointer.at), End::Open, None),
    };
    let at_start = handle.index == 0;
    let at_end = handle.index + 1 == count;
    let object = match handle.id.kind {
        Kind::Pipe => {
            let mut pipe = plan.objects.pipes.get(&handle.id)?.clone();
            let changed = Arc::make_mut(&mut pipe);
            *changed.vertices.0.get_mut(handle.index)? = at;
            if at_start {
                changed.start = end;
            } else if at_end {
                changed.end = end;
            }
            Object::Pipe(pipe)
        }
        _ => {
            let mut line = plan.objects.lines.get(&handle.id)?.clone();
            let changed = Arc::make_mut(&mut line);
            *changed.vertices.0.get_mut(handle.index)? = at;
            if at_start {
                changed.start = end;
            } else if at_end {
                changed.end = end;
            }
            Object::Line(line)
        }
    };
    let put = Edit::Put {
        id: handle.id,
        object,
    };
    let edit = match tap {
        Some(tap) => Edit::All(vec![tap, put]),
        None => put,
    };
    Some((edit, caught))
}

/// The step in which things move at a scale: small enough for the eye, round for the tape.
#[must_use]
pub(crate) fn step(units: UnitSystem, m_per_px: f64) -> Length {
    let steps: &[Length] = match units {
        UnitSystem::Us => &[
            Length::from_inches(1.0),
            Length::from_inches(3.0),
            Length::from_inches(6.0),
            Length::from_feet(1.0),
            Length::from_feet(5.0),
        ],
        UnitSystem::Metric => &[
            Length::from_metres(0.01),
            Length::from_metres(0.05),
            Length::from_metres(0.1),
            Length::from_metres(0.5),
            Length::from_metres(1.0),
        ],
    };
    const LEAST_PX: f64 = 3.0;
    let seen = steps
        .iter()
        .find(|step| step.metres() >= LEAST_PX * m_per_px);
    seen.or(steps.last())
        .copied()
        .unwrap_or(Length::from_metres(0.01))
}

/// How far a move goes for the pointer, in whole steps unless Ctrl is held; Shift keeps it level or upright.
#[must_use]
pub(crate) fn offset(origin: PlanPoint, pointer: &Pointer) -> PlanVector {
    let (mut x, mut y) = (pointer.at.x - origin.x, pointer.at.y - origin.y);
    if pointer.shift {
        if x.abs() >= y.abs() { y = 0.0 } else { x = 0.0 }
    }
    if pointer.free {
        return PlanVector::new(x, y);
    }
    let step = step(pointer.units, pointer.m_per_px).metres();
    PlanVector::new((x / step).round() * step, (y / step).round() * step)
}

/// A move in words: `3'-0" right, 1'-6" up`.
#[must_use]
pub fn offset_words(units: UnitSystem, by: PlanVector) -> String {
    let part = |value: f64, more: &str, less: &str| {
        let shown = units.length(Length::from_metres(value.abs()));
        (value.abs() > 1e-9).then(|| format!("{shown} {}", if value > 0.0 { more } else { less }))
    };
    let parts: Vec<String> = [part(by.x, "right", "left"), part(by.y, "up", "down")]
        .into_iter()
        .flatten()
        .collect();
    if parts.is_empty() {
        "not moved".to_owned()
    } else {
        parts.join(", ")
    }
}
