//! What already stands on the output: boxes that letters must keep off, lines that they had better keep off. A grid finds
//! the neighbours, so that thousands of labels are placed without comparing each with each.

use crate::ids::Id;

/// An upright rectangle of the output, y down.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Frame {
    /// Least x.
    pub left: f64,
    /// Least y.
    pub top: f64,
    /// Largest x.
    pub right: f64,
    /// Largest y.
    pub bottom: f64,
}

impl Frame {
    /// Whether two rectangles have more than an edge in common.
    #[must_use]
    pub fn overlaps(&self, other: &Self) -> bool {
        self.left < other.right
            && other.left < self.right
            && self.top < other.bottom
            && other.top < self.bottom
    }

    /// Whether a point lies inside.
    #[must_use]
    pub fn holds(&self, (x, y): (f64, f64)) -> bool {
        x >= self.left && x <= self.right && y >= self.top && y <= self.bottom
    }

    /// The same, wider on all sides.
    #[must_use]
    pub fn grown(&self, by: f64) -> Self {
        Self {
            left: self.left - by,
            top: self.top - by,
            right: self.right + by,
            bottom: self.bottom + by,
        }
    }

    /// The smallest rectangle around points.
    #[must_use]
    pub fn around(points: impl Iterator<Item = (f64, f64)>) -> Self {
        let nothing = Self {
            left: f64::INFINITY,
            top: f64::INFINITY,
            right: f64::NEG_INFINITY,
            bottom: f64::NEG_INFINITY,
        };
        points.fold(nothing, |frame, (x, y)| Self {
            left: frame.left.min(x),
            top: frame.top.min(y),
            right: frame.right.max(x),
            bottom: frame.bottom.max(y),
        })
    }

    /// The piece of a straight line that lies inside, as shares of it.
    fn clip(&self, (ax, ay): (f64, f64), (bx, by): (f64, f64)) -> Option<(f64, f64)> {
        let (mut enters, mut leaves) = (0.0_f64, 1.0_f64);
        for (from, step, low, high) in [
            (ax, bx - ax, self.left, self.right),
            (ay, by - ay, self.top, self.bottom),
        ] {
            if step.abs() < 1e-12 {
                if from < low || from > high {
                    return None;
                }
                continue;
            }
            let (one, two) = ((low - from) / step, (high - from) / step);
            enters = enters.max(one.min(two));
            leaves = leaves.min(one.max(two));
        }
        (enters < leaves).then_some((enters, leaves))
    }
}

/// A straight line that letters had better not cover.
struct Stroke {
    from: (f64, f64),
    to: (f64, f64),
    weight: f64,
    subject: Option<Id>,
}

/// Which things lie in which cell of the grid. Cells share buckets; each entry knows its cell.
struct Cells(Vec<Vec<((i64, i64), usize)>>);

impl Cells {
    const BUCKETS: u16 = 4096;

    fn new() -> Self {
        Self(vec![Vec::new(); usize::from(Self::BUCKETS)])
    }

    fn bucket((x, y): (i64, i64)) -> usize {
        // Neighbours, and rows of neighbours, go to different buckets.
        let mixed = x.wrapping_mul(73).wrapping_add(y.wrapping_mul(1009));
        usize::try_from(mixed.rem_euclid(i64::from(Self::BUCKETS))).unwrap_or(0)
    }

    fn add(&mut self, key: (i64, i64), index: usize) {
        self.0[Self::bucket(key)].push((key, index));
    }

    fn of(&self, key: (i64, i64)) -> impl Iterator<Item = usize> + '_ {
        let bucket = self.0[Self::bucket(key)].iter();
        bucket
            .filter(move |(other, _)| *other == key)
            .map(|(_, index)| *index)
    }
}

/// Everything that stands on the output so far.
pub(super) struct Crowd {
    cell: f64,
    seen: Option<Frame>,
    boxes: Vec<Frame>,
    strokes: Vec<Stroke>,
    box_cells: Cells,
    stroke_cells: Cells,
}

impl Crowd {
    /// Nothing yet; `cell` is about the height of three lines of letters.
    pub fn new(cell: f64, seen: Option<Frame>) -> Self {
        Self {
            cell: cell.max(1e-3),
            seen,
            boxes: Vec::new(),
            strokes: Vec::new(),
            box_cells: Cells::new(),
            stroke_cells: Cells::new(),
        }
    }

    #[expect(
        clippy::cast_possible_truncation,
        reason = "places on an output; a cast of what is too large saturates"
    )]
    fn key(&self, (x, y): (f64, f64)) -> (i64, i64) {
        (
            (x / self.cell).floor() as i64,
            (y / self.cell).floor() as i64,
        )
    }

    fn keys(&self, frame: &Frame) -> impl Iterator<Item = (i64, i64)> + use<> {
        const MOST: i64 = 400;
        let (low, high) = (
            self.key((frame.left, frame.top)),
            self.key((frame.right, frame.bottom)),
        );
        let (last_x, last_y) = (high.0.min(low.0 + MOST), high.1.min(low.1 + MOST));
        (low.0..=last_x).flat_map(move |x| (low.1..=last_y).map(move |y| (x, y)))
    }

    /// Letters keep off this from now on.
    pub fn take(&mut self, frame: Frame) {
        let index = self.boxes.len();
        for key in self.keys(&frame) {
            self.box_cells.add(key, index);
        }
        self.boxes.push(frame);
    }

    /// Letters had better keep off this line.
    pub fn rule(&mut self, from: (f64, f64), to: (f64, f64), weight: f64, subject: Option<Id>) {
        let shares = match &self.seen {
            Some(seen) => seen.clip(from, to),
            None => Some((0.0, 1.0)),
        };
        let Some((enters, leaves)) = shares else {
            return;
        };
        let at = |share: f64| {
            (
                from.0 + (to.0 - from.0) * share,
                from.1 + (to.1 - from.1) * share,
            )
        };
        let (from, to) = (at(enters), at(leaves));
        let length = (to.0 - from.0).hypot(to.1 - from.1);
        let index = self.strokes.len();
        self.strokes.push(Stroke {
            from,
            to,
            weight,
            subject,
        });
        let mut share = 0.0;
        let step = (self.cell * 0.7 / length.max(1e-9)).max(1e-4);
        let mut last = None;
        while share < 1.0 + step {
            let share_here = share.min(1.0);
            let key = self.key((
                from.0 + (to.0 - from.0) * share_here,
                from.1 + (to.1 - from.1) * share_here,
            ));
            if last != Some(key) {
                self.stroke_cells.add(key, index);
                last = Some(key);
            }
            share += step;
        }
    }

    /// Whether nothing stands there.
    pub fn is_free(&self, frame: &Frame) -> bool {
        !self.keys(frame).any(|key| {
            let mut known = self.box_cells.of(key);
            known.any(|index| self.boxes[index].overlaps(frame))
        })
    }

    /// The part of a rectangle that lies in a cell.
    fn piece(&self, (x, y): (i64, i64), frame: &Frame) -> Frame {
        #[expect(clippy::cast_precision_loss, reason = "cells near the output")]
        let (left, top) = (x as f64 * self.cell, y as f64 * self.cell);
        Frame {
            left: frame.left.max(left),
            top: frame.top.max(top),
            right: frame.right.min(left + self.cell),
            bottom: frame.bottom.min(top + self.cell),
        }
    }

    /// How much line would be covered, weighted; lines of `own` do not count.
    pub fn covered(&self, frame: &Frame, own: Option<Id>) -> f64 {
        // Cell by cell, each with the piece of the line that lies in it: nothing counts twice.
        self.keys(frame)
            .flat_map(|key| {
                let piece = self.piece(key, frame);
                let known = self.stroke_cells.of(key);
                known.filter_map(move |index| Some((piece, self.strokes.get(index)?)))
            })
            .filter(|(_, stroke)| own.is_none() || stroke.subject != own)
            .filter_map(|(piece, stroke)| {
                let (enters, leaves) = piece.clip(stroke.from, stroke.to)?;
                let length = (stroke.to.0 - stroke.from.0).hypot(stroke.to.1 - stroke.from.1);
                Some((leaves - enters) * length * stroke.weight)
            })
            .sum()
    }
}
