//! What the checks had to say about the data.

use std::fmt::Write as _;

use super::markdown::escaped;
use crate::diagnostic::{Diagnostic, Place, Severity};

/// The remarks as a list, those to look at first.
pub(super) fn remarks(out: &mut String, remarks: &[Diagnostic]) {
    let _ = writeln!(out, "## Remarks on the data\n");
    if remarks.is_empty() {
        let _ = writeln!(out, "Nothing doubtful was found by the checks.\n");
        return;
    }
    let _ = writeln!(
        out,
        "Nothing was changed or left out of the data without a line here.\n"
    );
    for severity in [Severity::Warning, Severity::Note] {
        for remark in remarks.iter().filter(|one| one.severity == severity) {
            let mut text = escaped(&remark.message);
            if let Some(place) = remark.places.first() {
                let place = place_words(place);
                // A whole file that the sentence names needs no second mention.
                if !remark.message.contains(&place) {
                    let _ = write!(text, " ({})", escaped(&place));
                }
            }
            if let Some(help) = &remark.help {
                let _ = write!(text, ". To do: {}", escaped(help));
            }
            let lead = if severity == Severity::Warning {
                "**Look at this:** "
            } else {
                ""
            };
            let _ = writeln!(out, "- {lead}{text}");
        }
    }
    out.push('\n');
}

/// A place without the folders above the trial, so that reports do not depend on where it lies.
fn place_words(place: &Place) -> String {
    let file = place
        .path()
        .file_name()
        .unwrap_or_default()
        .to_string_lossy()
        .into_owned();
    match place {
        Place::Span { .. } => match place.line_column() {
            Some((line, _)) => format!("{file}, line {line}"),
            None => file,
        },
        Place::Cell { line, column, .. } => {
            let line = line.map_or(String::new(), |line| format!(", line {line}"));
            let column = column
                .as_ref()
                .map_or(String::new(), |name| format!(", column '{name}'"));
            format!("{file}{line}{column}")
        }
    }
}
