//! What can be written to other files: one row a kind, chosen by the ending of the file name. A new kind is one more row.

use aubergine_core::analysis::{Analysis, Analyzer, fixes_for_all};
use aubergine_core::drawing::build;
use aubergine_core::drawing::sheet::{SheetInput, single_sheet};
use aubergine_core::drawing::theme::Theme;
use aubergine_core::model::Document;
use aubergine_core::report::{
    Checked, Shown, check_json, check_text, client_report, parts_csv, plain_text, supplier_letter,
};

use super::state::ViewState;

/// What an export is made from.
#[derive(Clone, Copy, Debug)]
pub struct Source<'a> {
    /// The document.
    pub document: &'a Document,
    /// Its results.
    pub analysis: &'a Analysis,
    /// What is shown: view mode, supply case, units.
    pub view: &'a ViewState,
    /// Today, `YYYY-MM-DD`.
    pub date: &'a str,
}

/// A kind of file.
pub struct Kind {
    /// The ending of its name, without the dot.
    pub ending: &'static str,
    /// In words.
    pub words: &'static str,
    /// Makes its bytes.
    pub make: fn(&Source<'_>) -> Result<Vec<u8>, String>,
}

/// Every kind.
pub const KINDS: &[Kind] = &[
    Kind {
        ending: "pdf",
        words: "the summary for paper",
        make: paper,
    },
    Kind {
        ending: "svg",
        words: "the drawing at exact scale, as it is shown",
        make: drawing,
    },
    Kind {
        ending: "png",
        words: "the same as a picture",
        make: picture,
    },
    Kind {
        ending: "csv",
        words: "the parts list",
        make: parts,
    },
    Kind {
        ending: "txt",
        words: "findings, verdicts, pressures and parts as text",
        make: text,
    },
    Kind {
        ending: "json",
        words: "the text for machines",
        make: machine,
    },
];

/// The kinds in which the letter to the supplier is written.
pub const LETTER_KINDS: &[Kind] = &[
    Kind {
        ending: "pdf",
        words: "the letter with the plan",
        make: letter,
    },
    Kind {
        ending: "txt",
        words: "its words alone",
        make: letter_words,
    },
];

/// The kind for a file name.
#[must_use]
pub fn kind_of(name: &str, kinds: &'static [Kind]) -> Option<&'static Kind> {
    let ending = name.rsplit_once('.')?.1.to_lowercase();
    kinds.iter().find(|kind| kind.ending == ending)
}

/// The kinds in words, for the dialog.
#[must_use]
pub fn kinds_in_words(kinds: &[Kind]) -> String {
    let each = kinds
        .iter()
        .map(|kind| format!(".{} {}", kind.ending, kind.words));
    each.collect::<Vec<_>>().join("; ")
}

const fn checked<'a>(source: &Source<'a>) -> Checked<'a> {
    Checked {
        plan: &source.document.design,
        review: &source.document.review,
        analysis: source.analysis,
        fixes: &[],
        shown: Shown::Case(source.view.case),
        units: source.view.units,
        date: source.date,
    }
}

fn paper(source: &Source<'_>) -> Result<Vec<u8>, String> {
    let helping = fixes_for_all(source.document, &mut Analyzer::default(), source.analysis);
    let checked = Checked {
        fixes: &helping,
        ..checked(source)
    };
    let report = client_report(&checked);
    let pdf = aubergine_print::pdf(&report, source.date).map_err(|error| error.to_string())?;
    Ok(pdf.bytes)
}

fn letter(source: &Source<'_>) -> Result<Vec<u8>, String> {
    let letter = supplier_letter(&checked(source)).map_err(|error| error.to_string())?;
    let pdf = aubergine_print::pdf(&letter, source.date).map_err(|error| error.to_string())?;
    Ok(pdf.bytes)
}

fn letter_words(source: &Source<'_>) -> Result<Vec<u8>, String> {
    let letter = supplier_letter(&checked(source)).map_err(|error| error.to_string())?;
    Ok(plain_text(&letter).into_bytes())
}

fn drawing(source: &Source<'_>) -> Result<Vec<u8>, String> {
    svg(source).map(String::into_bytes)
}

fn picture(source: &Source<'_>) -> Result<Vec<u8>, String> {
    aubergine_print::png(&svg(source)?, aubergine_print::PNG_DPI).map_err(|error| error.to_string())
}

fn svg(source: &Source<'_>) -> Result<String, String> {
    let options = source.view.options();
    let plan = &source.document.design;
    let drawing = build(plan, &source.document.review, source.analysis, options);
    let sheet = single_sheet(&SheetInput {
        plan,
        analysis: source.analysis,
        drawing: &drawing,
        options,
        // What leaves the program is ink on paper, whatever the screen looks like.
        theme: Theme::Light,
        date: source.date,
    });
    sheet
        .map(|sheet| sheet.svg)
        .map_err(|error| error.to_string())
}

#[expect(clippy::unnecessary_wraps, reason = "other kinds can fail")]
fn parts(source: &Source<'_>) -> Result<Vec<u8>, String> {
    Ok(parts_csv(&checked(source)))
}

#[expect(clippy::unnecessary_wraps, reason = "other kinds can fail")]
fn text(source: &Source<'_>) -> Result<Vec<u8>, String> {
    Ok(check_text(&checked(source)).into_bytes())
}

#[expect(clippy::unnecessary_wraps, reason = "other kinds can fail")]
fn machine(source: &Source<'_>) -> Result<Vec<u8>, String> {
    Ok(check_json(&checked(source)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_is_made_of_a_sample() {
        let document = crate::window::app::Sample::LarkmeadClose
            .document()
            .unwrap();
        let analysis = Analyzer::default().update(&document.design);
        let source = Source {
            document: &document,
            analysis: &analysis,
            view: &ViewState::new(document.design.site.units),
            date: "2027-03-15",
        };
        for kind in KINDS.iter().chain(LETTER_KINDS) {
            assert!((kind.make)(&source).unwrap().len() > 500, "{}", kind.ending);
        }
        let picture = (kind_of("yard.PNG", KINDS).unwrap().make)(&source).unwrap();
        assert_eq!(&picture[..4], b"\x89PNG");
        let is_known = |name| kind_of(name, KINDS).is_some();
        assert!(!is_known("yard") && !is_known("yard.doc"));
    }
}
