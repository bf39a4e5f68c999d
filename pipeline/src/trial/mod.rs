//! A trial as declared: `trial.toml` read, every name and unit understood, no `Option` left that the
//! design requires. What the data files hold is not known here yet: columns are names.
//!
//! `checks.rs` lists the thresholds of the rules on the data. `file.rs` finds and parses what was written; `section.rs` reads one table of it, `scalar.rs` one
//! value, `faults.rs` collects what is wrong; `keys.rs`, `words.rs` and `rules.rs` list the keys, the
//! words to choose from and the mistakes; `resolve.rs` turns all that into [`Trial`], a file a table;
//! `unit.rs` knows units.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use caneplot_plugin::balanced::{Light, PruningRule};
use caneplot_plugin::request::{Canopy, DesignKind, Index, Quantity, Role};
use serde_json::Value as Json;

use crate::diagnostic::{Place, Source};

pub mod checks;
mod faults;
pub mod file;
mod keys;
pub mod prices;
pub mod resolve;
mod rules;
mod scalar;
mod section;
pub mod unit;
mod words;

pub use resolve::read;
pub use rules::RULES;
pub use unit::Unit;

/// Something written in the trial file, with the bytes it was written in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Written<T> {
    /// What it says.
    pub value: T,
    /// First byte and one past the last in trial.toml.
    pub span: std::ops::Range<usize>,
}

/// A trial, checked as far as its own file goes.
#[derive(Debug, Clone)]
pub struct Trial {
    /// Folder of the trial.
    pub folder: PathBuf,
    /// Name of that folder, used for the report's folder.
    pub name: String,
    /// The text of trial.toml, for diagnostics found later.
    pub source: Arc<Source>,
    /// Title.
    pub title: String,
    /// Question.
    pub question: String,
    /// Seasons in order, expanded ("2021-2024" gives four); empty for a trial of one season.
    pub seasons: Vec<String>,
    /// Where the span of `seasons` is.
    pub seasons_span: Option<std::ops::Range<usize>>,
    /// Site, variety, rootstock … as free words for the report, in the order written.
    pub about: Vec<(String, String)>,
    /// Geometry.
    pub vineyard: Vineyard,
    /// Design.
    pub design: Design,
    /// Where plots lie in the vineyard, where declared.
    pub field: Option<Field>,
    /// Factors in the order written.
    pub factors: Vec<Factor>,
    /// Data files in the order written.
    pub data: Vec<DataFile>,
    /// Responses in the order written.
    pub responses: Vec<Response>,
    /// What was recorded on plots before the treatments began, one value a plot, in the order
    /// written; none is a count out of a count.
    pub covariates: Vec<Response>,
    /// Declared ratios.
    pub ratios: Vec<Ratio>,
    /// Vine status column, where declared.
    pub status: Option<Status>,
    /// Analyses to run with their options as written; `None` where the table is absent.
    pub analyses: Option<Vec<Analysis>>,
    /// How strictly the rules on the data look.
    pub checks: checks::Checks,
    /// Seed for anything random; 1 where the file says nothing.
    pub seed: u64,
    /// Prices and costs, where the folder has a file of them.
    pub prices: Option<prices::PricesFile>,
    /// The trial it repeats, where it was made from a report.
    pub rerun: Option<Rerun>,
}

impl Trial {
    /// The place of a span of trial.toml.
    #[must_use]
    pub fn place(&self, span: &std::ops::Range<usize>) -> Place {
        Place::Span {
            source: Arc::clone(&self.source),
            start: span.start,
            end: span.end,
        }
    }
}

/// Geometry of the vineyard in metres.
#[derive(Debug, Clone, Default)]
pub struct Vineyard {
    /// Between rows.
    pub row_spacing_m: Option<f64>,
    /// Between vines in the row.
    pub vine_spacing_m: Option<f64>,
    /// Fruiting wire one vine fills.
    pub canopy_per_vine_m: Option<f64>,
    /// Vines planted in a plot, where every plot has as many.
    pub vines_per_plot: Option<u32>,
    /// Kind of canopy.
    pub canopy: Option<Canopy>,
    /// Half of the world, where `hemisphere` or a latitude tells it.
    pub hemisphere: Option<Hemisphere>,
    /// Species or hybrid group.
    pub grape: Option<String>,
    /// Unit the lengths were written in ("m" or "ft"), for the report.
    pub written_in: Option<String>,
}

/// A half of the world.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hemisphere {
    /// North of the equator.
    North,
    /// South of it.
    South,
}

/// The design, columns as named in the data files.
#[derive(Debug, Clone)]
pub struct Design {
    /// Kind.
    pub kind: DesignKind,
    /// Column of blocks.
    pub block: Option<Written<String>>,
    /// Column of rows (Latin square).
    pub row: Option<Written<String>>,
    /// Column of columns (Latin square).
    pub column: Option<Written<String>>,
    /// Column of plots, the smallest unit a treatment was applied to. Plot names may repeat from
    /// block to block: a plot is its block and its name.
    pub plot: Written<String>,
    /// Column of vines inside plots.
    pub vine: Option<Written<String>>,
    /// Column of seasons.
    pub season: Option<Written<String>>,
}

/// Where plots lie: columns of numbers with one value a plot.
#[derive(Debug, Clone)]
pub struct Field {
    /// Column of vineyard rows.
    pub row: Written<String>,
    /// Column of positions along the row: of a plot's first vine, or of the plot where `last` is
    /// `None`.
    pub first: Written<String>,
    /// Column of the position of a plot's last vine.
    pub last: Option<Written<String>>,
}

impl Field {
    /// The columns with what they hold, in the order row, first, last.
    pub fn columns(&self) -> impl Iterator<Item = (&'static str, &Written<String>)> {
        let first = match self.last {
            Some(_) => "first position",
            None => "position",
        };
        let last = self.last.iter().map(|last| ("last position", last));
        [("row", &self.row), (first, &self.first)]
            .into_iter()
            .chain(last)
    }
}

/// A treatment factor.
#[derive(Debug, Clone)]
pub struct Factor {
    /// Key in the trial file; the column in the tables handed to plugins.
    pub name: String,
    /// Where the key is.
    pub span: std::ops::Range<usize>,
    /// In words.
    pub label: String,
    /// Column in the data files (the name unless said).
    pub column: Written<String>,
    /// Where it was applied.
    pub role: Role,
    /// Levels in the order written.
    pub levels: Vec<Level>,
    /// Unit of a numeric factor.
    pub unit: Option<String>,
    /// Control level's name.
    pub control: Option<Written<String>>,
}

/// A level of a factor.
#[derive(Debug, Clone)]
pub struct Level {
    /// As it stands in the data.
    pub name: String,
    /// In words.
    pub label: String,
    /// As a quantity.
    pub value: Option<f64>,
    /// The canopy it makes, where declared.
    pub canopy: Option<Canopy>,
    /// The rule of balanced pruning it is, where it is one.
    pub rule: Option<PruningRule>,
    /// Where it was written.
    pub span: std::ops::Range<usize>,
}

/// Which winter the season label of a file of dormant records means.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Winter {
    /// The winter after the harvest of that season: prunings belong to the label's own season, nodes
    /// left set the season after.
    AfterHarvest,
    /// The winter before the harvest of that season: prunings belong to the season before the
    /// label, nodes left set the label's own season.
    BeforeHarvest,
}

/// A data file.
#[derive(Debug, Clone)]
pub struct DataFile {
    /// As written.
    pub file: Written<String>,
    /// Absolute path.
    pub path: PathBuf,
    /// Which winter its season labels mean, where it holds dormant records.
    pub winter: Option<Written<Winter>>,
    /// Texts that mean "not recorded" beside the empty cell.
    pub missing: Vec<String>,
    /// Sheet of a workbook.
    pub sheet: Option<Written<String>>,
    /// The season of all its records, where the name of the sheet says it.
    pub season: Option<Written<String>>,
    /// Row the headings stand in, counted from 1, where it is said.
    pub header_row: Option<Written<usize>>,
    /// Whether a row of units stands under the headings, where it is said.
    pub units_row: Option<bool>,
    /// Mark before the decimals, where it is said.
    pub decimal: Option<DecimalMark>,
    /// How headings name a season, where one row holds several.
    pub headings: Option<Written<HeadingPattern>>,
    /// What its records are reduced to before anything looks at them, where it is said.
    pub summary: Option<Summary>,
}

/// What the records of large files are reduced to, and the files.
#[derive(Debug, Clone)]
pub struct Summary {
    /// What becomes of the values of a plot.
    pub how: Written<How>,
    /// Whether it is a summary a plot even where vines are recorded.
    pub of_plots: bool,
    /// The files in the order of their names; none for an address in a network.
    pub sources: Vec<SourceFile>,
    /// The address, where the files are not in the trial folder.
    pub address: Option<String>,
}

/// What becomes of many values.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum How {
    /// Their mean.
    Mean,
    /// Their sum.
    Sum,
    /// How many there are.
    Count,
}

impl How {
    /// The word for it.
    #[must_use]
    pub fn word(self) -> &'static str {
        words::SUMMARIES.word(self)
    }
}

/// A file of a summary.
#[derive(Debug, Clone)]
pub struct SourceFile {
    /// From the trial folder, `/` between folders.
    pub name: String,
    /// Absolute path.
    pub path: PathBuf,
}

/// Endings of workbooks.
const WORKBOOKS: &[&str] = &["xlsx", "xlsm", "ods"];

/// Endings of tables whose columns have types: Parquet, and Arrow's file.
const TYPED: &[&str] = &["parquet", "arrow", "feather"];

impl DataFile {
    /// Whether it is a workbook, by its ending.
    #[must_use]
    pub fn is_workbook(&self) -> bool {
        is_workbook(&self.path)
    }

    /// Whether it is a table whose columns have types, by its ending.
    #[must_use]
    pub fn is_typed(&self) -> bool {
        is_typed(&self.path)
    }
}

/// Whether a file is a workbook, by its ending.
fn is_workbook(path: &Path) -> bool {
    ends_in(path, WORKBOOKS)
}

/// Whether a file is a table whose columns have types, by its ending.
fn is_typed(path: &Path) -> bool {
    ends_in(path, TYPED)
}

fn ends_in(path: &Path, endings: &[&str]) -> bool {
    let ending = path.extension().and_then(|ending| ending.to_str());
    ending.is_some_and(|ending| endings.contains(&ending.to_lowercase().as_str()))
}

/// The mark before the decimals of a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum DecimalMark {
    /// 3.1
    #[default]
    Point,
    /// 3,1
    Comma,
}

/// How the headings of a wide file are made of a column and a season: "{column}_{season}".
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HeadingPattern {
    /// Text before the first of the two.
    pub before: String,
    /// Text between them.
    pub between: String,
    /// Text after the second.
    pub after: String,
    /// Whether the season comes first.
    pub season_first: bool,
}

impl HeadingPattern {
    /// The pattern of a text with {column} and {season} in it, each once.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        let (column, season) = (text.find("{column}")?, text.find("{season}")?);
        let (first, second) = (column.min(season), column.max(season));
        let between = text.get(first + "{column}".len()..second)?;
        let after = text.get(second + "{column}".len()..)?;
        let whole = |part: &str| part.contains(['{', '}']);
        if whole(&text[..first]) || whole(between) || whole(after) {
            return None;
        }
        Some(Self {
            before: text[..first].to_owned(),
            between: between.to_owned(),
            after: after.to_owned(),
            season_first: season < column,
        })
    }

    /// The heading of a column in a season.
    #[must_use]
    pub fn heading(&self, column: &str, season: &str) -> String {
        let (first, second) = if self.season_first {
            (season, column)
        } else {
            (column, season)
        };
        format!(
            "{}{first}{}{second}{}",
            self.before, self.between, self.after
        )
    }
}

/// A response, or a covariate.
#[derive(Debug, Clone)]
pub struct Response {
    /// Key in the trial file; the column in the tables handed to plugins.
    pub name: String,
    /// Where the key is.
    pub span: std::ops::Range<usize>,
    /// In words.
    pub label: String,
    /// Column in the data files.
    pub column: Written<String>,
    /// Column of the total, for a count out of a count.
    pub of: Option<Written<String>>,
    /// Unit of the column; a count out of a count is reported in per cent.
    pub unit: Unit,
    /// Unit wanted in the report, where another (same dimension through the geometry).
    pub report_unit: Option<Unit>,
    /// What it measures.
    pub quantity: Quantity,
    /// Lowest and highest possible value declared in the file, over the built-in range.
    pub possible: Option<(f64, f64)>,
}

impl Response {
    /// Whether its cells may be dates, which are read as days of the year.
    #[must_use]
    pub fn takes_dates(&self) -> bool {
        self.quantity == Quantity::BudBreak && self.of.is_none() && self.unit.is_day()
    }
}

/// A declared ratio of two responses.
#[derive(Debug, Clone)]
pub struct Ratio {
    /// Key.
    pub name: String,
    /// In words.
    pub label: String,
    /// Response above.
    pub of: Written<String>,
    /// Response below.
    pub per: Written<String>,
    /// Unit of the result and the factor to it.
    pub unit: String,
    /// Factor that turns (unit of `of`)/(unit of `per`) into `unit`.
    pub scale: f64,
    /// The trade's index, known from the quantities of the two.
    pub index: Option<Index>,
}

/// The vine status column and what its words mean.
#[derive(Debug, Clone)]
pub struct Status {
    /// Column.
    pub column: Written<String>,
    /// Words for a living, bearing vine.
    pub alive: Vec<String>,
    /// Words for an empty space.
    pub missing: Vec<String>,
    /// Words for a dead vine.
    pub dead: Vec<String>,
    /// Words for a young replacement: planted, alive, not yet counted.
    pub replanted: Vec<String>,
    /// Words for a vine that stands but is sick: its numbers say nothing of the treatment.
    pub diseased: Vec<String>,
}

/// An analysis asked for.
#[derive(Debug, Clone)]
pub struct Analysis {
    /// Name of the plugin.
    pub name: Written<String>,
    /// Options as written, each with its span.
    pub options: Vec<(Written<String>, Written<Json>)>,
}

/// What a trial that was made from a report repeats, and the versions that was analysed with.
#[derive(Debug, Clone)]
pub struct Rerun {
    /// Name of the trial that is repeated.
    pub of: String,
    /// SHA-256 of the findings of its report.
    pub findings: Option<String>,
    /// Version of the program.
    pub program: Option<Written<String>>,
    /// Versions of its analyses by their names.
    pub analyses: Vec<(String, Written<String>)>,
}

/// A winter in the words of a trial file.
#[must_use]
pub fn winter_in_words(winter: Winter) -> &'static str {
    words::WINTERS.word(winter)
}

/// What a vine below one unit of a pruning rule gets, by the words of a trial file.
#[must_use]
pub fn light_of(words: &str) -> Option<Light> {
    words::LIGHTS.meaning(words)
}

#[cfg(test)]
mod tests;
