//! The legend of a sheet: every sort of mark that the drawing uses, and no other, in groups.

use std::collections::BTreeMap;

use super::font::Face;
use super::sample::write_sample;
use super::svg::{MM, SYMBOL_PT};
use super::theme::{Theme, water_code};
use super::writer::{Align, Letters, Writer};
use super::{Drawing, Footing, Role, Shape, Symbol};
use crate::coverage::SpotKind;
use crate::geometry::Polyline;
use crate::model::{BedUse, FeatureKind, PipeRole, WaterKind};
use crate::rulebook::Verdict;
use crate::text;
use crate::units::{Angle, Length, UnitSystem};

/// A group of the legend.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Group {
    /// Verdict marks with their words.
    Contact,
    /// Bands of rates, dry and flooded spots.
    Rates,
    /// Waters and lines.
    Lines,
    /// Devices and marks of the site.
    Devices,
    /// Areas.
    Areas,
}

impl Group {
    /// Key of its heading.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Contact => "legend.contact",
            Self::Rates => "legend.rates",
            Self::Lines => "legend.lines",
            Self::Devices => "legend.devices",
            Self::Areas => "legend.areas",
        }
    }
}

/// How an entry is shown.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Sample {
    /// A short piece of line.
    Line(Role),
    /// A small area.
    Area(Role),
    /// A symbol at print size.
    Symbol(Symbol, Role),
}

/// One entry.
#[derive(Clone, PartialEq, Debug)]
pub struct Entry {
    /// Its group.
    pub group: Group,
    /// What is shown.
    pub sample: Sample,
    /// Words, with the count or the length.
    pub words: String,
}

/// What is counted for one entry.
enum Amount {
    Count(usize),
    Run(Length),
    None,
}

/// The entries of a drawing, by group.
#[must_use]
pub fn entries(drawing: &Drawing, units: UnitSystem) -> Vec<Entry> {
    // By group and name: pressures of runs differ, their entry is one.
    let mut found: BTreeMap<(Group, u8, String), (Sample, Amount)> = BTreeMap::new();
    for mark in drawing.marks() {
        let Some((group, rank, name, sample, amount)) = entry_of(mark.role, &mark.shape, units)
        else {
            continue;
        };
        let known = found
            .entry((group, rank, name))
            .or_insert((sample, Amount::None));
        known.1 = match (&known.1, amount) {
            (Amount::Count(a), Amount::Count(b)) => Amount::Count(a + b),
            (Amount::Run(a), Amount::Run(b)) => Amount::Run(*a + b),
            (_, amount) => amount,
        };
    }
    found
        .into_iter()
        .map(|((group, _, name), (sample, amount))| {
            let words = match amount {
                Amount::Count(count) if count > 1 => text::fill(
                    "legend.counted",
                    [("name", name), ("count", count.to_string())],
                ),
                Amount::Run(length) => text::fill(
                    "legend.measured",
                    [("name", name), ("length", units.run(length))],
                ),
                Amount::Count(_) | Amount::None => name,
            };
            Entry {
                group,
                sample,
                words,
            }
        })
        .collect()
}

type Found = (Group, u8, String, Sample, Amount);

fn entry_of(role: Role, shape: &Shape, units: UnitSystem) -> Option<Found> {
    match shape {
        Shape::Symbol { symbol, .. } => Some(symbol_entry(*symbol, role)),
        Shape::Line(line) => line_entry(line, role),
        Shape::Area(_) => area_entry(role, units),
        Shape::Dots(_) | Shape::Text { .. } => None,
    }
}

fn said(key: &str) -> String {
    text::get(key).to_owned()
}

/// The name, with the word that tells what it rests on.
fn of_footing(name: String, footing: Footing) -> String {
    match footing {
        Footing::Stated => name,
        Footing::Assumed => text::fill("assumed.of", [("name", name)]),
    }
}

fn symbol_entry(symbol: Symbol, role: Role) -> Found {
    let sample = Sample::Symbol(symbol, role);
    if let Symbol::Verdict(verdict) = symbol {
        let footing = match role {
            Role::Verdict(_, footing) => footing,
            _ => Footing::Stated,
        };
        let name = of_footing(said(verdict.key()), footing);
        return (
            Group::Contact,
            rank_of(verdict),
            name,
            sample,
            Amount::Count(1),
        );
    }
    if symbol == Symbol::Fall {
        // Arrows of one plain are no things to be counted.
        let name = symbol.name().to_owned();
        return (Group::Areas, 41, name, sample, Amount::None);
    }
    let name = match symbol.code() {
        "" => symbol.name().to_owned(),
        code => format!("{code}  {}", symbol.name()),
    };
    let (rank, name) = match role {
        Role::Device(WaterKind::Reclaimed) => (0, name),
        // The same device on another water looks different: its own line, with the letters of the water.
        Role::Device(water) => (
            rank_of_water(water),
            text::fill(
                "legend.of_water",
                [("name", name), ("code", water_code(water).to_owned())],
            ),
        ),
        _ => (9, name),
    };
    (Group::Devices, rank, name, sample, Amount::Count(1))
}

fn line_entry(line: &Polyline, role: Role) -> Option<Found> {
    let run = Amount::Run(line.length());
    let (group, rank, name, amount) = match role {
        Role::Pipe(water, pipe_role) => {
            let name = text::fill(
                "legend.line_of",
                [
                    ("water", said(water_key(water))),
                    ("role", said(role_key(pipe_role))),
                ],
            );
            let rank = 3 * rank_of_water(water) + rank_of_role(pipe_role);
            (Group::Lines, rank, name, run)
        }
        Role::EmitterLine(water) => {
            let name = text::fill(
                "legend.emitter_line_of",
                [("water", said(water_key(water)))],
            );
            (Group::Lines, 20, name, run)
        }
        Role::PipePressure(_, _, _, footing) => {
            let name = of_footing(said("legend.run_pressure"), footing);
            (Group::Lines, 0, name, run)
        }
        Role::EmitterLinePressure(_, footing) => {
            let name = of_footing(said("legend.line_pressure"), footing);
            (Group::Lines, 1, name, run)
        }
        Role::Wetted(footing) => {
            let name = of_footing(said("legend.wetted"), footing);
            (Group::Lines, 30, name, Amount::None)
        }
        Role::SurveyEdge => (Group::Areas, 42, said("legend.survey_edge"), Amount::None),
        Role::PropertyLine => (Group::Areas, 40, said("legend.property"), Amount::None),
        _ => return None,
    };
    Some((group, rank, name, Sample::Line(role), amount))
}

fn area_entry(role: Role, units: UnitSystem) -> Option<Found> {
    if let Role::Rate(band, footing) = role {
        let (rank, name) = match band.spot {
            None => (band.step, super::coverage::words(band, units)),
            Some(SpotKind::Dry) => (100, said("legend.dry")),
            Some(SpotKind::Flooded) => (101, said("legend.flooded")),
        };
        let name = of_footing(name, footing);
        return Some((Group::Rates, rank, name, Sample::Area(role), Amount::None));
    }
    let (rank, name, amount) = match role {
        Role::Feature(kind) => (10, said(feature_key(kind)), Amount::None),
        Role::Planted(usage, _) => {
            let key = match usage {
                BedUse::Food => "legend.food",
                BedUse::Lawn => "legend.lawn",
                BedUse::Ornamental => "legend.ornamental",
            };
            (0, said(key), Amount::Count(1))
        }
        Role::Canopy => (20, said("legend.canopy"), Amount::None),
        _ => return None,
    };
    // In a sample rows run with the writing.
    let role = match role {
        Role::Planted(usage, _) => Role::Planted(usage, Angle::ZERO),
        other => other,
    };
    Some((Group::Areas, rank, name, Sample::Area(role), amount))
}

const fn rank_of(verdict: Verdict) -> u8 {
    match verdict {
        Verdict::Prohibit => 0,
        Verdict::Ask => 1,
        Verdict::IfProcessed => 2,
        Verdict::Conditions => 3,
        Verdict::NoConflict => 4,
    }
}

const fn rank_of_water(water: WaterKind) -> u8 {
    match water {
        WaterKind::Reclaimed => 0,
        WaterKind::Potable => 1,
        WaterKind::OtherNonPotable => 2,
    }
}

const fn rank_of_role(role: PipeRole) -> u8 {
    match role {
        PipeRole::Service => 0,
        PipeRole::Main => 1,
        PipeRole::Lateral => 2,
    }
}

const fn water_key(water: WaterKind) -> &'static str {
    match water {
        WaterKind::Reclaimed => "legend.reclaimed",
        WaterKind::Potable => "legend.potable",
        WaterKind::OtherNonPotable => "legend.other",
    }
}

const fn role_key(role: PipeRole) -> &'static str {
    match role {
        PipeRole::Service => "legend.service",
        PipeRole::Main => "legend.main",
        PipeRole::Lateral => "legend.lateral",
    }
}

/// The key of the words for a kind of feature.
#[must_use]
pub const fn feature_key(kind: FeatureKind) -> &'static str {
    match kind {
        FeatureKind::Building => "legend.building",
        FeatureKind::HardSurface => "legend.hard_surface",
        FeatureKind::Pool => "legend.pool",
        FeatureKind::WaterBody => "legend.water_body",
        FeatureKind::EatingArea => "legend.eating_area",
        FeatureKind::PlayArea => "legend.play_area",
        FeatureKind::PetArea => "legend.pet_area",
        FeatureKind::NeighbourLand => "legend.neighbour",
        FeatureKind::Terrace => "legend.terrace",
    }
}

/// Distance of two entries.
pub const PITCH: f64 = SYMBOL_PT + 0.6;
/// Height of a heading.
pub const HEADING: f64 = 18.0;
/// Width of the samples, with the gap to the words.
const SAMPLE: f64 = 34.0;
/// Type size of the words: a step above the smallest.
pub const WORDS_PT: f64 = 1.95 * MM / super::font::CAP_HEIGHT;

/// A place in the columns: group headings and entries in order.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Row<'a> {
    /// The heading of a group; again where the group goes on in another column.
    Heading {
        /// The group.
        group: Group,
        /// It began in the column before.
        continues: bool,
    },
    /// An entry.
    Entry(&'a Entry),
}

impl Row<'_> {
    const fn height(&self) -> f64 {
        match self {
            Self::Heading { .. } => HEADING,
            Self::Entry(_) => PITCH,
        }
    }
}

/// Width of a column that holds all of some rows.
#[must_use]
pub fn column_width(rows: &[Row<'_>]) -> f64 {
    let width = |row: &Row<'_>| match row {
        Row::Entry(entry) => super::font::width(&entry.words, Face::Regular) * WORDS_PT + SAMPLE,
        Row::Heading { group, continues } => {
            super::font::width(&heading(*group, *continues), Face::Bold) * WORDS_PT
        }
    };
    rows.iter().map(width).fold(0.0, f64::max) + 4.0
}

fn heading(group: Group, continues: bool) -> String {
    let name = said(group.key());
    if continues {
        text::fill("legend.continued", [("group", name)])
    } else {
        name
    }
}

/// The rows of a legend: each group with its heading.
#[must_use]
pub fn rows(entries: &[Entry]) -> Vec<Row<'_>> {
    let mut rows = Vec::new();
    let mut group = None;
    for entry in entries {
        if group != Some(entry.group) {
            rows.push(Row::Heading {
                group: entry.group,
                continues: false,
            });
            group = Some(entry.group);
        }
        rows.push(Row::Entry(entry));
    }
    rows
}

/// Deals the rows into at most `count` columns of about the same height; no heading ends a column, and a column that begins
/// within a group says which. Returns the columns and the height of the tallest.
#[must_use]
pub fn columns<'a>(rows: &[Row<'a>], count: usize) -> (Vec<Vec<Row<'a>>>, f64) {
    let total: f64 = rows.iter().map(Row::height).sum();
    let mut limit = total / f64::from(u32::try_from(count.max(1)).unwrap_or(1));
    loop {
        let mut columns: Vec<Vec<Row<'a>>> = vec![Vec::new()];
        let (mut filled, mut tallest) = (0.0, 0.0_f64);
        for (index, row) in rows.iter().enumerate() {
            // A heading needs room for its first entry too.
            let needed = match (row, rows.get(index + 1)) {
                (Row::Heading { .. }, Some(_)) => HEADING + PITCH,
                _ => row.height(),
            };
            if filled > 0.0 && filled + needed > limit + 0.5 {
                let (begun, height) = match row {
                    Row::Entry(entry) => {
                        let group = entry.group;
                        let continues = true;
                        (vec![Row::Heading { group, continues }], HEADING)
                    }
                    Row::Heading { .. } => (Vec::new(), 0.0),
                };
                columns.push(begun);
                filled = height;
            }
            if let Some(column) = columns.last_mut() {
                column.push(*row);
            }
            filled += row.height();
            tallest = tallest.max(filled);
        }
        if columns.len() <= count.max(1) {
            return (columns, tallest);
        }
        limit += PITCH / 2.0;
    }
}

/// Writes one column from its top left corner.
pub fn write_column(
    column: &[Row<'_>],
    (x, y): (f64, f64),
    theme: Theme,
    paper: &str,
    out: &mut Writer,
) {
    let letters = |face| Letters {
        size: WORDS_PT,
        face,
        colour: theme.token("ink").hex(),
        halo: None,
        align: Align::Start,
    };
    let mut top = y;
    for row in column {
        match row {
            Row::Heading { group, continues } => {
                let at = (x, top + HEADING - 6.0);
                let words = heading(*group, *continues);
                out.text(at, &words, &letters(Face::Bold));
            }
            Row::Entry(entry) => {
                let middle = top + PITCH / 2.0;
                write_sample(entry.sample, (x, middle), theme, paper, out);
                let at = (x + SAMPLE, middle + WORDS_PT * 0.36);
                out.text(at, &entry.words, &letters(Face::Regular));
            }
        }
        top += row.height();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_hold_every_row_once_and_no_heading_ends_one() {
        let entry = |group| Entry {
            group,
            sample: Sample::Line(Role::PropertyLine),
            words: "x".to_owned(),
        };
        let groups = [
            Group::Lines,
            Group::Lines,
            Group::Devices,
            Group::Devices,
            Group::Areas,
        ];
        let entries: Vec<Entry> = groups.map(entry).to_vec();
        let rows = rows(&entries);
        for count in 1..5 {
            let (columns, _) = columns(&rows, count);
            assert!(columns.len() <= count);
            let mut told = columns.concat();
            told.retain(|row| {
                !matches!(
                    row,
                    Row::Heading {
                        continues: true,
                        ..
                    }
                )
            });
            assert_eq!(told, rows);
            let begins_open = |column: &Vec<Row<'_>>| matches!(column.first(), Some(Row::Entry(_)));
            assert!(!columns.iter().any(begins_open));
            let ends_open =
                |column: &Vec<Row<'_>>| matches!(column.last(), Some(Row::Heading { .. }));
            assert!(!columns.iter().any(ends_open));
        }
    }
}
