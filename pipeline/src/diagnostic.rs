//! The only error shape a user sees: what happened, where, what to do.

use std::fmt;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// How grave a diagnostic is.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize,
)]
#[serde(rename_all = "lowercase")]
pub enum Severity {
    /// Worth knowing; goes into the report.
    Note,
    /// Probably a mistake; goes into the report.
    Warning,
    /// The run stops before any statistics.
    Error,
}

impl Severity {
    /// The word printed before the message.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Severity::Note => "note",
            Severity::Warning => "warning",
            Severity::Error => "error",
        }
    }
}

/// A text file as read, kept so that a diagnostic can show the line it is about.
#[derive(Debug)]
pub struct Source {
    /// As the user would write it.
    pub path: PathBuf,
    /// The whole text.
    pub text: String,
}

/// A place in a file.
#[derive(Debug, Clone)]
pub enum Place {
    /// Bytes of a text file we hold.
    Span {
        /// The file.
        source: Arc<Source>,
        /// First byte.
        start: usize,
        /// One past the last byte.
        end: usize,
    },
    /// A cell, row or column of a data file.
    Cell {
        /// The file as the user would write it.
        path: PathBuf,
        /// Line in the file, the header being line 1.
        line: Option<usize>,
        /// Column heading.
        column: Option<String>,
        /// In a workbook, where its own program shows it: "sheet 'winter', cell D14"; said instead
        /// of the line.
        sheet: Option<String>,
    },
}

impl Place {
    /// A file or folder as a whole.
    #[must_use]
    pub fn whole(path: &Path) -> Self {
        Self::Cell {
            path: path.to_owned(),
            line: None,
            column: None,
            sheet: None,
        }
    }

    /// The file.
    #[must_use]
    pub fn path(&self) -> &Path {
        match self {
            Place::Span { source, .. } => &source.path,
            Place::Cell { path, .. } => path,
        }
    }

    /// Line and column, counted from 1, of a span's first byte.
    #[must_use]
    pub fn line_column(&self) -> Option<(usize, usize)> {
        match self {
            Place::Span { source, start, .. } => {
                let before = source.text.get(..*start)?;
                let line_start = before.rfind('\n').map_or(0, |at| at + 1);
                Some((
                    before.matches('\n').count() + 1,
                    before[line_start..].chars().count() + 1,
                ))
            }
            Place::Cell { line, .. } => line.map(|line| (line, 1)),
        }
    }
}

/// One mistake, doubt or remark.
#[derive(Debug, Clone)]
pub struct Diagnostic {
    /// How grave.
    pub severity: Severity,
    /// Name of the rule, `a-z-`, stable: `caneplot check --rules` lists them.
    pub rule: &'static str,
    /// What happened, one sentence, no full stop needed.
    pub message: String,
    /// Where; several places where it concerns several, the main one first.
    pub places: Vec<Place>,
    /// What to do.
    pub help: Option<String>,
}

impl Diagnostic {
    /// An error.
    #[must_use]
    pub fn error(rule: &'static str, message: impl Into<String>) -> Self {
        Self::new(Severity::Error, rule, message)
    }

    /// A warning.
    #[must_use]
    pub fn warning(rule: &'static str, message: impl Into<String>) -> Self {
        Self::new(Severity::Warning, rule, message)
    }

    /// A note.
    #[must_use]
    pub fn note(rule: &'static str, message: impl Into<String>) -> Self {
        Self::new(Severity::Note, rule, message)
    }

    fn new(severity: Severity, rule: &'static str, message: impl Into<String>) -> Self {
        Self {
            severity,
            rule,
            message: message.into(),
            places: Vec::new(),
            help: None,
        }
    }

    /// The same about a file that is read as a trial file is, under its own name.
    #[must_use]
    pub fn about(mut self, file: &str) -> Self {
        self.message = self.message.replace("trial.toml", file);
        self.help = self.help.map(|help| help.replace("trial.toml", file));
        self
    }

    /// Adds a place.
    #[must_use]
    pub fn at(mut self, place: Place) -> Self {
        self.places.push(place);
        self
    }

    /// Adds what to do.
    #[must_use]
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }
}

/// Places a printed diagnostic shows; the rest are counted.
const SHOWN: usize = 8;

/// Prints the diagnostic with its line and a caret, where it has a text.
impl fmt::Display for Diagnostic {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(f, "{}: {}", self.severity.word(), self.message)?;
        for place in self.places.iter().take(SHOWN) {
            match place {
                Place::Span { source, start, end } => {
                    let (line, column) = place.line_column().unwrap_or((1, 1));
                    let shown = source.text.lines().nth(line - 1).unwrap_or("");
                    let gutter = line.to_string().len();
                    let rest = shown.chars().count() + 1 - column.min(shown.chars().count() + 1);
                    let marked = source
                        .text
                        .get(*start..*end)
                        .map_or(1, |text| text.chars().count());
                    writeln!(
                        f,
                        "  {:gutter$}--> {}:{line}:{column}",
                        "",
                        source.path.display()
                    )?;
                    writeln!(f, "  {line} | {}", shown.replace('\t', " "))?;
                    writeln!(
                        f,
                        "  {:gutter$} | {:indent$}{}",
                        "",
                        "",
                        "^".repeat(marked.clamp(1, rest.max(1))),
                        indent = column - 1
                    )?;
                }
                Place::Cell {
                    path,
                    line,
                    column,
                    sheet,
                } => {
                    write!(f, "  --> {}", path.display())?;
                    match (sheet, line) {
                        (Some(sheet), _) => write!(f, ", {sheet}")?,
                        (None, Some(line)) => write!(f, ", line {line}")?,
                        (None, None) => {}
                    }
                    if let Some(column) = column {
                        write!(f, ", column '{column}'")?;
                    }
                    writeln!(f)?;
                }
            }
        }
        if self.places.len() > SHOWN {
            writeln!(f, "  and {} more places", self.places.len() - SHOWN)?;
        }
        if let Some(help) = &self.help {
            writeln!(f, "  do: {help}")?;
        }
        Ok(())
    }
}

/// The candidate nearest to what was written, if any is near enough to be meant.
#[must_use]
pub fn nearest<'a>(
    written: &str,
    candidates: impl IntoIterator<Item = &'a str>,
) -> Option<&'a str> {
    let lower = written.to_lowercase();
    candidates
        .into_iter()
        .map(|candidate| {
            (
                strsim::damerau_levenshtein(&lower, &candidate.to_lowercase()),
                candidate,
            )
        })
        .filter(|(distance, candidate)| {
            *distance <= 1 + candidate.chars().count().max(written.chars().count()) / 3
        })
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, candidate)| candidate)
}
