//! The yard itself: its outline, soil, wind, what was told about it, and the points that rules speak of.

use std::collections::BTreeMap;

use super::{Extra, Meta, is_default};
use crate::geometry::{PlanPoint, Polygon};
use crate::ids::Id;
use crate::rulebook::SiteKind;
use crate::units::{Angle, DepthRate, Length, Temperature, UnitSystem, Velocity};

/// Facts of the whole site.
#[derive(Clone, PartialEq, Debug, Default, serde::Serialize, serde::Deserialize)]
pub struct Site {
    /// The property line.
    #[serde(rename = "outline_m", default)]
    pub outline: Polygon,
    /// Town or valley, free words.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub place: String,
    /// What sort of site the rules see.
    #[serde(default)]
    pub kind: SiteKind,
    /// Units that people read on this plan.
    #[serde(default)]
    pub units: UnitSystem,
    /// Direction of true north, clockwise from the top of the sheet.
    #[serde(rename = "north_deg", default, skip_serializing_if = "is_default")]
    pub north: Angle,
    /// The soil.
    #[serde(default, skip_serializing_if = "is_default")]
    pub soil: Soil,
    /// Water temperature; 20 °C is assumed when absent.
    #[serde(
        rename = "water_temperature_c",
        default,
        skip_serializing_if = "Option::is_none"
    )]
    pub water_temperature: Option<Temperature>,
    /// Wind at which spray drift is judged; 4.5 m/s is assumed when absent.
    #[serde(
        rename = "design_wind_mps",
        default,
        skip_serializing_if = "Option::is_none"
    )]
    pub design_wind: Option<Velocity>,
    /// When watering is allowed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hours: Option<Hours>,
    /// How exactly the drawing was measured: a distance on site may be that much less. Distances are taken as drawn when absent.
    #[serde(
        rename = "measured_within_m",
        default,
        skip_serializing_if = "Option::is_none"
    )]
    pub measured_within: Option<Length>,
    /// Somebody looked for wells on and around the site and drew what there is.
    #[serde(default, skip_serializing_if = "is_default")]
    pub wells_surveyed: bool,
    /// What was answered about the drinking-water side; a question without an answer is open.
    #[serde(default, skip_serializing_if = "is_default")]
    pub premises: Premises,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub extra: Extra,
}

/// A question about the drinking-water side of the property: what could join the two waters, or need distance from one.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Premise {
    /// A fountain, outdoor sink or place to wash hands.
    WashPoint,
    /// A well or spring on the land or beside it.
    Well,
    /// A pool, pond or fountain that drinking water fills.
    PoolFill,
    /// A backflow assembly behind the drinking-water meter.
    MeterProtection,
    /// A vacuum breaker on every hose tap.
    TapBreakers,
    /// Irrigation on drinking water.
    DrinkingIrrigation,
    /// A fire line or sprinklers.
    FireLine,
    /// A softener, boiler or other thing with a drain or a fill line.
    Softener,
    /// A rain tank, gray water or a pump of one's own.
    OtherSource,
    /// Pipes of an earlier system in the ground, or two systems that were joined once.
    OldPipes,
}

impl Premise {
    /// Every question, in the order asked.
    pub const ALL: [Self; 10] = [
        Self::WashPoint,
        Self::Well,
        Self::PoolFill,
        Self::MeterProtection,
        Self::TapBreakers,
        Self::DrinkingIrrigation,
        Self::FireLine,
        Self::Softener,
        Self::OtherSource,
        Self::OldPipes,
    ];

    /// The key of the question.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::WashPoint => "premise.wash_point",
            Self::Well => "premise.well",
            Self::PoolFill => "premise.pool_fill",
            Self::MeterProtection => "premise.meter_protection",
            Self::TapBreakers => "premise.tap_breakers",
            Self::DrinkingIrrigation => "premise.drinking_irrigation",
            Self::FireLine => "premise.fire_line",
            Self::Softener => "premise.softener",
            Self::OtherSource => "premise.other_source",
            Self::OldPipes => "premise.old_pipes",
        }
    }

    /// Its name in a plan file.
    #[must_use]
    pub fn word(self) -> &'static str {
        let (_, word) = self.key().split_once('.').unwrap_or_default();
        word
    }

    /// The key of what is told where the answer is not the good one.
    #[must_use]
    pub const fn found_key(self) -> &'static str {
        match self {
            Self::WashPoint => "premise_found.wash_point",
            Self::Well => "premise_found.well",
            Self::PoolFill => "premise_found.pool_fill",
            Self::MeterProtection => "premise_found.meter_protection",
            Self::TapBreakers => "premise_found.tap_breakers",
            Self::DrinkingIrrigation => "premise_found.drinking_irrigation",
            Self::FireLine => "premise_found.fire_line",
            Self::Softener => "premise_found.softener",
            Self::OtherSource => "premise_found.other_source",
            Self::OldPipes => "premise_found.old_pipes",
        }
    }

    /// The answer after which there is nothing to look at.
    #[must_use]
    pub const fn good(self) -> bool {
        matches!(self, Self::MeterProtection | Self::TapBreakers)
    }
}

/// The soil of the site.
#[derive(Clone, PartialEq, Debug, Default, serde::Serialize, serde::Deserialize)]
pub struct Soil {
    /// In words: sandy loam, clay.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub texture: String,
    /// How fast it takes water in.
    #[serde(
        rename = "intake_mm_per_h",
        default,
        skip_serializing_if = "Option::is_none"
    )]
    pub intake: Option<DepthRate>,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub extra: Extra,
}

/// A span of the day, `HH:MM`, over midnight if the end is earlier.
#[derive(Clone, PartialEq, Debug, Default, serde::Serialize, serde::Deserialize)]
pub struct Hours {
    /// First minute.
    pub from: String,
    /// Last minute.
    pub to: String,
    /// Fields this version does not know.
    #[serde(flatten)]
    pub extra: Extra,
}

impl Hours {
    /// The first and the last minute of the day, counted from midnight; `None` where they are not written as `HH:MM`.
    #[must_use]
    pub fn minutes(&self) -> Option<(u16, u16)> {
        let minute = |words: &str| {
            let (hour, minute) = words.split_once(':')?;
            let digits = |part: &str| part.len() == 2 && part.bytes().all(|it| it.is_ascii_digit());
            let (hour, minute): (u16, u16) = (digits(hour) && digits(minute))
                .then(|| Some((hour.parse().ok()?, minute.parse().ok()?)))??;
            (hour < 24 && minute < 60).then_some(hour * 60 + minute)
        };
        Some((minute(&self.from)?, minute(&self.to)?))
    }

    /// Reads `22:00-06:00`, with a dash of any kind or a blank between.
    #[must_use]
    pub fn read(words: &str) -> Option<Self> {
        let mut parts = words
            .split(|letter: char| matches!(letter, '-' | '–' | '—') || letter.is_whitespace())
            .filter(|part| !part.is_empty());
        let mut next = || {
            let part = parts.next()?;
            Some(if part.len() == 4 {
                format!("0{part}")
            } else {
                part.to_owned()
            })
        };
        let hours = Self {
            from: next()?,
            to: next()?,
            extra: Extra::default(),
        };
        (parts.next().is_none() && hours.minutes().is_some()).then_some(hours)
    }
}

/// What stands at a point.
#[derive(
    Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, serde::Serialize, serde::Deserialize,
)]
#[serde(rename_all = "snake_case")]
pub enum MarkKind {
    /// A well that a household drinks from.
    DomesticWell,
    /// A well of a public water system.
    PublicWell,
    /// A well nobody drinks from.
    OtherWell,
    /// Where people come in: a gate, a path.
    Entry,
    /// A numbered place for measuring.
    TestPoint,
}

/// A point of the site.
#[derive(Clone, PartialEq, Debug, serde::Serialize, serde::Deserialize)]
pub struct Mark {
    /// What stands there.
    pub kind: MarkKind,
    /// Where.
    #[serde(rename = "at_m")]
    pub at: PlanPoint,
    /// Every condition of the rule's exemption for this well is met, the owner's written consent included.
    #[serde(default, skip_serializing_if = "is_default")]
    pub exemption_met: bool,
    /// Label, state, phase.
    #[serde(flatten)]
    pub meta: Meta,
}

/// A sign on the site.
#[derive(Clone, PartialEq, Debug, serde::Serialize, serde::Deserialize)]
pub struct Sign {
    /// Where.
    #[serde(rename = "at_m")]
    pub at: PlanPoint,
    /// The entry, or the pond of reclaimed water, it stands at.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub entry: Option<Id>,
    /// Words on it, one line an entry.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub words: Vec<String>,
    /// Languages of the words, as codes: `en`, `es`.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub languages: Vec<String>,
    /// The do-not-drink symbol is on it.
    #[serde(default)]
    pub symbol: bool,
    /// Its width.
    #[serde(rename = "width_m", default, skip_serializing_if = "Option::is_none")]
    pub width: Option<Length>,
    /// Its height.
    #[serde(rename = "height_m", default, skip_serializing_if = "Option::is_none")]
    pub height: Option<Length>,
    /// Label, state, phase.
    #[serde(flatten)]
    pub meta: Meta,
}

/// A measured level.
#[derive(Clone, PartialEq, Debug, serde::Serialize, serde::Deserialize)]
pub struct SpotHeight {
    /// Where.
    #[serde(rename = "at_m")]
    pub at: PlanPoint,
    /// The level there.
    #[serde(rename = "level_m")]
    pub level: Length,
    /// Label, state, phase.
    #[serde(flatten)]
    pub meta: Meta,
}

/// What was answered about the drinking-water side.
#[derive(Clone, PartialEq, Debug, Default, serde::Serialize, serde::Deserialize)]
#[serde(try_from = "Extra", into = "Extra")]
pub struct Premises {
    answers: BTreeMap<Premise, bool>,
    /// Questions of a newer program.
    extra: Extra,
}

impl Premises {
    /// What was answered, if anything.
    #[must_use]
    pub fn get(&self, question: Premise) -> Option<bool> {
        self.answers.get(&question).copied()
    }

    /// Keeps an answer, or opens the question again.
    pub fn set(&mut self, question: Premise, answer: Option<bool>) {
        match answer {
            Some(answer) => self.answers.insert(question, answer),
            None => self.answers.remove(&question),
        };
    }

    /// How many questions have no answer.
    #[must_use]
    pub fn open(&self) -> usize {
        Premise::ALL.len() - self.answers.len()
    }
}

impl TryFrom<Extra> for Premises {
    type Error = String;

    fn try_from(mut extra: Extra) -> Result<Self, Self::Error> {
        let mut answers = BTreeMap::new();
        for question in Premise::ALL {
            if let Some(answer) = extra.remove(question.word()) {
                let answer = answer
                    .as_bool()
                    .ok_or_else(|| format!("`{}` must be true or false", question.word()))?;
                answers.insert(question, answer);
            }
        }
        Ok(Self { answers, extra })
    }
}

impl From<Premises> for Extra {
    fn from(Premises { answers, mut extra }: Premises) -> Self {
        let answers = answers.into_iter();
        extra.extend(answers.map(|(question, answer)| (question.word().to_owned(), answer.into())));
        extra
    }
}
