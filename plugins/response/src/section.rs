//! The section of one response over one amount.

use caneplot_plugin::Refusal;
use caneplot_plugin::findings::Section;
use caneplot_plugin::request::{Factor, Response};
use caneplot_plugin::sentence::Sentence;
use caneplot_plugin::words::{beginning, inside};

use crate::study::Study;
use crate::voice::undoubled;
use crate::{figures, members, notes, parameters, sentences, tables};

/// A name made fit for a file name.
fn fit(name: &str) -> String {
    name.chars()
        .map(|c| c.to_ascii_lowercase())
        .map(|c| {
            if c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_' || c == '-' {
                c
            } else {
                '-'
            }
        })
        .collect()
}

/// A phrase with its first letter large.
fn capital(phrase: &str) -> String {
    let mut letters = phrase.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

fn empty(response: &Response, factor: &Factor) -> Section {
    Section {
        id: fit(&format!("{}-{}", response.name, factor.name)),
        title: format!(
            "{} over {}",
            undoubled(&beginning(&response.label)),
            undoubled(&inside(&factor.label))
        ),
        response: Some(response.name.clone()),
        ..Section::default()
    }
}

/// The section of a response without any curve, with the reason.
pub(crate) fn refused(response: &Response, factor: &Factor, refusal: &Refusal) -> Section {
    let mut text = format!(
        "{} is not analysed: {}.",
        undoubled(&beginning(&response.label)),
        refusal.message.trim_end_matches('.')
    );
    if let Some(hint) = &refusal.hint {
        text.push_str(&format!(" {}.", capital(hint.trim_end_matches('.'))));
    }
    Section {
        statements: vec![Sentence::new(&text).statement()],
        ..empty(response, factor)
    }
}

/// The section of a factor that has too few levels for any curve.
pub(crate) fn too_few_levels(factor: &Factor) -> Section {
    let name = undoubled(&beginning(&factor.label));
    let text = match factor.levels.len() {
        1 => format!("{name} has one level: there is nothing to compare."),
        _ => format!(
            "{name} has two levels: there is a difference between them but no curve. A third level is needed to see whether a response bends or levels off."
        ),
    };
    Section {
        id: fit(&factor.name),
        title: name,
        statements: vec![Sentence::new(&text).statement()],
        ..Section::default()
    }
}

/// The section of a study.
pub(crate) fn of(study: &Study<'_>) -> Section {
    let mut shown = Vec::new();
    if let Ok(fitted) = &study.overall {
        shown.push(parameters::of(study, fitted));
        shown.push(tables::shapes(study, fitted));
        shown.push(tables::means(study, fitted));
    }
    for (at, group) in study.groups.iter().enumerate() {
        let id = if group.seasons {
            "seasons".to_owned()
        } else {
            format!("group{at}")
        };
        shown.extend(members::of(study, group, &id));
    }
    if study.any_curve() {
        shown.extend(members::parallelism(study));
    }
    Section {
        statements: sentences::of(study),
        tables: shown,
        figures: figures::of(study),
        notes: notes::of(study),
        ..empty(study.response, study.factor)
    }
}
