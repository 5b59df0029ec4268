//! Judges plantings: every row of every book over every value of what is not known, the strictest named.

use std::collections::BTreeSet;

use super::books_for_plants;
use super::exposure::{Touch, contact_of, touches};
use super::input::{Input, Plant, Planting, Preparation};
use super::result::{Fact, Match, Ruling};
use crate::finding::Basis;
use crate::rulebook::{
    Cell, Confidence, FoodCell, Method, Origin, PlantCell, Prepared, Rulebook, SiteKind, Verdict,
};

/// One ruling a planting. A garden asks the same of many beds: each question is judged once.
pub(super) fn rulings(input: &Input) -> Vec<Ruling> {
    let books = Books::of(input);
    let mut judged: Vec<(&Planting, Option<Ruling>)> = Vec::new();
    let mut found = Vec::new();
    for planting in &input.plantings {
        let known = judged.iter().find(|(other, _)| is_alike(other, planting));
        let ruling = match known {
            Some((_, ruling)) => ruling.clone(),
            None => {
                let ruling = books.rule_on(input, planting);
                judged.push((planting, ruling.clone()));
                ruling
            }
        };
        found.extend(ruling.map(|ruling| Ruling {
            subject: planting.subject,
            index: planting.index,
            zone: planting.zone,
            overlap: planting.overlap,
            ..ruling
        }));
    }
    found
}

/// Whether the rules are asked the same about two plantings, wherever they stand.
fn is_alike(one: &Planting, other: &Planting) -> bool {
    one.method == other.method
        && one.preparation == other.preparation
        && one.geometry == other.geometry
        && one.plant == other.plant
}

/// The books that judge plants.
pub(super) struct Books<'a> {
    binding: Vec<&'a Rulebook>,
    advisory: Vec<&'a Rulebook>,
}

impl<'a> Books<'a> {
    /// Those of an input.
    pub(super) fn of(input: &'a Input) -> Self {
        let (binding, advisory) = books_for_plants(input)
            .into_iter()
            .partition(|book| book.binding);
        Self { binding, advisory }
    }

    /// What they say about one planting, which need not be among those of the input.
    pub(super) fn rule_on(&self, input: &Input, planting: &Planting) -> Option<Ruling> {
        rule_on(input, planting, &self.binding, &self.advisory)
    }
}

/// What some books say about one or more cells.
#[derive(Clone, Debug)]
struct Outcome {
    verdict: Verdict,
    /// The rows that give the verdict, by book and row.
    deciding: BTreeSet<(String, String)>,
    matches: Vec<Match>,
    missing: BTreeSet<Fact>,
}

impl Outcome {
    fn of(matches: Vec<Match>) -> Option<Self> {
        let verdict = matches.iter().map(|row| row.verdict).max()?;
        let deciding = matches
            .iter()
            .filter(|row| row.verdict == verdict)
            .map(key)
            .collect();
        Some(Self {
            verdict,
            deciding,
            matches,
            missing: BTreeSet::new(),
        })
    }

    /// What several books say about the same cells: the strictest word stands.
    fn together(outcomes: Vec<Self>) -> Option<Self> {
        let verdict = outcomes.iter().map(|outcome| outcome.verdict).max()?;
        let mut whole = Self {
            verdict,
            deciding: BTreeSet::new(),
            matches: Vec::new(),
            missing: BTreeSet::new(),
        };
        for outcome in outcomes {
            if outcome.verdict == verdict {
                whole.deciding.extend(outcome.deciding);
                whole.missing.extend(outcome.missing);
            }
            merge(&mut whole.matches, outcome.matches);
        }
        Some(whole)
    }

    /// What holds when a fact is not known: the same word by the same rows, or *not allowed* whatever the fact,
    /// or *ask* for the fact.
    fn whatever(outcomes: Vec<Self>, fact: Option<Fact>) -> Option<Self> {
        let strictest = outcomes.iter().max_by_key(|outcome| outcome.verdict)?;
        let is_same = outcomes.iter().all(|outcome| {
            outcome.verdict == strictest.verdict && outcome.deciding == strictest.deciding
        });
        let is_one_word = outcomes
            .iter()
            .all(|outcome| outcome.verdict == strictest.verdict);
        let settled =
            is_same || is_one_word && matches!(strictest.verdict, Verdict::Prohibit | Verdict::Ask);
        let mut whole = Self {
            verdict: if settled {
                strictest.verdict
            } else {
                Verdict::Ask
            },
            deciding: strictest.deciding.clone(),
            matches: Vec::new(),
            missing: BTreeSet::new(),
        };
        for outcome in outcomes {
            if settled {
                whole.deciding.extend(outcome.deciding);
            }
            whole.missing.extend(outcome.missing);
            merge(&mut whole.matches, outcome.matches);
        }
        if !settled {
            whole.missing.extend(fact);
        }
        Some(whole)
    }
}

fn key(row: &Match) -> (String, String) {
    (row.citation.book.clone(), row.citation.rule.clone())
}

/// Adds matches; of one row that speaks twice, the stricter word stays.
fn merge(matches: &mut Vec<Match>, more: Vec<Match>) {
    for row in more {
        match matches.iter_mut().find(|known| key(known) == key(&row)) {
            Some(known) if known.verdict < row.verdict => *known = row,
            Some(_) => {}
            None => matches.push(row),
        }
    }
}

fn rule_on(
    input: &Input,
    planting: &Planting,
    binding: &[&Rulebook],
    advisory: &[&Rulebook],
) -> Option<Ruling> {
    let outcome = judge(input, planting, binding)?;
    let advice = judge(input, planting, advisory).map_or_else(Vec::new, |advice| advice.matches);
    let decided_by = outcome
        .matches
        .iter()
        .filter(|row| outcome.deciding.contains(&key(row)))
        .min_by_key(|row| trust_order(row))?
        .clone();
    let also: Vec<Match> = outcome
        .matches
        .iter()
        .filter(|row| key(row) != key(&decided_by))
        .cloned()
        .collect();
    let conditions: BTreeSet<String> = if outcome.verdict.allows() {
        let allowing = outcome.matches.iter().filter(|row| row.verdict.allows());
        allowing.flat_map(|row| row.conditions.clone()).collect()
    } else {
        BTreeSet::new()
    };
    let (crop, name, contact) = match &planting.plant {
        Plant::Food(crop) => (
            Some(crop.id.clone()),
            crop.name.clone(),
            Some(contact_of(crop.position, planting.method)),
        ),
        Plant::Turf => (None, "contact.lawn".to_owned(), None),
        Plant::Ornamental => (None, "contact.ornamental".to_owned(), None),
    };
    Some(Ruling {
        subject: planting.subject,
        index: planting.index,
        crop,
        name,
        zone: planting.zone,
        method: planting.method,
        contact,
        overlap: planting.overlap,
        verdict: outcome.verdict,
        cautious_reading: is_our_reading(&decided_by),
        ask: decided_by.citation.ask.clone(),
        decided_by,
        also,
        advisory: advice,
        conditions: conditions.into_iter().collect(),
        missing: outcome.missing.into_iter().collect(),
    })
}

/// Of rows with the same word the best known one is named: the text before a reading of it, read before remembered.
fn trust_order(row: &Match) -> (bool, bool, Basis) {
    (
        row.is_default,
        row.citation.interpretation,
        row.citation.basis,
    )
}

fn is_our_reading(row: &Match) -> bool {
    row.citation.interpretation || row.citation.basis == Basis::Judgement
}

/// Class inside touch inside preparation: each step settles one fact or asks for it.
fn judge(input: &Input, planting: &Planting, books: &[&Rulebook]) -> Option<Outcome> {
    let (touches, touch_fact) = match &planting.plant {
        Plant::Food(crop) => {
            let (touches, fact) = touches(crop, planting.method, &planting.geometry);
            (touches.into_iter().map(Some).collect(), fact)
        }
        Plant::Turf | Plant::Ornamental => (vec![None], None),
    };
    let (preparations, preparation_fact) = preparations(input, planting);
    let outcomes = preparations
        .iter()
        .filter_map(|prepared| {
            let by_touch = touches
                .iter()
                .filter_map(|touch| judge_known(input, planting, books, *prepared, *touch))
                .collect();
            Outcome::whatever(by_touch, touch_fact)
        })
        .collect();
    Outcome::whatever(outcomes, preparation_fact)
}

/// All but the class is known.
fn judge_known(
    input: &Input,
    planting: &Planting,
    books: &[&Rulebook],
    prepared: Prepared,
    touch: Option<Touch>,
) -> Option<Outcome> {
    let by_book = books
        .iter()
        .filter_map(|book| {
            let by_class = book
                .classes_for(input.class_in(book))
                .into_iter()
                .filter_map(|class| {
                    let cell = cell(class, input.site, planting, prepared, touch);
                    Outcome::of(matches(book, &cell))
                })
                .collect();
            Outcome::whatever(by_class, Some(Fact::WaterClass))
        })
        .collect();
    Outcome::together(by_book)
}

fn cell<'a>(
    class: &'a str,
    site: SiteKind,
    planting: &Planting,
    prepared: Prepared,
    touch: Option<Touch>,
) -> Cell<'a> {
    let plant = match (&planting.plant, touch) {
        (Plant::Food(crop), Some(touch)) => PlantCell::Food(FoodCell {
            position: crop.position,
            citrus: crop.citrus,
            nut: crop.nut,
            tree: crop.tree,
            vine: crop.vine,
            prepared,
            reach: touch.reach,
        }),
        (Plant::Turf, _) => PlantCell::Turf,
        (Plant::Ornamental | Plant::Food(_), _) => PlantCell::Ornamental,
    };
    let method = match (touch, planting.method) {
        (Some(touch), _) => touch.method,
        // A lawn watered by hand is watered like a lawn under spray.
        (None, Method::Hand) => Method::Spray,
        (None, method) => method,
    };
    Cell {
        class,
        site,
        method,
        plant,
    }
}

/// The rows of a book that fit, or its default row; nothing from a book that only adds or advises.
fn matches(book: &Rulebook, cell: &Cell<'_>) -> Vec<Match> {
    let prepared = match cell.plant {
        PlantCell::Food(food) => Some(food.prepared),
        PlantCell::Turf | PlantCell::Ornamental => None,
    };
    let rows: Vec<Match> = book
        .rules
        .iter()
        .filter(|rule| rule.when.fits(cell, book.contact_test))
        .map(|rule| {
            let verdict = rule.verdict_for(prepared);
            let mut conditions = Vec::new();
            if verdict.allows() {
                conditions.clone_from(&rule.conditions);
                conditions.extend(rule.origin.caution().map(str::to_owned));
            }
            Match {
                verdict,
                message: rule.origin.message.clone(),
                citation: book.cite(&rule.id, &rule.origin),
                is_default: false,
                conditions,
            }
        })
        .collect();
    if !rows.is_empty() || book.overlay || !book.binding {
        return rows;
    }
    let silence = book
        .uncovered
        .iter()
        .find(|row| row.when.fits(cell, book.contact_test));
    let (row, origin) = silence.map_or_else(
        || ("default", default_origin(book)),
        |row| (row.id.as_str(), row.origin.clone()),
    );
    vec![Match {
        verdict: Verdict::Ask,
        message: origin.message.clone(),
        citation: book.cite(row, &origin),
        is_default: true,
        conditions: Vec::new(),
    }]
}

/// For a book that fails its check; a sound book lists every silence.
fn default_origin(book: &Rulebook) -> Origin {
    Origin {
        clause: book.title.clone(),
        source: book.id.clone(),
        as_of: book.as_of.clone(),
        basis: Basis::Judgement,
        confidence: Confidence::Low,
        interpretation: false,
        message: "contact.default_row".to_owned(),
    }
}

/// The ways a crop may be eaten as far as anybody said. Pasteurising is a commercial process: a kitchen that was not
/// asked about does not do it, a farm may.
fn preparations(input: &Input, planting: &Planting) -> (Vec<Prepared>, Option<Fact>) {
    use Prepared::{Cooked, Pasteurised, Raw, SkinRemoved};
    let is_shared =
        input.shared_beds || matches!(input.site, SiteKind::CommunityGarden | SiteKind::SchoolPark);
    if !matches!(planting.plant, Plant::Food(_)) {
        return (vec![Raw], None);
    }
    match planting.preparation {
        Preparation::Raw => (vec![Raw], None),
        Preparation::SkinRemoved => (vec![SkinRemoved], None),
        Preparation::Pasteurised => (vec![Pasteurised], None),
        Preparation::Cooked | Preparation::SkinRemovedOrCooked if is_shared => {
            (vec![Raw, SkinRemoved, Cooked], Some(Fact::SharedCooking))
        }
        Preparation::Cooked => (vec![Cooked], None),
        Preparation::SkinRemovedOrCooked => (vec![SkinRemoved, Cooked], Some(Fact::Preparation)),
        Preparation::Unknown if input.site == SiteKind::Farm => (
            vec![Raw, SkinRemoved, Cooked, Pasteurised],
            Some(Fact::Preparation),
        ),
        Preparation::Unknown => (vec![Raw, SkinRemoved, Cooked], Some(Fact::Preparation)),
    }
}
