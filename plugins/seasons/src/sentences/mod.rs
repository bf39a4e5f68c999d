//! What came out, in plain sentences.

mod course;
mod equivalence;
mod total;

use caneplot_numerics::separation::Difference;
use caneplot_plugin::Refusal;
use caneplot_plugin::findings::{Format, Rank, Statement};
use caneplot_plugin::words;

use crate::compare::Judged;
use crate::measures::Measure;
use crate::study::{Study, Whole, named};

pub(crate) use total::leading_factor;

/// The sentences of a response, the most important first; `headline` lets the first one be a main
/// result.
pub(crate) fn of(study: &Study<'_>, judged: &[Judged], headline: bool) -> Vec<Statement> {
    let whole = match &study.whole {
        Err(refusal) => return vec![without(study, refusal)],
        Ok(whole) => whole,
    };
    if study.seasons.len() < 2 {
        let text = match study.seasons.as_slice() {
            [] => format!(
                "{} has no season with the treatments in force, so there is nothing to compare.",
                study.beginning()
            ),
            seasons => format!(
                "{} has one season with the treatments in force ({}), so there is nothing to add up or compare over seasons.",
                study.beginning(),
                study.season_words(seasons)
            ),
        };
        return vec![Statement::new(text)];
    }
    if let Some(text) = without_error(study, whole) {
        return vec![text];
    }
    let mut all = equivalence::of(study, judged);
    let factors: Vec<usize> = whole.analysed.factors().collect();
    for &term in &factors {
        all.extend(total::of(study, whole, term));
    }
    for &term in &factors {
        all.extend(course::first(study, whole, term));
        all.extend(course::trend(study, whole, term));
        all.extend(course::steadiness(study, whole, term));
    }
    // Results before details, each in their order.
    all.sort_by_key(|statement| statement.rank == Rank::Detail);
    if let Some(first) = all
        .first_mut()
        .filter(|first| headline && first.rank == Rank::Result)
    {
        first.rank = Rank::Headline;
    }
    all
}

/// What is said where plots treated alike have exactly the same values, so that nothing can be tested.
fn without_error(study: &Study<'_>, whole: &Whole<'_>) -> Option<Statement> {
    let column = whole.column(Measure::Mean)?;
    let tested = |term| whole.analysed.test(term, column).is_some();
    if whole.analysed.factors().any(tested) {
        return None;
    }
    let response = study.response();
    let Some(value) = study.only_value() else {
        return Some(Statement::new(format!(
            "{}: plots of the same treatment differ by exactly nothing over the seasons, so the error is 0 and no test is possible. Check the data for copied values.",
            study.beginning()
        )));
    };
    let text = format!(
        "{} is the same in every plot and season ({{value}}), so there is nothing to add up or compare.",
        study.beginning()
    );
    Some(Statement::new(text).with_unit(
        "value",
        value,
        Format::Decimals(response.decimals),
        study.unit(),
    ))
}

/// Why plots are not summed up: which values are missing, and what that does to the design.
fn without(study: &Study<'_>, refusal: &Refusal) -> Statement {
    let why = words::safe(refusal.message.trim_end_matches('.'));
    let mut text = format!(
        "{} is not added up or compared over seasons: ",
        study.beginning()
    );
    if study.lacking.is_empty() {
        text.push_str(&format!("{why}."));
    } else {
        text.push_str(&format!(
            "{}. Among the plots with every season, {why}. Seasons that are complete are shown by themselves.",
            named(&study.lacking)
        ));
    }
    if let Some(hint) = &refusal.hint {
        let hint = hint.trim_end_matches('.');
        text.push_str(&format!(" {}.", words::beginning(hint)));
    }
    Statement::new(text)
}

/// What the sentences about one factor and one number of a plot share.
struct About<'s, 'a, 'b> {
    study: &'s Study<'a>,
    whole: &'s Whole<'b>,
    term: usize,
    column: usize,
}

impl About<'_, '_, '_> {
    fn p(&self) -> Option<f64> {
        Some(self.whole.analysed.test(self.term, self.column)?.p)
    }

    fn clear(&self) -> bool {
        self.study
            .clear(self.whole.analysed.test(self.term, self.column))
    }

    /// A treatment in a sentence.
    fn words(&self, treatment: usize) -> String {
        let treatments = self.whole.analysed.treatments(self.term);
        treatments.map_or_else(String::new, |found| found.words(treatment))
    }

    /// The factor in a sentence.
    fn factor(&self) -> String {
        let factor = self.whole.analysed.planned.terms[self.term].factors[0];
        words::inside(&self.study.planner.trial().factors[factor].label)
    }

    fn mean(&self, treatment: usize) -> f64 {
        self.whole
            .mean(self.term, self.column, treatment, self.study.response())
    }

    fn difference(&self, first: usize, second: usize) -> Option<Difference> {
        self.whole
            .analysed
            .difference(self.term, self.column, first, second)
    }

    /// Puts a number of this kind into a sentence.
    fn put(&self, statement: Statement, name: &str, value: f64) -> Statement {
        let format = self.whole.format(self.column, self.study.response());
        let unit = self.study.unit();
        if unit.is_empty() || !self.whole.measures[self.column].has_unit() {
            statement.with(name, value, format)
        } else {
            statement.with_unit(name, value, format, unit)
        }
    }

    fn with_p(&self, statement: Statement) -> Option<Statement> {
        Some(statement.with("p", self.p()?, Format::Probability))
    }
}
