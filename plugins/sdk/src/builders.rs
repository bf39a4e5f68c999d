//! Short ways to write findings: statements, columns.

use crate::findings::{Cells, Column, Format, Rank, Reference, Statement, Value};

impl Statement {
    /// A sentence without numbers yet.
    #[must_use]
    pub fn new(text: impl Into<String>) -> Self {
        Self {
            text: text.into(),
            ..Self::default()
        }
    }

    /// Puts a number in place of `{name}`.
    #[must_use]
    pub fn with(mut self, name: &str, value: f64, format: Format) -> Self {
        self.values.insert(
            name.to_owned(),
            Value {
                value,
                format,
                unit: None,
            },
        );
        self
    }

    /// Puts a number with its unit in place of `{name}`.
    #[must_use]
    pub fn with_unit(mut self, name: &str, value: f64, format: Format, unit: &str) -> Self {
        self.values.insert(
            name.to_owned(),
            Value {
                value,
                format,
                unit: Some(unit.to_owned()),
            },
        );
        self
    }

    /// Says how much it matters.
    #[must_use]
    pub fn rank(mut self, rank: Rank) -> Self {
        self.rank = rank;
        self
    }
}

impl Column {
    /// A column of words.
    #[must_use]
    pub fn text<S: Into<String>>(name: &str, values: impl IntoIterator<Item = S>) -> Self {
        let values = values.into_iter().map(|value| Some(value.into())).collect();
        Self {
            name: name.to_owned(),
            unit: None,
            cells: Cells::Text { values },
        }
    }

    /// A column of numbers.
    #[must_use]
    pub fn number(name: &str, values: Vec<Option<f64>>, format: Format) -> Self {
        Self {
            name: name.to_owned(),
            unit: None,
            cells: Cells::Number { values, format },
        }
    }

    /// A column of whole numbers.
    #[must_use]
    pub fn count(name: &str, values: Vec<Option<i64>>) -> Self {
        Self {
            name: name.to_owned(),
            unit: None,
            cells: Cells::Count { values },
        }
    }

    /// A column of probabilities.
    #[must_use]
    pub fn probability(name: &str, values: Vec<Option<f64>>) -> Self {
        Self {
            name: name.to_owned(),
            unit: None,
            cells: Cells::Probability { values },
        }
    }

    /// Gives the column a unit.
    #[must_use]
    pub fn in_unit(mut self, unit: &str) -> Self {
        self.unit = Some(unit.to_owned());
        self
    }
}

impl Reference {
    /// Those of a plugin's works (key and full text) that its sentences cite.
    #[must_use]
    pub fn cited(works: &[(&str, &str)], sentences: &[String]) -> Vec<Self> {
        works
            .iter()
            .filter(|(key, _)| {
                let mark = format!("@{key}");
                sentences.iter().any(|sentence| sentence.contains(&mark))
            })
            .map(|(key, text)| Self {
                key: (*key).to_owned(),
                text: (*text).to_owned(),
            })
            .collect()
    }
}
