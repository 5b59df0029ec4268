//! A report as PDF: tagged, with title, language, alt texts and table heads; our two faces embedded; the same bytes for the
//! same report and date.

use std::collections::BTreeMap;

use aubergine_core::drawing::font;
use aubergine_core::drawing::svg::SYMBOL_PT;
use aubergine_core::drawing::symbols::CELL;
use aubergine_core::drawing::theme::{Theme, ink};
use aubergine_core::drawing::writer::{Writer, number};
use aubergine_core::drawing::{Footing, Role, Symbol};
use aubergine_core::report::tree::{Block, MARGIN_PT, Report};
use aubergine_core::rulebook::Verdict;
use serde::Serialize;
use typst::diag::{FileError, FileResult, SourceDiagnostic};
use typst::foundations::{Bytes, Datetime, Duration, Smart};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use typst::{Library, LibraryExt, World};
use typst_layout::PagedDocument;
use typst_pdf::{PdfOptions, PdfStandard, PdfStandards};

use crate::PrintError;

const TEMPLATE: &str = include_str!("../template.typ");

/// A figure up to this height stands below the title; a higher one gets the top of the next page.
const INLINE_HEIGHT_PT: f64 = 450.0;
/// Compilations whose intermediate results are kept.
const KEPT_COMPILATIONS: usize = 2;

/// What the template reads.
#[derive(Serialize)]
struct Data<'a> {
    report: &'a Report,
    family: &'static str,
    ink: String,
    ink2: String,
    hairline: String,
    margin: f64,
    inline_height: f64,
    year: i32,
    month: u8,
    day: u8,
}

/// A report on paper.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Pdf {
    /// The file.
    pub bytes: Vec<u8>,
    /// How many pages it has.
    pub pages: usize,
}

/// Typesets a report. The date, `YYYY-MM-DD`, becomes the date of the document.
///
/// # Errors
/// The date is none, or the typesetter refuses the report.
pub fn pdf(report: &Report, date: &str) -> Result<Pdf, PrintError> {
    let (year, month, day) = parts_of(date).ok_or_else(|| PrintError::Date(date.to_owned()))?;
    let today = Datetime::from_ymd(year, month, day);
    let today = today.ok_or_else(|| PrintError::Date(date.to_owned()))?;
    let theme = Theme::Light;
    let data = Data {
        report,
        family: font::FAMILY,
        ink: theme.token("ink").hex(),
        ink2: theme.token("ink2").hex(),
        hairline: theme.token("field").hex(),
        margin: MARGIN_PT,
        inline_height: INLINE_HEIGHT_PT,
        year,
        month,
        day,
    };
    let json = serde_json::to_string(&data).map_err(|error| typeset(&error.to_string()))?;
    let mut files = Files::default();
    files.add("data.json", printable(&json).into_bytes())?;
    let blocks = report.sections.iter().flat_map(|section| &section.blocks);
    let figures = blocks.filter_map(|block| match block {
        Block::Figure(figure) => Some(figure),
        _ => None,
    });
    for (index, figure) in figures.enumerate() {
        let name = format!("figure-{index}.svg");
        files.add(&name, printable(&figure.svg).into_bytes())?;
    }
    for (word, verdict) in VERDICTS {
        files.add(
            &format!("mark-{word}.svg"),
            mark(verdict, theme).into_bytes(),
        )?;
    }
    let world = Paper::new(files, today)?;
    let compiled = typst::compile::<PagedDocument>(&world);
    typst::comemo::evict(KEPT_COMPILATIONS);
    let document = compiled.output.map_err(|errors| told(&errors))?;
    let standards =
        PdfStandards::new(&[PdfStandard::Ua_1]).map_err(|error| typeset(&format!("{error:?}")))?;
    let options = PdfOptions {
        ident: Smart::Custom(report.running.clone()),
        creator: Smart::Custom(Some("Aubergine".to_owned())),
        standards,
        tagged: true,
        ..PdfOptions::default()
    };
    let bytes = typst_pdf::pdf(&document, &options).map_err(|errors| told(&errors))?;
    let pages = document.pages().len();
    Ok(Pdf { bytes, pages })
}

/// Verdicts under the words that the report tree uses for them.
const VERDICTS: [(&str, Verdict); 5] = [
    ("no_conflict", Verdict::NoConflict),
    ("conditions", Verdict::Conditions),
    ("if_processed", Verdict::IfProcessed),
    ("ask", Verdict::Ask),
    ("prohibit", Verdict::Prohibit),
];

/// A verdict mark as a picture of print size.
fn mark(verdict: Verdict, theme: Theme) -> String {
    let mut out = Writer::default();
    let side = number(SYMBOL_PT);
    out.raw(&format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{side}pt\" height=\"{side}pt\" viewBox=\"0 0 {CELL} {CELL}\">"
    ));
    let look = ink(Role::Verdict(verdict, Footing::Stated), theme);
    let middle = (CELL / 2.0, CELL / 2.0);
    out.symbol(Symbol::Verdict(verdict), middle, CELL, &look, "#FFFFFF");
    out.raw("</svg>");
    out.finish()
}

/// Letters that our family lacks become a box that it has: a missing letter would make the document unreadable to others.
fn printable(text: &str) -> String {
    const BOX: char = '☐';
    text.chars()
        .map(|letter| {
            if letter.is_ascii() || letter.is_control() || font::has(letter) {
                letter
            } else if letter.is_whitespace() {
                ' '
            } else {
                BOX
            }
        })
        .collect()
}

fn parts_of(date: &str) -> Option<(i32, u8, u8)> {
    let mut parts = date.splitn(3, '-');
    let year = parts.next()?.parse().ok()?;
    let month = parts.next()?.parse().ok()?;
    let day = parts.next()?.parse().ok()?;
    Some((year, month, day))
}

fn typeset(what: &str) -> PrintError {
    PrintError::Typeset(what.to_owned())
}

fn told(errors: &[SourceDiagnostic]) -> PrintError {
    let each = errors.iter().map(|error| {
        let hints = error.hints.iter().map(|hint| format!(" ({})", hint.v));
        format!("{}{}", error.message, hints.collect::<String>())
    });
    PrintError::Typeset(each.collect::<Vec<_>>().join("; "))
}

/// Files that exist only in memory.
#[derive(Default)]
struct Files(BTreeMap<String, (FileId, Bytes)>);

impl Files {
    fn add(&mut self, name: &str, content: Vec<u8>) -> Result<(), PrintError> {
        let id = file_id(name)?;
        self.0.insert(name.to_owned(), (id, Bytes::new(content)));
        Ok(())
    }
}

fn file_id(name: &str) -> Result<FileId, PrintError> {
    let path =
        VirtualPath::new(format!("/{name}")).map_err(|error| typeset(&format!("{error:?}")))?;
    Ok(RootedPath::new(VirtualRoot::Project, path).intern())
}

/// All that the typesetter may see: the template, the files above, two faces, one date.
struct Paper {
    library: LazyHash<Library>,
    book: LazyHash<FontBook>,
    fonts: Vec<Font>,
    main: Source,
    files: Files,
    today: Datetime,
}

impl Paper {
    fn new(files: Files, today: Datetime) -> Result<Self, PrintError> {
        let fonts: Vec<Font> = [font::REGULAR, font::BOLD]
            .into_iter()
            .filter_map(|face| Font::new(Bytes::new(face), 0))
            .collect();
        Ok(Self {
            library: LazyHash::new(Library::builder().build()),
            book: LazyHash::new(FontBook::from_fonts(&fonts)),
            fonts,
            main: Source::new(file_id("main.typ")?, TEMPLATE.to_owned()),
            files,
            today,
        })
    }
}

impl World for Paper {
    fn library(&self) -> &LazyHash<Library> {
        &self.library
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &self.book
    }

    fn main(&self) -> FileId {
        self.main.id()
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        if id == self.main.id() {
            Ok(self.main.clone())
        } else {
            Err(FileError::NotSource)
        }
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        let found = self.files.0.values().find(|(known, _)| *known == id);
        found
            .map(|(_, content)| content.clone())
            .ok_or_else(|| FileError::NotFound(std::path::PathBuf::new()))
    }

    fn font(&self, index: usize) -> Option<Font> {
        self.fonts.get(index).cloned()
    }

    fn today(&self, _offset: Option<Duration>) -> Option<Datetime> {
        Some(self.today)
    }
}
