//! Distances, entries into places, pipes side by side and pipes that cross.

use std::sync::LazyLock;

use super::books_in_force;
use super::input::{CrossingFacts, Input, MeasuredDistance};
use crate::finding::{Citation, Finding, Message, Severity, Value};
use crate::ids::Id;
use crate::rulebook::{
    DRAWING_RESOLUTION, DistanceRule, GENERIC, Limit, Place, PlaceSeverity, Relief, Rulebook,
    built_in_book,
};
use crate::units::Length;

/// How a measured distance misses a row.
#[derive(Clone, Copy, PartialEq, Debug)]
enum Miss {
    /// Too near.
    Near,
    /// Reaches into a place that must not be entered.
    Enters,
    /// The drinking water does not lie high enough above.
    TooLow(Limit),
    /// Nobody told how much higher it lies.
    HeightUnknown(Limit),
    /// Far enough on the drawing, but by less than the drawing is exact.
    Unsure,
}

/// A row that is missed.
#[derive(Clone, Copy)]
struct Missed<'a> {
    row: &'a DistanceRule,
    miss: Miss,
    severity: Severity,
}

/// The default book as advice: where a book for the place is in force it binds nobody, but a wetted play area or well must not
/// go untold because that book is silent.
static ADVICE: LazyLock<Option<Rulebook>> = LazyLock::new(|| {
    built_in_book(GENERIC).map(|book| Rulebook {
        binding: false,
        ..book.clone()
    })
});

/// What the measured distances give reason to tell.
pub(super) fn of_distances(input: &Input) -> Vec<Finding> {
    let books = books_in_force(input);
    let advice = ADVICE
        .as_ref()
        .filter(|advice| books.iter().all(|book| book.id != advice.id));
    let mut findings = Vec::new();
    for measured in &input.distances {
        for book in &books {
            for finding in judge(input, book, measured) {
                keep_worst(&mut findings, finding);
            }
        }
        let advised = advice.map(|book| judge(input, book, measured));
        let advised =
            advised.filter(|told| !told.is_empty() && !is_covered(input, &books, measured));
        for finding in advised.into_iter().flatten() {
            keep_worst(&mut findings, finding);
        }
    }
    findings
}

/// Whether a book in force speaks of these objects and that place, whatever the class of the water turns out to be. A spray is
/// measured from its wetted edge and from its spray edge: one of them is enough.
fn is_covered(input: &Input, books: &[&Rulebook], measured: &MeasuredDistance) -> bool {
    let starts = input
        .distances
        .iter()
        .filter(|other| other.to == measured.to && other.subjects == measured.subjects)
        .map(|other| other.from)
        .collect::<Vec<_>>();
    books.iter().filter(|book| book.binding).any(|book| {
        let speaks = |class: &&str| {
            book.distances.iter().any(|row| {
                row.from.iter().any(|from| starts.contains(from))
                    && (row.to.contains(&measured.to) || row.ask_to.contains(&measured.to))
                    && row.when.fits_place(class, input.site)
            })
        };
        book.classes_for(input.class_in(book)).iter().all(speaks)
    })
}

/// The largest distance that the rules in force ask wetted ground to keep from such a place, whatever class the water turns out
/// to be; `None` where no rule asks for any.
#[must_use]
pub fn largest_setback(
    input: &Input,
    to: Place,
    relief: Option<Relief>,
) -> Option<(Length, Citation)> {
    let rows = books_in_force(input).into_iter().flat_map(|book| {
        let classes = book.classes_for(input.class_in(book));
        book.distances.iter().filter_map(move |row| {
            let is_wet = |from: &Place| matches!(from, Place::WettedEdge | Place::SprayEdge);
            let speaks = row.from.iter().any(is_wet) && row.to.contains(&to) && !row.crossing;
            let holds = |class: &&str| row.when.fits_place(class, input.site);
            let is_relieved = relief.is_some_and(|relief| row.relieved_by.contains(&relief));
            (speaks && !is_relieved && classes.iter().any(holds)).then_some((book, row))
        })
    });
    let (book, row) = rows.max_by(|(_, a), (_, b)| {
        let (a, b) = (a.minimum.length(), b.minimum.length());
        a.total_cmp(&b)
    })?;
    let limit = row.minimum.length();
    (limit > Length::ZERO).then(|| (limit, book.cite(&row.id, &row.origin)))
}

/// The same row about the same objects speaks once: the graver, then the shorter distance or the longer reach.
fn keep_worst(findings: &mut Vec<Finding>, new: Finding) {
    let same = findings
        .iter_mut()
        .find(|old| old.check == new.check && old.subjects == new.subjects);
    let size = |finding: &Finding| match finding.measured {
        Some(Value::Distance(distance)) => -distance.metres(),
        Some(Value::Length(reach)) => reach.metres(),
        _ => 0.0,
    };
    match same {
        None => findings.push(new),
        Some(old)
            if new.severity < old.severity
                || new.severity == old.severity && size(&new) > size(old) =>
        {
            *old = new;
        }
        Some(_) => {}
    }
}

fn judge(input: &Input, book: &Rulebook, measured: &MeasuredDistance) -> Vec<Finding> {
    let classes = book.classes_for(input.class_in(book));
    let by_class: Vec<Vec<Missed<'_>>> = classes
        .iter()
        .map(|class| missed_rows(input, book, class, measured))
        .collect();
    let Some((first, others)) = by_class.split_first() else {
        return Vec::new();
    };
    // Rows that are missed whatever the class.
    let mut certain: Vec<Missed<'_>> = first
        .iter()
        .filter(|missed| {
            others
                .iter()
                .all(|rows| rows.iter().any(|other| other.row.id == missed.row.id))
        })
        .copied()
        .collect();
    let mut uncertain: Vec<Missed<'_>> = by_class
        .iter()
        .flatten()
        .filter(|missed| !certain.iter().any(|known| known.row.id == missed.row.id))
        .copied()
        .collect();
    uncertain.sort_by(|a, b| {
        a.row
            .minimum
            .length()
            .total_cmp(&b.row.minimum.length())
            .then_with(|| a.row.id.cmp(&b.row.id))
    });
    // Every class has a row of its own that is missed: the mildest of them stands for all.
    let is_always_missed = by_class
        .iter()
        .all(|rows| rows.iter().any(|missed| missed.severity == Severity::Stop));
    let mut findings = Vec::new();
    // A Check that holds whatever the class must not hide a Stop, or the question for the class.
    let is_stopped = certain
        .iter()
        .any(|missed| missed.severity == Severity::Stop);
    let may_stop = uncertain
        .iter()
        .any(|missed| missed.severity == Severity::Stop);
    if !is_stopped && is_always_missed {
        certain.extend(
            uncertain
                .iter()
                .find(|missed| missed.severity == Severity::Stop),
        );
    } else if certain.is_empty() || (!is_stopped && may_stop) {
        // Which class it is decides: one question, with the largest limit that may hold.
        findings.extend(
            uncertain
                .last()
                .map(|missed| class_question(input, book, measured, missed)),
        );
    }
    findings.extend(
        certain
            .iter()
            .map(|missed| finding(input, book, measured, missed)),
    );
    findings
}

fn missed_rows<'a>(
    input: &Input,
    book: &'a Rulebook,
    class: &str,
    measured: &MeasuredDistance,
) -> Vec<Missed<'a>> {
    book.distances
        .iter()
        .filter(|row| !row.crossing && row.from.contains(&measured.from))
        .filter(|row| row.when.fits_place(class, input.site))
        .filter(|row| {
            !row.relieved_by
                .iter()
                .any(|relief| measured.reliefs.contains(relief))
        })
        .filter_map(|row| missed(book, row, measured, input.uncertainty))
        .collect()
}

fn missed<'a>(
    book: &Rulebook,
    row: &'a DistanceRule,
    measured: &MeasuredDistance,
    uncertainty: Length,
) -> Option<Missed<'a>> {
    let is_bound = row.to.contains(&measured.to);
    if !is_bound && !row.ask_to.contains(&measured.to) {
        return None;
    }
    let miss = miss_of(row, measured, is_bound).or_else(|| {
        let least = measured.distance - uncertainty;
        (is_bound && !row.minimum.is_met_by(least)).then_some(Miss::Unsure)
    })?;
    let is_stop = is_bound
        && book.binding
        && row.severity == PlaceSeverity::Stop
        && !matches!(miss, Miss::HeightUnknown(_) | Miss::Unsure);
    let severity = if is_stop {
        Severity::Stop
    } else {
        Severity::Check
    };
    Some(Missed {
        row,
        miss,
        severity,
    })
}

fn miss_of(row: &DistanceRule, measured: &MeasuredDistance, is_bound: bool) -> Option<Miss> {
    if measured.reach_into > DRAWING_RESOLUTION {
        return Some(Miss::Enters);
    }
    if !row.minimum.is_met_by(measured.distance) {
        return Some(Miss::Near);
    }
    // Heights are asked for only where the text itself binds and the pipes are near enough.
    let above = row.above.filter(|_| is_bound)?;
    if row
        .above_within
        .is_some_and(|within| within.is_met_by(measured.distance))
    {
        return None;
    }
    match measured.above {
        None => Some(Miss::HeightUnknown(above)),
        Some(height) if above.is_met_by(height) => None,
        Some(_) => Some(Miss::TooLow(above)),
    }
}

/// Words that every sentence about a place may use.
fn values(
    book: &Rulebook,
    from: Place,
    to: Place,
    subjects: &[Id],
    why: &str,
) -> Vec<(&'static str, Value)> {
    vec![
        ("from", Value::Key(from.key().to_owned())),
        ("to", Value::Key(to.key().to_owned())),
        ("subjects", Value::Ids(subjects.to_vec())),
        ("why", Value::Key(why.to_owned())),
        ("ask", Value::Text(book.ask.clone())),
    ]
}

fn finding(
    input: &Input,
    book: &Rulebook,
    measured: &MeasuredDistance,
    missed: &Missed<'_>,
) -> Finding {
    let row = missed.row;
    let is_bound = row.to.contains(&measured.to);
    let mut values = values(
        book,
        measured.from,
        measured.to,
        &measured.subjects,
        &row.origin.message,
    );
    let run = measured
        .length_under
        .iter()
        .find(|(limit, _)| *limit == row.minimum)
        .map(|(_, run)| *run)
        .filter(|run| *run > Length::ZERO);
    let (suffix, key, shown, limit) = match missed.miss {
        Miss::Enters => {
            values.push(("reach", Value::Length(measured.reach_into)));
            let key = if row.origin.is_weak() {
                "setback.enters_reading"
            } else {
                "setback.enters"
            };
            let reach = Value::Length(measured.reach_into);
            ("", key, Some(reach), row.minimum)
        }
        Miss::Near => {
            let key = match run {
                _ if !is_bound => "setback.ask",
                Some(_) => "setback.too_near_run",
                None => "setback.too_near",
            };
            values.extend(run.map(|run| ("run", Value::Length(run))));
            let distance = Value::Distance(measured.distance);
            ("", key, Some(distance), row.minimum)
        }
        Miss::TooLow(above) => (
            ".above",
            "setback.too_low",
            measured.above.map(Value::Distance),
            above,
        ),
        Miss::HeightUnknown(above) => (".above", "setback.height_unknown", None, above),
        Miss::Unsure => {
            values.push(("within", Value::Length(input.uncertainty)));
            let distance = Value::Distance(measured.distance);
            (".tape", "setback.tape", Some(distance), row.minimum)
        }
    };
    values.push(("distance", Value::Distance(measured.distance)));
    values.push(("limit", Value::Length(limit.length())));
    Finding {
        measured: shown,
        limit: Some(Value::Length(limit.length())),
        citation: Some(book.cite(&row.id, &row.origin)),
        ..Finding::new(
            format!("setback.{}.{}{suffix}", book.id, row.id),
            missed.severity,
            measured.subjects.clone(),
            Message::new(key, values),
        )
    }
}

/// For an unknown class: some class would miss a row.
fn class_question(
    input: &Input,
    book: &Rulebook,
    measured: &MeasuredDistance,
    missed: &Missed<'_>,
) -> Finding {
    let mut told = finding(input, book, measured, missed);
    told.severity = Severity::Check;
    "setback.ask_class".clone_into(&mut told.message.key);
    told
}

/// What the crossings give reason to tell. An unmarked one is asked to be marked first: its heights come with the mark.
pub(super) fn of_crossings(input: &Input) -> Vec<Finding> {
    let mut findings = Vec::new();
    for crossing in &input.crossings {
        if !crossing.marked {
            findings.push(Finding::new(
                "crossing.unmarked",
                Severity::Fix,
                crossing.subjects.clone(),
                Message::new(
                    "crossing.unmarked",
                    vec![("subjects", Value::Ids(crossing.subjects.clone()))],
                ),
            ));
            continue;
        }
        for book in books_in_force(input) {
            let rows = book.distances.iter().filter(|row| row.crossing);
            findings.extend(rows.filter_map(|row| judge_crossing(input, book, row, crossing)));
        }
    }
    findings
}

fn judge_crossing(
    input: &Input,
    book: &Rulebook,
    row: &DistanceRule,
    crossing: &CrossingFacts,
) -> Option<Finding> {
    let is_bound = row.to.contains(&crossing.potable);
    let applies = book
        .classes_for(input.class_in(book))
        .iter()
        .any(|class| row.when.fits_place(class, input.site));
    if !applies || !is_bound && !row.ask_to.contains(&crossing.potable) {
        return None;
    }
    let above = row.above?;
    let gap = crossing
        .vertical_gap
        .map(|gap| if row.either_way { gap.abs() } else { gap });
    let key = match (gap, row.either_way) {
        (Some(gap), _) if above.is_met_by(gap) => return None,
        (Some(_), false) => "setback.too_low",
        (None, false) => "setback.height_unknown",
        (Some(_), true) => "setback.gap_small",
        (None, true) => "setback.gap_unknown",
    };
    let is_stop = gap.is_some() && is_bound && book.binding && row.severity == PlaceSeverity::Stop;
    let severity = if is_stop {
        Severity::Stop
    } else {
        Severity::Check
    };
    let mut values = values(
        book,
        Place::ReclaimedPipe,
        crossing.potable,
        &crossing.subjects,
        &row.origin.message,
    );
    values.push(("limit", Value::Length(above.length())));
    Some(Finding {
        measured: gap.map(Value::Distance),
        limit: Some(Value::Length(above.length())),
        citation: Some(book.cite(&row.id, &row.origin)),
        ..Finding::new(
            format!("setback.{}.{}.above", book.id, row.id),
            severity,
            crossing.subjects.clone(),
            Message::new(key, values),
        )
    })
}
