//! A second analysis beside the usual one, on the scale that the values point to.
//!
//! Powers of the values are compared by their likelihood over the error strata (Box & Cox 1964). Where
//! the values as measured are among those that fit, no other scale is offered.

mod apart;
mod sentences;
mod tables;

use caneplot_numerics::transform::{Powers, Profile, Scale, TransformError, likelihood};
use caneplot_plugin::findings::{Rank, Statement, Table};
use caneplot_plugin::request::Response;

use crate::checks::Doubts;
use crate::methods::Used;
use crate::options::OtherScale;
use crate::study::Study;

/// What stands beside the usual analysis.
#[derive(Default)]
pub(crate) struct Beside {
    pub statements: Vec<Statement>,
    pub tables: Vec<Table>,
    pub notes: Vec<Statement>,
}

/// A response analysed on another scale.
struct Other<'a, 'b> {
    scale: Scale,
    /// As measured.
    study: &'a Study<'b>,
    /// On the other scale.
    there: Study<'a>,
}

/// The analysis beside that of a study, where its checks or the options ask for one.
pub(crate) fn of(study: &Study<'_>, used: &mut Used) -> Beside {
    let mut beside = Beside::default();
    if !study.has_error(study.planned.design.plots) {
        return beside;
    }
    let doubts = Doubts::of(study);
    beside.notes.extend(apart::notes(study, doubts, used));
    let forced = study.options.scale == OtherScale::Log;
    // Percentages of counts have a model of their own, which the notes name.
    let open = study.options.scale == OtherScale::Choose && study.response.counts.is_none();
    if !(forced || open && doubts.any()) {
        return beside;
    }
    let values: Vec<f64> = study
        .values
        .iter()
        .map(|value| study.response.offset + value)
        .collect();
    let powers = match Powers::new(&values) {
        Ok(powers) => powers,
        Err(TransformError::NotPositive(units)) => {
            let rank = if forced { Rank::Result } else { Rank::Detail };
            let found = sentences::not_positive(study, &units).rank(rank);
            if forced {
                beside.statements.push(found);
            } else {
                beside.notes.push(found);
            }
            return beside;
        }
        Err(_) => return beside,
    };
    let Ok(profile) = Profile::of(|lambda| height(study, &powers, lambda), study.options.level)
    else {
        return beside;
    };
    used.powers = true;
    let scale = if forced {
        Some(Scale::Log)
    } else {
        profile.choice().filter(|&scale| scale != Scale::Measured)
    };
    let Some(scale) = scale else {
        beside
            .notes
            .push(sentences::no_other(study, doubts, &profile));
        return beside;
    };
    let response = response_on(study, scale, &values);
    let other = Other {
        scale,
        study,
        there: study_on(study, &response, scale, &values),
    };
    used.scale = true;
    beside.statements = sentences::results(&other, doubts, &profile);
    beside.tables = tables::of(&other);
    beside.notes.extend(sentences::notes(&other));
    beside
}

/// Log-likelihood of a power over the strata whose error is chance; groupings are no error.
fn height(study: &Study<'_>, powers: &Powers, lambda: f64) -> Option<f64> {
    let layout = &study.planned.design.layout;
    let found = layout.analyse(&powers.raised(lambda));
    likelihood(
        layout
            .strata()
            .iter()
            .zip(&found.errors)
            .filter(|(stratum, error)| !stratum.grouping && error.df > 0)
            .map(|(_, error)| (error.sum_of_squares, error.df as f64)),
    )
}

/// The response as a number of the other scale, centred on the mean there.
fn response_on(study: &Study<'_>, scale: Scale, values: &[f64]) -> Response {
    let there = values.iter().map(|&value| scale.of(value));
    Response {
        unit: String::new(),
        offset: there.sum::<f64>() / values.len() as f64,
        decimals: 4,
        ..study.response.clone()
    }
}

fn study_on<'a>(
    study: &'a Study<'_>,
    response: &'a Response,
    scale: Scale,
    values: &[f64],
) -> Study<'a> {
    let layout = &study.planned.design.layout;
    let values: Vec<f64> = values
        .iter()
        .map(|&value| scale.of(value) - response.offset)
        .collect();
    let variance = layout.analyse(&values);
    let tables = study
        .planned
        .plans
        .iter()
        .map(|plan| layout.mean_table(plan, &values, &variance))
        .collect();
    Study {
        trial: study.trial,
        options: study.options,
        response,
        planned: std::rc::Rc::clone(&study.planned),
        values,
        variance,
        tables,
        notes: Vec::new(),
        critical: std::rc::Rc::clone(&study.critical),
    }
}

impl Other<'_, '_> {
    /// "log scale", as it stands in a sentence.
    fn words(&self) -> &'static str {
        match self.scale {
            Scale::Measured => "scale as measured",
            Scale::Log => "log scale",
            Scale::Root => "square-root scale",
            Scale::Reciprocal => "reciprocal scale",
        }
    }

    /// Terms clear on either scale that several factors, or a factor and the season, share.
    fn joint(&self) -> Vec<usize> {
        (0..self.there.variance.lines.len())
            .filter(|&term| {
                let factors = self.there.factors_of(term).len();
                factors > 0 && factors + usize::from(self.there.has_season(term)) > 1
            })
            .filter(|&term| self.there.clear(term) || self.study.clear(term))
            .collect()
    }

    /// Variance of a single value about the mean of its treatment on the other scale.
    fn variance_of_values(&self) -> f64 {
        let layout = &self.there.planned.design.layout;
        let components = layout.components(&self.there.variance);
        components.iter().flatten().map(|part| part.max(0.0)).sum()
    }
}
