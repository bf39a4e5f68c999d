//! Blocks and spans as elements.

use super::super::tree::{Block, Figure, Span};
use super::super::words::Words;
use super::super::{Document, PagesError};
use super::{escape, figure, table};

/// Writes elements, counting what must have a name of its own.
pub struct Writer<'a> {
    /// What has been written.
    pub out: String,
    /// Words of the frame.
    pub words: &'a Words,
    document: &'a Document<'a>,
    tables: usize,
    figures: usize,
}

impl<'a> Writer<'a> {
    /// A writer with nothing written.
    pub fn new(document: &'a Document<'a>, words: &'a Words) -> Self {
        Self {
            out: String::with_capacity(document.markdown.len() * 4),
            words,
            document,
            tables: 0,
            figures: 0,
        }
    }

    /// A name that no other table has.
    pub fn next_table(&mut self) -> String {
        self.tables += 1;
        format!("table.{}", self.tables)
    }

    /// Writes blocks.
    ///
    /// # Errors
    /// [`PagesError`] where a figure is missing or is no SVG.
    pub fn blocks(&mut self, blocks: &[Block]) -> Result<(), PagesError> {
        blocks.iter().try_for_each(|block| self.block(block))
    }

    fn block(&mut self, block: &Block) -> Result<(), PagesError> {
        match block {
            Block::Heading { level, id, spans } => {
                self.out.push_str(&format!("<h{level} id=\""));
                escape(id, &mut self.out);
                self.out.push_str("\">");
                self.spans(spans)?;
                self.out.push_str(&format!("</h{level}>\n"));
            }
            Block::Paragraph(spans) => self.around("p", spans)?,
            Block::List { first, items } => self.list(*first, items)?,
            Block::Table(one) => table::write(self, one)?,
            Block::Figure(one) => self.figure(one)?,
            Block::Code(text) => {
                self.out.push_str("<pre class=\"scroll\"><code>");
                escape(text, &mut self.out);
                self.out.push_str("</code></pre>\n");
            }
            Block::Quote(inner) => {
                self.out.push_str("<blockquote>\n");
                self.blocks(inner)?;
                self.out.push_str("</blockquote>\n");
            }
            Block::Rule => self.out.push_str("<hr/>\n"),
        }
        Ok(())
    }

    fn list(&mut self, first: Option<u64>, items: &[Vec<Block>]) -> Result<(), PagesError> {
        let name = match first {
            Some(1) => {
                self.out.push_str("<ol>\n");
                "ol"
            }
            Some(first) => {
                self.out.push_str(&format!("<ol start=\"{first}\">\n"));
                "ol"
            }
            None => {
                self.out.push_str("<ul>\n");
                "ul"
            }
        };
        for item in items {
            match item.as_slice() {
                [Block::Paragraph(spans)] => self.around("li", spans)?,
                several => {
                    self.out.push_str("<li>\n");
                    self.blocks(several)?;
                    self.out.push_str("</li>\n");
                }
            }
        }
        self.out.push_str(&format!("</{name}>\n"));
        Ok(())
    }

    fn figure(&mut self, one: &Figure) -> Result<(), PagesError> {
        self.out
            .push_str("<figure>\n<div class=\"scroll\" role=\"group\" aria-label=\"");
        escape(self.words.figure, &mut self.out);
        self.figures += 1;
        self.out
            .push_str(&format!(" {}\" tabindex=\"0\">", self.figures));
        self.image(&one.image)?;
        self.out.push_str("</div>\n");
        if !one.caption.is_empty() || one.file.is_some() {
            self.out.push_str("<figcaption>");
            self.spans(&one.caption)?;
            if let Some((path, name)) = &one.file {
                self.out.push_str(" <span class=\"tools\">");
                self.link(path, name)?;
                self.out.push_str("</span>");
            }
            self.out.push_str("</figcaption>\n");
        }
        self.out.push_str("</figure>\n");
        Ok(())
    }

    fn image(&mut self, image: &super::super::tree::Image) -> Result<(), PagesError> {
        let path = &image.path;
        let svg = (self.document.figure)(path)
            .ok_or_else(|| PagesError::NoFigure { path: path.clone() })?;
        let number = self.figures;
        figure::inline(&svg, &image.alt, number, &mut self.out).map_err(|reason| {
            PagesError::NotAnSvg {
                path: path.clone(),
                reason,
            }
        })
    }

    /// Writes an element of running text.
    pub fn around(&mut self, name: &str, spans: &[Span]) -> Result<(), PagesError> {
        self.out.push_str(&format!("<{name}>"));
        self.spans(spans)?;
        self.out.push_str(&format!("</{name}>\n"));
        Ok(())
    }

    /// Writes running text.
    ///
    /// # Errors
    /// [`PagesError`] where a figure is missing or is no SVG.
    pub fn spans(&mut self, spans: &[Span]) -> Result<(), PagesError> {
        for span in spans {
            match span {
                Span::Text(text) => escape(text, &mut self.out),
                Span::Code(text) => {
                    self.out.push_str("<code>");
                    escape(text, &mut self.out);
                    self.out.push_str("</code>");
                }
                Span::Strong(inner) => self.within("strong", inner)?,
                Span::Emphasis(inner) => self.within("em", inner)?,
                Span::Link { to, spans } => self.link(to, spans)?,
                Span::Image(image) => {
                    self.figures += 1;
                    self.image(image)?;
                }
                Span::Break => self.out.push_str("<br/>"),
            }
        }
        Ok(())
    }

    fn within(&mut self, name: &str, spans: &[Span]) -> Result<(), PagesError> {
        self.out.push_str(&format!("<{name}>"));
        self.spans(spans)?;
        self.out.push_str(&format!("</{name}>"));
        Ok(())
    }

    /// Writes a link.
    ///
    /// # Errors
    /// [`PagesError`] where a figure inside it is missing or is no SVG.
    pub fn link(&mut self, to: &str, spans: &[Span]) -> Result<(), PagesError> {
        if !may_lead(to) {
            return self.spans(spans);
        }
        self.out.push_str("<a href=\"");
        escape(to, &mut self.out);
        self.out.push_str("\">");
        self.spans(spans)?;
        self.out.push_str("</a>");
        Ok(())
    }
}

/// Whether a link leads to a heading, a file beside the page or a page elsewhere: a link can be
/// made to run a script, and none of ours is.
fn may_lead(to: &str) -> bool {
    match to.split_once(':') {
        None => true,
        Some((scheme, _)) => {
            ["http", "https", "mailto"].contains(&scheme.to_ascii_lowercase().as_str())
                || scheme.contains(['/', '#'])
        }
    }
}
