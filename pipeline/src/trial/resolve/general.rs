//! `[trial]` and `[about]`: title, question, seasons, seed and the free words.

use std::collections::HashSet;
use std::ops::Range;
use std::path::Path;

use toml::Spanned;
use toml::de::DeValue;

use crate::diagnostic::Diagnostic;
use crate::trial::faults::Faults;
use crate::trial::keys;
use crate::trial::scalar::scalar_text;
use crate::trial::section::{Section, one_line};
use crate::trial::{Design, Written};

/// Seed where the file gives none.
const DEFAULT_SEED: u64 = 1;

/// More seasons than any pruning trial has run; a longer span is a slip of the pen.
const MOST_SEASONS: u32 = 60;

/// What `[trial]` and `[about]` say.
pub(super) struct General {
    pub(super) title: String,
    pub(super) question: String,
    pub(super) seasons: Vec<String>,
    pub(super) seasons_span: Option<Range<usize>>,
    /// Seasons are spoken of, if wrongly.
    pub(super) has_seasons: bool,
    pub(super) seed: u64,
    pub(super) about: Vec<(String, String)>,
}

/// The general part of a trial.
pub(super) fn general(root: &Section<'_>, faults: &mut Faults) -> General {
    let mut general = General {
        title: String::new(),
        question: String::new(),
        seasons: Vec::new(),
        seasons_span: None,
        has_seasons: false,
        seed: DEFAULT_SEED,
        about: about(root, faults),
    };
    if !root.has("trial") {
        root.missing("trial", "[trial] with a title and a question", faults);
    }
    let Some(mut section) = root.section("trial", faults) else {
        return general;
    };
    section.only(keys::TRIAL, faults);
    let title = "title = \"Node number on spur-pruned vines\"";
    let question = "question = \"How many nodes should be left per vine?\"";
    let text = |found: Option<Written<String>>| {
        found.map(|text| one_line(&text.value)).unwrap_or_default()
    };
    general.title = text(section.needed_text("title", title, faults));
    general.question = text(section.needed_text("question", question, faults));
    general.has_seasons = section.speaks_of("seasons");
    if let Some(value) = section.value("seasons") {
        general.seasons = seasons(&section, value, faults);
        general.seasons_span = Some(value.span());
    }
    if let Some(value) = section.value("seed") {
        let seed = match value.get_ref() {
            DeValue::Integer(_) => {
                scalar_text(value.get_ref()).and_then(|text| text.parse::<u64>().ok())
            }
            _ => None,
        };
        match seed {
            Some(seed) => general.seed = seed,
            None => section.wrong(
                "seed",
                value,
                "a whole number from 0 up",
                "seed = 1",
                faults,
            ),
        }
    }
    general
}

fn about(root: &Section<'_>, faults: &mut Faults) -> Vec<(String, String)> {
    let Some(section) = root.section("about", faults) else {
        return Vec::new();
    };
    let mut about = Vec::new();
    for entry in section.entries() {
        match scalar_text(entry.value.get_ref()) {
            Some(text) => about.push((entry.key.value, one_line(&text))),
            None => section.wrong(
                &entry.key.value,
                entry.value,
                "a text",
                &format!("{} = \"...\"", entry.key.value),
                faults,
            ),
        }
    }
    about
}

/// The seasons a value means: "2021-2024", 2021 or a list.
fn seasons(
    section: &Section<'_>,
    value: &Spanned<DeValue<'_>>,
    faults: &mut Faults,
) -> Vec<String> {
    match value.get_ref() {
        DeValue::Integer(_) => scalar_text(value.get_ref()).into_iter().collect(),
        DeValue::String(text) => span_of_years(text).unwrap_or_else(|why| {
            faults.add(
                &value.span(),
                Diagnostic::error("seasons", format!("'{text}' {why}")).help(
                    "write seasons = \"2021-2024\", or a list of the labels in the data such as \
                     seasons = [\"2021/22\", \"2022/23\"]",
                ),
            );
            Vec::new()
        }),
        DeValue::Array(_) => listed_seasons(section, value, faults),
        _ => {
            let wanted = "a span of years or a list";
            section.wrong("seasons", value, wanted, "seasons = \"2021-2024\"", faults);
            Vec::new()
        }
    }
}

fn listed_seasons(
    section: &Section<'_>,
    value: &Spanned<DeValue<'_>>,
    faults: &mut Faults,
) -> Vec<String> {
    let listed = section
        .texts("seasons", "seasons = [2021, 2022]", faults)
        .unwrap_or_default();
    if listed.is_empty() {
        faults.add(
            &value.span(),
            Diagnostic::error("seasons", "the list of seasons is empty")
                .help("list the seasons, or leave the key out of a trial of one season"),
        );
    }
    let mut seen = HashSet::new();
    for season in &listed {
        let trimmed = season.value.trim();
        let fault = if trimmed.is_empty() {
            "a season has no name".to_owned()
        } else if !seen.insert(trimmed.to_owned()) {
            format!("season '{trimmed}' is listed twice")
        } else {
            continue;
        };
        faults.add(
            &season.span,
            Diagnostic::error("seasons", fault).help("list every season once, in order"),
        );
    }
    listed
        .into_iter()
        .map(|season| season.value.trim().to_owned())
        .collect()
}

/// The years of "2021-2024" or "2021", or why the text is neither.
fn span_of_years(text: &str) -> Result<Vec<String>, &'static str> {
    let year = |text: &str| {
        let text = text.trim();
        let digits = text.len() == 4 && text.bytes().all(|byte| byte.is_ascii_digit());
        digits.then(|| text.parse::<u32>().ok()).flatten()
    };
    if let Some(one) = year(text) {
        return Ok(vec![one.to_string()]);
    }
    let Some((first, last)) = text.split_once(['-', '\u{2013}']) else {
        return Err("is not a span of years");
    };
    let (Some(first), Some(last)) = (year(first), year(last)) else {
        return Err("is not a span of two years of four digits");
    };
    if last <= first {
        return Err("does not run from an earlier year to a later one");
    }
    if last - first >= MOST_SEASONS {
        return Err("spans more seasons than a trial can have");
    }
    Ok((first..=last).map(|year| year.to_string()).collect())
}

/// Reports seasons without a column that tells them apart, and the column without seasons.
pub(super) fn seasons_fit_columns(
    root: &Section<'_>,
    general: &General,
    design: &Option<Design>,
    faults: &mut Faults,
) {
    let Some(design) = design else { return };
    match (&general.seasons_span, &design.season) {
        (Some(span), None) if general.seasons.len() > 1 => faults.add(
            span,
            Diagnostic::error(
                "seasons",
                format!(
                    "{} seasons are declared, but [design] names no column of seasons",
                    general.seasons.len()
                ),
            )
            .help("add season = \"season\" (the column's heading) to [design]"),
        ),
        (None, Some(season)) if root.has("trial") && !general.has_seasons => faults.add(
            &season.span,
            Diagnostic::error(
                "seasons",
                "[design] names a column of seasons, but [trial] does not say which seasons",
            )
            .help("add seasons = \"2021-2024\", say, to [trial]"),
        ),
        _ => {}
    }
}

/// Name of a folder, also of "." and "..".
pub(super) fn folder_name(folder: &Path) -> String {
    let whole = folder.canonicalize().unwrap_or_else(|_| folder.to_owned());
    whole.file_name().map_or_else(
        || "trial".to_owned(),
        |name| name.to_string_lossy().into_owned(),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spans_of_years_expand() {
        assert_eq!(
            span_of_years("2021-2024").unwrap(),
            ["2021", "2022", "2023", "2024"]
        );
        assert_eq!(span_of_years("2021 \u{2013} 2022").unwrap().len(), 2);
        assert_eq!(span_of_years("2021").unwrap(), ["2021"]);
        for wrong in ["2024-2021", "2021-24", "all", "", "2021-2021", "1021-2021"] {
            assert!(span_of_years(wrong).is_err(), "{wrong}");
        }
    }
}
