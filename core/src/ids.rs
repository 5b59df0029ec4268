//! Names of plan objects: a kind letter and a number, such as `B3`. Never reused, sorted by letter, then by number.

use std::fmt;
use std::str::FromStr;

/// What sort of object an id names. The letter is part of the file format.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Kind {
    /// `B`: a planted area: food bed, lawn, ornamental strip.
    Bed,
    /// `C`: a marked crossing of two pipes.
    Crossing,
    /// `D`: a device that water flows through.
    Device,
    /// `E`: a single emission device: emitter, bubbler, spray head.
    Emission,
    /// `F`: an area of the site that is not planted: building, paving, eating area.
    Feature,
    /// `G`: a sign.
    Sign,
    /// `H`: a spot height.
    Height,
    /// `L`: an emitter line drawn by hand.
    Line,
    /// `M`: a point of the site: a well, an entry.
    Mark,
    /// `N`: a note of a reviewer.
    Note,
    /// `O`: an outlet that a person can open.
    Outlet,
    /// `P`: a pipe run.
    Pipe,
    /// `S`: a supply: the point of connection of one water.
    Supply,
    /// `T`: a tree or another single plant.
    Tree,
    /// `V`: a valve box or manifold.
    Box,
    /// `W`: a water.
    Water,
    /// `Z`: a zone: what one valve opens.
    Zone,
}

/// Letter, kind: the one table that parsing and printing share.
const LETTERS: [(char, Kind); 17] = [
    ('B', Kind::Bed),
    ('C', Kind::Crossing),
    ('D', Kind::Device),
    ('E', Kind::Emission),
    ('F', Kind::Feature),
    ('G', Kind::Sign),
    ('H', Kind::Height),
    ('L', Kind::Line),
    ('M', Kind::Mark),
    ('N', Kind::Note),
    ('O', Kind::Outlet),
    ('P', Kind::Pipe),
    ('S', Kind::Supply),
    ('T', Kind::Tree),
    ('V', Kind::Box),
    ('W', Kind::Water),
    ('Z', Kind::Zone),
];

impl Kind {
    /// The letter that ids of this kind begin with.
    #[must_use]
    pub fn letter(self) -> char {
        LETTERS
            .iter()
            .find(|(_, kind)| *kind == self)
            .map_or('?', |(letter, _)| *letter)
    }
}

/// The name of one object.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct Id {
    /// What it names.
    pub kind: Kind,
    /// Counts up from 1 within the kind.
    pub number: u32,
}

impl Id {
    /// An id from its parts.
    #[must_use]
    pub const fn new(kind: Kind, number: u32) -> Self {
        Self { kind, number }
    }
}

impl fmt::Display for Id {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}{}", self.kind.letter(), self.number)
    }
}

/// Names in short: `B1, B2, P7–P10`.
#[must_use]
pub fn in_short(ids: impl IntoIterator<Item = Id>) -> String {
    ranges(ids).join(", ")
}

/// Names and ranges of names, in the order given: three or more that follow each other become a range.
#[must_use]
pub fn ranges(ids: impl IntoIterator<Item = Id>) -> Vec<String> {
    let mut runs: Vec<(Id, u32)> = Vec::new();
    for id in ids {
        match runs.last_mut() {
            Some((first, last))
                if first.kind == id.kind && last.checked_add(1) == Some(id.number) =>
            {
                *last = id.number;
            }
            _ => runs.push((id, id.number)),
        }
    }
    let mut shown = Vec::new();
    for (first, last) in runs {
        let end = Id::new(first.kind, last);
        match last - first.number {
            0 => shown.push(first.to_string()),
            1 => shown.extend([first.to_string(), end.to_string()]),
            _ => shown.push(format!("{first}–{end}")),
        }
    }
    shown
}

/// The text is not an id.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("\"{0}\" is not an object id: expected a kind letter and a number, such as B3")]
pub struct NotAnId(String);

impl FromStr for Id {
    type Err = NotAnId;
    fn from_str(text: &str) -> Result<Self, NotAnId> {
        let refused = || NotAnId(text.to_owned());
        let mut characters = text.chars();
        let letter = characters.next().ok_or_else(refused)?;
        let kind = LETTERS
            .iter()
            .find(|(known, _)| *known == letter)
            .ok_or_else(refused)?
            .1;
        let digits = characters.as_str();
        // One spelling only: `B03` or `B+3` would make two names for one object.
        if digits.starts_with('0') || !digits.bytes().all(|byte| byte.is_ascii_digit()) {
            return Err(refused());
        }
        let number = digits.parse().map_err(|_| refused())?;
        Ok(Self { kind, number })
    }
}

impl serde::Serialize for Id {
    fn serialize<S: serde::Serializer>(&self, sink: S) -> Result<S::Ok, S::Error> {
        sink.collect_str(self)
    }
}

impl<'de> serde::Deserialize<'de> for Id {
    fn deserialize<D: serde::Deserializer<'de>>(source: D) -> Result<Self, D::Error> {
        let text = <std::borrow::Cow<'_, str>>::deserialize(source)?;
        text.parse().map_err(serde::de::Error::custom)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ids_have_one_spelling() {
        assert_eq!(
            "P12".parse::<Id>().map(|id| id.to_string()),
            Ok("P12".to_owned())
        );
        for text in [
            "",
            "P",
            "P0",
            "P01",
            "p1",
            "P+1",
            "X1",
            "P1a",
            "P99999999999",
        ] {
            assert!(text.parse::<Id>().is_err(), "{text}");
        }
    }

    #[test]
    fn ids_sort_by_letter_then_number() {
        let mut ids: Vec<Id> = ["P10", "B3", "P2"]
            .iter()
            .filter_map(|text| text.parse().ok())
            .collect();
        ids.sort();
        let texts: Vec<String> = ids.iter().map(ToString::to_string).collect();
        assert_eq!(texts, ["B3", "P2", "P10"]);
    }

    #[test]
    fn three_in_a_row_become_a_range() {
        let ids = ["B1", "B2", "P2", "P7", "P8", "P9", "P10", "Z11"];
        let ids = ids.iter().filter_map(|text| text.parse().ok());
        assert_eq!(in_short(ids), "B1, B2, P2, P7–P10, Z11");
        assert_eq!(in_short([]), "");
    }

    #[test]
    fn the_letters_are_in_the_order_of_the_kinds() {
        assert!(
            LETTERS
                .windows(2)
                .all(|pair| pair[0].0 < pair[1].0 && pair[0].1 < pair[1].1)
        );
    }
}
