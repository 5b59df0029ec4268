//! The drawing and the report of each sample as text: what changes on paper is seen here first.
//!
//! `INSTA_UPDATE=always` writes the goldens anew; look at the pages before you do.

use acceptance::{QUINCE, SAMPLES, sample, sample_bytes};
use aubergine_core::analysis::{Analyzer, fixes_for_all};
use aubergine_core::drawing::sheet::{SheetInput, single_sheet};
use aubergine_core::drawing::theme::Theme;
use aubergine_core::drawing::{LayerKind, Shape, View, ViewOptions, build, dump};
use aubergine_core::finding::{Citation, Severity};
use aubergine_core::hydraulics::SupplyCase;
use aubergine_core::report::tree::{Block, Report};
use aubergine_core::report::{
    Checked, Shown, check_json, check_text, cited as cited_words, client_report, parts_csv,
    plain_text,
};

const DATE: &str = "2027-05-14";

/// Calls back with a sample as reports take it.
fn with_sample<T>(name: &str, then: impl FnOnce(&Checked<'_>) -> T) -> T {
    let document = sample(name);
    let mut analyzer = Analyzer::default();
    let analysis = analyzer.update(&document.design);
    let helping = fixes_for_all(&document, &mut analyzer, &analysis);
    then(&Checked {
        plan: &document.design,
        review: &document.review,
        analysis: &analysis,
        fixes: &helping,
        shown: Shown::Case(SupplyCase::Low),
        units: document.design.site.units,
        date: DATE,
    })
}

fn options(checked: &Checked<'_>, view: View) -> ViewOptions {
    ViewOptions {
        view,
        case: SupplyCase::Low,
        units: checked.units,
    }
}

fn report(name: &str) -> Report {
    with_sample(name, client_report)
}

/// Compares with `tests/golden/`.
fn golden(name: &str, text: &str) {
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path("../golden");
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    settings.bind(|| insta::assert_snapshot!(name, text));
}

#[test]
fn drawings_are_as_they_were() {
    for name in SAMPLES {
        let text = with_sample(name, |checked| {
            let review = sample(name).review;
            let options = options(checked, View::Contact);
            dump::text(&build(checked.plan, &review, checked.analysis, options))
        });
        golden(
            &format!("{}-drawing", name.trim_end_matches(".json")),
            &text,
        );
    }
}

#[test]
fn reports_are_as_they_were() {
    for name in SAMPLES {
        let text = plain_text(&report(name));
        golden(&format!("{}-report", name.trim_end_matches(".json")), &text);
    }
}

#[test]
fn every_sheet_carries_its_caution_and_lists_the_symbols_it_uses() {
    for name in SAMPLES {
        with_sample(name, |checked| {
            let review = sample(name).review;
            for view in View::ALL {
                for theme in [Theme::Light, Theme::Dark] {
                    let options = options(checked, view);
                    let drawing = build(checked.plan, &review, checked.analysis, options);
                    let input = SheetInput {
                        plan: checked.plan,
                        analysis: checked.analysis,
                        drawing: &drawing,
                        options,
                        theme,
                        date: DATE,
                    };
                    let sheet = single_sheet(&input).unwrap();
                    assert_eq!(sheet, single_sheet(&input).unwrap());
                    for words in [
                        "not a permit",
                        "as of 20",
                        "Confirm with",
                        "gloves",
                        "children and pets",
                        "Trace chemicals",
                    ] {
                        assert!(sheet.svg.contains(words), "{name} {view:?}: {words}");
                    }
                    let codes = drawing
                        .layers
                        .iter()
                        .filter(|layer| layer.kind == LayerKind::Devices)
                        .flat_map(|layer| &layer.marks)
                        .filter_map(|mark| match &mark.shape {
                            Shape::Symbol { symbol, .. } => Some(symbol.code()),
                            _ => None,
                        });
                    for code in codes {
                        let listed = sheet.legend.iter().any(|entry| entry.words.contains(code));
                        assert!(listed, "{name} {view:?}: {code}");
                    }
                }
            }
        });
    }
}

#[test]
fn the_legend_lists_nothing_that_is_not_drawn() {
    // A plan of beds alone has no device and no pipe in its legend.
    let mut document = sample(SAMPLES[0]);
    let objects = &mut document.design.objects;
    let beds = std::mem::take(&mut objects.beds);
    *objects = aubergine_core::model::Objects::default();
    document.design.objects.beds = beds;
    let analysis = Analyzer::default().update(&document.design);
    let options = ViewOptions {
        view: View::Plain,
        case: SupplyCase::Low,
        units: document.design.site.units,
    };
    let drawing = build(&document.design, &document.review, &analysis, options);
    let entries = aubergine_core::drawing::legend::entries(&drawing, options.units);
    assert!(
        !entries
            .iter()
            .any(|entry| entry.words.contains("valve") || entry.words.contains("Drinking"))
    );
    assert!(
        entries
            .iter()
            .any(|entry| entry.words.starts_with("Food bed"))
    );
}

#[test]
fn paper_counts_the_assumptions_that_the_screen_counts() {
    for name in SAMPLES {
        let report = report(name);
        let section = report
            .sections
            .iter()
            .find(|section| section.heading == "Assumptions")
            .unwrap();
        let on_paper = section.blocks.iter().find_map(|block| match block {
            Block::List { items } => Some(items.len()),
            _ => None,
        });
        let json = with_sample(name, check_json);
        let json: serde_json::Value = serde_json::from_slice(&json).unwrap();
        assert_eq!(
            on_paper,
            Some(json["assumptions"].as_array().unwrap().len()),
            "{name}"
        );
    }
}

/// Blocks of a report, whatever their section.
fn blocks(report: &Report) -> impl Iterator<Item = &Block> {
    report.sections.iter().flat_map(|section| &section.blocks)
}

#[test]
fn paper_tells_each_finding_once_and_each_stop_in_full() {
    for name in SAMPLES {
        with_sample(name, |checked| {
            let report = client_report(checked);
            let entries: Vec<_> = blocks(&report)
                .filter_map(|block| match block {
                    Block::Entries { items } => Some(items),
                    _ => None,
                })
                .flatten()
                .collect();
            assert_eq!(entries.len(), checked.analysis.findings.len());
            for (entry, finding) in entries.into_iter().zip(&checked.analysis.findings) {
                assert_eq!(entry.tag, finding.severity.word());
                if finding.severity != Severity::Stop {
                    continue;
                }
                // A name that comes first begins with a capital there.
                let told = format!("{} {}", entry.text, entry.below.join(" ")).to_lowercase();
                for (gap, value) in &finding.message.values {
                    let sentence = aubergine_core::text::get(&finding.message.key);
                    let shown = value.shown(checked.units);
                    let is_told = told.contains(&shown.to_lowercase()) || *gap == "ask";
                    assert!(
                        is_told || !sentence.contains(&format!("{{{gap}}}")),
                        "{told}: {shown}"
                    );
                }
                if let Some(measured) = &finding.measured {
                    let shown = measured.shown(checked.units).to_lowercase();
                    assert!(told.contains(&shown), "{told}: {shown}");
                }
            }
        });
    }
}

/// Every rule behind a word or a finding stands in a note, with its basis, its date and whom to ask, and is referred to.
#[test]
fn every_rule_on_paper_has_its_note() {
    for name in SAMPLES {
        with_sample(name, |checked| {
            let report = client_report(checked);
            let (notes, below) = blocks(&report)
                .find_map(|block| match block {
                    Block::Notes { items, below } => Some((items, below)),
                    _ => None,
                })
                .unwrap();
            let rulings = checked.analysis.contact.values();
            let rulings = rulings.flat_map(|judged| &judged.rulings);
            let cited: Vec<&Citation> = rulings
                .map(|ruling| &ruling.decided_by.citation)
                .chain(
                    checked
                        .analysis
                        .findings
                        .iter()
                        .filter_map(|finding| finding.citation.as_ref()),
                )
                .collect();
            let text = plain_text(&report);
            for citation in cited {
                let words = cited_words(citation);
                let at = notes.iter().position(|note| note.contains(&words));
                let number = at.unwrap_or_else(|| panic!("{name}: {words}")) + 1;
                assert!(below.contains(&citation.ask), "{below}: {}", citation.ask);
                let referred = [
                    format!("ote {number}."),
                    format!("note {number})"),
                    format!("Note: {number}\n"),
                ];
                assert!(
                    referred.iter().any(|words| text.contains(words)),
                    "{name}: nothing refers to note {number}"
                );
            }
        });
    }
}

#[test]
fn paper_never_claims_what_only_others_can_say() {
    for name in SAMPLES {
        let text = plain_text(&report(name)).to_lowercase();
        for word in [
            "approved",
            "compliant",
            "certified",
            "guaranteed",
            "safe crop",
            "is safe",
        ] {
            assert!(!text.contains(word), "{name}: {word}");
        }
    }
}

#[test]
fn the_condition_stands_before_the_word() {
    for name in SAMPLES {
        let text = plain_text(&report(name));
        let (condition, word) = (text.find("Only if: "), text.find("Answer: "));
        // The default book sets no condition on the dense bed: it only asks.
        assert_eq!(condition.is_none(), name == QUINCE, "{name}");
        assert!(condition < word || name == QUINCE, "{name}");
    }
}

#[test]
fn the_parts_list_is_a_table_with_a_caution_on_top() {
    for name in SAMPLES {
        let bytes = with_sample(name, parts_csv);
        let text = String::from_utf8(bytes).unwrap();
        let mut lines = text.split_terminator("\r\n");
        let note = lines.next().unwrap();
        assert!(
            note.starts_with("\"note: Draft – not a permit.") && note.ends_with(",,,,"),
            "{note}"
        );
        assert_eq!(lines.next(), Some("group,part,quantity,unit,for"));
        assert!(lines.count() > 10);
        assert!(!text.replace("\r\n", "").contains('\n'));
    }
}

#[test]
fn a_plan_without_a_name_and_waters_without_one_leave_no_gaps() {
    let mut document = sample(SAMPLES[0]);
    document.design.name.clear();
    document.design.site.place.clear();
    let waters = &mut document.design.objects.waters;
    let ids: Vec<_> = waters.keys().copied().collect();
    for id in ids {
        let mut water = (**waters.get(&id).unwrap()).clone();
        water.meta.label.clear();
        waters.insert(id, std::sync::Arc::new(water));
    }
    let analysis = Analyzer::default().update(&document.design);
    let checked = Checked {
        plan: &document.design,
        review: &document.review,
        analysis: &analysis,
        fixes: &[],
        shown: Shown::Case(SupplyCase::Low),
        units: document.design.site.units,
        date: DATE,
    };
    let report = client_report(&checked);
    assert_eq!(report.title, "Plan without a name");
    for (name, words) in &report.facts {
        assert!(!words.starts_with([':', ' ', '–']), "{name}: {words}");
    }
    assert!(
        report.running.starts_with("Plan without a name"),
        "{}",
        report.running
    );
}

#[test]
fn a_zone_without_supply_has_no_water_and_no_numbers() {
    let text = String::from_utf8(sample_bytes(SAMPLES[1])).unwrap();
    let cut = text.replacen("\"end\": \"D2.in\"", "\"end\": \"open\"", 1);
    assert_ne!(cut, text);
    let document = aubergine_core::file::load(cut.as_bytes()).unwrap();
    let analysis = Analyzer::default().update(&document.design);
    let told = check_text(&Checked {
        plan: &document.design,
        review: &document.review,
        analysis: &analysis,
        fixes: &[],
        shown: Shown::Case(SupplyCase::Low),
        units: document.design.site.units,
        date: DATE,
    });
    assert!(told.contains("Z1 V1 lawn sprays: no water yet"), "{told}");
    assert!(!told.contains("0.0 psi L"), "{told}");
}
