//! The full result of both sample plans, kept in `tests/golden/`: whoever changes a number or a word sees it here.

use acceptance::{DATE, SAMPLES, run, sample_path};

fn keep(name: &str, arguments: &[&str]) {
    let path = sample_path(name);
    let run = run([
        &["check", path.to_str().unwrap(), "--date", DATE],
        arguments,
    ]
    .concat());
    let kind = if arguments.contains(&"--json") {
        "json"
    } else {
        "text"
    };
    let stem = name.trim_end_matches(".json");
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path("../golden");
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    settings.bind(|| insta::assert_snapshot!(format!("{stem}.{kind}"), run.text()));
}

#[test]
fn the_results_of_the_samples_are_as_kept() {
    for name in SAMPLES {
        keep(name, &["--json", "--fixes", "--case", "worst"]);
        keep(name, &["--fixes", "--case", "worst"]);
    }
}
