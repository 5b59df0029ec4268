//! The crops of a home garden: where the edible part sits, and how the crop is usually eaten.
//!
//! Contact with water is not stored here: `contact::exposure` generates it from position, method and geometry.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use crate::finding::Basis;
use crate::units::Length;

/// Where the edible part sits; the bands of height are those of section 8 of the rule report.
#[derive(
    Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, serde::Serialize, serde::Deserialize,
)]
#[serde(rename_all = "snake_case")]
pub enum Position {
    /// In the ground: roots, tubers, bulbs.
    Below,
    /// On the ground, up to 4 cm.
    Surface,
    /// From 5 to 24 cm.
    Low,
    /// From 25 to 49 cm.
    Mid,
    /// From 50 cm, not a tree.
    High,
    /// On a tree.
    Tree,
}

impl Position {
    /// All, from the ground up.
    pub const ALL: [Self; 6] = [
        Self::Below,
        Self::Surface,
        Self::Low,
        Self::Mid,
        Self::High,
        Self::Tree,
    ];

    /// The band of a height that a person measured. Trees stay trees and roots stay roots, whatever the number.
    #[must_use]
    pub fn at_height(self, lowest_edible: Length) -> Self {
        match self {
            Self::Below | Self::Tree => self,
            _ if lowest_edible < Length::from_metres(0.05) => Self::Surface,
            _ if lowest_edible < Length::from_metres(0.25) => Self::Low,
            _ if lowest_edible < Length::from_metres(0.50) => Self::Mid,
            _ => Self::High,
        }
    }
}

/// How nearly everyone eats a crop. Removing the skin and cooking are two different things to the rules.
#[derive(Clone, Copy, PartialEq, Eq, Debug, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum UsualPreparation {
    /// Raw, with its skin.
    Raw,
    /// Habits differ: ask.
    Ask,
    /// Skin, rind, husk or shell is removed; otherwise raw or not told.
    SkinRemoved,
    /// Cooked, with its skin.
    Cooked,
    /// Both.
    SkinRemovedAndCooked,
    /// One or the other.
    SkinRemovedOrCooked,
}

impl UsualPreparation {
    /// Whether the skin is always removed.
    #[must_use]
    pub const fn skin_removed(self) -> bool {
        matches!(self, Self::SkinRemoved | Self::SkinRemovedAndCooked)
    }

    /// Whether it is always cooked.
    #[must_use]
    pub const fn cooked(self) -> bool {
        matches!(self, Self::Cooked | Self::SkinRemovedAndCooked)
    }
}

/// One crop.
#[derive(Clone, PartialEq, Debug, serde::Serialize, serde::Deserialize)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is a separate attribute that rules ask for"
)]
pub struct Crop {
    /// Stable name in plan files.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// Other names, by which it is found too.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub also: Vec<String>,
    /// Where the edible part sits.
    pub position: Position,
    /// Height of the lowest edible part above the soil; negative below it.
    #[serde(rename = "lowest_edible_m")]
    pub lowest_edible: Length,
    /// The habit in words.
    pub usual_preparation: String,
    /// The habit as the rules see it.
    pub preparation: UsualPreparation,
    /// A citrus: some rules have a clause of its own for them.
    pub citrus: bool,
    /// A nut tree.
    pub nut: bool,
    /// Grows on a tree.
    pub tree: bool,
    /// Grows on a vine that rules for vineyards speak of.
    pub vine: bool,
    /// On the federal list of produce rarely eaten raw; a hint only.
    pub list_112_2: bool,
    /// What to know about it.
    pub note: String,
    /// Where this row comes from.
    pub source: String,
    /// How it is known.
    pub basis: Basis,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub extra: BTreeMap<String, serde_json::Value>,
}

impl Crop {
    /// How well words name it, 0 the best: its own name begins with them, another one does, its own holds them, another one
    /// does. `None` where no name holds them.
    #[must_use]
    pub fn named_by(&self, words: &str) -> Option<u8> {
        let wanted = words.trim().to_lowercase();
        let own = std::iter::once((0, &self.name));
        let others = self.also.iter().map(|name| (1, name));
        let rank = |(rank, name): (u8, &String)| {
            let name = name.to_lowercase();
            let begins = name.starts_with(&wanted);
            name.contains(&wanted)
                .then(|| if begins { rank } else { rank + 2 })
        };
        own.chain(others).filter_map(rank).min()
    }
}

#[derive(serde::Deserialize)]
struct File {
    crop: Vec<Crop>,
}

static CROPS: LazyLock<BTreeMap<String, Crop>> = LazyLock::new(|| {
    // A file that does not parse leaves the table empty, which a test reports.
    toml::from_str::<File>(include_str!("../../data/catalog/crops.toml"))
        .map(|file| {
            file.crop
                .into_iter()
                .map(|crop| (crop.id.clone(), crop))
                .collect()
        })
        .unwrap_or_default()
});

/// Every crop, by its id.
#[must_use]
pub fn crops() -> &'static BTreeMap<String, Crop> {
    &CROPS
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_rows_are_read_and_every_height_lies_in_its_band() {
        assert_eq!(crops().len(), 103);
        for crop in crops().values() {
            let banded = crop.position.at_height(crop.lowest_edible);
            assert_eq!(banded, crop.position, "{}", crop.id);
            assert_eq!(crop.tree, crop.position == Position::Tree, "{}", crop.id);
        }
    }

    #[test]
    fn a_crop_is_found_by_any_of_its_names() {
        let crop = &crops()["eggplant"];
        assert_eq!(crop.named_by("egg"), Some(0));
        assert_eq!(crop.named_by("Aubergine"), Some(1));
        assert_eq!(crop.named_by("plant"), Some(2));
        assert_eq!(crop.named_by("enjena"), Some(3));
        assert_eq!(crop.named_by("tomato"), None);
    }

    #[test]
    fn removing_the_skin_and_cooking_are_told_apart() {
        let habit = |id: &str| crops()[id].preparation;
        assert!(habit("jicama").skin_removed() && !habit("jicama").cooked());
        assert!(!habit("potato").skin_removed() && habit("potato").cooked());
        assert_eq!(habit("olive"), UsualPreparation::Ask);
    }
}
