//! What stands around a drawing on its sheet: scale bar, north arrow, wrapped small print.

use super::font::{self, Face};
use super::svg::{MM, SMALL_PT};
use super::theme::Theme;
use super::writer::{Align, Letters, Writer, number};
use crate::text;
use crate::units::{Angle, display};

/// Segments of a scale bar.
const SEGMENTS: u32 = 5;
/// The longest bar.
const LONGEST_BAR_PT: f64 = 90.0 * MM;

/// The length of one segment in its unit: the largest of 1, 2, 5 times a power of ten that keeps the bar within `longest`.
#[must_use]
pub fn segment(points_per_unit: f64, longest: f64) -> f64 {
    let most = longest / (points_per_unit * f64::from(SEGMENTS));
    if !(most.is_finite() && most > 0.0) {
        return 1.0;
    }
    let power = 10_f64.powf(most.log10().floor());
    [5.0, 2.0, 1.0]
        .into_iter()
        .map(|step| step * power)
        .find(|length| *length <= most * (1.0 + 1e-9))
        .unwrap_or(power)
}

/// Height of the scale bar with its words.
pub const SCALE_BAR_HEIGHT: f64 = 58.0;

/// Writes the scale bar into a column: feet above, metres below, how long the upper bar is on paper, and how many names found
/// no room at this scale.
pub fn write_scale_bar(
    (x, y): (f64, f64),
    width: f64,
    (points_per_metre, left_out): (f64, usize),
    theme: Theme,
    paper: &str,
    out: &mut Writer,
) {
    let ink = theme.token("ink").hex();
    // The unit hangs over the end.
    let longest = (width - 26.0).min(LONGEST_BAR_PT);
    let height = 1.4 * MM;
    let letters = Letters {
        size: SMALL_PT,
        face: Face::Regular,
        colour: ink.clone(),
        halo: None,
        align: Align::Start,
    };
    let top = y + 14.0;
    let bars = [
        ("ft", points_per_metre * 0.3048, top, y + 10.5),
        (
            "m",
            points_per_metre,
            top + height,
            top + 2.0 * height + 9.5,
        ),
    ];
    let mut upper = 0.0;
    for (unit, per_unit, top, baseline) in bars {
        let one = segment(per_unit, longest);
        let step = one * per_unit;
        if unit == "ft" {
            upper = step * f64::from(SEGMENTS);
        }
        for index in 0..SEGMENTS {
            // The two bars start in opposite ink, so that both are read in grey.
            let is_dark = (index % 2 == 0) == (unit == "ft");
            let fill = if is_dark { ink.as_str() } else { paper };
            out.raw(&format!(
                "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" fill=\"{fill}\" stroke=\"{ink}\" stroke-width=\"0.5\"/>",
                number(x + step * f64::from(index)),
                number(top),
                number(step),
                number(height)
            ));
        }
        let decimals = |index: u32| usize::from(one < 1.0 && index > 0);
        for index in [0, 1, SEGMENTS] {
            let value = display::fixed(one * f64::from(index), decimals(index));
            // The figure stands over its line, the unit after it.
            let label = if index == SEGMENTS {
                format!("{value} {unit}")
            } else {
                value.clone()
            };
            let shift = font::width(&value, Face::Regular) * SMALL_PT / 2.0;
            let at = x + step * f64::from(index) - shift;
            out.text((at.max(x), baseline), &label, &letters);
        }
    }
    let mm = upper / MM;
    let (mm_words, in_words) = (display::fixed(mm, 1), display::fixed(mm / 25.4, 2));
    let length = format!("{in_words} in ({mm_words} mm)");
    let note = text::fill("paper.scale_note", [("length", length)]);
    out.text((x, y + SCALE_BAR_HEIGHT - 13.0), &note, &letters);
    let mut check = text::get("paper.print_check").to_owned();
    if left_out > 0 {
        check.push(' ');
        check += &text::fill("paper.left_out", [("count", left_out.to_string())]);
    }
    out.text((x, y + SCALE_BAR_HEIGHT - 3.5), &check, &letters);
}

/// Height of the north arrow, without the words about its turn.
pub const NORTH_HEIGHT: f64 = 18.0 * MM;

/// Writes the north arrow around the vertical through `x`: a thin needle, its right half filled, N at its point.
pub fn write_north((x, y): (f64, f64), north: Angle, theme: Theme, paper: &str, out: &mut Writer) {
    let ink = theme.token("ink").hex();
    const HALF: f64 = 2.2;
    let (tip, tail) = (y + 12.0, y + NORTH_HEIGHT);
    let middle = f64::midpoint(tip, tail);
    let turn = north.degrees();
    let letters = Letters {
        size: SMALL_PT * 1.25,
        face: Face::Bold,
        colour: ink.clone(),
        halo: None,
        align: Align::Middle,
    };
    let [cx, cy, tip, tail] = [x, middle, tip, tail].map(number);
    let [left, right] = [x - HALF, x + HALF].map(number);
    out.raw(&format!(
        "<g transform=\"rotate({} {cx} {cy})\">",
        number(turn)
    ));
    out.raw(&format!(
        "<path d=\"M{cx} {tip}L{left} {cy}L{cx} {tail}L{right} {cy}z\" fill=\"{paper}\" stroke=\"{ink}\" stroke-width=\"0.6\" stroke-linejoin=\"round\"/>"
    ));
    out.raw(&format!(
        "<path d=\"M{cx} {tip}L{right} {cy}L{cx} {tail}z\" fill=\"{ink}\"/>"
    ));
    out.text((x, y + 9.0), text::get("paper.north"), &letters);
    out.close();
    if turn.abs() > 0.5 {
        let side = if turn > 0.0 {
            "paper.right"
        } else {
            "paper.left"
        };
        let note = text::fill(
            "paper.north_turned",
            [
                ("degrees", display::fixed(turn.abs(), 0)),
                ("side", text::get(side).to_owned()),
            ],
        );
        let small = Letters {
            size: SMALL_PT,
            face: Face::Regular,
            ..letters
        };
        out.text((x, y + NORTH_HEIGHT + 9.0), &note, &small);
    }
}

/// Breaks a text into lines no wider than `width` points at a type size.
#[must_use]
pub fn wrapped(text: &str, size: f64, width: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        if let Some(line) = lines.last_mut() {
            let longer = format!("{line} {word}");
            if font::width(&longer, Face::Regular) * size <= width {
                *line = longer;
                continue;
            }
        }
        lines.push(word.to_owned());
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn segments_are_round_and_the_bar_is_never_too_long() {
        for denominator in [20.0, 48.0, 60.0, 96.0, 120.0, 192.0, 240.0, 500.0, 720.0] {
            let per_metre = 72.0 / 0.0254 / denominator;
            let one = segment(per_metre, LONGEST_BAR_PT);
            let lead = one / 10_f64.powf(one.log10().floor());
            let is_round = [1.0, 2.0, 5.0]
                .iter()
                .any(|round| (lead - round).abs() < 1e-9);
            assert!(is_round, "{one}");
            let bar = one * per_metre * 5.0;
            assert!(
                bar <= LONGEST_BAR_PT + 1e-6 && bar > LONGEST_BAR_PT / 2.6,
                "{bar}"
            );
        }
    }

    #[test]
    fn wrapped_lines_keep_their_words_and_their_width() {
        let text =
            "keep children and pets out of the wetted area and wash produce with drinking water";
        let lines = wrapped(text, 7.0, 120.0);
        assert_eq!(lines.join(" "), text);
        let width = |line: &String| font::width(line, Face::Regular) * 7.0;
        assert!(lines.iter().all(|line| width(line) <= 120.0));
    }
}
