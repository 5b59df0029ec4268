//! The drawing as text, a mark a line, coordinates in millimetres: what goldens compare.

use std::fmt::Write as _;

use super::{Drawing, Mark, Shape};
use crate::geometry::PlanPoint;

/// The whole drawing as text.
#[must_use]
pub fn text(drawing: &Drawing) -> String {
    let mut out = String::new();
    for layer in &drawing.layers {
        // Writing into a String cannot fail.
        let _ = writeln!(out, "{:?}", layer.kind);
        for mark in &layer.marks {
            let _ = writeln!(out, "  {}", line(mark));
        }
    }
    out
}

fn line(mark: &Mark) -> String {
    let subject = mark
        .subject
        .map_or_else(|| "-".to_owned(), |id| id.to_string());
    let shape = match &mark.shape {
        Shape::Area(area) => format!("area {}", points(&area.0)),
        Shape::Line(line) => format!("line {}", points(&line.0)),
        Shape::Dots(dots) => format!("{} dots", dots.len()),
        Shape::Symbol { symbol, at, .. } => format!("{symbol:?} {}", points(&[*at])),
        Shape::Text { at, text, anchor } => format!("\"{text}\" {anchor:?} {}", points(&[*at])),
    };
    format!("{subject} {:?} {shape}", mark.role)
}

fn points(points: &[PlanPoint]) -> String {
    const MOST: usize = 8;
    let shown = points
        .iter()
        .take(MOST)
        .map(|point| format!("{:.0},{:.0}", point.x * 1000.0, point.y * 1000.0));
    let mut text = shown.collect::<Vec<_>>().join(" ");
    if points.len() > MOST {
        let _ = write!(text, " … {}", points.len());
    }
    text
}
