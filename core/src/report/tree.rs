//! A report as a tree: title, facts, sections of blocks. Every sink – PDF, plain text – prints the same tree, so that no number
//! is formatted twice.

use serde::Serialize;

use crate::rulebook::Verdict;
use crate::units::UnitSystem;

/// A whole report.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Report {
    /// The name of the plan.
    pub title: String,
    /// What sort of report it is.
    pub kind: String,
    /// Language of its words, as a code.
    pub language: &'static str,
    /// What is known about the plan at a glance: label and words.
    pub facts: Vec<(String, String)>,
    /// Sections in order.
    pub sections: Vec<Section>,
    /// Line at the foot of each page that tells name, design and state.
    pub running: String,
    /// Line at the foot of each page that tells the rules, their dates and whom to ask.
    pub footer: String,
    /// The paper.
    pub paper: PaperSize,
}

/// Paper of a report.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum PaperSize {
    /// 8.5 × 11 in.
    Letter,
    /// 210 × 297 mm.
    A4,
}

impl PaperSize {
    /// The usual paper where a family of units is used.
    #[must_use]
    pub const fn of(units: UnitSystem) -> Self {
        match units {
            UnitSystem::Us => Self::Letter,
            UnitSystem::Metric => Self::A4,
        }
    }

    /// Width between the margins, in points.
    #[must_use]
    pub const fn content_width(self) -> f64 {
        match self {
            Self::Letter => 612.0 - 2.0 * MARGIN_PT,
            Self::A4 => 210.0 * 72.0 / 25.4 - 2.0 * MARGIN_PT,
        }
    }
}

/// Margin left and right of a report page, in points.
pub const MARGIN_PT: f64 = 45.0;

/// A section.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Section {
    /// Heading.
    pub heading: String,
    /// Contents in order.
    pub blocks: Vec<Block>,
}

/// A piece of a section.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[serde(tag = "block", rename_all = "snake_case")]
pub enum Block {
    /// Running text.
    Paragraph {
        /// The text.
        text: String,
    },
    /// A table.
    Table(Table),
    /// A drawing.
    Figure(Figure),
    /// A list of sentences.
    List {
        /// The sentences.
        items: Vec<String>,
    },
    /// Entries with a word at their side.
    Entries {
        /// The entries.
        items: Vec<Entry>,
    },
    /// Numbered notes, from 1, that other blocks refer to.
    Notes {
        /// The notes.
        items: Vec<String>,
        /// Words below them, on all of them.
        below: String,
    },
    /// What must not be overlooked.
    Cautions {
        /// The sentences.
        items: Vec<String>,
    },
}

/// A table with a head that repeats on each page.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Table {
    /// What it shows, for those who cannot see it.
    pub caption: String,
    /// Columns.
    pub columns: Vec<Column>,
    /// Rows of cells, one a column.
    pub rows: Vec<Vec<Cell>>,
    /// Rows short enough to stand in two halves side by side.
    pub in_halves: bool,
}

/// A column.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Column {
    /// Its head.
    pub head: String,
    /// Share of the width.
    pub width: f64,
    /// Where its cells stand.
    pub align: Align,
}

/// Where the text of a column stands.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Align {
    /// Words.
    Left,
    /// Numbers.
    Right,
}

/// A cell: lines of text, with a verdict mark before them where it tells a verdict.
#[derive(Clone, PartialEq, Debug, Default, Serialize)]
pub struct Cell {
    /// Lines.
    pub lines: Vec<String>,
    /// The mark.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mark: Option<Verdict>,
}

impl Cell {
    /// One line.
    #[must_use]
    pub fn of(text: impl Into<String>) -> Self {
        Self {
            lines: vec![text.into()],
            mark: None,
        }
    }
}

/// A sentence with a word at its side and lines below.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Entry {
    /// The word at the side.
    pub tag: String,
    /// The sentence.
    pub text: String,
    /// Lines below: where it stands, what would help.
    pub below: Vec<String>,
}

/// A drawing.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Figure {
    /// The SVG document.
    pub svg: String,
    /// What it shows, 20 to 500 letters.
    pub alt: String,
    /// Words below it.
    pub caption: String,
    /// Printed width in points; it is never scaled.
    pub width_pt: f64,
    /// Printed height in points.
    pub height_pt: f64,
}
