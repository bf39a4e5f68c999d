//! `[status]`: the column that says which vines live, and its words.

use std::collections::HashMap;

use crate::diagnostic::Diagnostic;
use crate::trial::faults::Faults;
use crate::trial::keys;
use crate::trial::section::Section;
use crate::trial::{Design, Status, Written};

/// What the words mean where the file does not say.
const USUAL: [(&str, &[&str]); 5] = [
    ("alive", &["alive", "live", "living", "bearing", "ok"]),
    ("missing", &["missing", "gap", "absent", "empty"]),
    ("dead", &["dead"]),
    ("replanted", &["replanted", "replant", "young"]),
    ("diseased", &["diseased", "sick", "ill", "infected"]),
];

/// The status of vines, where it is declared.
pub(super) fn status(
    root: &Section<'_>,
    design: &Option<Design>,
    faults: &mut Faults,
) -> Option<Status> {
    let mut section = root.section("status", faults)?;
    section.only(keys::STATUS, faults);
    if design.as_ref().is_some_and(|design| design.vine.is_none()) {
        faults.add(
            &section.header,
            Diagnostic::error(
                "status",
                "[status] tells vines apart, but [design] names no column of vines",
            )
            .help("add vine = \"vine\" (the column's heading) to [design], or take [status] out"),
        );
    }
    let written = USUAL.map(|(key, usual)| {
        let example = format!("{key} = [\"{}\"]", usual.first().unwrap_or(&""));
        section.texts(key, &example, faults)
    });
    mean_one_thing(&written, faults);
    let claimed: Vec<String> = written
        .iter()
        .flatten()
        .flatten()
        .map(|word| word.value.to_lowercase())
        .collect();
    let [alive, missing, dead, replanted, diseased] =
        std::array::from_fn(|at| match (&written[at], USUAL[at]) {
            (Some(words), _) => words.iter().map(|word| word.value.clone()).collect(),
            // A usual word the file gives another meaning keeps that one.
            (None, (_, usual)) => usual
                .iter()
                .map(|&word| word.to_owned())
                .filter(|word| !claimed.contains(word))
                .collect::<Vec<String>>(),
        });
    Some(Status {
        column: section.needed_text("column", "column = \"status\"", faults)?,
        alive,
        missing,
        dead,
        replanted,
        diseased,
    })
}

/// Reports a word given two meanings.
fn mean_one_thing(written: &[Option<Vec<Written<String>>>; 5], faults: &mut Faults) {
    let mut first: HashMap<String, (&str, &Written<String>)> = HashMap::new();
    for (words, (meaning, _)) in written.iter().zip(USUAL) {
        for word in words.iter().flatten() {
            let lower = word.value.trim().to_lowercase();
            match first.get(&lower) {
                Some((other, place)) => {
                    let place = faults.place(&place.span);
                    let fault = if *other == meaning {
                        format!("'{}' is listed twice", word.value)
                    } else {
                        format!("'{}' cannot mean both {other} and {meaning}", word.value)
                    };
                    faults.add(
                        &word.span,
                        Diagnostic::error("status", fault)
                            .at(place)
                            .help("leave it in one list"),
                    );
                }
                None => {
                    first.insert(lower, (meaning, word));
                }
            }
        }
    }
}
