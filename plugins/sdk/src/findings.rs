//! What a plugin returns: tables, figure descriptions, sentences and references.
//!
//! A plugin says *what* it found and with how many digits; the program alone decides how a number,
//! a probability or a figure looks. So one rule formats every P in a report, and a sentence can be
//! used again (in a bulletin, in another unit) without being computed again.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::estimates::Estimates;

/// Version of the findings document, raised when a member changes its meaning.
pub const FINDINGS_SCHEMA: u32 = 1;

/// All that one analysis found.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Findings {
    /// [`FINDINGS_SCHEMA`].
    pub schema: u32,
    /// One section a response (or a question), in the order of the report.
    pub sections: Vec<Section>,
    /// Sentences for the methods paragraph, with citation keys in `[@key]`.
    #[serde(default)]
    pub methods: Vec<String>,
    /// The references those keys stand for.
    #[serde(default)]
    pub references: Vec<Reference>,
}

/// A part of the report: one response, or one question over several.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Section {
    /// Short and unique inside the analysis, made of `a-z0-9_-`; used in file names.
    pub id: String,
    /// Heading in the report.
    pub title: String,
    /// Name of the response, where the section is about one.
    #[serde(default)]
    pub response: Option<String>,
    /// Sentences with their numbers, most important first.
    #[serde(default)]
    pub statements: Vec<Statement>,
    /// Tables in the order of the report.
    #[serde(default)]
    pub tables: Vec<Table>,
    /// Figures in the order of the report.
    #[serde(default)]
    pub figures: Vec<Figure>,
    /// What the reader must know to use the tables: assumptions, cautions, what was left out.
    #[serde(default)]
    pub notes: Vec<Statement>,
    /// Results for programs: what is reckoned on or said again in other words starts from these.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub estimates: Vec<Estimates>,
}

/// How much a sentence matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Rank {
    /// Belongs among the main results on the first page.
    Headline,
    /// A result of its section.
    #[default]
    Result,
    /// A supporting remark.
    Detail,
}

/// A plain sentence; every number in it is a `{name}` that stands in `values`.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Statement {
    /// The sentence, numbers as `{name}`; a literal brace is doubled.
    pub text: String,
    /// The numbers.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub values: BTreeMap<String, Value>,
    /// How much it matters.
    #[serde(default)]
    pub rank: Rank,
}

/// One number in a sentence.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Value {
    /// The number itself, never NaN or infinite.
    pub value: f64,
    /// How it is written.
    pub format: Format,
    /// Its unit, written after it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub unit: Option<String>,
}

/// How a number is written; the program holds the one rule for each.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Format {
    /// A whole number.
    Count,
    /// So many digits after the decimal point.
    Decimals(u8),
    /// So many significant digits.
    Significant(u8),
    /// A probability: `0.032`, `<0.001`; in a sentence `P = 0.032`, `P < 0.001`.
    Probability,
    /// A share from 0 to 1 written as a percentage with so many decimals.
    Percent(u8),
}

/// A table: typed columns of equal length.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Table {
    /// Short and unique inside the section, made of `a-z0-9_-`; used in file names.
    pub id: String,
    /// Caption.
    pub title: String,
    /// The columns, left to right.
    pub columns: Vec<Column>,
    /// Notes under the table.
    #[serde(default)]
    pub notes: Vec<String>,
    /// Rows (by index) that begin a group and are set apart by the renderer, such as a stratum.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub groups: Vec<usize>,
    /// `true` keeps the table out of the report's text: it is written as CSV and linked only.
    #[serde(default)]
    pub file_only: bool,
}

impl Table {
    /// Whether any of its columns has letters beside the numbers.
    #[must_use]
    pub fn has_letters(&self) -> bool {
        let lettered = |column: &Column| matches!(column.cells, Cells::Lettered { .. });
        self.columns.iter().any(lettered)
    }
}

/// One column of a table.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Column {
    /// Heading.
    pub name: String,
    /// Unit, written under or after the heading.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub unit: Option<String>,
    /// What is in it.
    pub cells: Cells,
}

/// The cells of a column; `None` is an empty cell.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "lowercase")]
pub enum Cells {
    /// Words.
    Text {
        /// One a row.
        values: Vec<Option<String>>,
    },
    /// Whole numbers.
    Count {
        /// One a row.
        values: Vec<Option<i64>>,
    },
    /// Numbers with one format for the column.
    Number {
        /// One a row.
        values: Vec<Option<f64>>,
        /// How all of them are written.
        format: Format,
    },
    /// Probabilities.
    Probability {
        /// One a row.
        values: Vec<Option<f64>>,
    },
    /// Numbers with separation letters behind them.
    Lettered {
        /// One a row.
        values: Vec<Option<f64>>,
        /// One a row; empty where there are none.
        letters: Vec<String>,
        /// How the numbers are written.
        format: Format,
    },
}

impl Cells {
    /// Number of rows.
    #[must_use]
    pub fn len(&self) -> usize {
        match self {
            Cells::Text { values } => values.len(),
            Cells::Count { values } => values.len(),
            Cells::Number { values, .. }
            | Cells::Probability { values }
            | Cells::Lettered { values, .. } => values.len(),
        }
    }

    /// Whether there is no row.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }
}

/// A work that a method or a threshold comes from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reference {
    /// Citation key, `author-year`.
    pub key: String,
    /// The full reference as printed.
    pub text: String,
}

// ------------------------------------------------------------------------------------- figures

/// A figure as a description: the program draws it.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Figure {
    /// Short and unique inside the section, made of `a-z0-9_-`; used in file names.
    pub id: String,
    /// Caption: what is shown, n, and what the bars mean.
    pub caption: String,
    /// What a reader who cannot see it must know, the finding included.
    pub alt: String,
    /// A line set small at the foot of the drawing itself: n and the meaning of the bars.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub foot: Option<String>,
    /// Overall width.
    #[serde(default)]
    pub width: Width,
    /// Panels, filled row by row.
    pub panels: Vec<Panel>,
    /// Panels in a row.
    pub columns: u32,
    /// Series in the order of colour and mark, shared by all panels; the legend names them.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub series: Vec<String>,
    /// Heading of the legend.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub series_title: Option<String>,
}

/// Width of a figure on the page.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Width {
    /// One column of a journal, 85 mm.
    #[default]
    Single,
    /// One and a half columns, 120 mm.
    Middle,
    /// The page, 170 mm.
    Double,
}

/// One set of axes with its marks, drawn in the order given.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Panel {
    /// Short title over the panel.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub title: Option<String>,
    /// Horizontal axis.
    pub x: Axis,
    /// Vertical axis.
    pub y: Axis,
    /// What is drawn.
    pub marks: Vec<Mark>,
}

/// An axis.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Axis {
    /// Title with its unit in brackets; `^{…}` raises and `_{…}` lowers.
    pub title: String,
    /// Kind of axis.
    #[serde(default)]
    pub scale: Scale,
}

/// Kind of an axis.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "lowercase", deny_unknown_fields)]
pub enum Scale {
    /// Numbers.
    Linear {
        /// The value that must be inside the axis at the low end.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        from: Option<f64>,
        /// The value that must be inside the axis at the high end.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        to: Option<f64>,
        /// Exact places for ticks (the levels of a numeric factor), else the program chooses.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        ticks: Vec<f64>,
    },
    /// Named places; a mark's coordinate is the index of its category (0, 1, 2 …).
    Category {
        /// The names in order.
        labels: Vec<String>,
    },
}

impl Default for Scale {
    fn default() -> Self {
        Scale::Linear {
            from: None,
            to: None,
            ticks: Vec::new(),
        }
    }
}

/// A mark. `series` is an index into [`Figure::series`]: marks with one are coloured and shaped by
/// it and, on a category axis, set side by side; marks without are black.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "mark", rename_all = "lowercase", deny_unknown_fields)]
pub enum Mark {
    /// Separate points. Faint ones are raw data behind a mean; on a category axis they are spread
    /// sideways so that equal values stay visible.
    Points {
        /// Horizontal places.
        x: Vec<f64>,
        /// Vertical places.
        y: Vec<f64>,
        /// Series index.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        series: Option<usize>,
        /// Raw data behind a summary.
        #[serde(default)]
        faint: bool,
    },
    /// A line through its points in the order given.
    Line {
        /// Horizontal places.
        x: Vec<f64>,
        /// Vertical places.
        y: Vec<f64>,
        /// Series index.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        series: Option<usize>,
        /// Dashed instead of solid.
        #[serde(default)]
        dashed: bool,
    },
    /// A shaded band between two lines.
    Ribbon {
        /// Horizontal places.
        x: Vec<f64>,
        /// Lower edge.
        low: Vec<f64>,
        /// Upper edge.
        high: Vec<f64>,
        /// Series index.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        series: Option<usize>,
    },
    /// Vertical bars of error around a mean.
    Interval {
        /// Horizontal places.
        x: Vec<f64>,
        /// Lower ends.
        low: Vec<f64>,
        /// Upper ends.
        high: Vec<f64>,
        /// Series index.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        series: Option<usize>,
    },
    /// Horizontal bars of error (for a mean of two responses).
    Across {
        /// Left ends.
        low: Vec<f64>,
        /// Right ends.
        high: Vec<f64>,
        /// Vertical places.
        y: Vec<f64>,
        /// Series index.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        series: Option<usize>,
    },
    /// Columns from zero.
    Bar {
        /// Horizontal places.
        x: Vec<f64>,
        /// Heights.
        y: Vec<f64>,
        /// Series index.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        series: Option<usize>,
    },
    /// Separation letters or short labels over a place: set just above `y`.
    Letters {
        /// Horizontal places.
        x: Vec<f64>,
        /// The height they must clear.
        y: Vec<f64>,
        /// The letters.
        text: Vec<String>,
        /// Series index.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        series: Option<usize>,
    },
    /// Short names beside points (right of them, moved where they would overlap).
    Names {
        /// Horizontal places.
        x: Vec<f64>,
        /// Vertical places.
        y: Vec<f64>,
        /// The names.
        text: Vec<String>,
    },
    /// A field of shaded cells at whole-number places.
    Cells {
        /// Horizontal places of their middles.
        x: Vec<f64>,
        /// Vertical places.
        y: Vec<f64>,
        /// What the shade means.
        value: Vec<f64>,
        /// Width of each, above 0, in units of the horizontal axis; none where all are one wide.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        widths: Vec<f64>,
    },
    /// A shaded zone over the whole width between two heights, such as a published range.
    Zone {
        /// Lower edge.
        low: f64,
        /// Upper edge.
        high: f64,
        /// Written small inside it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        label: Option<String>,
    },
    /// A thin reference line: across at `y`, or up at `x`.
    Rule {
        /// Height of a line across.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        y: Option<f64>,
        /// Place of a line up.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        x: Option<f64>,
        /// Written small beside it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        label: Option<String>,
    },
}
