//! Blocks and spans in typst's language.

use std::collections::BTreeMap;

use typst::foundations::Bytes;

use super::super::tree::{Block, Figure, Image, Span};
use super::super::words::Words;
use super::super::{Document, PagesError};
use super::{Paper, enlarged, has_contents, quoted, table};

/// Writes a document and collects its drawings.
pub struct Writer<'a> {
    /// What has been written.
    pub out: String,
    /// The drawings by the names that the text has for them.
    pub files: BTreeMap<String, Bytes>,
    /// The sheets.
    pub paper: Paper,
    words: &'a Words,
    document: &'a Document<'a>,
}

impl<'a> Writer<'a> {
    /// A writer with nothing written.
    pub fn new(document: &'a Document<'a>, words: &'a Words, paper: Paper) -> Self {
        Self {
            out: String::with_capacity(document.markdown.len() * 3),
            files: BTreeMap::new(),
            paper,
            words,
            document,
        }
    }

    /// Writes a whole document, its contents after the first section, which sums it up.
    ///
    /// # Errors
    /// [`PagesError`] where a figure is missing or is no SVG.
    pub fn all(&mut self, blocks: &[Block]) -> Result<(), PagesError> {
        let mut sections = 0;
        for block in blocks {
            if matches!(block, Block::Heading { level: 2, .. }) {
                sections += 1;
                if sections == 2 && has_contents(self.document) {
                    let word = quoted(self.words.contents);
                    self.out.push_str(&format!("#contents({word})\n\n"));
                }
            }
            self.block(block)?;
        }
        Ok(())
    }

    fn blocks(&mut self, blocks: &[Block]) -> Result<(), PagesError> {
        blocks.iter().try_for_each(|block| self.block(block))
    }

    fn block(&mut self, block: &Block) -> Result<(), PagesError> {
        match block {
            Block::Heading {
                level: 1,
                spans,
                id,
            } => {
                self.out.push_str("#title[");
                self.spans(spans)?;
                self.out.push_str(&format!("]#here({})\n\n", quoted(id)));
            }
            Block::Heading { level, id, spans } => {
                self.out
                    .push_str(&format!("#[#heading(level: {})[", level - 1));
                self.spans(spans)?;
                self.out.push_str(&format!("]#label({})]\n\n", quoted(id)));
            }
            Block::Paragraph(spans) => {
                self.spans(spans)?;
                self.out.push_str("\n\n");
            }
            Block::List { first, items } => self.list(*first, items)?,
            Block::Table(one) => table::write(self, one)?,
            Block::Figure(one) => self.figure(one)?,
            Block::Code(text) => {
                self.out
                    .push_str(&format!("#raw(block: true, {})\n\n", quoted(text)));
            }
            Block::Quote(inner) => {
                self.out.push_str("#quote(block: true)[\n");
                self.blocks(inner)?;
                self.out.push_str("]\n\n");
            }
            Block::Rule => self
                .out
                .push_str("#line(length: 100%, stroke: 0.5pt + gray)\n\n"),
        }
        Ok(())
    }

    fn list(&mut self, first: Option<u64>, items: &[Vec<Block>]) -> Result<(), PagesError> {
        match first {
            Some(first) => self.out.push_str(&format!("#enum(start: {first}")),
            None => self.out.push_str("#list("),
        }
        let mut separator = if first.is_some() { ", " } else { "" };
        for item in items {
            self.out.push_str(separator);
            separator = ", ";
            self.out.push('[');
            match item.as_slice() {
                [Block::Paragraph(spans)] => self.spans(spans)?,
                several => self.blocks(several)?,
            }
            self.out.push_str("]\n");
        }
        self.out.push_str(")\n\n");
        Ok(())
    }

    fn figure(&mut self, one: &Figure) -> Result<(), PagesError> {
        self.out.push_str("#picture(");
        self.image(&one.image)?;
        if one.caption.is_empty() {
            self.out.push_str(", none)\n\n");
            return Ok(());
        }
        self.out.push_str(", [");
        self.spans(&one.caption)?;
        self.out.push_str("])\n\n");
        Ok(())
    }

    /// Writes the call that shows a drawing.
    fn image(&mut self, image: &Image) -> Result<(), PagesError> {
        let path = &image.path;
        let svg = (self.document.figure)(path)
            .ok_or_else(|| PagesError::NoFigure { path: path.clone() })?;
        if !svg.contains("<svg") {
            return Err(PagesError::NotAnSvg {
                path: path.clone(),
                reason: "it has no <svg> element",
            });
        }
        let name = format!("figure-{}.svg", self.files.len() + 1);
        // As wide as it was drawn to be, where the line is as long.
        let width = svg
            .split_once(" width=\"")
            .and_then(|(_, rest)| rest.split_once("pt\""))
            .and_then(|(width, _)| width.parse::<f64>().ok())
            .map_or("auto".to_owned(), |width| {
                let wanted = width * enlarged(self.document);
                format!("{:.1}pt", wanted.min(self.paper.lines().0))
            });
        self.out.push_str(&format!(
            "image({}, alt: {}, width: {width})",
            quoted(&name),
            quoted(&image.alt)
        ));
        self.files.insert(name, Bytes::from_string(svg));
        Ok(())
    }

    /// Writes running text.
    ///
    /// # Errors
    /// [`PagesError`] where a figure is missing or is no SVG.
    pub fn spans(&mut self, spans: &[Span]) -> Result<(), PagesError> {
        for span in spans {
            match span {
                Span::Text(text) => self.text(text),
                Span::Code(text) => self.out.push_str(&format!("#raw({})", quoted(text))),
                Span::Strong(inner) => self.within("#strong[", inner)?,
                Span::Emphasis(inner) => self.within("#emph[", inner)?,
                Span::Link { to, spans } => match target(to) {
                    Some(target) => self.within(&format!("#link({target})["), spans)?,
                    // A file beside the document: it need not be beside the PDF.
                    None => self.spans(spans)?,
                },
                Span::Image(image) => {
                    self.out.push_str("#box(");
                    self.image(image)?;
                    self.out.push(')');
                }
                Span::Break => self.out.push_str("#linebreak()"),
            }
        }
        Ok(())
    }

    fn within(&mut self, open: &str, spans: &[Span]) -> Result<(), PagesError> {
        self.out.push_str(open);
        self.spans(spans)?;
        self.out.push(']');
        Ok(())
    }

    /// Writes plain text; raised digits, of which the font lacks some, become raised text.
    fn text(&mut self, text: &str) {
        let mut rest = text;
        while let Some(at) = rest.find(raised) {
            let length: usize = rest[at..]
                .chars()
                .take_while(|c| raised(*c))
                .map(char::len_utf8)
                .sum();
            self.string(&rest[..at]);
            let plain: String = rest[at..at + length].chars().filter_map(lowered).collect();
            self.out.push_str(&format!("#super({})", quoted(&plain)));
            rest = &rest[at + length..];
        }
        self.string(rest);
    }

    /// Writes text as it stands; a unit such as kg/vine is not broken at its stroke.
    fn string(&mut self, text: &str) {
        let mut rest = text;
        while let Some(at) = rest.find('/') {
            let start = rest[..at].rfind(' ').map_or(0, |blank| blank + 1);
            let end = rest[at..].find(' ').map_or(rest.len(), |blank| at + blank);
            let unit = &rest[start..end];
            if unit.chars().count() <= LONGEST_UNIT {
                self.quoted(&rest[..start]);
                self.out.push_str(&format!("#box({})", quoted(unit)));
            } else {
                self.quoted(&rest[..end]);
            }
            rest = &rest[end..];
        }
        self.quoted(rest);
    }

    fn quoted(&mut self, text: &str) {
        if !text.is_empty() {
            self.out.push('#');
            self.out.push_str(&quoted(text));
        }
    }
}

/// Characters of the longest word with a stroke that is kept on one line; paths are longer.
const LONGEST_UNIT: usize = 24;

/// Characters of raised text and what they are on the line.
const RAISED: [(char, char); 12] = [
    ('⁰', '0'),
    ('¹', '1'),
    ('²', '2'),
    ('³', '3'),
    ('⁴', '4'),
    ('⁵', '5'),
    ('⁶', '6'),
    ('⁷', '7'),
    ('⁸', '8'),
    ('⁹', '9'),
    ('⁻', '\u{2212}'),
    ('⁺', '+'),
];

fn raised(character: char) -> bool {
    lowered(character).is_some()
}

fn lowered(character: char) -> Option<char> {
    RAISED
        .iter()
        .find(|(above, _)| *above == character)
        .map(|(_, on)| *on)
}

/// Where a link leads: a place in the document, or elsewhere.
fn target(to: &str) -> Option<String> {
    match to.strip_prefix('#') {
        Some(name) => Some(format!("label({})", quoted(name))),
        None if ["http://", "https://", "mailto:"]
            .iter()
            .any(|scheme| to.starts_with(scheme)) =>
        {
            Some(quoted(to))
        }
        None => None,
    }
}
