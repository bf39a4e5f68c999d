//! What surrounds the answer: why it matters, what the trial does not tell, cautions, whom to ask,
//! words used.

use caneplot_plugin::request::{Factor, Index, Quantity};

use super::page::list;
use super::story::Story;
use super::topic::{Meaning, meaning};
use super::verdict::{changes_with_season, least_seen};
use crate::messages::Said;
use crate::write::markdown::escaped;

/// Why it matters.
pub(super) fn why(story: &Story) -> String {
    let language = story.language;
    let factors = &story.report.trial.factors;
    let mut why = Vec::new();
    if factors.iter().any(is_system) {
        why.push(language.text("why-system"));
    }
    if factors.iter().any(Factor::says_nodes) {
        why.push(language.text("why-nodes"));
    }
    if why.is_empty() {
        why.push(language.text("why-general"));
    }
    why.join(" ")
}

/// Whether the levels of a factor are training systems: they make canopies of their own.
fn is_system(factor: &Factor) -> bool {
    factor.levels.iter().any(|level| level.canopy.is_some())
}

/// What the trial does not tell.
pub(super) fn limits(story: &Story) -> String {
    let language = story.language;
    let mut lines = vec![language.say("limits-site", &[("n", story.seasons().into())])];
    for focus in &story.focuses {
        let Some(topic) = focus.topics.first() else {
            continue;
        };
        let Some(least) = least_seen(topic.over) else {
            continue;
        };
        let names: Vec<String> = focus
            .factors
            .iter()
            .map(|factor| super::done::factor_name(story, factor))
            .collect();
        lines.push(language.say(
            "limits-least",
            &[
                ("what", (&topic.what).into()),
                ("factor", language.list(&names).into()),
                ("amount", topic.shown.size(least, language).into()),
            ],
        ));
    }
    let topics = story.focuses.iter().flat_map(|focus| &focus.topics);
    let mut changing: Vec<&str> = topics
        .filter(|topic| changes_with_season(topic.over))
        .map(|topic| topic.what.as_str())
        .collect();
    changing.dedup();
    if !changing.is_empty() {
        let what = language.list(&changing);
        lines.push(language.say("limits-years", &[("what", what.into())]));
    }
    let missing = unmeasured(story);
    if !missing.is_empty() {
        let things = language.list(&missing);
        lines.push(language.say("limits-unmeasured", &[("things", things.into())]));
    }
    lines.push(language.text("limits-cause"));
    list(&lines.iter().map(|line| escaped(line)).collect::<Vec<_>>())
}

/// What growers ask and the trial did not measure.
fn unmeasured(story: &Story) -> Vec<String> {
    let language = story.language;
    let responses = &story.report.trial.responses;
    let lacks = |quantity: Quantity| !responses.iter().any(|one| one.quantity == quantity);
    [
        (
            Quantity::SolubleSolids,
            language.text("unmeasured-ripeness"),
        ),
        (
            Quantity::PruningWeight,
            language.text("unmeasured-prunings"),
        ),
        (Quantity::BudSurvival, language.text("unmeasured-survival")),
        (Quantity::Labour, language.text("unmeasured-labour")),
    ]
    .into_iter()
    .filter(|(quantity, _)| lacks(*quantity))
    .map(|(_, words)| words)
    .collect()
}

/// The cautions every bulletin carries; no edit takes one out.
pub(super) fn cautions(story: &Story) -> String {
    let all = [
        "caution-rows",
        "caution-first",
        "caution-winter",
        "caution-frost",
        "caution-tools",
        "caution-wounds",
        "caution-label",
        "caution-contract",
        "caution-adviser",
    ];
    list(&all.map(|id| escaped(&story.language.text(id))))
}

/// Whom to ask.
pub(super) fn ask(story: &Story) -> String {
    let all = ["ask-local", "ask-adviser", "ask-accountant", "ask-report"];
    list(&all.map(|id| escaped(&story.language.text(id))))
}

/// Words used in this bulletin, the writer's own after the program's.
pub(super) fn glossary(story: &Story) -> String {
    let language = story.language;
    let mut terms: Vec<(String, String)> = Vec::new();
    let mut add = |term: &str, text: String| terms.push((language.text(term), text));
    if let Some((_, main)) = story.main() {
        let percent = language.number(main.over.level * 100.0, 0);
        let values: [(&str, Said); 2] = [
            (
                "level",
                format!("{percent} {}", language.text("unit-percent")).into(),
            ),
            ("hits", percent.into()),
        ];
        add("term-range", language.say("term-range-text", &values));
    }
    let trial = &story.report.trial;
    if trial.factors.iter().any(Factor::says_nodes) {
        add("term-node", language.text("term-node-text"));
    }
    let spoken = |quantity: Quantity| {
        let has = |name: &String| matches!(meaning(trial, name), Meaning::Quantity(found, _) if found == quantity);
        story.names.iter().any(has)
    };
    if spoken(Quantity::SolubleSolids) {
        add("term-brix", language.text("term-brix-text"));
    }
    if spoken(Quantity::PruningWeight) {
        add("term-prunings", language.text("term-prunings-text"));
    }
    let ravaz = Some(Index::YieldToPruningWeight);
    if trial.ratios.iter().any(|ratio| ratio.index == ravaz) {
        add("term-balance", language.text("term-balance-text"));
    }
    add("term-plot", language.text("term-plot-text"));
    if story.field.blocks > 0 {
        add("term-block", language.text("term-block-text"));
    }
    let in_tons = |topic: &super::topic::Topic| {
        topic
            .shown
            .units()
            .contains(&language.text("unit-tons-acre"))
    };
    let mut topics = story.focuses.iter().flat_map(|focus| &focus.topics);
    if topics.any(in_tons) {
        add("term-ton", language.text("term-ton-text"));
    }
    let own = story.edits.glossary.iter();
    terms.extend(own.map(|(term, text)| (term.clone(), text.value.clone())));
    let lines: Vec<String> = terms
        .iter()
        .map(|(term, text)| format!("**{}**: {}", escaped(term), escaped(text)))
        .collect();
    list(&lines)
}
