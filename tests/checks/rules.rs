//! Rules of a plan: those it carries judge it, newer ones of the program are told, a town's own are added.

use acceptance::{CEDARBRAKE, LARKMEAD, root, run, sample, sample_path};
use aubergine_core::analysis::{Analyzer, Progress, fixes};
use aubergine_core::drawing::notice::aged_line;
use aubergine_core::edit::History;
use aubergine_core::file;
use aubergine_core::finding::Severity;
use aubergine_core::model::{BUILT_IN, Document, WaterKind};
use aubergine_core::rulebook::{Verdict, built_in_book, read_local};
use aubergine_core::units::UnitSystem;
use serde_json::Value;

/// A sample that was saved under an older text of its book, in which a verdict read otherwise.
fn under_older_rules(verdict: Verdict) -> Document {
    let mut document = sample(LARKMEAD);
    let id = document.design.rules.in_force[0].clone();
    let mut older = built_in_book(&id).unwrap().clone();
    older.as_of = "2019-06-01".to_owned();
    for rule in older.rules.iter_mut().filter(|rule| rule.id == "CA-01") {
        rule.verdict = verdict;
    }
    let rules = &mut document.design.rules;
    rules.books.insert(id, file::embed(older, BUILT_IN));
    document
}

#[test]
fn an_old_plan_is_judged_by_its_own_rules_and_told_what_newer_ones_change() {
    for (verdict, changes) in [(Verdict::Ask, true), (Verdict::Conditions, false)] {
        let document = under_older_rules(verdict);
        let mut analyzer = Analyzer::default();
        let analysis = analyzer.update(&document.design);
        let rulings = analysis.contact.values().flat_map(|it| &it.rulings);
        assert!(rulings.clone().any(|it| it.verdict == verdict));
        let mut told = analysis.findings.iter();
        let told = told.find(|it| it.check == "rules.newer.us-ca").unwrap();
        assert_eq!(told.severity, Severity::Check);
        assert_eq!(told.subjects.is_empty(), !changes);
        let words = told.message.sentence(UnitSystem::Us);
        assert!(words.contains("2019-06-01"), "{words}");
        let change = "from ask the authority to allowed with conditions";
        assert_eq!(words.contains(change), changes, "{words}");

        let helping = fixes(&document, &mut analyzer, &analysis, told);
        let [fix] = &helping[..] else {
            panic!("{helping:?}");
        };
        assert_eq!(fix.progress, Progress::Gone);
        let mut history = History::new(document);
        history.apply("Take the newer rules", &fix.edit).unwrap();
        let saved = file::load(&file::save(history.document())).unwrap();
        let carried = &saved.design.rules.books["us-ca"];
        assert_eq!(Some(carried.book.as_ref()), built_in_book("us-ca"));
        let after = analyzer.update(&saved.design);
        assert!(
            !after
                .findings
                .iter()
                .any(|it| it.check.starts_with("rules."))
        );
    }
}

#[test]
fn what_newer_rules_forbid_is_told_with_the_change_and_not_held_back() {
    let mut document = sample(CEDARBRAKE);
    let mut older = built_in_book("us-tx").unwrap().clone();
    older.rules.retain(|rule| rule.verdict != Verdict::Prohibit);
    document
        .design
        .rules
        .books
        .insert("us-tx".to_owned(), file::embed(older, BUILT_IN));
    let mut analyzer = Analyzer::default();
    let analysis = analyzer.update(&document.design);
    let mut told = analysis.findings.iter();
    let told = told.find(|it| it.check == "rules.newer.us-tx").unwrap();
    let helping = fixes(&document, &mut analyzer, &analysis, told);
    let brings = &helping[0].brings;
    assert!(
        brings.iter().any(|it| it.severity == Severity::Stop),
        "{brings:?}"
    );
}

#[test]
fn a_towns_rules_join_the_states_and_travel_with_the_plan() {
    let text = std::fs::read_to_string(root().join("sample-plans/example-town.toml")).unwrap();
    let town = read_local(&text).unwrap();
    let mut document = sample(CEDARBRAKE);
    let rules = &mut document.design.rules;
    rules.in_force.push(town.id.clone());
    rules
        .books
        .insert(town.id.clone(), file::embed(town, "town.toml"));
    let saved = file::load(&file::save(&document)).unwrap();
    assert!(saved == document);
    let analysis = Analyzer::default().update(&saved.design);
    let mut rulings = analysis.contact.values().flat_map(|it| &it.rulings);
    let sprayed = rulings.find(|it| {
        let rows = std::iter::once(&it.decided_by).chain(&it.also);
        rows.into_iter().any(|row| row.citation.rule == "TOWN-1")
    });
    assert_eq!(sprayed.unwrap().verdict, Verdict::Prohibit);
}

/// A guideline that sorts waters its own way says so once, and nothing else, until somebody states its class.
#[test]
fn a_guideline_is_silent_until_the_class_is_told_in_its_words() {
    let mut document = sample(CEDARBRAKE);
    let book = "eu-2020-741".to_owned();
    document.design.rules.in_force.push(book.clone());
    let of_guideline = |document: &Document| -> Vec<(Severity, String)> {
        let findings = Analyzer::default().update(&document.design).findings;
        let told = findings
            .into_iter()
            .filter(|finding| finding.check.contains(&book));
        told.map(|finding| (finding.severity, finding.check))
            .collect()
    };
    let asked = vec![(Severity::Check, format!("contact.advice_class.{book}"))];
    assert_eq!(of_guideline(&document), asked);
    let words = |document: &Document| -> Vec<Verdict> {
        let contact = Analyzer::default().update(&document.design).contact;
        contact
            .values()
            .flat_map(|it| &it.rulings)
            .map(|ruling| ruling.verdict)
            .collect()
    };
    let before = words(&document);
    let water = document
        .design
        .objects
        .waters
        .values_mut()
        .find(|it| it.kind == WaterKind::Reclaimed);
    let water = std::sync::Arc::make_mut(water.unwrap());
    water
        .class_by_book
        .insert(book.clone(), "class-d".to_owned());
    let told = of_guideline(&document);
    assert!(
        told.iter()
            .all(|(severity, _)| *severity == Severity::Check),
        "{told:?}"
    );
    assert!(
        told.iter().any(|(_, check)| check.contains("EU-06")),
        "{told:?}"
    );
    assert!(!told.contains(&asked[0]));
    // Advice never changes the word.
    assert_eq!(words(&document), before);
}

#[test]
fn rules_read_long_ago_are_told_with_whom_to_ask() {
    let path = sample_path(LARKMEAD);
    let check = |day: &str| {
        let args = ["check", path.to_str().unwrap(), "--json", "--date", day];
        let told = run(args);
        serde_json::from_slice::<Value>(&told.stdout).unwrap()
    };
    for (day, aged) in [("2026-11-01", false), ("2026-11-02", true)] {
        let json = check(day);
        assert_eq!(json["rules"][0]["aged"], aged, "{day}");
        assert_eq!(json["rules"][0]["as_of"], "2025-11-01");
        let said = run(["check", path.to_str().unwrap(), "--date", day]);
        let said = String::from_utf8(said.stdout).unwrap();
        let line = "Rules last read 2025-11-01: they may have changed since.";
        assert_eq!(said.contains(line), aged, "{said}");
    }
}

#[test]
fn a_change_that_was_known_is_told_when_it_has_come() {
    let mut plan = sample(LARKMEAD).design;
    let town = std::fs::read_to_string(root().join("sample-plans/example-town.toml")).unwrap();
    let town = read_local(&town).unwrap();
    let id = town.id.clone();
    let carried = file::embed(town, "town.toml");
    plan.rules.books.insert(id.clone(), carried);
    plan.rules.in_force = vec![id];
    // The default book judges beside a town's own rows; both are of the same years.
    let on = |day: &str| aged_line(&plan, day).unwrap_or_default();
    assert!(!on("2026-10-02").contains("In force since"));
    let told = on("2030-01-01");
    assert!(
        told.contains("In force since 2030-01-01: The council"),
        "{told}"
    );
    assert!(told.contains("the town's water office"), "{told}");
}
