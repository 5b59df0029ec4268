//! The samples of a legend: a piece of line with its letters and ticks, a small area with its marks, a symbol.

use super::font::Face;
use super::labels::ticks_between;
use super::legend::Sample;
use super::svg::{MM, Mapping, PT_PER_METRE, SMALL_PT, SYMBOL_PT, write_area};
use super::theme::{Colour, Pen, Theme, ink, water_code};
use super::writer::{Align, Ends, Letters, Writer, chain, number};
use super::{Footing, Role};
use crate::geometry::{PlanPoint, Polygon};
use crate::model::{PipeRole, WaterKind};

/// Length of a sample in points.
const WIDTH: f64 = 26.0;

/// Writes a sample from its left end, around the line `middle`.
pub(super) fn write_sample(
    sample: Sample,
    (x, middle): (f64, f64),
    theme: Theme,
    paper: &str,
    out: &mut Writer,
) {
    match sample {
        Sample::Line(role) => {
            let look = ink(role, theme);
            let data = format!("M{} {}h{WIDTH}", number(x), number(middle));
            let pattern: f64 = look
                .pen
                .map_or(0.0, |pen| pen.dash_mm.iter().sum::<f64>() * MM);
            // Two rounds of a long pattern are shown.
            let shortened = if pattern > WIDTH / 2.0 {
                WIDTH / 2.0 / pattern
            } else {
                1.0
            };
            out.path_with_dashes(&data, None, look.pen.as_ref(), shortened);
            match role {
                Role::Pipe(water, pipe_role) => {
                    write_ticks((x, middle), water, pipe_role, look.pen.as_ref(), out);
                    let colour =
                        ink(Role::RunCode(water, PipeRole::Main, Footing::Stated), theme).fill;
                    let letters = Letters {
                        size: SMALL_PT,
                        face: Face::Bold,
                        colour: colour.map_or_else(String::new, Colour::hex),
                        halo: Some(paper.to_owned()),
                        align: Align::Middle,
                    };
                    let at = (x + WIDTH / 2.0, middle + SMALL_PT * 0.36);
                    out.text(at, water_code(water), &letters);
                }
                Role::EmitterLine(_) | Role::EmitterLinePressure(..) => {
                    let colour = look.pen.map_or_else(String::new, |pen| pen.colour.hex());
                    for step in [0.2, 0.5, 0.8] {
                        out.raw(&format!(
                            "<circle cx=\"{}\" cy=\"{}\" r=\"{}\" fill=\"{colour}\"/>",
                            number(x + WIDTH * step),
                            number(middle),
                            number(0.45 * MM)
                        ));
                    }
                }
                _ => {}
            }
        }
        Sample::Area(role) => {
            // A metre of this little plan is a point, its millimetres are those of the sheet.
            const HALF: f64 = 5.0;
            let corners = [(0.0, -HALF), (WIDTH, -HALF), (WIDTH, HALF), (0.0, HALF)];
            let outline = Polygon(corners.map(|(x, y)| PlanPoint::new(x, y)).to_vec());
            let mapping = Mapping {
                corner: PlanPoint::new(0.0, 0.0),
                left: x,
                top: middle,
                denominator: PT_PER_METRE,
            };
            // Small marks, so that the sample has several.
            let look = ink(role, theme);
            write_area(&outline, role, &look, (paper, &mapping, MM * 0.62), out);
        }
        Sample::Symbol(symbol, role) => {
            let look = ink(role, theme);
            out.symbol(symbol, (x + WIDTH / 2.0, middle), SYMBOL_PT, &look, paper);
        }
    }
}

/// The ticks of a run at both ends of its sample, as they stand along the run.
fn write_ticks(
    (x, middle): (f64, f64),
    water: WaterKind,
    role: PipeRole,
    pen: Option<&Pen>,
    out: &mut Writer,
) {
    for start in [0.0, WIDTH * 0.74] {
        let ends = vec![(x + start, middle), (x + start + WIDTH * 0.26, middle)];
        for tick in ticks_between(ends, MM, water, role) {
            let data = chain(tick.into_iter(), Ends::Open);
            let thin = pen.map(|pen| Pen {
                width_mm: 0.35,
                dash_mm: &[],
                ..*pen
            });
            out.path(&data, None, thin.as_ref());
        }
    }
}
