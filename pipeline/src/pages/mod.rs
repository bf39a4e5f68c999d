//! A report or a bulletin as pages: the Markdown that our writers make, as one HTML file and as PDF.
//!
//! ```text
//! read       Markdown to blocks                     tree
//! arrange    a picture and its caption, a table with its title and notes: one block each
//! anchors    a name for every heading to link to
//! words      what the frame says, in the language of the document
//! html       the blocks as one file that needs no other
//! pdf        the blocks as sheets of paper
//! ```
//!
//! Nothing here knows what a report says: whatever is Markdown becomes pages. No clock, no chance
//! and no machine in it: the same document gives the same bytes.

mod anchors;
mod arrange;
mod html;
mod pdf;
mod read;
#[cfg(test)]
mod tests;
mod tree;
mod words;

pub use pdf::Paper;

use tree::Block;
use words::Words;

/// What a document is: reports are long and have a list of contents beside the text, bulletins are
/// a few pages.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Everything about a trial.
    Report,
    /// A few pages for growers.
    Bulletin,
}

/// A document to make pages of.
pub struct Document<'a> {
    /// What it is.
    pub kind: Kind,
    /// Its title, for the window and for the record of a PDF.
    pub title: &'a str,
    /// Its language (BCP 47), such as `en` or `es-MX`.
    pub language: &'a str,
    /// GitHub-flavoured Markdown as our writers make it: headings with `<a id>`, tables, pictures,
    /// links, code.
    pub markdown: &'a str,
    /// The SVG of a figure by the path it has in the Markdown (`figures/x.png` or `.svg`).
    pub figure: &'a (dyn Fn(&str) -> Option<String> + Sync),
}

/// Why no pages could be made.
#[derive(Debug, thiserror::Error)]
pub enum PagesError {
    /// Occurs when the Markdown shows a figure that there is no drawing of.
    #[error("the text shows the figure {path}, but there is no drawing of that name")]
    NoFigure {
        /// Path in the Markdown.
        path: String,
    },
    /// Occurs when a figure is not an SVG.
    #[error("the figure {path} is not an SVG: {reason}")]
    NotAnSvg {
        /// Path in the Markdown.
        path: String,
        /// What is wrong with it.
        reason: &'static str,
    },
    /// Occurs when a link leads to a heading that the document has not.
    #[error("the text links to '#{target}', but no heading has that name")]
    NoTarget {
        /// Name after the `#`.
        target: String,
    },
    /// Occurs when the frame has no words in the language of the document.
    #[error("there are no words in the language '{language}'; there are en and es")]
    NoWords {
        /// The language asked for.
        language: String,
    },
    /// Occurs when the typesetter refuses the document.
    #[error("the pages could not be set: {0}")]
    Typesetter(String),
}

/// The document as one HTML file that loads nothing: styles, script and figures are inside it.
///
/// # Errors
/// [`PagesError`] where a figure, the target of a link or the language is missing.
pub fn html(document: &Document) -> Result<String, PagesError> {
    html::page(document, &prepared(document)?)
}

/// The document as a PDF on A4.
///
/// # Errors
/// [`PagesError`] where a figure, the target of a link or the language is missing, or the typesetter
/// refuses.
pub fn pdf(document: &Document) -> Result<Vec<u8>, PagesError> {
    pdf_on(document, Paper::A4)
}

/// The document as a PDF on sheets of that size.
///
/// # Errors
/// As [`pdf`].
pub fn pdf_on(document: &Document, paper: Paper) -> Result<Vec<u8>, PagesError> {
    pdf::sheets(document, &prepared(document)?, paper)
}

/// A document read: its blocks, and the words of its frame.
struct Prepared {
    blocks: Vec<Block>,
    words: &'static Words,
}

fn prepared(document: &Document) -> Result<Prepared, PagesError> {
    let words = words::of(document.language).ok_or_else(|| PagesError::NoWords {
        language: document.language.to_owned(),
    })?;
    let mut blocks = arrange::arranged(read::blocks(document.markdown));
    anchors::name(&mut blocks)?;
    Ok(Prepared { blocks, words })
}
