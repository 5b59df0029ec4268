//! The one type family of window, SVG and paper, and the widths of its letters.
//!
//! B612 (SIL Open Font License 1.1, `core/data/fonts/OFL.txt`): made to be read on instruments, with figures of one width.
//! The widths are a table taken from the font files, so that labels can be measured without reading a font.

use std::collections::BTreeMap;
use std::sync::LazyLock;

/// Name of the family inside the files.
pub const FAMILY: &str = "B612";
/// The regular face.
pub const REGULAR: &[u8] = include_bytes!("../../data/fonts/B612-Regular.otf");
/// The bold face.
pub const BOLD: &[u8] = include_bytes!("../../data/fonts/B612-Bold.otf");

/// Units of the font's square.
const UNITS_PER_EM: f64 = 2000.0;
/// Height of capitals over the type size.
pub const CAP_HEIGHT: f64 = 1500.0 / UNITS_PER_EM;
/// Height of the line above the baseline over the type size.
pub const ASCENT: f64 = 1930.0 / UNITS_PER_EM;
/// Depth of the line below the baseline over the type size.
pub const DESCENT: f64 = 500.0 / UNITS_PER_EM;

const TABLE: &str = include_str!("../../data/fonts/advances.csv");

static ADVANCES: LazyLock<BTreeMap<char, [f64; 2]>> = LazyLock::new(|| {
    TABLE
        .lines()
        .skip(1)
        .filter_map(|line| {
            let mut cells = line.split(',');
            let code: u32 = cells.next()?.parse().ok()?;
            let regular: f64 = cells.next()?.parse().ok()?;
            let bold: f64 = cells.next()?.parse().ok()?;
            Some((
                char::from_u32(code)?,
                [regular / UNITS_PER_EM, bold / UNITS_PER_EM],
            ))
        })
        .collect()
});

/// A face of the family.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum Face {
    /// Regular.
    #[default]
    Regular,
    /// Bold.
    Bold,
}

/// Whether the family has a letter for a character.
#[must_use]
pub fn has(letter: char) -> bool {
    ADVANCES.contains_key(&letter)
}

/// Width of a text over its type size. A letter that the family lacks counts as wide as a figure.
#[must_use]
pub fn width(text: &str, face: Face) -> f64 {
    const FIGURE: f64 = 1300.0 / UNITS_PER_EM;
    let index = usize::from(face == Face::Bold);
    text.chars()
        .map(|letter| ADVANCES.get(&letter).map_or(FIGURE, |widths| widths[index]))
        .sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_have_one_width() {
        let first = width("0", Face::Regular);
        assert!(
            "123456789"
                .chars()
                .all(|figure| (width(&figure.to_string(), Face::Regular) - first).abs() < 1e-12)
        );
    }

    #[test]
    fn the_family_has_what_drawings_need() {
        for letter in "→←↑↓′″½¼¾⅛⅜⅝⅞°×÷≤≥≈−–—²³·…±§“”‘’•éñü".chars()
        {
            assert!(has(letter), "{letter}");
        }
    }
}
