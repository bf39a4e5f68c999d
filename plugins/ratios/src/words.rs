//! The sentences about a ratio.

use caneplot_numerics::fieller::FiellerSet;
use caneplot_plugin::findings::{Format, Rank, Statement};
use caneplot_plugin::request::Index;

use crate::beside::{reasons, verdicts};
use crate::report::{Entry, Report, inside};
use crate::verdict::Verdict;

/// Where the mean of the plots' ratios and the ratio of means part by more than this share, a sentence
/// says so. The threshold is ours.
pub const DISAGREEMENT: f64 = 0.05;

/// More treatments than this are not listed one by one in a sentence.
const MOST_LISTED: usize = 6;

/// A sentence on the spread over seasons has two numbers and two years for each: for so many at most.
const MOST_SPREAD: usize = 4;

/// A sentence under construction: text with numbers named in order.
#[derive(Debug, Default)]
pub struct Sentence {
    statement: Statement,
}

impl Sentence {
    /// Adds words.
    #[must_use]
    pub fn text(mut self, words: &str) -> Self {
        let escaped = words.replace('{', "{{").replace('}', "}}");
        self.statement.text.push_str(&escaped);
        self
    }

    /// Adds a number.
    #[must_use]
    pub fn number(mut self, value: f64, format: Format) -> Self {
        let name = format!("v{}", self.statement.values.len() + 1);
        self.statement.text.push_str(&format!("{{{name}}}"));
        self.statement = self.statement.with(&name, value, format);
        self
    }

    /// Adds a number with its unit.
    #[must_use]
    pub fn number_in(mut self, value: f64, format: Format, unit: &str) -> Self {
        let name = format!("v{}", self.statement.values.len() + 1);
        self.statement.text.push_str(&format!("{{{name}}}"));
        self.statement = self.statement.with_unit(&name, value, format, unit);
        self
    }

    /// The statement.
    #[must_use]
    pub fn finish(self, rank: Rank) -> Statement {
        self.statement.rank(rank)
    }
}

/// "a", "a and b", "a, b and c".
#[must_use]
pub fn listed(names: &[&str]) -> String {
    match names {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// All statements of a section, most important first.
#[must_use]
pub fn statements(report: &Report<'_>) -> Vec<Statement> {
    let main = report.entries(&report.overall, 0);
    let judged = |entry: &Entry<'_>| matches!(report.verdict(entry), Verdict::Beside(..));
    let first =
        if report.ratio.index == Some(Index::YieldToPruningWeight) || main.iter().any(judged) {
            Rank::Headline
        } else {
            Rank::Result
        };
    if report.is_never_complete() {
        return vec![never_complete(report)];
    }
    let mut found: Vec<Statement> = ratios(report, 0, first).into_iter().collect();
    found.extend(verdicts(report, &main, first));
    found.extend(reasons(report, &main));
    found.extend(main.iter().filter_map(|entry| unbounded(report, entry)));
    if !report.seasons.is_empty() {
        found.extend(season_spread(report));
    }
    for group in 1..report.groups.len() {
        found.extend(ratios(report, group, Rank::Result));
    }
    found.extend(crate::log_words::statements(report));
    found.extend(main.iter().filter_map(|entry| disagreement(report, entry)));
    found
}

/// What is said where no plot has every season.
fn never_complete(report: &Report<'_>) -> Statement {
    Sentence::default()
        .text(&format!(
            "No plot has {} {}, so there is no ratio over the seasons; the table gives each season by \
             itself. Fill in the values if they exist.",
            inside(&report.ratio.label),
            report.when().replacen("over the", "in all of the", 1)
        ))
        .finish(Rank::Result)
}

/// The ratio of each treatment of a group with its interval.
fn ratios(report: &Report<'_>, group: usize, rank: Rank) -> Option<Statement> {
    let entries = report.entries(&report.overall, group);
    let format = Format::Decimals(report.decimals());
    let mut start = report.ratio.label.clone();
    if report.groups.len() > 1
        && let Some(factor) = report.groups[group].factor
    {
        start.push_str(&format!(
            " by {}",
            inside(&report.trial.factors[factor].label)
        ));
    }
    let when = report.when();
    if !when.is_empty() {
        start.push(' ');
        start.push_str(&when);
    }
    let any_interval = entries.iter().any(|e| e.estimate.interval().is_some());
    if any_interval {
        start.push_str(&format!(" ({} interval in brackets)", report.level_words()));
    }
    let sentence = Sentence::default().text(&start);
    let one = |sentence: Sentence, entry: &Entry<'_>| {
        let sentence = sentence.number_in(entry.estimate.ratio, format, &report.ratio.unit);
        let sentence = match entry.estimate.interval() {
            Some((low, high)) => sentence
                .text(" (")
                .number(low, format)
                .text(" to ")
                .number(high, format)
                .text(")"),
            None if any_interval => sentence.text(" (no finite interval)"),
            None => sentence,
        };
        sentence.text(&format!(" for {}", entry.treatment.label))
    };
    if entries.len() > MOST_LISTED {
        let by = |a: &&Entry<'_>, b: &&Entry<'_>| a.estimate.ratio.total_cmp(&b.estimate.ratio);
        let (least, most) = (entries.iter().min_by(by)?, entries.iter().max_by(by)?);
        let sentence = one(sentence.text(" ran from "), least).text(" to ");
        return Some(one(sentence, most).text(".").finish(rank));
    }
    let mut sentence = sentence.text(": ");
    for (place, entry) in entries.iter().enumerate() {
        let between = if place == 0 { "" } else { "; " };
        sentence = one(sentence.text(between), entry);
    }
    (!entries.is_empty()).then(|| sentence.text(".").finish(rank))
}

/// How far the ratio of each treatment ran over the seasons: a mean over seasons hides it.
fn season_spread(report: &Report<'_>) -> Option<Statement> {
    let format = Format::Decimals(report.decimals());
    let treatments = report.groups[0].treatments.iter().enumerate();
    let mut parts = Vec::new();
    for (at, treatment) in treatments {
        let by_season = report.seasons.iter().filter_map(|(season, window)| {
            let estimate = window.estimates.groups[0][at].as_ref()?;
            Some((estimate.ratio, report.trial.seasons[*season].as_str()))
        });
        let by_season: Vec<(f64, &str)> = by_season.collect();
        let by = |a: &&(f64, &str), b: &&(f64, &str)| a.0.total_cmp(&b.0);
        let least = by_season.iter().min_by(by)?;
        let most = by_season.iter().max_by(by)?;
        parts.push((treatment, *least, *most));
    }
    if parts.is_empty() || parts.len() > MOST_SPREAD {
        return None;
    }
    let mut sentence = Sentence::default().text("Season by season it ran ");
    for (place, (treatment, least, most)) in parts.iter().enumerate() {
        let between = if place == 0 { "" } else { "; " };
        sentence = sentence
            .text(&format!("{between}from "))
            .number(least.0, format)
            .text(&format!(" ({}) to ", least.1))
            .number(most.0, format)
            .text(&format!(" ({}) for {}", most.1, treatment.label));
    }
    Some(sentence.text(".").finish(Rank::Result))
}

/// What is known of a ratio that has no finite interval.
fn unbounded(report: &Report<'_>, entry: &Entry<'_>) -> Option<Statement> {
    let format = Format::Significant(3);
    let start = format!(
        "For {} the data do not bound the ratio: its mean {} does not differ clearly from zero at {} \
         confidence, so no interval is given",
        entry.treatment.label,
        report.parts().1,
        report.level_words()
    );
    let sentence = match entry.estimate.set? {
        FiellerSet::Bounded { .. } => return None,
        FiellerSet::Outside { low, high } => Sentence::default()
            .text(&start)
            .text("; only ratios between ")
            .number(low, format)
            .text(" and ")
            .number(high, format)
            .text(&format!(" {} are excluded.", report.ratio.unit)),
        FiellerSet::All => Sentence::default()
            .text(&start)
            .text("; no ratio at all is excluded."),
    };
    Some(sentence.finish(Rank::Result))
}

/// By which share the mean of ratios lies above (or, negative, below) the ratio of means, where that
/// is more than [`DISAGREEMENT`].
#[must_use]
pub fn disagreement_share(mean_of_ratios: f64, ratio_of_means: f64) -> Option<f64> {
    let share = mean_of_ratios / ratio_of_means - 1.0;
    (share.is_finite() && share.abs() > DISAGREEMENT).then_some(share)
}

fn disagreement(report: &Report<'_>, entry: &Entry<'_>) -> Option<Statement> {
    let Entry {
        treatment,
        estimate,
        ..
    } = entry;
    let share = disagreement_share(estimate.mean_of_ratios, estimate.ratio)?;
    let format = Format::Decimals(report.decimals());
    let (side, why) = if share > 0.0 {
        (
            "above",
            "plots with little below the line have the largest ratios and count there as much as the \
             others",
        )
    } else {
        (
            "below",
            "plots with much below the line have the larger ratios, and the ratio of means gives them \
             their weight",
        )
    };
    Some(
        Sentence::default()
            .text(&format!(
                "For {} the mean of the plots' own ratios, ",
                treatment.label
            ))
            .number(estimate.mean_of_ratios, format)
            .text(", lies ")
            .number(share.abs(), Format::Percent(0))
            .text(&format!(" {side} the ratio of means, "))
            .number(estimate.ratio, format)
            .text(&format!(
                ": {why}. The ratio of means is the one that holds for the treatment as a whole."
            ))
            .finish(Rank::Detail),
    )
}
