//! Which covariance over seasons is used, and what it was compared with.

use std::collections::BTreeSet;

use caneplot_numerics::mixed::criteria::Criteria;
use caneplot_numerics::mixed::{Fit, MixedError, Problem, Settings, Structure, fit};
use caneplot_plugin::Refusal;

use crate::readings::Readings;

/// Plots beyond the treatments, for each season, that an unstructured covariance needs.
const PLOTS_A_SEASON: usize = 2;

/// A structure that was fitted.
pub(crate) struct Tried {
    pub structure: Structure,
    /// Its criteria, or why there are none.
    pub criteria: Result<Criteria, String>,
}

/// The fit used and those it was compared with.
pub(crate) struct Choice {
    pub tried: Vec<Tried>,
    pub fit: Fit,
    pub structure: Structure,
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

/// Fits the structure asked for, or all and chooses by the corrected Akaike criterion.
pub(crate) fn of(
    readings: &Readings,
    problem: &mut Problem,
    asked: Option<Structure>,
) -> Result<Choice, Refusal> {
    let structures = match asked.filter(|_| readings.times.len() > 1) {
        Some(structure) => vec![structure],
        None => candidates(readings),
    };
    let mut tried = Vec::new();
    let mut best: Option<(f64, Structure, Fit)> = None;
    let mut last = None;
    for structure in structures {
        problem.residual.structure = structure;
        let found = fit(problem, Settings::default());
        let criteria = match found {
            Ok(fit) => {
                let criteria = fit.criteria();
                // Too few values for the correction: only a fit that stands alone may be used.
                let rank = criteria.aicc.unwrap_or(f64::INFINITY);
                // Plots are the units of the treatments: their seasons are independent in no trial, and
                // taking them so would make replicates of them. Such forms are there to compare with.
                let usable = asked.is_some() || structure.correlated() || readings.times.len() < 2;
                if usable && best.as_ref().is_none_or(|(least, _, _)| rank < *least) {
                    best = Some((rank, structure, fit));
                }
                Ok(criteria)
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
    match best {
        Some((_, structure, fit)) => {
            problem.residual.structure = structure;
            Ok(Choice {
                tried,
                fit,
                structure,
            })
        }
        None => Err(refusal(last.as_ref(), readings)),
    }
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
