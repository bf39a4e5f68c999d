//! The blocks as a PDF, set by typst: tagged for screen readers, tables with heads that come again
//! on the next page, contents with page numbers.
//!
//! The document becomes a text in typst's language in which every word of ours stands in quotation
//! marks, so that nothing in a name can become markup. Nothing depends on the machine but the bytes
//! of the compression, which chooses its code by the kind of processor.

mod blocks;
mod table;
mod world;

use typst::foundations::Smart;
use typst_layout::PagedDocument;
use typst_pdf::{PdfOptions, PdfStandard, PdfStandards};

use super::{Document, Kind, PagesError, Prepared};

const STYLE: &str = include_str!("page.typ");

/// Size of the sheets.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, clap::ValueEnum)]
pub enum Paper {
    /// 210 mm by 297 mm.
    #[default]
    A4,
    /// 8.5 inches by 11 inches.
    Letter,
}

/// Left and right of the text on each sheet, in millimetres.
const MARGIN: f64 = 20.0;
/// Points in a millimetre.
const MILLIMETRE: f64 = 72.0 / 25.4;

impl Paper {
    /// Every size.
    pub const ALL: [Paper; 2] = [Paper::A4, Paper::Letter];

    /// Name of a report's file on this paper, so that what made it can be told from the folder.
    #[must_use]
    pub fn report(self) -> &'static str {
        match self {
            Paper::A4 => "report.pdf",
            Paper::Letter => "report-letter.pdf",
        }
    }

    /// What typst calls it.
    fn name(self) -> &'static str {
        match self {
            Paper::A4 => "a4",
            Paper::Letter => "us-letter",
        }
    }

    /// Width of a line of text in points, on an upright sheet and on one that lies.
    fn lines(self) -> (f64, f64) {
        let (width, height) = match self {
            Paper::A4 => (210.0, 297.0),
            Paper::Letter => (215.9, 279.4),
        };
        let line = |size: f64| (size - 2.0 * MARGIN) * MILLIMETRE;
        (line(width), line(height))
    }
}

/// The document set on sheets.
///
/// It keeps to PDF/UA-1 (ISO 14289-1) where that is possible. A letter that the font lacks is
/// against that standard; such a document is made without it, still tagged.
///
/// # Errors
/// [`PagesError`] where a figure is missing, or what typst said.
pub fn sheets(
    document: &Document,
    prepared: &Prepared,
    paper: Paper,
) -> Result<Vec<u8>, PagesError> {
    let mut writer = blocks::Writer::new(document, prepared.words, paper);
    writer.all(&prepared.blocks)?;
    let text = format!(
        "{STYLE}\n#show: sheets.with({})\n{}",
        settings(document, prepared, paper),
        writer.out
    );
    let world = world::World::new(text, writer.files);
    let compiled = typst::compile::<PagedDocument>(&world);
    let made = compiled
        .output
        .map_err(|errors| problem(&errors))
        .and_then(|paged| {
            let strict = PdfStandards::new(&[PdfStandard::Ua_1])
                .map_err(|error| PagesError::Typesetter(error.message().to_string()))?;
            typst_pdf::pdf(&paged, &options(strict))
                .or_else(|_| typst_pdf::pdf(&paged, &options(PdfStandards::default())))
                .map_err(|errors| problem(&errors))
        });
    // What typst remembers for a next time: there is none.
    typst::comemo::evict(0);
    made
}

fn options(standards: PdfStandards) -> PdfOptions {
    PdfOptions {
        creator: Smart::Custom(Some(format!("caneplot {}", env!("CARGO_PKG_VERSION")))),
        standards,
        ..PdfOptions::default()
    }
}

fn problem(errors: &[typst::diag::SourceDiagnostic]) -> PagesError {
    let messages: Vec<&str> = errors.iter().map(|one| one.message.as_str()).collect();
    PagesError::Typesetter(messages.join("; "))
}

/// The arguments of `sheets` in the style.
fn settings(document: &Document, prepared: &Prepared, paper: Paper) -> String {
    let mut parts = document.language.split('-');
    let language = parts.next().unwrap_or("en");
    let region = match parts.next() {
        Some(region) if region.len() == 2 => quoted(region),
        _ => "none".to_owned(),
    };
    format!(
        "title: {}, language: {}, region: {region}, paper: {}, margin: {MARGIN}mm, size: {}pt, apart: {}em, \
         page-word: {}, of-word: {}",
        quoted(document.title),
        quoted(language),
        quoted(paper.name()),
        size(document),
        apart(document),
        quoted(prepared.words.page),
        quoted(prepared.words.of),
    )
}

/// Whether a document has a list of contents: a bulletin of a few pages needs none.
fn has_contents(document: &Document) -> bool {
    document.kind == Kind::Report
}

/// Times its own width that a figure has: those of a bulletin are drawn for one column and read at
/// arm's length.
fn enlarged(document: &Document) -> f64 {
    match document.kind {
        Kind::Report => 1.0,
        Kind::Bulletin => 1.15,
    }
}

/// Size of running text in points.
fn size(document: &Document) -> f64 {
    match document.kind {
        Kind::Report => 9.5,
        Kind::Bulletin => 10.0,
    }
}

/// Room above a heading of the first rank, in its own size: a bulletin is to fit four pages.
fn apart(document: &Document) -> f64 {
    match document.kind {
        Kind::Report => 2.0,
        Kind::Bulletin => 1.1,
    }
}

/// Text as a string of typst's language.
fn quoted(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 2);
    out.push('"');
    for character in text.chars() {
        match character {
            '"' | '\\' => {
                out.push('\\');
                out.push(character);
            }
            '\n' => out.push_str("\\n"),
            _ if character.is_control() => out.push(' '),
            _ => out.push(character),
        }
    }
    out.push('"');
    out
}
