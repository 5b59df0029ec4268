//! Each sample plan is canonical, analyses without surprises, and shows the findings it is meant to show and no others.

use acceptance::{SAMPLES, sample, sample_bytes, sample_path};
use aubergine_core::analysis::{Analysis, Analyzer};
use aubergine_core::file;
use aubergine_core::finding::Severity;

fn analysis(name: &str) -> Analysis {
    Analyzer::default().update(&sample(name).design)
}

/// Check names and subjects of the findings of a severity.
fn told(analysis: &Analysis, severity: Severity) -> Vec<(String, String)> {
    let of = analysis
        .findings
        .iter()
        .filter(|finding| finding.severity == severity);
    of.map(|finding| {
        let subjects: Vec<String> = finding.subjects.iter().map(ToString::to_string).collect();
        (finding.check.clone(), subjects.join(" "))
    })
    .collect()
}

/// `UPDATE_SAMPLES=1` writes the samples in canonical form instead, after a change of the format.
#[test]
fn the_samples_are_canonical() {
    for name in SAMPLES {
        let canonical = file::save(&sample(name));
        if std::env::var_os("UPDATE_SAMPLES").is_some() {
            std::fs::write(sample_path(name), &canonical).unwrap();
        }
        assert!(
            sample_bytes(name) == canonical,
            "{name} is not in canonical form"
        );
    }
}

#[test]
fn larkmead_close_is_clean() {
    let analysis = analysis("larkmead-close.json");
    assert_eq!(told(&analysis, Severity::Stop), []);
    assert_eq!(told(&analysis, Severity::Fix), []);
    assert_eq!(told(&analysis, Severity::Check), []);
    let notes: Vec<String> = told(&analysis, Severity::Note)
        .into_iter()
        .map(|(check, _)| check)
        .collect();
    assert_eq!(notes.len(), 2, "{notes:?}");
    assert!(notes[0].starts_with("contact.conditions"));
    assert_eq!(notes[1], "drawing.flush");
}
