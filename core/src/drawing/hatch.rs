//! Hatches as real lines and dots, cut at the outline of their area by geometry.

use super::svg::{MM, Mapping};
use super::theme::{Hatch, Pen};
use super::writer::{Ends, Writer, chain, dots_path};
use crate::geometry::{PlanPoint, PlanVector, Polygon};

/// Width of hatch lines in millimetres.
const HATCH_MM: f64 = 0.18;

/// A hatch as real lines and dots, cut at the outline by geometry; its grid is that of the plan, so that neighbouring areas
/// match.
pub(super) fn write_hatch(
    area: &Polygon,
    hatch: Hatch,
    pen: &Pen,
    mapping: &Mapping,
    out: &mut Writer,
) {
    let line = Pen {
        colour: pen.colour,
        width_mm: HATCH_MM,
        dash_mm: &[],
    };
    let diagonals = |slope: f64, apart_mm: f64| hatch_lines(area, slope, apart_mm, mapping);
    let colour = pen.colour.hex();
    match hatch {
        Hatch::Diagonal(apart) => out.path(&diagonals(1.0, apart), None, Some(&line)),
        Hatch::Cross(apart) => {
            let both = diagonals(1.0, apart) + &diagonals(-1.0, apart);
            out.path(&both, None, Some(&line));
        }
        Hatch::Dots(apart) => {
            out.path(&hatch_dots(area, apart, mapping), Some(&colour), None);
        }
        Hatch::DotsAndDiagonal(apart) => {
            out.path(&diagonals(1.0, apart), None, Some(&line));
            out.path(&hatch_dots(area, apart / 2.0, mapping), Some(&colour), None);
        }
    }
}

/// Most lines or rows of dots in one hatch: a hatch finer than that is not seen anyway.
const MOST_HATCH_LINES: f64 = 2000.0;

fn hatch_lines(area: &Polygon, slope: f64, apart_mm: f64, mapping: &Mapping) -> String {
    let along = PlanVector::new(
        std::f64::consts::FRAC_1_SQRT_2,
        slope * std::f64::consts::FRAC_1_SQRT_2,
    );
    let across = PlanVector::new(-along.y, along.x);
    let step = apart_mm * MM / mapping.points_per_metre();
    let offsets = area
        .0
        .iter()
        .map(|point| point.x * across.x + point.y * across.y);
    let (low, high) = offsets.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), offset| {
        (low.min(offset), high.max(offset))
    });
    let mut data = String::new();
    if !(step > 0.0 && (high - low) / step < MOST_HATCH_LINES) {
        return data;
    }
    let mut index = (low / step).ceil();
    while index * step < high {
        let origin = PlanPoint::new(across.x * index * step, across.y * index * step);
        for (from, to) in area.chords(origin, along) {
            let at = |distance: f64| {
                PlanPoint::new(origin.x + along.x * distance, origin.y + along.y * distance)
            };
            let ends = [at(from.metres()), at(to.metres())].map(|point| mapping.place(point));
            data += &chain(ends.into_iter(), Ends::Open);
        }
        index += 1.0;
    }
    data
}

fn hatch_dots(area: &Polygon, apart_mm: f64, mapping: &Mapping) -> String {
    let step = apart_mm * MM / mapping.points_per_metre();
    let along = PlanVector::new(1.0, 0.0);
    let heights = area.0.iter().map(|point| point.y);
    let (low, high) = heights.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), y| {
        (low.min(y), high.max(y))
    });
    let mut places = Vec::new();
    if step > 0.0 && (high - low) / step < MOST_HATCH_LINES {
        let mut row = (low / step).ceil();
        while row * step < high {
            let shift = if row.rem_euclid(2.0) < 0.5 { 0.0 } else { 0.5 };
            for (from, to) in area.chords(PlanPoint::new(0.0, row * step), along) {
                let mut column = (from.metres() / step - shift).ceil() + shift;
                while column * step < to.metres() && places.len() < 100_000 {
                    places.push(mapping.place(PlanPoint::new(column * step, row * step)));
                    column += 1.0;
                }
            }
            row += 1.0;
        }
    }
    dots_path(places, 0.3 * MM)
}
