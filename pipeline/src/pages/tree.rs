//! A document as blocks of spans: what both kinds of pages are made from.

/// A piece of running text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Span {
    /// Plain text.
    Text(String),
    /// Text to be typed as it stands.
    Code(String),
    /// Strong text.
    Strong(Vec<Span>),
    /// Emphasised text.
    Emphasis(Vec<Span>),
    /// A link: to a heading (`#name`), a file beside the document, or elsewhere.
    Link {
        /// Where it leads.
        to: String,
        /// What it says.
        spans: Vec<Span>,
    },
    /// A picture.
    Image(Image),
    /// The end of a line.
    Break,
}

/// A picture in the text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Image {
    /// Its path in the Markdown.
    pub path: String,
    /// What it shows, in words.
    pub alt: String,
}

/// Where the text of a column stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// Words.
    Left,
    /// Names over groups.
    Middle,
    /// Numbers.
    Right,
}

/// A table with what belongs to it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Table {
    /// Its title, if it has one.
    pub title: Vec<Span>,
    /// Where the text of each column stands.
    pub sides: Vec<Side>,
    /// The heading of each column.
    pub head: Vec<Vec<Span>>,
    /// The cells, row by row.
    pub rows: Vec<Vec<Vec<Span>>>,
    /// Notes under it.
    pub notes: Vec<Vec<Span>>,
    /// Path and name of the link to the same table as a file.
    pub file: Option<(String, Vec<Span>)>,
}

impl Table {
    /// Whether a row begins a group of rows: its first cell is strong and nothing else.
    pub fn begins_group(&self, row: usize) -> bool {
        let first = self.rows.get(row).and_then(|cells| cells.first());
        matches!(first.map(Vec::as_slice), Some([Span::Strong(_)]))
    }

    /// Whether its rows stand in groups, so that they must keep their order.
    pub fn is_grouped(&self) -> bool {
        (0..self.rows.len()).any(|row| self.begins_group(row))
    }
}

/// A figure with its caption.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Figure {
    /// The picture.
    pub image: Image,
    /// Its caption.
    pub caption: Vec<Span>,
    /// Path and name of the link to the drawing as a file.
    pub file: Option<(String, Vec<Span>)>,
}

/// A block of a document.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Block {
    /// A heading.
    Heading {
        /// 1 for the title of the document.
        level: u8,
        /// The name links lead to; empty until it is given one.
        id: String,
        /// What it says.
        spans: Vec<Span>,
    },
    /// A paragraph.
    Paragraph(Vec<Span>),
    /// A list.
    List {
        /// The number of its first item; none where items are not numbered.
        first: Option<u64>,
        /// Its items.
        items: Vec<Vec<Block>>,
    },
    /// A table.
    Table(Table),
    /// A figure.
    Figure(Figure),
    /// Lines to be typed as they stand.
    Code(String),
    /// Words of somebody else.
    Quote(Vec<Block>),
    /// A line across.
    Rule,
}

/// The text of spans without any marking.
pub fn plain(spans: &[Span]) -> String {
    let mut out = String::new();
    for span in spans {
        match span {
            Span::Text(text) | Span::Code(text) => out.push_str(text),
            Span::Strong(inner) | Span::Emphasis(inner) | Span::Link { spans: inner, .. } => {
                out.push_str(&plain(inner));
            }
            Span::Image(image) => out.push_str(&image.alt),
            Span::Break => out.push(' '),
        }
    }
    out
}
