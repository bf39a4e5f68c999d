//! How the main thing measured goes over a graded treatment: the main sentence of the analysis of
//! curves, where the report has it. That analysis speaks English, so other languages go without.

use caneplot_plugin::findings::{Format, Rank, Statement};

use super::story::Story;
use crate::write::markdown;

/// The analysis of curves.
const ANALYSIS: &str = "response";

/// Its main sentence on a response, without probabilities.
pub(super) fn sentence(story: &Story, response: &str) -> Option<String> {
    if story.language.code() != "en" {
        return None;
    }
    let mut sections = story.report.sections();
    let (_, section) = sections.find(|(analysis, section)| {
        analysis.name == ANALYSIS && section.response.as_deref() == Some(response)
    })?;
    let main = section
        .statements
        .iter()
        .find(|one| one.rank == Rank::Headline)?;
    let plain = without_probabilities(main)?;
    Some(markdown::sentence(&plain))
}

/// A sentence without its bracketed probabilities; `None` where one stands outside of brackets.
fn without_probabilities(statement: &Statement) -> Option<Statement> {
    let mut plain = statement.clone();
    for (name, value) in &statement.values {
        if value.format != Format::Probability {
            continue;
        }
        let bracketed = format!(" ({{{name}}})");
        plain.text = plain.text.replace(&bracketed, "");
        if plain.text.contains(&format!("{{{name}}}")) {
            return None;
        }
    }
    Some(plain)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_probability_in_brackets_goes_and_one_outside_stops_the_sentence() {
        let told = |text: &str| {
            let statement = Statement::new(text).with("p", 0.01, Format::Probability);
            without_probabilities(&statement).map(|one| one.text)
        };
        assert_eq!(told("It rose ({p})."), Some("It rose.".to_owned()));
        assert_eq!(told("It rose with {p}."), None);
    }
}
