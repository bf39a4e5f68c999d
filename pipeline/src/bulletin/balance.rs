//! Balance ratios beside published ranges, with the canopies the ranges were made for.

use caneplot_plugin::estimates::{Estimates, PublishedRange, Treatment};
use caneplot_plugin::request::{Canopy, Factor, Index};

use super::page::{list, paragraph};
use super::story::Story;
use super::topic::{Meaning, Topic, meaning, topic};
use crate::write::markdown::escaped;

/// The part of the bulletin.
pub(super) fn body(story: &Story) -> String {
    let language = story.language;
    let trial = &story.report.trial;
    let mut out = String::new();
    let mut sources = Vec::new();
    for ratio in &trial.ratios {
        let intro = match meaning(trial, &ratio.name) {
            Meaning::Ratio(Some(Index::YieldToPruningWeight)) => language.text("balance-ravaz"),
            Meaning::Ratio(Some(Index::PruningWeightPerCanopy)) => language.text("balance-canopy"),
            _ => continue,
        };
        let Some((factors, topic)) = results(story, &ratio.name) else {
            continue;
        };
        out.push_str(&paragraph(&intro));
        out.push_str(&beside_ranges(story, &factors, &topic, &mut sources));
    }
    if out.is_empty() {
        return paragraph(&language.text("balance-missing"));
    }
    out.push_str(&paragraph(&language.text("balance-caution")));
    for source in sources {
        let said = language.say("balance-source", &[("text", source.into())]);
        out.push_str(&paragraph(&said));
    }
    out
}

/// The results of a ratio over all seasons: of the first focus, else of any factors there are.
fn results<'a>(story: &Story<'a>, name: &str) -> Option<(Vec<&'a Factor>, Topic<'a>)> {
    let sets = story.focuses.iter().map(|focus| focus.factors.clone());
    let all: Vec<&Factor> = story.report.trial.factors.iter().collect();
    sets.chain([all]).find_map(|factors| {
        let names: Vec<&str> = factors.iter().map(|one| one.name.as_str()).collect();
        let found = topic(story.report, name, &names, story.edits, story.language)?;
        Some((factors, found))
    })
}

/// Each published range with the treatments it was made for, then those without one.
fn beside_ranges(
    story: &Story,
    factors: &[&Factor],
    topic: &Topic,
    sources: &mut Vec<String>,
) -> String {
    let language = story.language;
    let of = topic.over;
    let mut out = String::new();
    for range in &of.ranges {
        let canopy = range
            .treatments
            .first()
            .map_or(Canopy::Single, |at| canopy(story, factors, of, *at));
        let said = language.say(
            "balance-range",
            &[
                ("canopy", canopy_words(story, canopy).into()),
                (
                    "range",
                    topic.shown.range(range.low, range.high, language).into(),
                ),
            ],
        );
        out.push_str(&paragraph(&said));
        let lines: Vec<String> = range
            .treatments
            .iter()
            .filter_map(|at| line(story, factors, topic, *at, Some(range)))
            .collect();
        out.push_str(&list(&lines));
        let text = reference(story, &range.source);
        if !sources.contains(&text) {
            sources.push(text);
        }
    }
    let without = (0..of.treatments.len())
        .filter(|at| !of.ranges.iter().any(|range| range.treatments.contains(at)));
    let lines: Vec<String> = without
        .filter_map(|at| line(story, factors, topic, at, None))
        .collect();
    out.push_str(&list(&lines));
    out
}

fn line(
    story: &Story,
    factors: &[&Factor],
    topic: &Topic,
    at: usize,
    range: Option<&PublishedRange>,
) -> Option<String> {
    let language = story.language;
    let treatment = topic.over.treatments.get(at)?;
    let place = match range {
        Some(range) => place(story, treatment, range),
        None => language.text("balance-none"),
    };
    let (low, high) = (treatment.low?, treatment.high?);
    Some(escaped(&language.say(
        "balance-line",
        &[
            ("treatment", story.treatment(factors, topic.over, at).into()),
            (
                "amount",
                topic.shown.amount(treatment.value, language).into(),
            ),
            ("span", topic.shown.range(low, high, language).into()),
            ("place", place.into()),
        ],
    )))
}

/// Where the likely range of a value lies beside a published range.
fn place(story: &Story, of: &Treatment, range: &PublishedRange) -> String {
    let language = story.language;
    let low = of.low.unwrap_or(of.value);
    let high = of.high.unwrap_or(of.value);
    if high < range.low {
        language.text("balance-below")
    } else if low > range.high {
        language.text("balance-above")
    } else if low < range.low && high > range.high {
        language.text("balance-wide")
    } else if low < range.low {
        language.text("balance-low-edge")
    } else if high > range.high {
        language.text("balance-high-edge")
    } else {
        language.text("balance-inside")
    }
}

/// The canopy of a treatment: of one of its levels, else of the trial.
fn canopy(story: &Story, factors: &[&Factor], of: &Estimates, at: usize) -> Canopy {
    let levels = of.treatments.get(at).map(|one| one.levels.as_slice());
    let own = factors
        .iter()
        .zip(levels.unwrap_or_default())
        .find_map(|(factor, name)| {
            let level = factor.levels.iter().find(|level| &level.name == name)?;
            level.canopy
        });
    own.or(story.report.trial.vineyard.canopy)
        .unwrap_or(Canopy::Single)
}

fn canopy_words(story: &Story, canopy: Canopy) -> String {
    match canopy {
        Canopy::Single => story.language.text("canopy-single"),
        Canopy::Divided => story.language.text("canopy-divided"),
        Canopy::MinimallyPruned => story.language.text("canopy-minimal"),
        Canopy::Hedged => story.language.text("canopy-hedged"),
        Canopy::FreeStanding => story.language.text("canopy-free"),
    }
}

/// The full reference of a citation key; the key where there is none.
fn reference(story: &Story, key: &str) -> String {
    let found = story
        .report
        .analyses
        .iter()
        .filter_map(|one| one.findings.as_ref())
        .flat_map(|found| &found.references)
        .find(|reference| reference.key == key);
    found.map_or_else(|| key.to_owned(), |reference| reference.text.clone())
}
