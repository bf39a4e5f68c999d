//! The results in the words of a paper: a paragraph for every response that has results for programs.
//!
//! Means, standard errors, tests and intervals are those of the findings; nothing is reckoned.

use std::fmt::Write as _;

use caneplot_plugin::estimates::{Difference, Estimates, Kind, Test, Treatment};
use caneplot_plugin::findings::{Format, Rank, Value};
use caneplot_plugin::request::TrialInfo;

use crate::earlier::{EarlierReport, Found};
use crate::write::{markdown, numbers, stem};

/// Differences that are read one by one in a paragraph; beyond, the table is named.
const MOST_DIFFERENCES: usize = 6;

/// The text of results.md.
#[must_use]
pub fn text(report: &EarlierReport) -> String {
    let mut out = String::from("# Results\n\n");
    let mut names: Vec<&str> = report
        .trial
        .responses
        .iter()
        .map(|response| response.name.as_str())
        .collect();
    for found in report.estimates() {
        let name = found.estimates.name.as_str();
        if !names.contains(&name) {
            names.push(name);
        }
    }
    for name in names {
        if let Some((heading, paragraph)) = paragraph(report, name) {
            // Writing to a string cannot fail, here and below.
            let _ = writeln!(out, "## {heading}\n\n{paragraph}\n");
        }
    }
    out
}

/// Heading and paragraph of one response or ratio; `None` where nothing was found of it.
fn paragraph(report: &EarlierReport, name: &str) -> Option<(String, String)> {
    let all = report.speaking(name);
    let Some(first) = all.first() else {
        return headlines(report, name);
    };
    let trial = &report.trial;
    let heading = match first.estimates.unit.is_empty() {
        true => first.estimates.label.clone(),
        false => format!("{} ({})", first.estimates.label, first.estimates.unit),
    };
    let mut sentences = Vec::new();
    // The factors whose differences changed with the season.
    let mut changed: Vec<&[String]> = Vec::new();
    for found in all.iter().filter(|found| found.estimates.season.is_none()) {
        let of = found.estimates;
        let clear = |test: &Test| test.p < 1.0 - of.level;
        if of.seasons_test.as_ref().is_some_and(clear) {
            changed.push(&of.factors);
        }
        sentences.extend(of_all_seasons(trial, of));
    }
    // Where differences did not change with the season, those over all seasons are the result.
    let without = sentences.is_empty();
    for found in &all {
        let of = found.estimates;
        if of.season.is_some() && (without || changed.contains(&of.factors.as_slice())) {
            sentences.extend(of_season(trial, of));
        }
    }
    sentences.push(places(first));
    Some((markdown::escaped(&heading), sentences.join(" ")))
}

/// The main sentences about a response that has no results for programs.
fn headlines(report: &EarlierReport, name: &str) -> Option<(String, String)> {
    let sections: Vec<_> = report
        .sections()
        .filter(|(_, section)| section.response.as_deref() == Some(name))
        .collect();
    let (_, first) = sections.first()?;
    let said: Vec<String> = sections
        .iter()
        .flat_map(|(_, section)| &section.statements)
        .filter(|statement| statement.rank == Rank::Headline)
        .map(|statement| markdown::escaped(&markdown::sentence(statement)))
        .collect();
    (!said.is_empty()).then(|| (markdown::escaped(&first.title), said.join(" ")))
}

fn of_all_seasons(trial: &TrialInfo, of: &Estimates) -> Vec<String> {
    let what = factors(trial, of);
    let mut sentences = Vec::new();
    if let Some(test) = &of.test {
        let clear = test.p < 1.0 - of.level;
        let label = caneplot_plugin::words::inside(&of.label);
        sentences.push(match clear {
            true => format!("{} differed with {what} ({}).", of.label, tested(test)),
            false => format!(
                "No clear difference in {label} was found with {what} ({}).",
                tested(test)
            ),
        });
    }
    sentences.push(means(trial, of, &format!("By {what} the")));
    sentences.extend(standard_error_of_differences(of));
    sentences.extend(differences(trial, of));
    if let Some(test) = &of.seasons_test {
        let clear = test.p < 1.0 - of.level;
        sentences.push(match clear {
            true => format!(
                "These differences changed with the season ({}).",
                tested(test)
            ),
            false => format!(
                "No clear change of these differences with the season was found ({}).",
                tested(test)
            ),
        });
    }
    sentences
}

fn of_season(trial: &TrialInfo, of: &Estimates) -> Vec<String> {
    let season = of.season.as_deref().unwrap_or_default();
    let mut sentences = vec![means(
        trial,
        of,
        &format!("In {season}, by {}, the", factors(trial, of)),
    )];
    sentences.extend(standard_error_of_differences(of));
    sentences
}

/// "nodes left", "training system and nodes left".
fn factors(trial: &TrialInfo, of: &Estimates) -> String {
    let labels: Vec<String> = of
        .factors
        .iter()
        .map(|name| {
            let factor = trial.factors.iter().find(|factor| factor.name == *name);
            factor.map_or(name.clone(), |factor| {
                caneplot_plugin::words::inside(&factor.label)
            })
        })
        .collect();
    labels.join(" and ")
}

/// A treatment in words: "24 nodes/vine".
fn treatment(trial: &TrialInfo, of: &Estimates, one: &Treatment) -> String {
    let words = of.factors.iter().zip(&one.levels).map(|(name, level)| {
        let factor = trial.factors.iter().find(|factor| factor.name == *name);
        let Some(factor) = factor else {
            return level.clone();
        };
        let known = factor.levels.iter().find(|known| known.name == *level);
        let label = known.map_or(level.as_str(), |known| &known.label);
        match &factor.unit {
            Some(unit) => format!("{label} {unit}"),
            None => label.to_owned(),
        }
    });
    words.collect::<Vec<_>>().join(", ")
}

/// The values of all treatments with their uncertainty.
fn means(trial: &TrialInfo, of: &Estimates, lead: &str) -> String {
    let whole = confidence(of);
    let intervals =
        of.kind != Kind::Mean || of.treatments.iter().any(|one| one.standard_error.is_none());
    let (what, how) = match (of.kind, intervals) {
        (Kind::Mean, false) => ("means", " (± standard error)".to_owned()),
        (Kind::Mean, true) => ("means", format!(" (with {whole} intervals)")),
        (Kind::Ratio, _) => ("ratios of means", format!(" (with {whole} intervals)")),
        (Kind::Share, _) => ("shares", format!(" (with {whole} intervals)")),
    };
    let values: Vec<String> = of
        .treatments
        .iter()
        .map(|one| {
            let value = number(one.value, of);
            let beside = match (one.standard_error, one.low, one.high) {
                (Some(error), ..) if !intervals => format!(" ± {}", error_of(error, of)),
                (_, Some(low), Some(high)) => {
                    format!(" ({} to {})", number(low, of), number(high, of))
                }
                _ => String::new(),
            };
            format!(
                "{value}{beside} at {}",
                markdown::escaped(&treatment(trial, of, one))
            )
        })
        .collect();
    let unit = match unit(of).as_str() {
        "" => String::new(),
        unit => format!(" in{unit}"),
    };
    format!(
        "{lead} {what}{unit}{how} were {}{}.",
        values.join("; "),
        plots(of)
    )
}

/// "95 %".
fn confidence(of: &Estimates) -> String {
    // 0.95 times 100 is a hair off 95.
    let percent = (of.level * 1e6).round() / 1e4;
    format!("{} %", numbers::exact(percent))
}

/// The unit with a space before it; nothing for a number by itself.
fn unit(of: &Estimates) -> String {
    match of.unit.as_str() {
        "" | "pH" => String::new(),
        unit => format!(" {}", markdown::escaped(unit)),
    }
}

/// The plots that stand behind the values, where it is the same number everywhere.
fn plots(of: &Estimates) -> String {
    let mut numbers: Vec<u32> = of.treatments.iter().map(|one| one.plots).collect();
    numbers.sort_unstable();
    match (numbers.first(), numbers.last()) {
        (Some(low), Some(high)) if low == high => format!(" (n = {low} plots each)"),
        (Some(low), Some(high)) => format!(" (n = {low} to {high} plots)"),
        _ => String::new(),
    }
}

/// "The standard error of a difference was 0.12 kg/vine (12 df)."
fn standard_error_of_differences(of: &Estimates) -> Option<String> {
    if of.kind != Kind::Mean {
        return None;
    }
    let errors = || of.differences.iter().map(|one| one.standard_error);
    let low = errors().reduce(f64::min)?;
    let high = errors().reduce(f64::max)?;
    let (low, high) = (error_of(low, of), error_of(high, of));
    let size = match low == high {
        true => low,
        false => format!("{low} to {high}"),
    };
    let unit = unit(of);
    let df = of
        .df
        .map_or(String::new(), |df| format!(" ({} df)", degrees(df)));
    Some(format!(
        "The standard error of a difference was {size}{unit}{df}."
    ))
}

/// The differences one by one, where they are few.
fn differences(trial: &TrialInfo, of: &Estimates) -> Option<String> {
    if of.differences.is_empty() || of.differences.len() > MOST_DIFFERENCES {
        return None;
    }
    let whole = confidence(of);
    let one = |difference: &Difference| {
        let name = |at: usize| {
            let one = of.treatments.get(at);
            one.map_or(String::new(), |one| {
                markdown::escaped(&treatment(trial, of, one))
            })
        };
        let p = difference
            .p
            .map_or(String::new(), |p| format!("; {}", probability(p)));
        format!(
            "{} against {}: {} ({} to {}{p})",
            name(difference.of),
            name(difference.against),
            number(difference.value, of),
            number(difference.low, of),
            number(difference.high, of),
        )
    };
    let all: Vec<String> = of.differences.iter().map(one).collect();
    Some(format!(
        "Differences with {whole} intervals: {}.",
        all.join("; ")
    ))
}

/// "F = 12.3 with 3 and 12 df, P < 0.001", as far as it is known.
fn tested(test: &Test) -> String {
    let p = probability(test.p);
    match (test.f, test.df, test.error_df) {
        (Some(f), Some(df), Some(error)) => format!(
            "F = {} with {} and {} df, {p}",
            numbers::cell(f, Format::Decimals(2)),
            degrees(df),
            degrees(error)
        ),
        (Some(f), ..) => format!("F = {}, {p}", numbers::cell(f, Format::Decimals(2))),
        _ => p,
    }
}

/// A probability with its sign, safe inside Markdown.
fn probability(p: f64) -> String {
    let value = Value {
        value: p,
        format: Format::Probability,
        unit: None,
    };
    markdown::escaped(&numbers::phrase(&value))
}

/// Degrees of freedom: whole ones without decimals.
fn degrees(df: f64) -> String {
    let decimals = if df.fract() == 0.0 { 0 } else { 1 };
    numbers::cell(df, Format::Decimals(decimals))
}

fn number(value: f64, of: &Estimates) -> String {
    numbers::cell(value, of.format)
}

/// A standard error, with a decimal more than the value it belongs to.
fn error_of(error: f64, of: &Estimates) -> String {
    let format = match of.format {
        Format::Decimals(decimals) => Format::Decimals(decimals.saturating_add(1)),
        other => other,
    };
    numbers::cell(error, format)
}

/// The tables and figures that belong to a paragraph.
fn places(found: &Found<'_>) -> String {
    let (analysis, section) = (&found.analysis.name, found.section);
    let list = |ids: Vec<&String>| {
        let names = ids
            .into_iter()
            .map(|id| format!("`{}`", stem(analysis, section, id)));
        names.collect::<Vec<_>>().join(", ")
    };
    let tables = section.tables.iter().filter(|table| !table.file_only);
    let tables = list(tables.map(|table| &table.id).collect());
    let figures = list(section.figures.iter().map(|figure| &figure.id).collect());
    match (tables.is_empty(), figures.is_empty()) {
        (true, true) => String::new(),
        (false, true) => format!("(Tables {tables}.)"),
        (true, false) => format!("(Figures {figures}.)"),
        (false, false) => format!("(Tables {tables}; figures {figures}.)"),
    }
}
