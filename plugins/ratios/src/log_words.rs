//! Sentences on the plots' ratios on the log scale, and on intervals that tell another story.

use caneplot_plugin::findings::{Format, Rank, Statement};

use crate::logs::{Estimate, Logs, Test};
use crate::report::{Entry, Report, inside};
use crate::treatments::level_words;
use crate::verdict::{Place, Verdict, place};
use crate::words::{Sentence, listed};

/// More treatments than this are not listed one by one in a sentence.
const MOST_LISTED: usize = 4;

/// The statements, most important first.
#[must_use]
pub fn statements(report: &Report<'_>) -> Vec<Statement> {
    let mut found = Vec::new();
    if let Some(logs) = &report.logs {
        found.extend(tested(report, logs));
        found.extend(beside_controls(report, logs));
        found.extend(courses(report, logs));
    }
    found.extend(other_stories(report));
    found
}

/// Whether the ratio differs between treatments.
fn tested(report: &Report<'_>, logs: &Logs) -> Option<Statement> {
    let alpha = 1.0 - report.level;
    if logs.tests.is_empty() {
        return None;
    }
    let start = "Compared plot by plot on the log scale, the ratio ";
    let clear: Vec<&Test> = logs.tests.iter().filter(|test| test.p < alpha).collect();
    let unclear: Vec<&Test> = logs.tests.iter().filter(|test| test.p >= alpha).collect();
    let mut sentence = Sentence::default().text(start);
    let names = |sentence: Sentence, tests: &[&Test]| {
        let mut sentence = sentence;
        for (at, test) in tests.iter().enumerate() {
            let between = match at {
                0 => "",
                _ if at + 1 == tests.len() => " and ",
                _ => ", ",
            };
            sentence = sentence
                .text(&format!("{between}{} (", inside(&test.term)))
                .number(test.p, Format::Probability)
                .text(")");
        }
        sentence
    };
    if clear.is_empty() {
        sentence = names(sentence.text("shows no clear difference for "), &unclear);
    } else {
        sentence = names(sentence.text("differs clearly with "), &clear);
        if !unclear.is_empty() {
            sentence = names(sentence.text("; no clear difference shows for "), &unclear);
        }
    }
    Some(sentence.text(".").finish(Rank::Result))
}

/// A factor with its interval: "0.62 times (0.55 to 0.70)".
fn times(sentence: Sentence, estimate: &Estimate, words: &str) -> Sentence {
    let format = Format::Significant(3);
    sentence
        .number(estimate.value, format)
        .text(&format!("{words} ("))
        .number(estimate.low, format)
        .text(" to ")
        .number(estimate.high, format)
        .text(")")
}

/// Levels beside the control, a sentence for each factor that has one.
fn beside_controls(report: &Report<'_>, logs: &Logs) -> Vec<Statement> {
    let mut found = Vec::new();
    for (at, factor) in report.trial.factors.iter().enumerate() {
        let rows: Vec<_> = logs
            .controls
            .iter()
            .filter(|row| row.factor == at)
            .collect();
        let control = factor
            .control
            .as_ref()
            .and_then(|name| factor.levels.iter().position(|level| level.name == *name));
        let Some(control) = control else { continue };
        if rows.is_empty() || rows.len() > MOST_LISTED {
            continue;
        }
        let mut sentence = Sentence::default().text(&format!(
            "Beside {} the ratio was ",
            level_words(factor, control)
        ));
        for (place, row) in rows.iter().enumerate() {
            let between = if place == 0 { "" } else { "; " };
            sentence = times(sentence.text(between), &row.times, " times as large")
                .text(&format!(" for {}", level_words(factor, row.level)));
        }
        found.push(
            sentence
                .text(&format!(", with {} intervals.", report.level_words()))
                .finish(Rank::Result),
        );
    }
    found
}

/// Whether treatments went different ways over the seasons.
fn courses(report: &Report<'_>, logs: &Logs) -> Option<Statement> {
    let alpha = 1.0 - report.level;
    if logs.courses.is_empty() || logs.course_tests.is_empty() {
        return None;
    }
    let apart: Vec<&Test> = logs
        .course_tests
        .iter()
        .filter(|test| test.p < alpha)
        .collect();
    if apart.is_empty() {
        return None;
    }
    let terms: Vec<String> = apart.iter().map(|test| inside(&test.term)).collect();
    let terms: Vec<&str> = terms.iter().map(String::as_str).collect();
    let least = apart.iter().map(|test| test.p).fold(1.0, f64::min);
    let by = |a: &&crate::logs::Course, b: &&crate::logs::Course| {
        a.times.value.total_cmp(&b.times.value)
    };
    let (low, high) = (
        logs.courses.iter().min_by(by)?,
        logs.courses.iter().max_by(by)?,
    );
    let label = |levels: &[usize]| {
        let wanted: Vec<Option<usize>> = levels.iter().copied().map(Some).collect();
        let mut treatments = report.groups[0].treatments.iter();
        treatments
            .find(|treatment| treatment.levels == wanted)
            .map_or("", |treatment| treatment.label.as_str())
    };
    let sentence = Sentence::default()
        .text(&format!(
            "The course of the ratio over the seasons differs clearly with {} (",
            listed(&terms)
        ))
        .number(least, Format::Probability)
        .text("): from one season to the next it was multiplied by ");
    let sentence =
        times(sentence, &low.times, "").text(&format!(" for {} and by ", label(&low.levels)));
    Some(
        times(sentence, &high.times, "")
            .text(&format!(" for {}.", label(&high.levels)))
            .finish(Rank::Result),
    )
}

/// Treatments whose other intervals lie elsewhere beside the published range than Fieller's.
fn other_stories(report: &Report<'_>) -> Vec<Statement> {
    let Some(others) = &report.others else {
        return Vec::new();
    };
    let mut found = Vec::new();
    for entry in report.entries(&report.overall, 0) {
        let Some(own) = &others.groups[0][entry.at] else {
            continue;
        };
        let resampled = format!("by resampling {}", others.unit.words());
        for (interval, how) in [
            (own.log, "on the log scale"),
            (own.resampled, resampled.as_str()),
        ] {
            found.extend(interval.and_then(|interval| other_story(report, &entry, interval, how)));
        }
    }
    found
}

fn other_story(
    report: &Report<'_>,
    entry: &Entry<'_>,
    (low, high): (f64, f64),
    how: &str,
) -> Option<Statement> {
    let Verdict::Beside(range, own) = report.verdict(entry) else {
        return None;
    };
    let factor = crate::ranges::conversion(&report.ratio.unit, range)?;
    let other: Place = place(low * factor, high * factor, range);
    if other == own {
        return None;
    }
    let format = Format::Decimals(report.decimals());
    Some(
        Sentence::default()
            .text(&format!(
                "For {} the interval {how}, ",
                entry.treatment.label
            ))
            .number(low, format)
            .text(" to ")
            .number(high, format)
            .text(&format!(
                ", lies {} of the published range and Fieller's {}: that verdict hangs on the method, so do not lean on it.",
                on(other),
                on(own)
            ))
            .finish(Rank::Detail),
    )
}

/// Where an interval lies, to be read before "of the published range".
fn on(place: Place) -> &'static str {
    match place {
        Place::Below => "on the lower side",
        Place::AcrossLow => "across the lower edge",
        Place::Inside => "between the edges",
        Place::AcrossHigh => "across the upper edge",
        Place::Above => "on the upper side",
        Place::AcrossBoth => "across both edges",
    }
}
