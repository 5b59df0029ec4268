//! Which letters stand where at a scale: measured with the widths of the type family. No two cover each other, none covers
//! a symbol; of the places that are left each takes the one that covers least line. What finds none is left out.

mod candidates;
mod crowd;
mod run_marks;

use std::borrow::Cow;
use std::collections::BTreeMap;

pub use crowd::Frame;

use self::candidates::{Candidate, Own, around_place, in_area, under_name};
use self::crowd::Crowd;
use self::run_marks::Run;
use super::font::{self, CAP_HEIGHT, DESCENT, Face};
use super::symbols::{CELL, Stroke};
use super::theme::water_code;
use super::{Anchor, Drawing, Footing, Mark, Role, Shape, Symbol};
use crate::geometry::{PlanPoint, Polygon};
use crate::ids::{Id, Kind};
use crate::model::{PipeRole, WaterKind};
use crate::text;

/// Sizes of an output.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Output {
    /// Type size of labels.
    pub letters: f64,
    /// A printed millimetre.
    pub mm: f64,
    /// Side of a symbol's cell.
    pub symbol: f64,
    /// What is seen of it; `None` for all.
    pub seen: Option<Frame>,
}

/// A note stands beside what it is about, this many symbol cells to the right and down.
pub const NOTE_OFFSET: (f64, f64) = (0.9, -1.0);

/// A text with its place in the output, y down.
#[derive(Clone, PartialEq, Debug)]
pub struct PlacedText<'a> {
    /// The mark.
    pub mark: &'a Mark,
    /// What it says.
    pub text: Cow<'a, str>,
    /// Left end of its base line.
    pub x: f64,
    /// Base line.
    pub y: f64,
    /// Its width.
    pub width: f64,
    /// Face.
    pub face: Face,
    /// The topmost filled area that it lies in; `None` on the bare ground.
    pub ground: Option<Role>,
}

/// A tick across a run.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Tick {
    /// Its ends.
    pub ends: [(f64, f64); 2],
    /// What it is drawn like.
    pub role: Role,
}

/// Everything that is placed on the output and not in the plan.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Placed<'a> {
    /// Letters.
    pub texts: Vec<PlacedText<'a>>,
    /// Ticks.
    pub ticks: Vec<Tick>,
    /// How many names and numbers of objects found no room.
    pub left_out: usize,
}

/// Places the texts of a drawing: `to_output` gives the place of a plan point in the output. Names weigh more than numbers,
/// numbers more than the letters of runs, these more than details.
pub fn place(
    drawing: &Drawing,
    to_output: impl Fn(PlanPoint) -> (f64, f64),
    output: Output,
) -> Placed<'_> {
    let mut crowd = Crowd::new(output.letters * 3.0, output.seen);
    let mut areas: Vec<Area<'_>> = Vec::new();
    let mut extents: BTreeMap<Symbol, Frame> = BTreeMap::new();
    let mut halves: BTreeMap<Id, f64> = BTreeMap::new();
    for mark in drawing.marks() {
        match &mark.shape {
            Shape::Symbol { symbol, at, .. } => {
                let extent = extents.entry(*symbol).or_insert_with(|| extent_of(*symbol));
                let place = to_output(*at);
                if let (Some(id), false) = (mark.subject, matches!(symbol, Symbol::Verdict(_))) {
                    let sides = [-extent.left, -extent.top, extent.right, extent.bottom];
                    let half = sides.into_iter().fold(0.0, f64::max) * output.symbol;
                    halves.insert(id, half);
                }
                let place = if *symbol == Symbol::Note {
                    noted(place, output.symbol)
                } else {
                    place
                };
                crowd.take(at_place(extent, place, output.symbol));
            }
            Shape::Line(line) => {
                if let Some(weight) = weight_of_line(mark.role) {
                    let points: Vec<(f64, f64)> = line.0.iter().map(|p| to_output(*p)).collect();
                    for pair in points.windows(2) {
                        crowd.rule(pair[0], pair[1], weight, mark.subject);
                    }
                }
            }
            Shape::Area(outline) if mark.role != Role::Ground => {
                let points: Vec<(f64, f64)> = outline.0.iter().map(|p| to_output(*p)).collect();
                for (from, to) in points.iter().zip(points.iter().cycle().skip(1)) {
                    crowd.rule(*from, *to, 0.5, None);
                }
                let frame = Frame::around(points.iter().copied());
                let outline = Polygon(points.iter().map(|(x, y)| PlanPoint::new(*x, *y)).collect());
                areas.push(Area {
                    mark,
                    outline,
                    frame,
                });
            }
            Shape::Area(_) | Shape::Dots(_) | Shape::Text { .. } => {}
        }
    }
    let mut wanted: Vec<(u8, &Mark)> = drawing
        .marks()
        .filter_map(|mark| Some((weight(mark)?, mark)))
        .collect();
    // Stable: texts of one weight keep the order of the drawing.
    wanted.sort_by_key(|(weight, _)| *weight);
    let mut placing = Placing {
        crowd,
        areas,
        halves,
        output,
        names: BTreeMap::new(),
        placed: Placed::default(),
    };
    let mut runs: Vec<(&Mark, Run, WaterKind, PipeRole)> = Vec::new();
    for (_, mark) in wanted {
        match (&mark.shape, mark.role) {
            (Shape::Text { at, text, anchor }, _) => {
                placing.text(mark, text, *anchor, to_output(*at));
            }
            (Shape::Line(line), Role::RunCode(water, role, footing)) => {
                let points = line.0.iter().map(|point| to_output(*point)).collect();
                let run = Run::new(points, output.mm);
                placing.codes(mark, &run, water, footing);
                runs.push((mark, run, water, role));
            }
            _ => {}
        }
    }
    for (mark, run, water, role) in runs {
        for ends in run.ticks(water, role) {
            let frame = Frame::around(ends.into_iter());
            if placing.crowd.is_free(&frame) {
                let role = mark.role;
                placing.placed.ticks.push(Tick { ends, role });
            }
        }
    }
    placing.placed
}

/// The place of a note that is about a place.
#[must_use]
pub fn noted((x, y): (f64, f64), symbol: f64) -> (f64, f64) {
    (x + NOTE_OFFSET.0 * symbol, y + NOTE_OFFSET.1 * symbol)
}

/// The room a text takes, with the space around it.
#[must_use]
pub fn frame_of(text: &PlacedText<'_>, letters: f64) -> Frame {
    candidates::frame((text.x, text.y), text.width, letters)
}

/// The tick of a sample of a run, in its middle.
pub(super) fn ticks_between(
    points: Vec<(f64, f64)>,
    mm: f64,
    water: WaterKind,
    role: PipeRole,
) -> Vec<[(f64, f64); 2]> {
    Run::new(points, mm).tick(water, role)
}

struct Area<'a> {
    mark: &'a Mark,
    outline: Polygon,
    frame: Frame,
}

struct Placing<'a> {
    crowd: Crowd,
    areas: Vec<Area<'a>>,
    /// Half the size of the symbols, by object.
    halves: BTreeMap<Id, f64>,
    output: Output,
    /// Where the name of an area went: middle and base line.
    names: BTreeMap<Id, (f64, f64)>,
    placed: Placed<'a>,
}

impl<'a> Placing<'a> {
    fn text(&mut self, mark: &'a Mark, text: &'a str, anchor: Anchor, at: (f64, f64)) {
        let letters = self.output.letters;
        let face = face_of(mark.role);
        let width = |text: &str| font::width(text, face) * letters;
        let own = mark.subject.and_then(|id| self.own(id));
        if mark.subject.is_some_and(|id| id.kind == Kind::Note) {
            // The number inside the mark of a note.
            let (x, y) = noted(at, self.output.symbol);
            let place = (x - width(text) / 2.0, y + CAP_HEIGHT * letters / 2.0);
            self.keep(mark, Cow::Borrowed(text), place, face);
            return;
        }
        let candidates = match anchor {
            Anchor::Middle => in_area(text, at, own, letters, width),
            Anchor::Below => {
                let name = mark.subject.and_then(|id| self.names.get(&id));
                name.map_or_else(Vec::new, |name| {
                    under_name(text, *name, own, letters, width)
                })
            }
            Anchor::Above | Anchor::Right => {
                let half = self.half_symbol(mark);
                around_place(text, at, anchor, half, letters, width)
            }
        };
        let Some(best) = self.best(&candidates, None) else {
            self.placed.left_out += usize::from(matches!(mark.role, Role::Name | Role::Number));
            return;
        };
        let (place, said) = (best.place, best.text);
        if anchor == Anchor::Middle
            && let Some(id) = mark.subject
        {
            self.names
                .insert(id, (place.0 + width(said) / 2.0, place.1));
        }
        self.crowd
            .take(candidates::frame(place, width(said), letters));
        self.keep(mark, Cow::Borrowed(said), place, face);
    }

    /// The letters along a run.
    fn codes(&mut self, mark: &'a Mark, run: &Run, water: WaterKind, footing: Footing) {
        let letters = self.output.letters;
        // The first code of a run tells what it rests on; the dashes tell it all along.
        let code = water_code(water);
        let first = match footing {
            Footing::Stated => code.to_owned(),
            Footing::Assumed => text::fill("assumed.code", [("code", code.to_owned())]),
        };
        // Its number is told once, where there is room for it.
        let mut wanted: Vec<String> = mark
            .subject
            .iter()
            .map(|id| format!("{first} {id}"))
            .collect();
        wanted.push(first);
        let face = face_of(mark.role);
        for places in run.codes() {
            let candidates: Vec<Candidate<'_>> = wanted
                .iter()
                .zip([0.0, 0.8])
                .flat_map(|(said, later)| {
                    let width = font::width(said, face) * letters;
                    let half = (width / 2.0, CAP_HEIGHT * letters / 2.0);
                    (0_u8..).zip(&places).map(move |(index, (x, y))| {
                        let bend = run.has_bend_near((*x, *y), (half.0 * 1.4, half.1 * 2.0));
                        Candidate {
                            text: said,
                            place: (x - half.0, y + half.1),
                            width,
                            rank: later + f64::from(index) * 0.15 + if bend { 2.0 } else { 0.0 },
                        }
                    })
                })
                .collect();
            let Some(best) = self.best(&candidates, mark.subject) else {
                continue;
            };
            let (place, width, said) = (best.place, best.width, best.text.to_owned());
            self.crowd.take(candidates::frame(place, width, letters));
            if wanted.first() == Some(&said) {
                wanted = vec![code.to_owned()];
            } else if let Some(last) = wanted.last_mut() {
                code.clone_into(last);
            }
            self.keep(mark, Cow::Owned(said), place, face);
        }
    }

    /// The free place of least cost; the first of equals.
    fn best<'c, 't>(
        &self,
        candidates: &'c [Candidate<'t>],
        own: Option<Id>,
    ) -> Option<&'c Candidate<'t>> {
        let letters = self.output.letters;
        let mut best: Option<(f64, &Candidate<'_>)> = None;
        for candidate in candidates {
            let frame = candidates::frame(candidate.place, candidate.width, letters);
            let is_seen = self.output.seen.is_none_or(|seen| seen.overlaps(&frame));
            if !is_seen || best.is_some_and(|(cost, _)| cost <= candidate.rank) {
                continue;
            }
            if !self.crowd.is_free(&frame) {
                continue;
            }
            let covered = (self.crowd.covered(&frame, own) / letters).min(8.0);
            let cost = candidate.rank + covered * 0.6;
            if best.is_none_or(|(least, _)| cost < least) {
                best = Some((cost, candidate));
            }
        }
        best.map(|(_, candidate)| candidate)
    }

    fn keep(&mut self, mark: &'a Mark, text: Cow<'a, str>, (x, y): (f64, f64), face: Face) {
        let width = font::width(&text, face) * self.output.letters;
        let ends = [PlanPoint::new(x, y), PlanPoint::new(x + width, y)];
        let holds = |area: &&Area<'_>| {
            area.frame.holds((x, y)) && ends.iter().all(|end| area.outline.contains(*end))
        };
        let is_filled = |area: &&Area<'_>| !matches!(area.mark.role, Role::Verdict(..));
        let ground = self.areas.iter().rev().filter(is_filled).find(holds);
        let ground = ground.map(|area| area.mark.role);
        self.placed.texts.push(PlacedText {
            mark,
            text,
            x,
            y,
            width,
            face,
            ground,
        });
    }

    fn own(&self, id: Id) -> Option<Own<'_>> {
        let area = self
            .areas
            .iter()
            .find(|area| area.mark.subject == Some(id))?;
        Some(Own {
            outline: &area.outline,
            frame: area.frame,
        })
    }

    /// Half the size of the symbol that a text belongs to.
    fn half_symbol(&self, mark: &Mark) -> f64 {
        let half = mark.subject.and_then(|id| self.halves.get(&id));
        half.copied().unwrap_or(self.output.letters * 0.2)
    }
}

fn weight(mark: &Mark) -> Option<u8> {
    match (&mark.shape, mark.role) {
        (Shape::Text { .. }, Role::NoteOpen | Role::NoteClosed) => Some(0),
        (Shape::Text { .. }, Role::Name) => Some(1),
        (Shape::Text { .. }, Role::Number) => Some(2),
        (Shape::Line(_), Role::RunCode(..)) => Some(3),
        (Shape::Text { .. }, _) => Some(4),
        _ => None,
    }
}

/// How much it costs to cover a line.
const fn weight_of_line(role: Role) -> Option<f64> {
    match role {
        Role::Pipe(..) | Role::PipePressure(..) => Some(1.0),
        Role::PropertyLine => Some(0.8),
        Role::EmitterLine(_) | Role::EmitterLinePressure(..) => Some(0.15),
        Role::Wetted(_) => Some(0.2),
        _ => None,
    }
}

fn face_of(role: Role) -> Face {
    match role {
        Role::Name | Role::RunCode(..) | Role::NoteOpen => Face::Bold,
        _ => Face::Regular,
    }
}

/// The room of a symbol around its middle, in shares of its cell.
fn extent_of(symbol: Symbol) -> Frame {
    if symbol == Symbol::Fall {
        // It stands in any direction.
        let reach = 9.0 / CELL;
        return Frame::around([(-reach, -reach), (reach, reach)].into_iter());
    }
    let strokes = symbol.strokes();
    let points = strokes.iter().flat_map(|stroke| match stroke {
        Stroke::Line(points) | Stroke::Outline(points) | Stroke::Filled(points) => points.clone(),
        Stroke::Circle { at, radius, .. } => vec![
            (at.0 - radius, at.1 - radius),
            (at.0 + radius, at.1 + radius),
        ],
    });
    Frame::around(points.map(|(x, y)| (x / CELL, y / CELL)))
}

fn at_place(extent: &Frame, (x, y): (f64, f64), side: f64) -> Frame {
    Frame {
        left: x + extent.left * side,
        top: y + extent.top * side,
        right: x + extent.right * side,
        bottom: y + extent.bottom * side,
    }
}

#[cfg(test)]
mod tests;
