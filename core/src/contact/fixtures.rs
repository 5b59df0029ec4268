//! Outlets, signs, protection of the drinking-water service, and purple parts.

use super::input::{Input, Lettering, MarkingFacts, OutletFacts, SignPost};
use super::{GENERIC, books_in_force};
use crate::finding::{Citation, Finding, Message, Severity, Value, listed, named};
use crate::ids::Id;
use crate::rulebook::{
    BackflowDevice, Label, Limit, Origin, OutletRule, OutletTrait, PlaceSeverity, Rulebook,
    SignPlace, SignRule, When, built_in_book,
};
use crate::text;
use crate::units::Length;

/// The binding books; a duty of a fixture is not a matter of advice.
fn binding(input: &Input) -> impl Iterator<Item = &Rulebook> {
    books_in_force(input)
        .into_iter()
        .filter(|book| book.binding)
}

fn applies(input: &Input, book: &Rulebook, when: &When) -> bool {
    book.classes_for(input.class_in(book))
        .iter()
        .any(|class| when.fits_place(class, input.site))
}

/// One finding an outlet: what the books forbid, else what they ask, else raw crops within hose reach.
pub(super) fn of_outlets(input: &Input) -> Vec<Finding> {
    input
        .outlets
        .iter()
        .filter(|outlet| outlet.reclaimed)
        .filter_map(|outlet| judge_outlet(input, outlet))
        .collect()
}

fn judge_outlet(input: &Input, outlet: &OutletFacts) -> Option<Finding> {
    let failed = binding(input)
        .flat_map(|book| book.outlets.iter().map(move |row| (book, row)))
        .filter(|(book, row)| applies(input, book, &row.when) && !meets(row, outlet))
        .min_by_key(|(_, row)| row.severity == PlaceSeverity::Check);
    // Beds with the same crops are told together.
    let mut alike: Vec<(&[String], Vec<Id>)> = Vec::new();
    for bed in &outlet.reaches {
        match alike.iter_mut().find(|(crops, _)| *crops == bed.crops) {
            Some((_, beds)) => beds.push(bed.bed),
            None => alike.push((&bed.crops, vec![bed.bed])),
        }
    }
    let reach = listed(alike.into_iter().map(|(crops, beds)| {
        let crops = listed(crops.iter().cloned());
        format!("{} ({crops})", named(&beds))
    }));
    let (key, severity) = match (failed, reach.is_empty()) {
        // Even where no rule speaks against it, whoever unscrews the joint has an outlet.
        (None, _) if outlet.joint => ("hose_joint.ask", Severity::Check),
        (Some((_, row)), _) if outlet.joint => match row.severity {
            PlaceSeverity::Stop => ("hose_joint.banned", Severity::Stop),
            PlaceSeverity::Check => ("hose_joint.ask_rule", Severity::Check),
        },
        (None, true) => return None,
        (None, false) => ("outlet.reach", Severity::Check),
        (Some((_, row)), no_reach) => match (row.severity, no_reach) {
            (PlaceSeverity::Stop, true) => ("outlet.banned", Severity::Stop),
            (PlaceSeverity::Stop, false) => ("outlet.banned_reach", Severity::Stop),
            (PlaceSeverity::Check, true) => ("outlet.ask", Severity::Check),
            (PlaceSeverity::Check, false) => ("outlet.ask_reach", Severity::Check),
        },
    };
    let within = if reach.is_empty() {
        String::new()
    } else {
        text::fill("hose_joint.reach", [("reach", reach.clone())])
    };
    let mut values = vec![
        ("outlet", Value::Ids(vec![outlet.subject])),
        ("reach", Value::Text(reach)),
        ("within", Value::Text(within)),
    ];
    if let Some((book, row)) = failed {
        values.push(("why", Value::Key(row.origin.message.clone())));
        values.push(("ask", Value::Text(book.ask.clone())));
    }
    Some(Finding {
        citation: failed.map(|(book, row)| book.cite(&row.id, &row.origin)),
        ..Finding::new(
            if outlet.joint { "hose_joint" } else { "outlet" },
            severity,
            vec![outlet.subject],
            Message::new(key, values),
        )
    })
}

fn meets(row: &OutletRule, outlet: &OutletFacts) -> bool {
    let has = |wanted: &OutletTrait| match wanted {
        OutletTrait::NoHoseThread => !outlet.hose_thread,
        OutletTrait::Locked => outlet.locked,
        OutletTrait::SpecialTool => outlet.special_tool,
        OutletTrait::InBox => outlet.in_box,
        OutletTrait::BelowGround => !outlet.above_ground,
        OutletTrait::Purple => outlet.purple,
        OutletTrait::Labelled => row.label.as_ref().map_or_else(
            || !outlet.lettering.words.is_empty(),
            |label| lacks(label, &outlet.lettering, "").is_empty(),
        ),
    };
    row.only_above_ground && !outlet.above_ground
        || row.any_of.iter().any(|traits| traits.iter().all(has))
}

/// Words compared without case, accents and punctuation, as a person reads a sign.
fn plain(words: &str) -> String {
    let letters = words
        .chars()
        .flat_map(char::to_uppercase)
        .map(|letter| match letter {
            'Á' => 'A',
            'É' => 'E',
            'Í' => 'I',
            'Ó' => 'O',
            'Ú' | 'Ü' => 'U',
            'Ñ' => 'N',
            letter if letter.is_alphanumeric() => letter,
            _ => ' ',
        });
    let spaced: String = letters.collect();
    spaced.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The name of a language by its code; a code without a name stands for itself.
fn language_in_words(code: &str) -> String {
    match code {
        "en" => text::get("language.en").to_owned(),
        "es" => text::get("language.es").to_owned(),
        other => other.to_owned(),
    }
}

/// What a lettering lacks against a label, in words.
fn lacks(label: &Label, lettering: &Lettering, sign: &str) -> Vec<String> {
    let written = plain(&lettering.words.join(" "));
    let named = |key: &str, gap: &'static str, value: String| {
        text::fill(key, [("sign", sign.to_owned()), (gap, value)])
    };
    let mut shortcomings = Vec::new();
    for wordings in &label.words {
        if !wordings.iter().any(|words| written.contains(&plain(words))) {
            let words = wordings.first().cloned().unwrap_or_default();
            shortcomings.push(named("sign.words", "words", words));
        }
    }
    for language in &label.languages {
        if !lettering.languages.contains(language) {
            shortcomings.push(named(
                "sign.language",
                "language",
                language_in_words(language),
            ));
        }
    }
    if label.symbol && !lettering.symbol {
        shortcomings.push(named("sign.symbol", "symbol", String::new()));
    }
    shortcomings
}

/// What one sign lacks against a row.
fn sign_lacks(row: &SignRule, sign: &SignPost) -> Vec<String> {
    let name = sign.subject.to_string();
    let mut shortcomings = lacks(&row.label, &sign.lettering, &name);
    let is_small = |limit: Option<Limit>, size: Option<Length>| match (limit, size) {
        (Some(limit), Some(size)) => !limit.is_met_by(size),
        _ => false,
    };
    let told = |key: &str| text::fill(key, [("sign", name.clone())]);
    if is_small(row.width, sign.width) || is_small(row.height, sign.height) {
        shortcomings.push(told("sign.small"));
    } else if row.width.is_some() && sign.width.is_none()
        || row.height.is_some() && sign.height.is_none()
    {
        shortcomings.push(told("sign.size_unknown"));
    }
    shortcomings
}

/// One finding for every shortcoming of the signs of a plan.
pub(super) fn of_signs(input: &Input) -> Vec<Finding> {
    let uses_water = !input.plantings.is_empty()
        || !input.marking.is_empty()
        || !input.signs.ponds.is_empty()
        || input.outlets.iter().any(|outlet| outlet.reclaimed);
    if !uses_water {
        return Vec::new();
    }
    let mut shortcomings: Vec<String> = Vec::new();
    let mut subjects: Vec<Id> = Vec::new();
    let mut wanted: Vec<String> = Vec::new();
    let mut first: Option<Citation> = None;
    for book in binding(input) {
        for row in book
            .signs
            .iter()
            .filter(|row| applies(input, book, &row.when))
        {
            let short = match row.place {
                SignPlace::Entry => short_at_entries(input, row),
                SignPlace::Outlet => short_at_outlets(input, row),
                SignPlace::Pond => short_at_ponds(input, row),
            };
            if short.is_empty() {
                continue;
            }
            first.get_or_insert_with(|| book.cite(&row.id, &row.origin));
            wanted.push(text::get(&row.origin.message).to_owned());
            for (subject, words) in short {
                subjects.extend(subject);
                if !shortcomings.contains(&words) {
                    shortcomings.push(words);
                }
            }
        }
    }
    let Some(citation) = first else {
        return not_asked(input).into_iter().collect();
    };
    wanted.dedup();
    let message = Message::new(
        "sign.short",
        vec![
            ("shortcomings", Value::Text(shortcomings.join("; "))),
            ("wanted", Value::Text(wanted.join("; "))),
            ("ask", Value::Text(citation.ask.clone())),
        ],
    );
    vec![Finding {
        citation: Some(citation),
        ..Finding::new("signs", Severity::Fix, subjects, message)
    }]
}

/// The default book asks for signs and steps back where a book for the place is in force. Where that book asks for none,
/// the wish of the default must not vanish without a word.
fn not_asked(input: &Input) -> Option<Finding> {
    let asks = |row: &SignRule| row.place != SignPlace::Pond && !row.only_if_present;
    let is_asked = binding(input).any(|book| {
        let mut rows = book.signs.iter();
        rows.any(|row| asks(row) && applies(input, book, &row.when))
    });
    let default = built_in_book(GENERIC)?;
    if is_asked || !input.signs.signs.is_empty() {
        return None;
    }
    let entries = default
        .signs
        .iter()
        .filter(|row| row.place == SignPlace::Entry);
    let short: Vec<Shortcoming> = entries
        .flat_map(|row| short_at_entries(input, row))
        .collect();
    if short.is_empty() {
        return None;
    }
    let books = listed(binding(input).map(|book| book.title.clone()));
    let ask = listed(binding(input).map(|book| book.ask.clone()));
    let values = vec![("books", Value::Text(books)), ("ask", Value::Text(ask))];
    let message = Message::new("sign.not_asked", values);
    let subjects = short.into_iter().filter_map(|(subject, _)| subject);
    Some(Finding::new(
        "signs.not_asked",
        Severity::Note,
        subjects.collect(),
        message,
    ))
}

type Shortcoming = (Option<Id>, String);

fn missing_at(place: String) -> String {
    text::fill("sign.missing", [("place", place)])
}

/// Of several signs at one place the best counts.
fn best<'a>(row: &SignRule, signs: impl Iterator<Item = &'a SignPost>) -> Option<Vec<Shortcoming>> {
    signs
        .map(|sign| {
            let lacks = sign_lacks(row, sign).into_iter();
            lacks.map(|words| (Some(sign.subject), words)).collect()
        })
        .min_by_key(Vec::len)
}

fn short_at_entries(input: &Input, row: &SignRule) -> Vec<Shortcoming> {
    let facts = &input.signs;
    let mut short = Vec::new();
    for entry in &facts.entries {
        short.extend(short_at(input, row, *entry));
    }
    for sign in facts.signs.iter().filter(|sign| sign.near.is_none()) {
        short.extend(best(row, std::iter::once(sign)).unwrap_or_default());
    }
    if facts.entries.is_empty() && facts.signs.is_empty() && !row.only_if_present {
        short.push((None, missing_at(text::get("sign.any_entry").to_owned())));
    }
    short
}

/// What the best sign at a place lacks; a missing one counts only where one must stand.
fn short_at(input: &Input, row: &SignRule, place: Id) -> Vec<Shortcoming> {
    let signs = input.signs.signs.iter();
    let signs = signs.filter(|sign| sign.near == Some(place));
    best(row, signs).unwrap_or_else(|| {
        if row.only_if_present {
            Vec::new()
        } else {
            vec![(Some(place), missing_at(place.to_string()))]
        }
    })
}

fn short_at_ponds(input: &Input, row: &SignRule) -> Vec<Shortcoming> {
    let ponds = input.signs.ponds.iter();
    ponds.flat_map(|pond| short_at(input, row, *pond)).collect()
}

/// An outlet that is locked away needs no sign of its own; words on the outlet itself count as one.
fn short_at_outlets(input: &Input, row: &SignRule) -> Vec<Shortcoming> {
    let mut short = Vec::new();
    for outlet in input.outlets.iter().filter(|outlet| outlet.reclaimed) {
        let name = outlet.subject.to_string();
        if outlet.locked && outlet.in_box || lacks(&row.label, &outlet.lettering, &name).is_empty()
        {
            continue;
        }
        short.extend(short_at(input, row, outlet.subject));
    }
    short
}

/// What protects the drinking-water service.
pub(super) fn of_service(input: &Input) -> Vec<Finding> {
    let Some(service) = &input.service else {
        return Vec::new();
    };
    let mut findings = Vec::new();
    for book in binding(input) {
        for row in &book.backflow {
            if !applies(input, book, &row.when) || row.devices.contains(&service.device) {
                continue;
            }
            let (key, severity) = match (service.device, row.severity) {
                (BackflowDevice::Unknown, _) => ("backflow.unknown", Severity::Check),
                (_, PlaceSeverity::Stop) => ("backflow.missing", Severity::Stop),
                (_, PlaceSeverity::Check) => ("backflow.ask", Severity::Check),
            };
            let values = vec![("device", Value::Key(service.device.key().to_owned()))];
            let check = format!("backflow.{}.{}", book.id, row.id);
            let subjects = service.subjects.clone();
            findings.push(cited(
                book,
                (&row.id, &row.origin),
                Finding::new(check, severity, subjects, Message::new(key, values)),
            ));
        }
    }
    findings
}

/// Which parts are not purple: one finding a row for those it names, one for those it leaves open.
pub(super) fn of_marking(input: &Input) -> Vec<Finding> {
    let mut findings = Vec::new();
    for book in binding(input) {
        for row in &book.marking {
            if !applies(input, book, &row.when) {
                continue;
            }
            let plain_parts = |wanted: &dyn Fn(&MarkingFacts) -> bool| {
                let parts = input.marking.iter();
                let parts = parts.filter(|part| !part.purple && wanted(part));
                parts.map(|part| part.subject).collect::<Vec<Id>>()
            };
            let named = plain_parts(&|part| row.parts.contains(&part.part));
            let open = plain_parts(&|part| row.ask_about.contains(&part.part));
            for (subjects, key, severity) in [
                (named, "marking.not_purple", Severity::Fix),
                (open, "marking.ask", Severity::Check),
            ] {
                if subjects.is_empty() {
                    continue;
                }
                let values = vec![("subjects", Value::Ids(subjects.clone()))];
                let check = format!("{key}.{}.{}", book.id, row.id);
                findings.push(cited(
                    book,
                    (&row.id, &row.origin),
                    Finding::new(check, severity, subjects, Message::new(key, values)),
                ));
            }
        }
    }
    findings
}

/// Adds the row behind a finding: the citation, why, and whom to ask.
fn cited(book: &Rulebook, (row, origin): (&str, &Origin), mut finding: Finding) -> Finding {
    finding
        .message
        .values
        .push(("why", Value::Key(origin.message.clone())));
    finding
        .message
        .values
        .push(("ask", Value::Text(book.ask.clone())));
    finding.citation = Some(book.cite(row, origin));
    finding
}
