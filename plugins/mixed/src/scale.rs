//! The scale of the analysis: what is fitted on it, and how its means and differences are read.

use std::cell::RefCell;

use caneplot_numerics::mixed::kenward_roger::Estimate;
use caneplot_numerics::mixed::season::Parameter;
use caneplot_numerics::mixed::{Problem, Settings, candidate, candidate_near};
use caneplot_numerics::separation::Difference;
use caneplot_numerics::sum::mean;
use caneplot_numerics::transform::{Powers, Profile, Ratio, Scale};
use caneplot_plugin::Refusal;
use caneplot_plugin::findings::{Column, Format, Rank, Statement};
use caneplot_plugin::request::Response;
use caneplot_plugin::words::{counted, list, safe, shortened};

use crate::means::Means;
use crate::readings::Readings;
use crate::study::Study;

/// Values named in one sentence.
const NAMED: usize = 6;
/// Level of the interval of the power.
const LEVEL: f64 = 0.05;

/// The values on the scale of the analysis.
#[derive(Debug, Clone)]
pub(crate) struct Scaled {
    pub scale: Scale,
    /// What was taken off the values on that scale.
    pub centre: f64,
    pub profile: Option<Profile>,
}

impl Scaled {
    /// As measured: the values are centred on the offset of the response already.
    pub fn measured(response: &Response) -> Self {
        Self {
            scale: Scale::Measured,
            centre: response.offset,
            profile: None,
        }
    }
}

/// The values on a scale, centred, and what was taken off.
pub(crate) fn values(scale: Scale, readings: &Readings, response: &Response) -> (Vec<f64>, f64) {
    if scale == Scale::Measured {
        return (readings.values.clone(), response.offset);
    }
    let raised: Vec<f64> = readings
        .values
        .iter()
        .map(|value| scale.of(response.offset + value))
        .collect();
    let centre = mean(&raised).unwrap_or_default();
    (raised.iter().map(|value| value - centre).collect(), centre)
}

/// Refuses values that have no logarithm, with their plots.
pub(crate) fn positive(readings: &Readings, response: &Response) -> Result<Vec<f64>, Refusal> {
    let all: Vec<f64> = readings
        .values
        .iter()
        .map(|value| response.offset + value)
        .collect();
    let bad: Vec<usize> = (0..all.len()).filter(|&unit| all[unit] <= 0.0).collect();
    if bad.is_empty() {
        return Ok(all);
    }
    let names: Vec<String> = bad.iter().map(|&unit| readings.place(unit)).collect();
    Err(Refusal::new(format!(
        "{} of '{}' {} not above 0 ({}), and such values have no logarithm",
        counted(bad.len(), "value"),
        response.label,
        match bad.len() {
            1 => "is",
            _ => "are",
        },
        shortened(&names, NAMED)
    ))
    .column(&response.name)
    .rows(bad.iter().map(|&unit| readings.rows[unit]).collect())
    .hint("analyse this response as measured (scale = \"as measured\"), or as counts if it is one"))
}

/// What the data say about the power, by the restricted likelihood of the model fitted.
///
/// The powers are scaled by the geometric mean, so likelihoods of different powers compare (Box & Cox
/// 1964; for mixed models Gurka, Edwards, Muller & Kupper 2006, *J. R. Stat. Soc. A* 169:273).
pub(crate) fn profile(problem: &Problem, theta: &[f64], measured: &[f64]) -> Option<Profile> {
    let powers = Powers::new(measured).ok()?;
    let last = RefCell::new(theta.to_vec());
    let likelihood = |lambda: f64| {
        let raised = powers.raised(lambda);
        let centre = mean(&raised)?;
        let mut moved = problem.clone();
        moved.values = raised.iter().map(|value| value - centre).collect();
        let near = last.borrow().clone();
        let found = candidate_near(&moved, &near, Settings::default())
            .or_else(|_| candidate(&moved, Settings::default()))
            .ok()?;
        let likelihood = -0.5 * found.deviance;
        *last.borrow_mut() = found.theta;
        Some(likelihood)
    };
    Profile::of(likelihood, LEVEL).ok()
}

/// A scale by its values: "logarithms".
fn scale_words(scale: Scale) -> &'static str {
    match scale {
        Scale::Measured => "the values as measured",
        Scale::Log => "logarithms",
        Scale::Root => "square roots",
        Scale::Reciprocal => "reciprocals",
    }
}

impl Study<'_> {
    /// Whether the analysis is of the values as measured.
    pub fn measured(&self) -> bool {
        self.scaled.scale == Scale::Measured
    }

    /// "logarithms" and the like.
    pub fn scale_words(&self) -> &'static str {
        scale_words(self.scaled.scale)
    }

    /// "means", or "medians" where they were brought back from another scale.
    pub fn averages(&self) -> &'static str {
        match self.measured() {
            true => "means",
            false => "medians",
        }
    }

    /// The heading over adjusted means.
    pub fn average_heading(&self) -> &'static str {
        match self.measured() {
            true => "Adjusted mean",
            false => "Adjusted median",
        }
    }

    /// " on the scale of logarithms", or nothing.
    pub fn on_scale(&self) -> String {
        match self.measured() {
            true => String::new(),
            false => format!(" on the scale of {}", self.scale_words()),
        }
    }

    /// An estimate in the unit of the response; `None` where the scale has no way back from it.
    pub fn back(&self, centred: f64) -> Option<f64> {
        self.scaled.scale.back(self.scaled.centre + centred)
    }

    /// The interval of a mean in the unit of the response; `None` where an end is open.
    pub fn limits(&self, estimate: &Estimate) -> Option<(f64, f64)> {
        let half = self.half_width(estimate.standard_error, estimate.df)?;
        let back = self
            .scaled
            .scale
            .interval(self.scaled.centre + estimate.value, half);
        Some((back.low?, back.high?))
    }

    /// A standard error near an estimate in the unit of the response, to find decimals by.
    pub fn error_in_units(&self, centred: f64, error: f64) -> Option<f64> {
        match self.measured() {
            true => Some(error),
            false => Some((self.back(centred + error)? - self.back(centred)?).abs()),
        }
    }

    /// A column of amounts on the scale of the analysis.
    pub fn scaled_amounts(&self, name: &str, values: Vec<Option<f64>>, format: Format) -> Column {
        match self.measured() {
            true => self.amounts(name, values, format),
            false => Column::number(name, values, Format::Significant(3)),
        }
    }

    /// How far two means lie apart, for a sentence filled in by [`Study::put_gap`]; `more` stands in
    /// its brackets.
    pub fn gap(&self, among: &str, more: &str) -> String {
        let confidence = self.options.confidence_words();
        match self.scaled.scale {
            Scale::Measured => format!(
                "a difference of {{d}} ({confidence} interval{among} {{low}} to {{high}}{more})"
            ),
            Scale::Log => format!(
                "{{d}} times as much ({confidence} interval{among} {{low}} to {{high}}{more})"
            ),
            _ => match more.trim_start_matches([';', ' ']) {
                "" => "a difference of {d} between medians".to_owned(),
                more => format!("a difference of {{d}} between medians ({more})"),
            },
        }
    }

    /// Fills in a gap: first mean less second, with half the width of its interval.
    pub fn put_gap(
        &self,
        statement: Statement,
        means: &Means,
        (first, second): (usize, usize),
        difference: &Difference,
        half: f64,
    ) -> Option<Statement> {
        Some(match self.scaled.scale {
            Scale::Measured => self.put_difference(statement, difference, half, 1.0),
            Scale::Log => {
                let ratio = Ratio::of_difference(difference.value, half);
                statement
                    .with("d", ratio.ratio, Format::Decimals(2))
                    .with("low", ratio.low, Format::Decimals(2))
                    .with("high", ratio.high, Format::Decimals(2))
            }
            _ => {
                let gap = self.mean(means, first)? - self.mean(means, second)?;
                self.put(statement, "d", gap)
            }
        })
    }

    /// Variance of a plot within a treatment on the scale: blocks, errors and all.
    fn total_variance(&self) -> f64 {
        let fit = self.choice.held();
        let random: f64 = fit
            .parameters
            .iter()
            .zip(&fit.theta)
            .filter(|(parameter, _)| matches!(parameter, Parameter::Random(_)))
            .map(|(_, value)| value)
            .sum();
        random + self.error_variance(&fit.parameters, &fit.theta)
    }

    /// How the scale came about and how its numbers are to be read.
    pub fn scale_notes(&self) -> Vec<Statement> {
        let mut all = Vec::new();
        if let Some(profile) = &self.scaled.profile {
            let inside: Vec<&str> = profile.inside.iter().map(|one| scale_words(*one)).collect();
            let (low, high) = (
                profile.low.map_or("below −3", |_| "{low}"),
                profile.high.map_or("above 3", |_| "{high}"),
            );
            let used = match (profile.choice(), inside.as_slice()) {
                (None, _) => "None of the scales that people read lies inside it, so the values are analysed as measured; read their P with care".to_owned(),
                (Some(_), [one]) => format!("Of the scales that people read only {one} lie inside it"),
                (Some(scale), all) => format!(
                    "Inside it lie {}; {} are used",
                    list(all),
                    scale_words(scale)
                ),
            };
            let end = match profile.best.abs() > 2.999 {
                true => ", the end of the search",
                false => "",
            };
            let mut statement = Statement::new(format!(
                "The power of the response that fits best is {{best}}{end} (95 % interval {low} to {high}). {used}."
            ))
            .with("best", profile.best, Format::Decimals(2));
            if let Some(low) = profile.low {
                statement = statement.with("low", low, Format::Decimals(2));
            }
            if let Some(high) = profile.high {
                statement = statement.with("high", high, Format::Decimals(2));
            }
            all.push(statement);
        }
        let variance = self.total_variance();
        let scale = self.scaled.scale;
        match scale {
            Scale::Measured => {}
            Scale::Log => all.push(
                Statement::new("The analysis is of logarithms: averages are brought back as medians, which half the plots lie below, with their intervals, and differences are ratios of medians. The mean of plots is {more} above the median (if logarithms are normal), in every treatment alike where spreads are equal, so ratios of means are the same.")
                    .with("more", scale.mean_of_values(0.0, variance).unwrap_or(1.0) - 1.0, Format::Percent(1)),
            ),
            Scale::Root => all.push(
                self.put(
                    Statement::new("The analysis is of square roots: averages are brought back as medians, which half the plots lie below, with their intervals. The mean of plots is {more} above the median (if square roots are normal). Differences of medians have no interval of their own; they are tested on the scale of square roots."),
                    "more",
                    variance,
                ),
            ),
            Scale::Reciprocal => all.push(Statement::new("The analysis is of reciprocals: averages are brought back as medians, which half the plots lie below, with their intervals; a mean of plots is larger, by how much cannot be told on this scale. Differences of medians have no interval of their own; they are tested on the scale of reciprocals.")),
        }
        all.into_iter().map(|one| one.rank(Rank::Detail)).collect()
    }
}

/// Why a scale could not be chosen.
pub(crate) fn unchosen(refusal: &Refusal) -> Statement {
    Statement::new(format!(
        "The scale could not be chosen: {}. The values are analysed as measured.",
        safe(&refusal.message)
    ))
}
