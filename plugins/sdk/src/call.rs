//! What a Rust plugin works with: the request, its tables as plain vectors, and one way to refuse.

use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};

use crate::findings::Findings;
use crate::request::{Request, Response};

/// An analysis. A plugin is a unit struct with this trait and `export_plugin!(Struct)`.
pub trait Analysis {
    /// The manifest as JSON, see [`crate::manifest::Manifest`].
    const MANIFEST: &'static str;

    /// Computes the findings.
    ///
    /// # Errors
    /// A [`Refusal`] where the data or the options do not allow an honest answer.
    fn analyse(&self, call: &Call) -> Result<Findings, Refusal>;
}

/// Everything one call brings.
#[derive(Debug, Clone)]
pub struct Call {
    /// Trial, options, seed.
    pub request: Request,
    /// The tables.
    pub tables: Vec<Table>,
}

impl Call {
    /// The options as the plugin's own type.
    ///
    /// # Errors
    /// Refuses options that do not fit the type.
    pub fn options<T: DeserializeOwned>(&self) -> Result<T, Refusal> {
        serde_json::from_value(self.request.options.clone()).map_err(|error| {
            Refusal::new(format!(
                "the options are not as this plugin expects: {error}"
            ))
        })
    }

    /// The response of a name that an option gives.
    ///
    /// # Errors
    /// Refuses a name the trial does not have.
    pub fn response(&self, name: &str, option: &str) -> Result<&Response, Refusal> {
        let mut responses = self.request.trial.responses.iter();
        responses.find(|one| one.name == name).ok_or_else(|| {
            Refusal::new(format!("the trial has no response '{name}'")).hint(format!(
                "correct the option '{option}' of the analysis '{}'",
                self.request.analysis
            ))
        })
    }

    /// The responses an option chose, in the order of the trial; where it chose none, all but the
    /// amounts reckoned again over planted spaces, of which only the crop is a question of its own, and
    /// but the vines lost, which are counts.
    pub fn chosen<'a>(&'a self, names: Option<&'a [String]>) -> impl Iterator<Item = &'a Response> {
        let responses = self.request.trial.responses.iter();
        responses.filter(move |one| match names {
            Some(names) => names.contains(&one.name),
            None => !one.reckoned_again() && !one.is_of_the_stand(),
        })
    }

    /// A table by its name.
    ///
    /// # Errors
    /// Refuses where there is none.
    pub fn table(&self, name: &str) -> Result<&Table, Refusal> {
        self.tables
            .iter()
            .find(|table| table.name == name)
            .ok_or_else(|| Refusal::new(format!("the request has no table '{name}'")))
    }
}

/// A table of equally long columns.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Table {
    /// Name: "plots" or "vines".
    pub name: String,
    /// Number of rows.
    pub rows: usize,
    /// Name and data of each column.
    pub columns: Vec<(String, Data)>,
}

/// A column's data; `None` is "not recorded".
#[derive(Debug, Clone, PartialEq)]
pub enum Data {
    /// Numbers, never NaN.
    Numbers(Vec<Option<f64>>),
    /// Whole numbers.
    Whole(Vec<Option<i64>>),
    /// Yes or no.
    Flags(Vec<Option<bool>>),
    /// Words.
    Texts(Vec<Option<String>>),
}

impl Table {
    /// Whether there is such a column.
    #[must_use]
    pub fn has(&self, name: &str) -> bool {
        self.columns.iter().any(|(column, _)| column == name)
    }

    /// A column of numbers.
    ///
    /// # Errors
    /// Refuses where the column is missing or not of numbers.
    pub fn numbers(&self, name: &str) -> Result<&[Option<f64>], Refusal> {
        match self.data(name)? {
            Data::Numbers(values) => Ok(values),
            _ => Err(self.wrong(name, "numbers")),
        }
    }

    /// A column of whole numbers.
    ///
    /// # Errors
    /// Refuses where the column is missing or not of whole numbers.
    pub fn whole(&self, name: &str) -> Result<&[Option<i64>], Refusal> {
        match self.data(name)? {
            Data::Whole(values) => Ok(values),
            _ => Err(self.wrong(name, "whole numbers")),
        }
    }

    /// A column of words.
    ///
    /// # Errors
    /// Refuses where the column is missing or not of words.
    pub fn texts(&self, name: &str) -> Result<&[Option<String>], Refusal> {
        match self.data(name)? {
            Data::Texts(values) => Ok(values),
            _ => Err(self.wrong(name, "words")),
        }
    }

    fn data(&self, name: &str) -> Result<&Data, Refusal> {
        self.columns
            .iter()
            .find(|(column, _)| column == name)
            .map(|(_, data)| data)
            .ok_or_else(|| {
                Refusal::new(format!("table '{}' has no column '{name}'", self.name)).column(name)
            })
    }

    fn wrong(&self, name: &str, wanted: &str) -> Refusal {
        Refusal::new(format!(
            "column '{name}' of table '{}' does not hold {wanted}",
            self.name
        ))
        .column(name)
    }
}

/// A sentence for the user that says why there is no answer and what to do.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize, thiserror::Error)]
#[error("{message}")]
#[serde(deny_unknown_fields)]
pub struct Refusal {
    /// What is wrong.
    pub message: String,
    /// The column it is about.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub column: Option<String>,
    /// The rows of the table it is about, counted from 0.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub rows: Vec<usize>,
    /// What to do.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hint: Option<String>,
}

impl Refusal {
    /// A refusal with its sentence.
    #[must_use]
    pub fn new(message: impl Into<String>) -> Self {
        Self {
            message: message.into(),
            ..Self::default()
        }
    }

    /// Names the column.
    #[must_use]
    pub fn column(mut self, column: impl Into<String>) -> Self {
        self.column = Some(column.into());
        self
    }

    /// Names the rows.
    #[must_use]
    pub fn rows(mut self, rows: Vec<usize>) -> Self {
        self.rows = rows;
        self
    }

    /// Says what to do.
    #[must_use]
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = Some(hint.into());
        self
    }
}
