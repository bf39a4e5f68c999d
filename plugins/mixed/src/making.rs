//! From the values of a response to its fit: the problem, its scale and groups, the covariance, the
//! tests.

use caneplot_numerics::mixed::grid::Grid;
use caneplot_numerics::mixed::kenward_roger::{self, Order};
use caneplot_numerics::mixed::{Problem, Residual, Structure};
use caneplot_numerics::transform::{Profile, Scale};
use caneplot_plugin::Refusal;
use caneplot_plugin::findings::{Rank, Statement};
use caneplot_plugin::request::Response;
use caneplot_plugin::words;
use nalgebra::DMatrix;

use crate::choice::{self, Below, Choice};
use crate::components;
use crate::covariates::Covariate;
use crate::options::{AskedScale, Df, Options, Seasons, Variance};
use crate::readings::{self, Readings};
use crate::scale::{self, Scaled};
use crate::sources::Source;
use crate::spreads::{self, Spreads};
use crate::study::{Given, Study, Term};

impl<'a> Study<'a> {
    /// The fit of a response with its tests.
    ///
    /// # Errors
    /// A refusal of this response; others go on.
    pub fn new(given: &'a Given<'a>, response: &'a Response) -> Result<Self, Refusal> {
        let Given {
            options,
            covariates,
            ..
        } = given;
        let others: Vec<Covariate> = covariates
            .iter()
            .filter(|covariate| !(covariate.mediator && covariate.name == response.name))
            .cloned()
            .collect();
        let mut readings = readings::of(given, &others, response)?;
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
                    scaled.profile = scale::profile(&problem, &found.held().theta, &measured);
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
        let none = (0..readings.sources.len())
            .filter(|&at| !readings.sources[at].carries_treatment(&readings.margins))
            .collect();
        let mut study = Self {
            trial: &given.call.request.trial,
            options,
            response,
            criticals: &given.criticals,
            vines: given.vines,
            readings,
            scaled,
            spreads,
            problem,
            grid,
            choice,
            adjusted: DMatrix::zeros(0, 0),
            terms: Vec::new(),
            zeros: Vec::new(),
            none,
            decimals: response.decimals,
        };
        study.infer();
        let unanswered = |term: &Term| {
            term.test.is_none() && study.grid.hypothesis(&term.factors, &[]).is_some()
        };
        if matches!(study.choice.below, Below::Kept(_)) && study.terms.iter().any(unanswered) {
            study.choice.hold();
            study.infer();
        }
        study.zeros = components::at_zero(&study.problem, &study.choice);
        study.decimals = words::decimals(response, study.main_errors().into_iter());
        Ok(study)
    }

    /// The covariance of the means and the tests of the terms, from the fit.
    fn infer(&mut self) {
        let fit = &self.choice.fit;
        self.adjusted = match self.options.df {
            Df::KenwardRoger => kenward_roger::adjusted_covariance(fit, Order::First),
            Df::Satterthwaite => fit.covariance.clone(),
        };
        self.terms = self
            .crossings()
            .into_iter()
            .map(|factors| Term {
                test: self
                    .grid
                    .hypothesis(&factors, &[])
                    .and_then(|rows| self.test(&rows)),
                factors,
            })
            .collect();
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

/// A value with the unit of its response.
fn with_unit(response: &Response, value: f64) -> String {
    let number = words::plain(value, response.decimals);
    match words::unit(response) {
        "" => number,
        unit => format!("{number} {unit}"),
    }
}

fn constant(response: &Response, values: &[f64]) -> Result<(), Refusal> {
    if let [first, rest @ ..] = values
        && rest.iter().all(|value| value == first)
    {
        return Err(Refusal::new(format!(
            "'{}' is the same in every plot ({}): there is no variation to analyse",
            response.label,
            with_unit(response, response.offset + first)
        ))
        .column(&response.name));
    }
    Ok(())
}
