//! The PDF of each sample, read back with a library that had no part in writing it.

use std::path::Path;

use aubergine_core::analysis::{Analyzer, fixes_for_all};
use aubergine_core::drawing::paper::Paper;
use aubergine_core::drawing::sheet::{SheetInput, sheet};
use aubergine_core::drawing::theme::Theme;
use aubergine_core::drawing::{View, ViewOptions, build};
use aubergine_core::file;
use aubergine_core::geometry::{PlanPoint, Polygon};
use aubergine_core::hydraulics::SupplyCase;
use aubergine_core::model::{Document, Plan, Review};
use aubergine_core::report::tree::{
    Align, Block, Cell, Column, Figure, PaperSize, Report, Section, Table,
};
use aubergine_core::report::{Checked, Shown, client_report};
use aubergine_core::units::{Length, UnitSystem};
use aubergine_print::{PrintError, png};
use lopdf::content::Content;
use lopdf::{Dictionary, Object};

const SAMPLES: [&str; 2] = ["larkmead-close.json", "cedarbrake-hollow.json"];
const DATE: &str = "2027-05-14";

fn sample(name: &str) -> Document {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../sample-plans");
    file::load(&std::fs::read(folder.join(name)).unwrap()).unwrap()
}

fn report(document: &Document, units: UnitSystem) -> Report {
    let mut analyzer = Analyzer::default();
    let analysis = analyzer.update(&document.design);
    let helping = fixes_for_all(document, &mut analyzer, &analysis);
    let checked = Checked {
        plan: &document.design,
        review: &document.review,
        analysis: &analysis,
        fixes: &helping,
        shown: Shown::Case(SupplyCase::Low),
        units,
        date: DATE,
    };
    client_report(&checked)
}

/// The file of a report; it has the pages it says.
fn pdf(report: &Report, date: &str) -> Result<Vec<u8>, PrintError> {
    let pdf = aubergine_print::pdf(report, date)?;
    assert_eq!(read(&pdf.bytes).get_pages().len(), pdf.pages);
    Ok(pdf.bytes)
}

fn read(bytes: &[u8]) -> lopdf::Document {
    lopdf::Document::load_mem(bytes).unwrap()
}

fn text_of(document: &lopdf::Document) -> String {
    let pages: Vec<u32> = document.get_pages().keys().copied().collect();
    let text = document.extract_text(&pages).unwrap();
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn dictionaries(document: &lopdf::Document) -> Vec<&Dictionary> {
    let of = |object: &Object| matches!(object, Object::Dictionary(_));
    document
        .objects
        .values()
        .filter(|object| of(object))
        .filter_map(|object| object.as_dict().ok())
        .collect()
}

fn name_of<'a>(dictionary: &'a Dictionary, key: &[u8]) -> &'a [u8] {
    dictionary
        .get(key)
        .and_then(Object::as_name)
        .unwrap_or_default()
}

#[test]
fn the_samples_print_on_two_or_three_pages_the_same_twice() {
    for name in SAMPLES {
        let sample = sample(name);
        for units in [UnitSystem::Us, UnitSystem::Metric] {
            let report = report(&sample, units);
            let bytes = pdf(&report, DATE).unwrap();
            assert!(
                bytes == pdf(&report, DATE).unwrap(),
                "{name} differs from itself"
            );
            let pages = read(&bytes).get_pages().len();
            assert!((2..=3).contains(&pages), "{name}: {pages} pages");
        }
    }
}

#[test]
fn fonts_are_embedded_and_the_text_can_be_read_out() {
    for name in SAMPLES {
        let sample = sample(name);
        let document = read(&pdf(&report(&sample, UnitSystem::Us), DATE).unwrap());
        let dictionaries = dictionaries(&document);
        let descriptors: Vec<_> = dictionaries
            .iter()
            .filter(|dictionary| name_of(dictionary, b"Type") == b"FontDescriptor")
            .collect();
        assert!(!descriptors.is_empty());
        for descriptor in descriptors {
            assert!(
                name_of(descriptor, b"FontName")
                    .windows(4)
                    .any(|part| part == b"B612")
            );
            assert!(
                [&b"FontFile2"[..], b"FontFile3"]
                    .iter()
                    .any(|key| descriptor.has(key))
            );
        }
        let text = text_of(&document);
        for words in [
            sample.design.name.as_str(),
            "not a permit",
            "Confirm with",
            "as of",
            "Only if",
            "Print at 100 %",
        ] {
            assert!(text.contains(words), "{name}: {words}\n{text}");
        }
        let lower = text.to_lowercase();
        for word in ["approved", "compliant", "certified", "guaranteed"] {
            assert!(!lower.contains(word), "{name}: {word}");
        }
    }
}

#[test]
fn the_structure_is_tagged() {
    let sample = sample(SAMPLES[1]);
    let document = read(&pdf(&report(&sample, UnitSystem::Us), DATE).unwrap());
    let catalog = document.catalog().unwrap();
    assert!(catalog.has(b"StructTreeRoot") && catalog.has(b"Lang"));
    let dictionaries = dictionaries(&document);
    let kinds: Vec<&[u8]> = dictionaries
        .iter()
        .map(|dictionary| name_of(dictionary, b"S"))
        .collect();
    for kind in [&b"Table"[..], b"TH", b"TD", b"Figure", b"H1"] {
        assert!(kinds.contains(&kind), "{}", String::from_utf8_lossy(kind));
    }
    let figures = dictionaries
        .iter()
        .filter(|dictionary| name_of(dictionary, b"S") == b"Figure");
    for figure in figures {
        assert!(figure.has(b"Alt"));
    }
}

/// The product of two PDF matrices: `first` applies first.
fn product(first: [f64; 6], then: [f64; 6]) -> [f64; 6] {
    let [a, b, c, d, e, f] = first;
    let [g, h, i, j, k, l] = then;
    [
        a * g + b * i,
        a * h + b * j,
        c * g + d * i,
        c * h + d * j,
        e * g + f * i + k,
        e * h + f * j + l,
    ]
}

/// The bounds of straight paths painted by a content stream and the forms it draws, in points of the page.
fn widths(
    document: &lopdf::Document,
    content: &Content,
    resources: &Dictionary,
    start: [f64; 6],
    found: &mut Vec<f64>,
) {
    let number = |object: &Object| f64::from(object.as_float().unwrap_or_default());
    let (mut matrix, mut stack) = (start, Vec::new());
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    for operation in &content.operations {
        let values: Vec<f64> = operation.operands.iter().map(number).collect();
        match operation.operator.as_str() {
            "q" => stack.push(matrix),
            "Q" => matrix = stack.pop().unwrap_or(start),
            "cm" => matrix = product(values.try_into().unwrap(), matrix),
            "m" | "l" => {
                let x = values[0] * matrix[0] + values[1] * matrix[2] + matrix[4];
                (low, high) = (low.min(x), high.max(x));
            }
            "S" | "s" | "f" | "B" | "n" | "f*" | "b" => {
                found.push(high - low);
                (low, high) = (f64::INFINITY, f64::NEG_INFINITY);
            }
            "Do" => {
                let name = operation.operands[0].as_name().unwrap();
                let forms = resources.get(b"XObject").unwrap();
                let forms = document.dereference(forms).unwrap().1.as_dict().unwrap();
                let form = document
                    .dereference(forms.get(name).unwrap())
                    .unwrap()
                    .1
                    .as_stream()
                    .unwrap();
                if name_of(&form.dict, b"Subtype") != b"Form" {
                    continue;
                }
                let own = form.dict.get(b"Matrix").and_then(Object::as_array).map_or(
                    [1.0, 0.0, 0.0, 1.0, 0.0, 0.0],
                    |own| {
                        own.iter()
                            .map(number)
                            .collect::<Vec<_>>()
                            .try_into()
                            .unwrap()
                    },
                );
                let empty = Dictionary::new();
                let inner = form.dict.get(b"Resources").ok();
                let inner = inner.map_or(&empty, |inner| {
                    document.dereference(inner).unwrap().1.as_dict().unwrap()
                });
                let bytes = form
                    .decompressed_content()
                    .unwrap_or_else(|_| form.content.clone());
                widths(
                    document,
                    &Content::decode(&bytes).unwrap(),
                    inner,
                    product(own, matrix),
                    found,
                );
            }
            _ => {}
        }
    }
}

/// 100 ft at 1" = 10' are 10.000 in in the coordinates of the page.
#[test]
fn lengths_in_the_pdf_are_exact() {
    let mut plan = Plan {
        name: "Measured yard".to_owned(),
        ..Plan::default()
    };
    let feet = 100.0;
    plan.site.outline = Polygon::rectangle(
        PlanPoint::new(0.0, 0.0),
        Length::from_feet(feet),
        Length::from_feet(20.0),
    );
    let analysis = Analyzer::default().update(&plan);
    let options = ViewOptions {
        view: View::Plain,
        case: SupplyCase::Low,
        units: UnitSystem::Us,
    };
    let drawing = build(&plan, &Review::default(), &analysis, options);
    let input = SheetInput {
        plan: &plan,
        analysis: &analysis,
        drawing: &drawing,
        options,
        theme: Theme::Light,
        date: DATE,
    };
    // A window that takes 1" = 10' and no larger scale; the page is cut off, its coordinates are not.
    let sheet = sheet(&input, Paper::figure(780.0, 420.0)).unwrap();
    assert_eq!(sheet.scale.words, "1\" = 10'");
    let report = Report {
        title: "Measured yard".to_owned(),
        kind: "Test".to_owned(),
        language: "en",
        facts: vec![("Date".to_owned(), DATE.to_owned())],
        sections: vec![Section {
            heading: "Figure".to_owned(),
            blocks: vec![Block::Figure(Figure {
                svg: sheet.svg,
                alt: sheet.alt,
                caption: "Caption".to_owned(),
                width_pt: sheet.width,
                height_pt: sheet.height,
            })],
        }],
        running: "Measured yard".to_owned(),
        footer: "Rules".to_owned(),
        paper: PaperSize::Letter,
    };
    let document = read(&pdf(&report, DATE).unwrap());
    let mut found = Vec::new();
    for page in document.get_pages().into_values() {
        let content = Content::decode(&document.get_page_content(page)).unwrap();
        let page = document.get_dictionary(page).unwrap();
        let resources = document
            .dereference(page.get(b"Resources").unwrap())
            .unwrap()
            .1;
        widths(
            &document,
            &content,
            resources.as_dict().unwrap(),
            [1.0, 0.0, 0.0, 1.0, 0.0, 0.0],
            &mut found,
        );
    }
    // 10.000 in ± 0.01 in.
    assert!(
        found
            .iter()
            .any(|width| (width / 72.0 - 10.0).abs() < 0.001),
        "{found:?}"
    );
}

/// A long list runs over pages, whole or in halves; each page repeats the heads, and no row gets lost.
#[test]
fn long_tables_break_across_pages_under_repeated_heads() {
    const NUM_ROWS: usize = 250;
    let column = |head: &str, width| Column {
        head: head.to_owned(),
        width,
        align: Align::Left,
    };
    for in_halves in [false, true] {
        let row = |number: usize| {
            let words = format!("row{number} of a list that is longer than any page of it is high");
            vec![Cell::of(number.to_string()), Cell::of(words)]
        };
        let table = Table {
            caption: "Long".to_owned(),
            columns: vec![column("Quantity", 1.0), column("Thing", 4.0)],
            rows: (1..=NUM_ROWS).map(row).collect(),
            in_halves,
        };
        let report = Report {
            title: "Long".to_owned(),
            kind: "Test".to_owned(),
            language: "en",
            facts: vec![("Date".to_owned(), DATE.to_owned())],
            sections: vec![Section {
                heading: "List".to_owned(),
                blocks: vec![Block::Table(table)],
            }],
            running: "Long".to_owned(),
            footer: "Rules".to_owned(),
            paper: PaperSize::Letter,
        };
        let document = read(&pdf(&report, DATE).unwrap());
        let pages = document.get_pages();
        assert!(pages.len() > 2, "{}", pages.len());
        for page in pages.keys() {
            let text = document.extract_text(&[*page]).unwrap();
            assert!(text.contains("row") && text.contains("Thing"), "{text}");
        }
        let text = text_of(&document);
        for number in 1..=NUM_ROWS {
            assert!(text.contains(&format!("row{number} of")), "{number}");
        }
    }
}

#[test]
fn letters_that_the_family_lacks_do_not_stop_the_printer() {
    let mut sample = sample(SAMPLES[0]);
    sample.design.name = "畑 \u{202f}<script> #[x] $y$ \"q\"".to_owned();
    let document = read(&pdf(&report(&sample, UnitSystem::Metric), DATE).unwrap());
    assert!(text_of(&document).contains("<script>"));
}

#[test]
fn a_date_that_is_none_is_told() {
    let sample = sample(SAMPLES[0]);
    let report = report(&sample, UnitSystem::Us);
    for date in ["", "yesterday", "2027-02-30"] {
        assert_eq!(pdf(&report, date), Err(PrintError::Date(date.to_owned())));
    }
}

#[test]
fn pictures_have_the_size_of_the_sheet() {
    let svg = "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"72pt\" height=\"36pt\" viewBox=\"0 0 72 36\"><text x=\"4\" y=\"20\" font-family=\"B612\" font-size=\"12\">RW</text></svg>";
    let bytes = png(svg, 100.0).unwrap();
    // Width and height stand in the header of a PNG.
    assert_eq!(bytes[16..24], [0, 0, 0, 100, 0, 0, 0, 50]);
    assert_eq!(bytes, png(svg, 100.0).unwrap());
    assert!(matches!(
        png("no picture", 100.0),
        Err(PrintError::Picture(_))
    ));
    assert!(matches!(png(svg, 1.0e6), Err(PrintError::Picture(_))));
}
