//! Which covariance over seasons is used, and what it was compared with.

use std::collections::BTreeSet;

use caneplot_numerics::mixed::criteria::Criteria;
use caneplot_numerics::mixed::season::Parameter;
use caneplot_numerics::mixed::{
    Candidate, Fit, MixedError, Problem, Settings, Structure, candidate, candidate_near, freed,
    linear, refit,
};
use caneplot_plugin::Refusal;
use caneplot_plugin::findings::Statement;
use caneplot_plugin::words::{beginning, safe};

use crate::options::{BelowZero, BlockSeasons, Options};
use crate::readings::Readings;
use crate::sources::Source;

/// Plots beyond the treatments, for each season, that an unstructured covariance needs.
const PLOTS_A_SEASON: usize = 2;

/// A structure that was fitted.
pub(crate) struct Tried {
    pub structure: Structure,
    /// Its criteria, or why there are none.
    pub criteria: Result<Criteria, String>,
}

/// What became of variances that belong below zero.
pub(crate) enum Below {
    /// There is none, or the covariance has no meaning with one.
    Nothing,
    /// They are kept in the fit used; this one has them at zero.
    Kept(Box<Fit>),
    /// They are at zero, as there is no fit with them below.
    Impossible,
    /// They are at zero, as asked for.
    Held,
}

/// The fit used and those it was compared with.
pub(crate) struct Choice {
    pub tried: Vec<Tried>,
    /// Tests and differences are from this one.
    pub fit: Fit,
    pub below: Below,
    pub structure: Structure,
    /// By how much the criterion fell (below zero: rose) with blocks in each season, where the data
    /// were asked.
    pub block_seasons: Option<f64>,
}

impl Choice {
    /// The fit with all variances at zero or above: what components and criteria are about.
    pub fn held(&self) -> &Fit {
        match &self.below {
            Below::Kept(held) => held,
            _ => &self.fit,
        }
    }

    /// A question put to the fit of a problem that differs little from that of this choice, made the
    /// same way; `None` where neither fit answers.
    pub fn again<T>(&self, problem: &Problem, ask: impl Fn(&Fit) -> Option<T>) -> Option<T> {
        let held = refit(problem, &self.held().theta, Settings::default()).ok()?;
        let free = match self.below {
            Below::Held => None,
            _ => freed(problem, &held, Settings::default()).ok(),
        };
        free.and_then(|free| ask(&free)).or_else(|| ask(&held))
    }

    /// Goes back to variances at zero where the fit with them below cannot answer: near a singular
    /// covariance the degrees of freedom of a test may come out below zero.
    pub fn hold(&mut self) {
        if let Below::Kept(held) = std::mem::replace(&mut self.below, Below::Impossible) {
            self.fit = *held;
        }
    }

    /// Lets variances at zero be negative where that has a meaning and is not forbidden.
    fn free(&mut self, problem: &Problem, options: &Options) {
        if self.fit.certificate.at_zero.is_empty() || !linear(problem) {
            return;
        }
        if options.below_zero == BelowZero::Hold {
            self.below = Below::Held;
            return;
        }
        self.below = match freed(problem, &self.fit, Settings::default()) {
            Ok(free) => Below::Kept(Box::new(std::mem::replace(&mut self.fit, free))),
            Err(_) => Below::Impossible,
        };
    }
}

/// Structures worth trying for these plots and seasons.
fn candidates(readings: &Readings) -> Vec<Structure> {
    let seasons = readings.times.len();
    if seasons < 2 {
        return vec![Structure::Independent];
    }
    let plots = readings.plot_names.len();
    let combinations: BTreeSet<Vec<usize>> = (0..readings.values.len())
        .map(|unit| readings.margins.iter().map(|m| m.codes[unit]).collect())
        .collect();
    Structure::ALL
        .into_iter()
        .filter(|structure| match structure {
            // With two seasons there is one distance in time and one pair.
            Structure::Autoregressive | Structure::UnequalAutoregressive => seasons > 2,
            Structure::Unstructured => {
                seasons > 2 && plots >= combinations.len() + PLOTS_A_SEASON * seasons
            }
            _ => true,
        })
        .collect()
}

/// Fits the structure asked for, or all and chooses by the corrected Akaike criterion; then asks
/// whether blocks go their own way in each season.
pub(crate) fn of(
    readings: &mut Readings,
    problem: &mut Problem,
    options: &Options,
) -> Result<Choice, Refusal> {
    let asked = options.structure()?;
    let mut choice = loop {
        match best(readings, problem, asked) {
            Ok(choice) => break choice,
            Err(Some(MixedError::NotIdentified(name))) if drops(readings, problem, &name) => {}
            Err(error) => return Err(refusal(error.as_ref(), readings)),
        }
    };
    if let Some(source) = readings.block_seasons.take() {
        blocks_in_seasons(readings, problem, options, &mut choice, source);
    }
    choice.free(problem, options);
    Ok(choice)
}

/// Takes out a source that differs from season to season and cannot be told from the others.
fn drops(readings: &mut Readings, problem: &mut Problem, name: &str) -> bool {
    let place = |source: &Source| source.by_season && source.term.name == name;
    // With other sources of the seasons the fault may lie with any of them: the last one goes.
    let Some(at) = readings
        .sources
        .iter()
        .position(place)
        .or_else(|| readings.sources.iter().rposition(|source| source.by_season))
    else {
        return false;
    };
    let gone = readings.sources.remove(at);
    problem.random.remove(at);
    readings.notes.push(Statement::new(format!(
        "{} cannot be told apart from the errors of plots in these values and have no variance of their own.",
        beginning(&gone.term.name)
    )));
    true
}

/// Takes in blocks in each season where that is asked for or lowers the criterion.
fn blocks_in_seasons(
    readings: &mut Readings,
    problem: &mut Problem,
    options: &Options,
    choice: &mut Choice,
    source: Source,
) {
    let random = problem.random.len();
    problem.random.push(source.term.clone());
    let found = match options.block_seasons {
        BlockSeasons::Keep => candidate(problem, Settings::default()),
        // From zero, where the search ends at once if the variance would not rise.
        _ => {
            let mut near = choice.fit.theta.clone();
            near.insert(random, 0.0);
            candidate_near(problem, &near, Settings::default())
        }
    };
    let gain = found
        .as_ref()
        .ok()
        .and_then(|with| Some(choice.fit.criteria().aicc? - with.criteria().aicc?));
    choice.block_seasons = gain;
    let wanted = options.block_seasons == BlockSeasons::Keep || gain.is_some_and(|gain| gain > 0.0);
    match found.and_then(|with| match wanted {
        true => refit(problem, &with.theta, Settings::default()).map(Some),
        false => Ok(None),
    }) {
        Ok(Some(with)) => {
            choice.fit = with;
            readings.sources.push(source);
        }
        Ok(None) => {
            problem.random.pop();
        }
        Err(error) => {
            problem.random.pop();
            if options.block_seasons == BlockSeasons::Keep {
                readings.notes.push(Statement::new(format!(
                    "Blocks in each season could not be kept apart: {}.",
                    safe(&error.to_string())
                )));
            }
        }
    }
}

/// The best of the structures, or the error of the last.
fn best(
    readings: &Readings,
    problem: &mut Problem,
    asked: Option<Structure>,
) -> Result<Choice, Option<MixedError>> {
    let structures = match asked.filter(|_| readings.times.len() > 1) {
        Some(structure) => vec![structure],
        None => candidates(readings),
    };
    let mut tried = Vec::new();
    let mut best: Option<(f64, Structure, Candidate)> = None;
    let mut last = None;
    let (mut equal, mut fading) = (None, None);
    for structure in structures {
        problem.residual.structure = structure;
        let settings = Settings {
            // What a form with one variance has told of the correlation.
            correlation: match structure {
                Structure::UnequalSymmetric => equal,
                Structure::UnequalAutoregressive | Structure::Unstructured => fading,
                _ => None,
            },
            ..Settings::default()
        };
        let criteria = match candidate(problem, settings) {
            Ok(found) => {
                let criteria = found.criteria();
                match structure {
                    Structure::Symmetric => equal = shared(&found),
                    Structure::Autoregressive => fading = found.estimate(Parameter::Correlation),
                    _ => {}
                }
                // Too few values for the correction: only a fit that stands alone may be used.
                let rank = criteria.aicc.unwrap_or(f64::INFINITY);
                // Plots are the units of the treatments: their seasons are independent in no trial, and
                // taking them so would make replicates of them. Such forms are there to compare with.
                let usable = asked.is_some() || structure.correlated() || readings.times.len() < 2;
                if usable && best.as_ref().is_none_or(|(least, _, _)| rank < *least) {
                    best = Some((rank, structure, found));
                }
                Ok(criteria)
            }
            Err(error @ MixedError::NotIdentified(_))
                if readings.sources.iter().any(|source| source.by_season) =>
            {
                return Err(Some(error));
            }
            Err(error) => {
                let text = error.to_string();
                last = Some(error);
                Err(text)
            }
        };
        tried.push(Tried {
            structure,
            criteria,
        });
    }
    let (_, structure, found) = best.ok_or(last)?;
    problem.residual.structure = structure;
    let fit = refit(problem, &found.theta, Settings::default()).map_err(Some)?;
    Ok(Choice {
        tried,
        fit,
        below: Below::Nothing,
        structure,
        block_seasons: None,
    })
}

/// Share of the plots in the variance of an error, where it says something.
fn shared(found: &Candidate) -> Option<f64> {
    let (plot, error) = (
        found.estimate(Parameter::Plot)?,
        found.estimate(Parameter::Error)?,
    );
    Some((plot / (plot + error)).clamp(0.01, 0.99))
}

/// Why nothing could be fitted, with what to do.
fn refusal(error: Option<&MixedError>, readings: &Readings) -> Refusal {
    let Some(error) = error else {
        return Refusal::new("no covariance structure fits these plots");
    };
    match error {
        MixedError::NoError => Refusal::new(
            "the values leave no error: every plot equals the mean of its treatment and season",
        )
        .hint("look for copied rows, or for treatments with a single plot each"),
        MixedError::TooFew { .. } => Refusal::new(error.to_string())
            .hint("every treatment has one plot at most: without replicates there is no error to judge by"),
        MixedError::Aliased { .. } => {
            let name = readings
                .covariates
                .iter()
                .map(|covariate| format!("'{}'", covariate.about.label))
                .collect::<Vec<_>>()
                .join(", ");
            Refusal::new(format!(
                "the covariates ({name}) do not vary inside the treatments, or repeat each other, so their effect cannot be told from that of the treatments"
            ))
            .hint("leave one of them out")
        }
        MixedError::NotConverged(_) if readings.times.len() < 2 => Refusal::new(error.to_string())
            .hint("there are too few values for the sources of variation of this design; no numbers of a fit that did not converge are shown"),
        MixedError::NotConverged(_) => Refusal::new(error.to_string()).hint(
            "ask for a simpler covariance over seasons, such as structure = \"equal correlation\"; no numbers of a fit that did not converge are shown",
        ),
        MixedError::NotIdentified(_) => Refusal::new(error.to_string()).hint(
            "there are too few plots for the sources of variation of this design: record more blocks or plots",
        ),
        _ => Refusal::new(error.to_string()),
    }
}
