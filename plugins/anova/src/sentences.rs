//! What came out, in plain sentences: the difference and how sure it is before any test.

use caneplot_numerics::separation::Difference;
use caneplot_plugin::findings::{Format, Rank, Statement};
use caneplot_plugin::request::Basis;

use crate::study::Study;
use crate::words::{beginning, inside};
use crate::{effects, interactions};

/// The sentences of a response, the most important first.
pub(crate) fn of(study: &Study<'_>) -> Vec<Statement> {
    if let Some(statement) = without_error(study) {
        return vec![statement.rank(first_rank(study))];
    }
    let factors: Vec<usize> = (0..study.trial.factors.len()).collect();
    let mut all = Vec::new();
    let terms = 0..study.variance.lines.len();
    let mut joint: Vec<usize> = terms
        .clone()
        .filter(|&term| {
            study.clear(term)
                && study.factors_of(term).len() + usize::from(study.has_season(term)) > 1
        })
        .filter(|&term| !study.factors_of(term).is_empty())
        .collect();
    // What depends on the season comes first: it decides how everything else is read.
    joint.sort_by_key(|&term| (!study.has_season(term), study.factors_of(term).len()));
    for &term in &joint {
        all.push(
            match (study.has_season(term), study.factors_of(term).as_slice()) {
                (true, &[factor]) => interactions::season_by_season(study, factor, term),
                _ => interactions::combinations(study, term),
            },
        );
    }
    let in_joint = |factor: usize| {
        joint
            .iter()
            .any(|&term| study.factors_of(term).contains(&factor))
    };
    let mut effects: Vec<(bool, Statement)> = factors
        .iter()
        .filter_map(|&factor| {
            let (clear, statement) = effects::effect(study, factor)?;
            // A mean over what it depends on is no result of its own.
            let rank = if in_joint(factor) {
                Rank::Detail
            } else {
                Rank::Result
            };
            Some((clear, statement.rank(rank)))
        })
        .collect();
    effects.sort_by_key(|(clear, _)| !clear);
    all.extend(effects.into_iter().map(|(_, statement)| statement));
    all.extend((0..study.variance.lines.len()).filter_map(|term| interactions::apart(study, term)));
    all.extend(
        factors
            .iter()
            .filter_map(|&factor| interactions::steady(study, factor)),
    );
    all.extend(interactions::between_seasons(study));
    if let Some(first) = all.first_mut() {
        first.rank = first_rank(study);
    }
    all
}

/// How much the first sentence matters: what is reckoned from other responses repeats them in another
/// form and stays out of the main results.
fn first_rank(study: &Study<'_>) -> Rank {
    let own = study.response.derived.is_none() && study.response.basis != Basis::PlantedSpace;
    if own { Rank::Headline } else { Rank::Result }
}

/// Cautions on how to read the tables, for the notes.
pub(crate) fn cautions(study: &Study<'_>) -> Vec<Statement> {
    let mut all = Vec::new();
    let clear = |season: bool| {
        (0..study.variance.lines.len()).filter(move |&term| {
            study.clear(term) && study.has_season(term) == season && {
                let factors = study.factors_of(term).len();
                factors > usize::from(!season)
            }
        })
    };
    let readings = [
        (
            true,
            "the means of each season are the result; the mean over seasons does not sum them up and should not be quoted alone",
        ),
        (
            false,
            "means of one factor over the levels of the other should be read with care: the table of combinations has the simple comparisons",
        ),
    ];
    for (season, reading) in readings {
        for term in clear(season) {
            let name = term_words(study, term);
            all.push(
                Statement::new(format!("Because {name} is clear ({{p}}), {reading}.")).with(
                    "p",
                    study.line(term).p.unwrap_or(1.0),
                    Format::Probability,
                ),
            );
        }
    }
    all.into_iter()
        .map(|statement| statement.rank(Rank::Detail))
        .collect()
}

/// "training × nodes" in a sentence.
pub(crate) fn term_words(study: &Study<'_>, term: usize) -> String {
    let layout = &study.planned.design.layout;
    let names: Vec<String> = layout.terms()[term]
        .classifiers
        .iter()
        .map(|&at| inside(&layout.classifiers()[at].name))
        .collect();
    names.join(" × ")
}

/// The sentence for a trial whose plots say nothing about error.
fn without_error(study: &Study<'_>) -> Option<Statement> {
    let plots = study.planned.design.plots;
    let error = study.variance.errors[plots];
    let name = beginning(&study.response.label);
    if error.df == 0 {
        return Some(Statement::new(format!(
            "{name}: no degrees of freedom are left for error, since every treatment (in every block) fills the trial with one plot. Means are shown without a test; a second block or replicate is needed for one."
        )));
    }
    (error.sum_of_squares == 0.0).then(|| {
        Statement::new(format!(
            "{name}: plots of the same treatment differ by exactly nothing, so the error is 0 and no test is possible. Check the data for copied values."
        ))
    })
}

/// Numbers of a response put into a sentence.
pub(crate) struct Numbers<'a, 'b>(pub &'a Study<'b>);

impl Numbers<'_, '_> {
    pub fn put(&self, statement: Statement, name: &str, value: f64) -> Statement {
        let format = self.0.of_means();
        if self.0.unit().is_empty() {
            statement.with(name, value, format)
        } else {
            statement.with_unit(name, value, format, self.0.unit())
        }
    }

    /// A difference with its interval: "{d} ({confidence} interval {low} to {high})".
    pub fn interval(&self, statement: Statement, difference: &Difference, sign: f64) -> Statement {
        let half = self.0.half_width(difference).unwrap_or(0.0);
        let value = sign * difference.value;
        let format = self.0.of_means();
        self.put_difference(statement, "d", value)
            .with("low", value - half, format)
            .with("high", value + half, format)
    }

    /// A difference between two means: one of percentages is in percentage points.
    pub fn put_difference(&self, statement: Statement, name: &str, value: f64) -> Statement {
        if self.0.unit() == "%" {
            statement.with_unit(name, value, self.0.of_means(), "percentage points")
        } else {
            self.put(statement, name, value)
        }
    }
}

/// "Yield", or "Averaged over 3 seasons, yield", as it begins a sentence on means over seasons.
pub(crate) fn subject(study: &Study<'_>) -> String {
    match study.seasons().len() {
        0 => beginning(&study.response.label),
        count => format!(
            "Averaged over {count} seasons, {}",
            inside(&study.response.label)
        ),
    }
}
