//! The money box: what an analysis that got prices found, or that there were none.

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
    for focus in &story.focuses {
        let names: Vec<&str> = focus.factors.iter().map(|one| one.name.as_str()).collect();
        let of_money = story
            .report
            .estimates()
            .filter(|found| found.analysis.name == ANALYSIS && found.estimates.season.is_none())
            .find(|found| {
                found
                    .estimates
                    .factors
                    .iter()
                    .map(String::as_str)
                    .eq(names.iter().copied())
            });
        let Some(found) = of_money else { continue };
        let Some(sum) = topic(
            story.report,
            &found.estimates.name,
            &names,
            story.edits,
            language,
        ) else {
            continue;
        };
        let Some(one) = leading(sum.over, None) else {
            continue;
        };
        let direction = if one.value < 0.0 { "less" } else { "more" };
        let values: [(&str, Said); 6] = [
            (
                "treatment",
                story.treatment(&focus.factors, sum.over, one.of).into(),
            ),
            (
                "control",
                story
                    .other_treatment(&focus.factors, sum.over, one.against)
                    .into(),
            ),
            ("direction", direction.into()),
            ("amount", sum.shown.size(one.value, language).into()),
            ("range", sum.shown.sizes(one.low, one.high, language).into()),
            (
                "bounds",
                sum.shown.bounds(one.low, one.high, language).into(),
            ),
        ];
        let said = match verdict(sum.over, one, None).is_clear() {
            true => language.say("money-clear", &values),
            false => language.say("money-unclear", &values),
        };
        out.push_str(&paragraph(&said));
    }
    if out.is_empty() {
        return paragraph(&language.text("money-none"));
    }
    out.push_str(&paragraph(&language.text("money-caution")));
    out
}
