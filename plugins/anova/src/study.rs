//! One response analysed: its design, its analysis of variance and its tables of means.

use std::rc::Rc;

use caneplot_numerics::critical::Critical;
use caneplot_numerics::means::{MeanTable, Precision};
use caneplot_numerics::variance::{TermLine, Variance};
use caneplot_plugin::findings::{Format, Statement};
use caneplot_plugin::request::{Factor, Level, Response, TrialInfo};

use crate::analyst::Planned;
use crate::options::Options;
use crate::words;

/// One response analysed.
pub(crate) struct Study<'a> {
    pub trial: &'a TrialInfo,
    pub options: &'a Options,
    pub response: &'a Response,
    pub planned: Rc<Planned>,
    /// Centred values.
    pub values: Vec<f64>,
    pub variance: Variance,
    /// A table of means for each term.
    pub tables: Vec<MeanTable>,
    /// What was left out or pooled before the analysis.
    pub notes: Vec<Statement>,
    pub critical: Rc<Critical>,
}

impl Study<'_> {
    /// The term made of these treatment factors (by their place in the trial), with or without the
    /// season.
    pub fn term(&self, factors: &[usize], season: bool) -> Option<usize> {
        let design = &self.planned.design;
        let mut classifiers: Vec<usize> = factors.iter().map(|&at| design.treatments[at]).collect();
        if season {
            classifiers.push(design.season?);
        }
        design.layout.term_of(&classifiers)
    }

    /// The treatment factors of a term.
    pub fn factors_of(&self, term: usize) -> Vec<usize> {
        let design = &self.planned.design;
        let classifiers = &design.layout.terms()[term].classifiers;
        (0..design.treatments.len())
            .filter(|&at| classifiers.contains(&design.treatments[at]))
            .collect()
    }

    /// Whether a term has the season in it.
    pub fn has_season(&self, term: usize) -> bool {
        let design = &self.planned.design;
        design
            .season
            .is_some_and(|season| design.layout.terms()[term].classifiers.contains(&season))
    }

    pub fn factor(&self, at: usize) -> &Factor {
        &self.trial.factors[at]
    }

    pub fn line(&self, term: usize) -> &TermLine {
        &self.variance.lines[term]
    }

    /// Whether a term's F is rarer than the level.
    pub fn clear(&self, term: usize) -> bool {
        self.line(term).p.is_some_and(|p| p < self.options.level)
    }

    /// Names of the levels of a factor that have data, in order.
    pub fn levels(&self, factor: usize) -> &[String] {
        let design = &self.planned.design;
        &design.layout.classifiers()[design.treatments[factor]].levels
    }

    /// A level of a factor, by its place among those with data.
    pub fn level(&self, factor: usize, at: usize) -> Option<&Level> {
        let name = self.levels(factor).get(at)?;
        self.factor(factor)
            .levels
            .iter()
            .find(|level| &level.name == name)
    }

    /// A level in a sentence.
    pub fn level_words(&self, factor: usize, at: usize) -> String {
        self.level(factor, at).map_or_else(String::new, |level| {
            words::level(self.factor(factor), level)
        })
    }

    /// A level in a table or on an axis.
    pub fn level_label(&self, factor: usize, at: usize) -> String {
        self.level(factor, at)
            .map_or_else(String::new, |level| level.label.clone())
    }

    /// The quantities of the levels with data, where the factor is numeric.
    pub fn quantities(&self, factor: usize) -> Option<Vec<f64>> {
        if !self.factor(factor).is_numeric() {
            return None;
        }
        (0..self.levels(factor).len())
            .map(|at| self.level(factor, at).and_then(|level| level.value))
            .collect()
    }

    /// The place of the control among the levels with data.
    pub fn control(&self, factor: usize) -> Option<usize> {
        let name = self.factor(factor).control.as_ref()?;
        self.levels(factor).iter().position(|level| level == name)
    }

    pub fn seasons(&self) -> &[String] {
        let design = &self.planned.design;
        match design.season {
            Some(season) => &design.layout.classifiers()[season].levels,
            None => &[],
        }
    }

    /// Levels of a cell of a term, one for each of its classifiers.
    pub fn cell_levels(&self, term: usize, cell: usize) -> &[usize] {
        &self.planned.plans[term].levels[cell]
    }

    /// A cell of a term without its season, in a sentence.
    pub fn cell_words(&self, term: usize, cell: usize) -> String {
        let levels = self.cell_levels(term, cell);
        let parts: Vec<String> = self
            .factors_of(term)
            .into_iter()
            .zip(levels)
            .map(|(factor, &level)| self.level_words(factor, level))
            .collect();
        parts.join(", ")
    }

    /// A mean with its offset.
    pub fn mean(&self, term: usize, cell: usize) -> f64 {
        self.response.offset + self.tables[term].means[cell]
    }

    /// The unit of the response as it is printed.
    pub fn unit(&self) -> &str {
        words::unit(self.response)
    }

    /// Decimals of a mean, from the standard errors of the main effects.
    pub fn decimals(&self) -> u8 {
        let factors = 0..self.trial.factors.len();
        let errors = factors
            .filter_map(|factor| self.term(&[factor], false))
            .flat_map(|term| self.tables[term].of_mean.iter().flatten())
            .map(Precision::standard_error);
        words::decimals(self.response, errors)
    }

    /// How means are written.
    pub fn of_means(&self) -> Format {
        Format::Decimals(self.decimals())
    }

    /// How standard errors are written beside those means.
    pub fn of_errors(&self, errors: impl Iterator<Item = f64>) -> Format {
        words::of_errors(self.decimals(), errors)
    }

    /// The mean of everything, with its offset.
    pub fn grand_mean(&self) -> f64 {
        self.response.offset + self.variance.mean
    }

    /// First mean less second, without the offset, so that no digits are lost.
    pub fn difference(&self, term: usize, first: usize, second: usize) -> f64 {
        self.tables[term].means[first] - self.tables[term].means[second]
    }

    /// Precision of the difference of two means.
    pub fn precision(&self, term: usize, first: usize, second: usize) -> Option<Precision> {
        let pair = (first.min(second), first.max(second));
        let kind = self.planned.kind_of(term, pair)?;
        self.tables[term].of_difference[kind].filter(|precision| precision.variance > 0.0)
    }

    pub fn standard_error(&self, term: usize, cell: usize) -> Option<f64> {
        self.tables[term].of_mean[cell].map(|precision| precision.standard_error())
    }
}
