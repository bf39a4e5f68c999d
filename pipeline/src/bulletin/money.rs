//! The money box: what an analysis that got prices found, or that there were none.

use caneplot_plugin::request::Factor;

use super::page::paragraph;
use super::story::Story;
use super::topic::topic;
use super::verdict::{leading, verdict};
use crate::messages::Said;

/// The analysis that reckons money.
const ANALYSIS: &str = "economics";

/// The part of the bulletin.
pub(super) fn body(story: &Story) -> String {
    let language = story.language;
    let mut out = String::new();
    let all: Vec<&Factor> = story.report.trial.factors.iter().collect();
    let sets = story.focuses.iter().map(|focus| focus.factors.clone());
    for factors in sets.chain([all]) {
        // Sums of single factors need none of their mixes.
        if out.is_empty() {
            out.extend(of_factors(story, &factors).map(|said| paragraph(&said)));
        }
    }
    if out.is_empty() {
        return paragraph(&language.text("money-none"));
    }
    out.push_str(&paragraph(&language.text("money-caution")));
    out
}

/// What the sums say of the treatments that some factors make.
fn of_factors(story: &Story, factors: &[&Factor]) -> Option<String> {
    let language = story.language;
    let names: Vec<&str> = factors.iter().map(|one| one.name.as_str()).collect();
    let found = story
        .report
        .estimates()
        .filter(|found| found.analysis.name == ANALYSIS && found.estimates.season.is_none())
        .find(|found| {
            let own = found.estimates.factors.iter().map(String::as_str);
            own.eq(names.iter().copied())
        })?;
    let name = &found.estimates.name;
    let sum = topic(story.report, name, &names, story.edits, language)?;
    let one = leading(sum.over, None)?;
    let direction = if one.value < 0.0 { "less" } else { "more" };
    let values: [(&str, Said); 6] = [
        (
            "treatment",
            story.treatment(factors, sum.over, one.of).into(),
        ),
        (
            "control",
            story.other_treatment(factors, sum.over, one.against).into(),
        ),
        ("direction", direction.into()),
        ("amount", sum.shown.size(one.value, language).into()),
        ("range", sum.shown.sizes(one.low, one.high, language).into()),
        (
            "bounds",
            sum.shown.bounds(one.low, one.high, language).into(),
        ),
    ];
    Some(match verdict(sum.over, one, None).is_clear() {
        true => language.say("money-clear", &values),
        false => language.say("money-unclear", &values),
    })
}
