//! What the answer to an open question would decide: each answer with the word it would give.

use super::evaluate::Books;
use super::input::{Input, Planting, Preparation};
use super::result::{Fact, Ruling};
use crate::rulebook::Verdict;
use crate::units::Length;

/// One answer, and the word under it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Answer {
    /// The question.
    pub fact: Fact,
    /// What somebody might say.
    pub said: Said,
    /// The word.
    pub verdict: Verdict,
}

/// What somebody might say.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Said {
    /// The supplier states this class, in the words of its book.
    Class(String),
    /// It is always eaten so.
    Prepared(Preparation),
    /// The careful thing is true: it never surfaces, it stays on the ridge, and so on.
    Good,
    /// It is not.
    Bad,
}

impl Said {
    /// The key of the words for people, with a gap for the class.
    #[must_use]
    pub const fn key(&self, fact: Fact) -> &'static str {
        match (self, fact) {
            (Self::Class(_), _) => "answer.class",
            (Self::Prepared(Preparation::Cooked), _) => "answer.cooked",
            (Self::Prepared(Preparation::SkinRemoved), _) => "answer.skin_removed",
            (Self::Prepared(_), _) => "answer.raw",
            (Self::Good, Fact::Surfacing) => "answer.stays_down",
            (Self::Bad, Fact::Surfacing) => "answer.surfaces",
            (Self::Good, Fact::OnRidge) => "answer.on_ridge",
            (Self::Bad, Fact::OnRidge) => "answer.in_furrow",
            (Self::Good, Fact::FloodDepth) => "answer.shallow",
            (Self::Bad, Fact::FloodDepth) => "answer.deep",
            (Self::Good, Fact::HandAtBase) => "answer.at_base",
            (Self::Bad, Fact::HandAtBase) => "answer.overhead",
            (Self::Good, _) => "answer.jet_clear",
            (Self::Bad, _) => "answer.jet_near",
        }
    }
}

/// The answers to every question that a ruling leaves open, in the order of the questions. For a ruling that is not an
/// allowance, other classes of the water with a milder word are among them: the supplier decides which it is.
#[must_use]
pub fn answers(input: &Input, planting: &Planting, ruling: &Ruling) -> Vec<Answer> {
    let mut found = classes(input, planting, ruling);
    for fact in &ruling.missing {
        let cases = said_to(*fact, planting);
        found.extend(cases.into_iter().filter_map(|(said, planting)| {
            let verdict = Books::of(input).rule_on(input, &planting)?.verdict;
            Some(Answer {
                fact: *fact,
                said,
                verdict,
            })
        }));
    }
    found
}

fn classes(input: &Input, planting: &Planting, ruling: &Ruling) -> Vec<Answer> {
    if ruling.verdict.allows() {
        return Vec::new();
    }
    let is_asked = ruling.missing.contains(&Fact::WaterClass);
    let books = input.books.iter().filter(|book| book.binding);
    let known = books.flat_map(|book| &book.water_classes);
    known
        .filter(|class| class.id != input.water_class)
        .filter_map(|class| {
            let asked = Input {
                books: input.books.clone(),
                water_class: class.id.clone(),
                class_by_book: input.class_by_book.clone(),
                site: input.site,
                shared_beds: input.shared_beds,
                ..Input::default()
            };
            let verdict = Books::of(&asked).rule_on(&asked, planting)?.verdict;
            (is_asked || verdict < ruling.verdict).then(|| Answer {
                fact: Fact::WaterClass,
                said: Said::Class(class.label.clone()),
                verdict,
            })
        })
        .collect()
}

/// The planting as it would be under each answer. A promise for many eaters is no answer, and the class is not the plant's.
fn said_to(fact: Fact, planting: &Planting) -> Vec<(Said, Planting)> {
    let prepared = |preparation| {
        let told = Planting {
            preparation,
            ..planting.clone()
        };
        (Said::Prepared(preparation), told)
    };
    let both = |set: fn(&mut Planting, bool)| {
        [(Said::Good, true), (Said::Bad, false)]
            .into_iter()
            .map(|(said, is_good)| {
                let mut told = planting.clone();
                set(&mut told, is_good);
                (said, told)
            })
            .collect()
    };
    match fact {
        Fact::WaterClass | Fact::SharedCooking => Vec::new(),
        Fact::Preparation => [
            Preparation::Raw,
            Preparation::SkinRemoved,
            Preparation::Cooked,
        ]
        .map(prepared)
        .to_vec(),
        Fact::Surfacing => both(|it, is_good| it.geometry.surfaces = Some(!is_good)),
        Fact::OnRidge => both(|it, is_good| it.geometry.edible_on_ridge = Some(is_good)),
        Fact::HandAtBase => both(|it, is_good| it.geometry.hand_at_base = Some(is_good)),
        // Deeper than any plant is high; a jet far below it, or far above.
        Fact::FloodDepth => both(|it, is_good| {
            it.geometry.flood_depth = Some(if is_good { Length::ZERO } else { FAR });
        }),
        Fact::JetClearance => both(|it, is_good| {
            it.geometry.jet_below = Some(if is_good { FAR } else { -FAR });
        }),
    }
}

/// Beyond every height of a yard.
const FAR: Length = Length::from_metres(100.0);
