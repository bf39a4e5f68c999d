//! Each rule finds its mistake, says where, and is silent on sound data.

use super::rules;
use crate::diagnostic::{Diagnostic, Severity};
use crate::load::testing::*;

mod cells;
mod covariates;
mod dates;
mod layout;
mod places;
mod stand;

fn found(text: &str) -> Vec<Diagnostic> {
    Bench::new(&blocks("", HARVEST), &[("harvest.csv", text)]).checked()
}

/// The one finding of a rule, and that nothing else than a note was found beside it.
fn alone(found: &[Diagnostic], rule: &str) -> String {
    assert_eq!(grave(found), [rule], "{}", shown(found));
    only(found, rule).to_string()
}

fn contains(text: &str, parts: &[&str]) {
    for part in parts {
        assert!(text.contains(part), "no '{part}' in\n{text}");
    }
}

#[test]
fn sound_data_are_passed_in_silence() {
    let found = found(&harvest());
    assert!(found.is_empty(), "{}", shown(&found));
}

#[test]
fn rules_have_names_of_their_own_and_say_where_they_come_from() {
    let mut names: Vec<&str> = rules().iter().map(|rule| rule.name).collect();
    assert!(names.iter().all(|name| {
        name.chars()
            .all(|letter| letter.is_ascii_lowercase() || letter == '-')
    }));
    assert!(
        rules()
            .iter()
            .all(|rule| !rule.source.is_empty() && !rule.summary.is_empty())
    );
    names.sort_unstable();
    let all = names.len();
    names.dedup();
    assert_eq!(names.len(), all);
}

const TWO: &str = "[[data]]\nfile = \"harvest.csv\"\n[[data]]\nfile = \"must.csv\"\n[responses.yield]\ncolumn = \"kg\"\nunit = \"kg/vine\"\n[responses.brix]\nunit = \"Brix\"\n";

fn must() -> String {
    let mut text = String::from("plot,brix\n");
    for plot in 0..12 {
        text.push_str(&format!(
            "{}0{},{}.5\n",
            plot / 3 + 1,
            plot % 3 + 1,
            20 + plot % 4
        ));
    }
    text
}

fn with_must(must: &str) -> Vec<Diagnostic> {
    Bench::new(
        &blocks("", TWO),
        &[("harvest.csv", &harvest()), ("must.csv", must)],
    )
    .checked()
}
