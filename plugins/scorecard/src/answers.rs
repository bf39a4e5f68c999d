//! The answer to a question, a cell for each system.

use caneplot_plugin::estimates::{Estimates, PublishedRange, Treatment, speaking};
use caneplot_plugin::findings::Format;
use caneplot_plugin::request::TrialInfo;
use caneplot_plugin::words::plain;

use crate::questions::{Question, Source};

/// Whether systems differ, as far as a test says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Differs {
    /// Clearly.
    Clearly,
    /// Clearly, and not alike in every season.
    BySeason,
    /// Not clearly.
    Unclear,
    /// No test was made.
    Untested,
}

/// A question answered.
pub(crate) struct Answer {
    pub asked: &'static str,
    /// What answers it, with its unit.
    pub by: String,
    pub unit: String,
    /// A cell for each system.
    pub cells: Vec<String>,
    pub differs: Differs,
    /// Whether the trial says anything.
    pub answered: bool,
}

/// The answer to one question.
pub(crate) fn answer(trial: &TrialInfo, factor: usize, question: &Question<'_>) -> Answer {
    let levels = &trial.factors[factor].levels;
    let every = |text: &str| vec![text.to_owned(); levels.len()];
    let answer = |cells: Vec<String>, answered| Answer {
        asked: question.asked,
        by: question.by.clone(),
        unit: String::new(),
        cells,
        differs: Differs::Untested,
        answered,
    };
    match &question.source {
        Source::Nothing => answer(every("not measured in this trial"), false),
        Source::Undeclared => answer(every("not declared for this trial"), false),
        Source::Chapter(name) => {
            answer(every(&format!("recorded: see the analysis '{name}'")), true)
        }
        Source::Declared(texts) => {
            let text =
                |one: &Option<String>| one.clone().unwrap_or_else(|| "not declared".to_owned());
            answer(texts.iter().map(text).collect(), true)
        }
        Source::Value(name) => match overall(trial, factor, name) {
            Some(found) => Answer {
                unit: found.unit.clone(),
                differs: differs(found),
                ..answer(values(trial, factor, found), true)
            },
            None => answer(every("recorded, but without a result in this run"), false),
        },
        Source::Steadiness(name) => match steadiness(trial, factor, name) {
            Some((unit, cells)) => Answer {
                unit,
                ..answer(cells, true)
            },
            None => answer(every("recorded, but without a result in this run"), false),
        },
    }
}

fn of_factor<'a>(
    trial: &'a TrialInfo,
    factor: usize,
    name: &'a str,
) -> impl Iterator<Item = &'a Estimates> {
    let own = &trial.factors[factor].name;
    speaking(&trial.estimates, name).filter(move |one| one.factors.as_slice() == [own.clone()])
}

fn overall<'a>(trial: &'a TrialInfo, factor: usize, name: &'a str) -> Option<&'a Estimates> {
    of_factor(trial, factor, name).find(|one| one.season.is_none())
}

/// Whether its test says that systems differ.
fn differs(found: &Estimates) -> Differs {
    let level = 1.0 - found.level;
    let clear =
        |test: &Option<caneplot_plugin::estimates::Test>| test.as_ref().map(|test| test.p < level);
    match (clear(&found.test), clear(&found.seasons_test)) {
        (_, Some(true)) => Differs::BySeason,
        (Some(true), _) => Differs::Clearly,
        (Some(false), _) => Differs::Unclear,
        (None, _) => Differs::Untested,
    }
}

/// Each system's value with its interval, and where it lies beside a published range.
fn values(trial: &TrialInfo, factor: usize, found: &Estimates) -> Vec<String> {
    let cell = |level: &caneplot_plugin::request::Level| {
        let place = found
            .treatments
            .iter()
            .position(|one| one.levels == [level.name.clone()]);
        let Some(place) = place else {
            return "no value".to_owned();
        };
        let one = &found.treatments[place];
        let own = |range: &&PublishedRange| range.treatments.contains(&place);
        let range = found.ranges.iter().find(own);
        match range.and_then(|range| beside(one, range, found.format)) {
            Some(beside) => format!("{}; {beside}", with_interval(one, found.format)),
            None => with_interval(one, found.format),
        }
    };
    trial.factors[factor].levels.iter().map(cell).collect()
}

/// "8.2 (7.1 to 9.3)".
fn with_interval(one: &Treatment, format: Format) -> String {
    let value = number(one.value, format);
    match (one.low, one.high) {
        (Some(low), Some(high)) => {
            format!(
                "{value} ({} to {})",
                number(low, format),
                number(high, format)
            )
        }
        _ => format!("{value} (no interval)"),
    }
}

/// Where an interval lies beside a published range.
fn beside(one: &Treatment, range: &PublishedRange, format: Format) -> Option<String> {
    let (low, high) = (one.low?, one.high?);
    let place = match (high < range.low, low > range.high) {
        (true, _) => "below",
        (_, true) => "above",
        _ if low >= range.low && high <= range.high => "inside",
        _ => "across an edge of",
    };
    Some(format!(
        "{place} {}–{}",
        number(range.low, format),
        number(range.high, format)
    ))
}

/// The lowest and the highest season of each system, and how far apart they are.
fn steadiness(trial: &TrialInfo, factor: usize, name: &str) -> Option<(String, Vec<String>)> {
    let seasons: Vec<&Estimates> = of_factor(trial, factor, name)
        .filter(|one| one.season.is_some())
        .collect();
    let first = seasons.first()?;
    let cell = |level: &caneplot_plugin::request::Level| {
        let of_season = |one: &&Estimates| {
            let mut all = one.treatments.iter();
            all.find(|found| found.levels == [level.name.clone()])
                .map(|found| found.value)
        };
        let values: Vec<f64> = seasons.iter().filter_map(of_season).collect();
        if values.len() < 2 {
            return "no two seasons".to_owned();
        }
        let low = values.iter().copied().fold(f64::INFINITY, f64::min);
        let high = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        format!(
            "{} to {} in {} seasons",
            number(low, first.format),
            number(high, first.format),
            values.len()
        )
    };
    let cells = trial.factors[factor].levels.iter().map(cell).collect();
    (seasons.len() > 1).then(|| (first.unit.clone(), cells))
}

fn number(value: f64, format: Format) -> String {
    match format {
        Format::Decimals(decimals) => plain(value, decimals),
        Format::Percent(decimals) => format!("{} %", plain(100.0 * value, decimals)),
        Format::Count => plain(value, 0),
        Format::Significant(_) | Format::Probability => plain(value, 3),
    }
}
