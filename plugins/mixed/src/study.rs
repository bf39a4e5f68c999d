//! One response fitted: its terms with their tests, and any mean or difference asked of it.

use caneplot_numerics::critical::Critical;
use caneplot_numerics::mixed::grid::Grid;
use caneplot_numerics::mixed::kenward_roger::{self, Estimate, FTest};
use caneplot_numerics::mixed::{Problem, satterthwaite};
use caneplot_plugin::Call;
use caneplot_plugin::request::{Response, TrialInfo};
use caneplot_plugin::words::{self, inside};
use nalgebra::DMatrix;

use crate::choice::Choice;
use crate::covariates::Covariate;
use crate::margins::Margin;
use crate::options::{Df, Options, Seasons};
use crate::readings::Readings;
use crate::scale::Scaled;
use crate::spreads::Spreads;
use crate::vines::Vines;

/// A term of the fixed part with its test.
pub(crate) struct Term {
    /// Places in the grid: margins, then the season.
    pub factors: Vec<usize>,
    /// `None` where it touches a cell without values, or the test cannot be reckoned.
    pub test: Option<FTest>,
}

/// What all responses of a call share.
pub(crate) struct Given<'a> {
    pub call: &'a Call,
    pub options: Options,
    /// Plot of each row of the table of plots, in words.
    pub keys: Vec<String>,
    pub covariates: Vec<Covariate>,
    pub criticals: Critical,
    pub vines: Option<Vines>,
}

/// A response with its fit.
pub(crate) struct Study<'a> {
    pub trial: &'a TrialInfo,
    pub options: &'a Options,
    pub response: &'a Response,
    pub criticals: &'a Critical,
    pub vines: Option<Vines>,
    pub readings: Readings,
    pub scaled: Scaled,
    pub spreads: Option<Spreads>,
    pub problem: Problem,
    pub grid: Grid,
    pub choice: Choice,
    pub adjusted: DMatrix<f64>,
    pub terms: Vec<Term>,
    /// Variances at or below zero, with what they are free to be negative.
    pub zeros: Vec<(usize, Option<f64>)>,
    /// Variances of units that carry no treatment (blocks, rows, columns), which single means count as
    /// zero where they are below.
    pub none: Vec<usize>,
    /// Decimals of a mean, from the standard errors of differences of the main effects.
    pub decimals: u8,
}

impl Study<'_> {
    /// Standard errors of differences between levels of each margin.
    pub fn main_errors(&self) -> Vec<f64> {
        let mut all = Vec::new();
        for factor in 0..self.margins().len() {
            let means = self.means(&[factor], &[]);
            for second in 1..means.levels.len() {
                let error = self.difference(&means, 0, second).and_then(|difference| {
                    let near = means.estimates[second]?.value;
                    self.error_in_units(near, difference.standard_error)
                });
                all.extend(error);
            }
        }
        all
    }

    /// Every crossing of the margins, then the season and its crossings.
    pub fn crossings(&self) -> Vec<Vec<usize>> {
        let margins = self.readings.margins.len();
        let mut sets: Vec<Vec<usize>> = (1_usize..1 << margins)
            .map(|mask| (0..margins).filter(|at| mask & (1 << at) != 0).collect())
            .collect();
        sets.sort_by(|a: &Vec<usize>, b| a.len().cmp(&b.len()).then(a.cmp(b)));
        if let Some(season) = self.season() {
            let crossed: Vec<Vec<usize>> = sets
                .iter()
                .map(|set| set.iter().copied().chain([season]).collect())
                .collect();
            sets.push(vec![season]);
            sets.extend(crossed);
        }
        sets
    }

    /// Place of the season in the grid, where seasons are fixed.
    pub fn season(&self) -> Option<usize> {
        let fixed = self.options.season == Seasons::Fixed && self.readings.season.is_some();
        fixed.then_some(self.readings.margins.len())
    }

    /// Names of the seasons, where they repeat.
    pub fn seasons(&self) -> &[String] {
        match &self.readings.season {
            Some(season) => &season.levels,
            None => &[],
        }
    }

    /// All margins.
    pub fn margins(&self) -> &[Margin] {
        &self.readings.margins
    }

    /// The test of a hypothesis; `None` where it cannot be reckoned.
    pub fn test(&self, rows: &DMatrix<f64>) -> Option<FTest> {
        let fit = &self.choice.fit;
        match self.options.df {
            Df::KenwardRoger => kenward_roger::test(fit, &self.adjusted, rows).ok(),
            Df::Satterthwaite => satterthwaite::test(fit, rows).ok(),
        }
    }

    /// A weighted sum of cells with its precision, still centred.
    pub fn estimate(&self, row: &[f64]) -> Option<Estimate> {
        let fit = &self.choice.fit;
        match self.options.df {
            Df::KenwardRoger => kenward_roger::estimate(fit, &self.adjusted, row).ok(),
            Df::Satterthwaite => satterthwaite::estimate(fit, row).ok(),
        }
    }

    /// The same of a single mean, to which blocks that vary by less than nothing add nothing.
    pub fn single(&self, row: &[f64]) -> Option<Estimate> {
        let fit = &self.choice.fit;
        match self.options.df {
            Df::KenwardRoger => kenward_roger::mean(fit, &self.adjusted, row, &self.none).ok(),
            Df::Satterthwaite => satterthwaite::mean(fit, row, &self.none).ok(),
        }
    }

    /// The term over these places of the grid.
    pub fn term(&self, factors: &[usize]) -> Option<&Term> {
        self.terms.iter().find(|term| term.factors == factors)
    }

    /// Whether a term's test is rarer than the level.
    pub fn clear(&self, factors: &[usize]) -> bool {
        self.term(factors)
            .and_then(|term| term.test)
            .is_some_and(|test| test.p < self.options.level)
    }

    /// The name of a place of the grid inside a sentence.
    pub fn factor_words(&self, factor: usize) -> String {
        match self.margins().get(factor) {
            Some(margin) => inside(&margin.label),
            None => "season".to_owned(),
        }
    }

    /// "pruning × season".
    pub fn term_words(&self, factors: &[usize]) -> String {
        let names: Vec<String> = factors.iter().map(|&at| self.factor_words(at)).collect();
        names.join(" × ")
    }

    /// A level in a sentence.
    pub fn level_words(&self, factor: usize, level: usize) -> String {
        match self.margins().get(factor) {
            Some(margin) => margin.words[level].clone(),
            None => words::safe(&self.seasons()[level]),
        }
    }

    /// A level in a table.
    pub fn level_label(&self, factor: usize, level: usize) -> String {
        match self.margins().get(factor) {
            Some(margin) => margin.labels[level].clone(),
            None => self.seasons()[level].clone(),
        }
    }

    /// Levels of several factors in a sentence.
    pub fn cell_words(&self, factors: &[usize], levels: &[usize]) -> String {
        let parts: Vec<String> = factors
            .iter()
            .zip(levels)
            .map(|(&factor, &level)| self.level_words(factor, level))
            .collect();
        parts.join(", ")
    }

    /// "over the 4 seasons" and the like, where means are over seasons.
    pub fn over_seasons(&self) -> String {
        match self.seasons() {
            [] => String::new(),
            seasons => format!(" over {} seasons", seasons.len()),
        }
    }

    /// Cells without values, in words.
    pub fn empty_cells(&self) -> Option<String> {
        let empty = self.grid.empty();
        if empty.is_empty() {
            return None;
        }
        let all: Vec<usize> = (0..empty[0].len()).collect();
        let names: Vec<String> = empty
            .iter()
            .take(8)
            .map(|levels| self.cell_words(&all, levels))
            .collect();
        let more = match empty.len() > 8 {
            true => format!(" and {} more", empty.len() - 8),
            false => String::new(),
        };
        Some(format!("{}{more}", names.join("; ")))
    }

    /// The response inside a sentence.
    pub fn name(&self) -> String {
        inside(&self.response.label)
    }
}
