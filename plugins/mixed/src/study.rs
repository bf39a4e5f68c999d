//! One response fitted: its terms with their tests, and any mean or difference asked of it.

use caneplot_numerics::critical::Critical;
use caneplot_numerics::mixed::grid::Grid;
use caneplot_numerics::mixed::kenward_roger::{self, Estimate, FTest, Order};
use caneplot_numerics::mixed::{Problem, Residual, Structure, satterthwaite};
use caneplot_numerics::transform::{Profile, Scale};
use caneplot_plugin::findings::{Rank, Statement};
use caneplot_plugin::request::{Response, TrialInfo};
use caneplot_plugin::words::{self, inside};
use caneplot_plugin::{Call, Refusal};
use nalgebra::DMatrix;

use crate::choice::{self, Choice};
use crate::components;
use crate::covariates::Covariate;
use crate::margins::Margin;
use crate::options::{AskedScale, Df, Options, Seasons, Variance};
use crate::readings::{self, Readings};
use crate::scale::{self, Scaled};
use crate::sources::Source;
use crate::spreads::{self, Spreads};

/// A term of the fixed part with its test.
pub(crate) struct Term {
    /// Places in the grid: margins, then the season.
    pub factors: Vec<usize>,
    /// `None` where it touches a cell without values, or the test cannot be reckoned.
    pub test: Option<FTest>,
}

/// A response with its fit.
pub(crate) struct Study<'a> {
    pub trial: &'a TrialInfo,
    pub options: &'a Options,
    pub response: &'a Response,
    pub criticals: &'a Critical,
    pub readings: Readings,
    pub scaled: Scaled,
    pub spreads: Option<Spreads>,
    pub problem: Problem,
    pub grid: Grid,
    pub choice: Choice,
    pub adjusted: DMatrix<f64>,
    pub terms: Vec<Term>,
    /// Parameters at zero, with what they would be if they could be negative.
    pub zeros: Vec<(usize, Option<f64>)>,
    /// Decimals of a mean, from the standard errors of differences of the main effects.
    pub decimals: u8,
}

impl<'a> Study<'a> {
    pub fn new(
        call: &'a Call,
        options: &'a Options,
        keys: &[String],
        covariates: &[Covariate],
        criticals: &'a Critical,
        response: &'a Response,
    ) -> Result<Self, Refusal> {
        let others: Vec<Covariate> = covariates
            .iter()
            .filter(|covariate| !(covariate.mediator && covariate.name == response.name))
            .cloned()
            .collect();
        let mut readings = readings::of(call, options, keys, &others, response)?;
        if others.len() < covariates.len() {
            readings.notes.push(
                Statement::new(
                    "This response is itself a covariate of the same season, so it is not adjusted for itself.",
                )
                .rank(Rank::Detail),
            );
        }
        constant(response, &readings.values)?;
        let season = readings
            .season
            .as_ref()
            .filter(|_| options.season == Seasons::Fixed);
        let mut codes: Vec<&[usize]> = readings
            .margins
            .iter()
            .map(|margin| margin.codes.as_slice())
            .collect();
        let mut sizes: Vec<usize> = readings
            .margins
            .iter()
            .map(|margin| margin.labels.len())
            .collect();
        if let Some(season) = season {
            codes.push(&season.codes);
            sizes.push(season.levels.len());
        }
        let slopes: Vec<Vec<f64>> = readings
            .covariates
            .iter()
            .map(|covariate| covariate.values.clone())
            .collect();
        let grid = Grid::new(&sizes, &codes, slopes.len());
        let mut problem = Problem {
            values: readings.values.clone(),
            fixed: grid.fixed(&codes, &slopes),
            random: readings
                .sources
                .iter()
                .map(|source| source.term.clone())
                .collect(),
            residual: Residual {
                structure: Structure::Independent,
                plot: readings.plot.clone(),
                season: match &readings.season {
                    Some(season) => season.codes.clone(),
                    None => vec![0; readings.values.len()],
                },
                times: readings.times.clone(),
                group: Vec::new(),
            },
        };
        let mut spreads = spread(options, &mut readings, &mut problem);
        let block_seasons = readings.block_seasons.clone();
        let mut scaled = Scaled::measured(response);
        let mut choice = None;
        match options.scale {
            AskedScale::Measured => {}
            AskedScale::Log => {
                scale::positive(&readings, response)?;
                scaled.scale = Scale::Log;
            }
            AskedScale::Choose => match scale::positive(&readings, response) {
                Err(refusal) => readings.notes.push(scale::unchosen(&refusal)),
                Ok(measured) => {
                    let (found, kept) = chosen(&mut readings, &mut problem, options, spreads)?;
                    spreads = kept;
                    scaled.profile = scale::profile(&problem, &found.fit.theta, &measured);
                    let chosen = scaled.profile.as_ref().and_then(Profile::choice);
                    scaled.scale = chosen.unwrap_or(Scale::Measured);
                    choice = Some(found).filter(|_| scaled.scale == Scale::Measured);
                }
            },
        }
        let (choice, spreads) = match choice {
            Some(choice) => (choice, spreads),
            None => {
                (problem.values, scaled.centre) = scale::values(scaled.scale, &readings, response);
                if let Some(source) = block_seasons {
                    let taken_in = |one: &Source| one.term.name == source.term.name;
                    if let Some(at) = readings.sources.iter().position(taken_in) {
                        readings.sources.remove(at);
                        problem.random.remove(at);
                    }
                    readings.block_seasons = Some(source);
                }
                chosen(&mut readings, &mut problem, options, spreads)?
            }
        };
        let adjusted = match options.df {
            Df::KenwardRoger => kenward_roger::adjusted_covariance(&choice.fit, Order::First),
            Df::Satterthwaite => choice.fit.covariance.clone(),
        };
        let zeros = components::at_zero(&problem, &choice.fit);
        let mut study = Self {
            trial: &call.request.trial,
            options,
            response,
            criticals,
            readings,
            scaled,
            spreads,
            problem,
            grid,
            choice,
            adjusted,
            terms: Vec::new(),
            zeros,
            decimals: response.decimals,
        };
        study.terms = study
            .crossings()
            .into_iter()
            .map(|factors| Term {
                test: study
                    .grid
                    .hypothesis(&factors, &[])
                    .and_then(|rows| study.test(&rows)),
                factors,
            })
            .collect();
        study.decimals = words::decimals(response, study.main_errors().into_iter());
        Ok(study)
    }

    /// Standard errors of differences between levels of each margin.
    fn main_errors(&self) -> Vec<f64> {
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
    fn crossings(&self) -> Vec<Vec<usize>> {
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

/// Groups of error variance, where they are asked for and there are plots enough.
fn spread(options: &Options, readings: &mut Readings, problem: &mut Problem) -> Option<Spreads> {
    if options.variance == Variance::Equal {
        return None;
    }
    let found = spreads::of(readings);
    match &found {
        Some(spreads) => problem.residual.group.clone_from(&spreads.codes),
        None => readings.notes.push(Statement::new("Some treatments have fewer than four plots, too few for an error variance of their own: one variance for all is used.")),
    }
    found
}

/// The fit, with one variance for all where those of the treatments cannot be found.
fn chosen(
    readings: &mut Readings,
    problem: &mut Problem,
    options: &Options,
    spreads: Option<Spreads>,
) -> Result<(Choice, Option<Spreads>), Refusal> {
    let block_seasons = readings.block_seasons.clone();
    match choice::of(readings, problem, options) {
        Ok(choice) => Ok((choice, spreads)),
        Err(refusal) if spreads.is_some() => {
            readings.notes.push(Statement::new(format!(
                "Error variances by treatment could not be found ({}): one variance for all is used.",
                words::safe(&refusal.message)
            )));
            problem.residual.group.clear();
            readings.block_seasons = block_seasons;
            Ok((choice::of(readings, problem, options)?, None))
        }
        Err(refusal) => Err(refusal),
    }
}

fn constant(response: &Response, values: &[f64]) -> Result<(), Refusal> {
    if let [first, rest @ ..] = values
        && rest.iter().all(|value| value == first)
    {
        return Err(Refusal::new(format!(
            "'{}' is the same in every plot ({}): there is no variation to analyse",
            response.label,
            words::plain(response.offset + first, response.decimals)
        ))
        .column(&response.name));
    }
    Ok(())
}
