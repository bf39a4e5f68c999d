//! A table of a paper as it was typed in: means with the error the paper gives.

use std::sync::Arc;

use crate::diagnostic::{Place, Source};
use crate::trial::{Unit, Written};

/// A published table.
#[derive(Debug, Clone)]
pub struct Published {
    /// The text of the file, for diagnostics.
    pub source: Arc<Source>,
    /// The work it stands in.
    pub citation: String,
    /// Which table of it.
    pub table: Option<String>,
    /// What it has means of, in the order written.
    pub responses: Vec<PublishedResponse>,
}

impl Published {
    /// The place of a span of the file.
    #[must_use]
    pub fn place(&self, span: &std::ops::Range<usize>) -> Place {
        Place::Span {
            source: Arc::clone(&self.source),
            start: span.start,
            end: span.end,
        }
    }

    /// The work and its table in words.
    #[must_use]
    pub fn words(&self) -> String {
        match &self.table {
            Some(table) => format!("{} ({table})", self.citation),
            None => self.citation.clone(),
        }
    }
}

/// Means of one response.
#[derive(Debug, Clone)]
pub struct PublishedResponse {
    /// Its name in the trial.
    pub name: Written<String>,
    /// Unit of its numbers.
    pub unit: Written<Unit>,
    /// Factors whose levels the treatments are; empty where the file does not say.
    pub factors: Vec<Written<String>>,
    /// Levels of each treatment, one a factor, and its mean.
    pub means: Vec<(Written<Vec<String>>, f64)>,
    /// Its error.
    pub error: Option<PublishedError>,
    /// Degrees of freedom of the error.
    pub df: Option<f64>,
    /// Plots of each mean.
    pub plots: Option<f64>,
}

/// An error as papers give it.
#[derive(Debug, Clone, PartialEq)]
pub enum PublishedError {
    /// Standard error of each mean, in the order of the means.
    Means(Vec<f64>),
    /// Standard error of a difference.
    Difference(f64),
    /// A least significant difference at a level.
    Least {
        /// The difference.
        value: f64,
        /// The level, as 0.05.
        level: f64,
    },
    /// A coefficient of variation, as a share.
    Variation(f64),
}
