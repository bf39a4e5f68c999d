//! The one table: a row a treatment, a column a thing measured, in both units.

use super::story::{Focus, Story};
use super::topic::Topic;
use super::verdict::{changes_with_season, least_seen};
use crate::write::markdown::escaped;

/// Most columns, that of the treatments among them.
const MOST_COLUMNS: usize = 6;

/// The part of the bulletin.
pub(super) fn body(story: &Story) -> String {
    let language = story.language;
    let Some((_, main)) = story.main() else {
        return String::new();
    };
    // What is not known of every focus would leave holes.
    let in_all = |topic: &&Topic| {
        story
            .focuses
            .iter()
            .all(|focus| focus.topics.iter().any(|one| one.name == topic.name))
    };
    let first = &story.focuses[0];
    let columns: Vec<&Topic> = first
        .topics
        .iter()
        .filter(in_all)
        .take(MOST_COLUMNS - 1)
        .collect();
    let title = match story.report.trial.seasons.len() {
        0 => language.text("table-title-single"),
        n => language.say("table-title", &[("n", n.into())]),
    };
    let mut out = format!("**{}**\n\n", escaped(&title));
    let mut heads = vec![language.text("column-treatment")];
    heads.extend(columns.iter().map(|topic| headed(topic)));
    out.push_str(&line(&heads));
    let marks: Vec<String> = (0..heads.len())
        .map(|at| if at == 0 { ":---" } else { "---:" }.to_owned())
        .collect();
    out.push_str(&line(&marks));
    for focus in &story.focuses {
        out.push_str(&rows(story, focus, &columns));
    }
    let mut notes = Vec::new();
    if columns.iter().any(|topic| topic.shown.second.is_some()) {
        notes.push(language.text("table-units"));
    }
    if let Some(least) = least_seen(main.over) {
        let amount = main.shown.size(least, language);
        notes.push(language.say("table-least", &[("amount", amount.into())]));
    }
    let differs = |focus: &Focus| {
        let main = focus.topics.first();
        main.is_some_and(|topic| changes_with_season(topic.over))
    };
    if story.focuses.iter().any(differs) {
        notes.push(language.text("table-years"));
    }
    for note in notes {
        out.push_str(&format!("\n*{}*\n", escaped(&note)));
    }
    out.push('\n');
    out
}

/// A heading with its units.
fn headed(topic: &Topic) -> String {
    let units = topic.shown.units();
    let name = escaped(&topic.heading);
    match units.is_empty() {
        true => name,
        false => format!("{name}, {}", escaped(&units)),
    }
}

fn rows(story: &Story, focus: &Focus, columns: &[&Topic]) -> String {
    let Some(first) = focus.topics.first() else {
        return String::new();
    };
    let control = story.control(&focus.factors, first.over);
    let mut out = String::new();
    for (at, treatment) in first.over.treatments.iter().enumerate() {
        let mut name = escaped(&story.treatment(&focus.factors, first.over, at));
        if control == Some(at) {
            let mark = story.language.text("table-control");
            name = format!("{name} ({})", escaped(&mark));
        }
        let mut cells = vec![name];
        cells.extend(columns.iter().map(|column| {
            let topic = focus.topics.iter().find(|one| one.name == column.name);
            let found = topic.and_then(|topic| {
                let same = topic.over.treatments.iter();
                same.clone().find(|one| one.levels == treatment.levels)
            });
            found.map_or("–".to_owned(), |one| {
                column.shown.cell(one.value, story.language)
            })
        }));
        out.push_str(&line(&cells));
    }
    out
}

fn line(cells: &[String]) -> String {
    format!("| {} |\n", cells.join(" | "))
}
