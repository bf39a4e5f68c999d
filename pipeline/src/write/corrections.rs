//! What was corrected in the data, cell by cell.

use std::fmt::Write as _;

use super::markdown::escaped;
use super::report::Report;
use crate::correct::{Answer, CORRECTIONS_FILE, Correction};
use crate::load::text::count;

/// The corrections as a table; nothing where the trial has none.
pub(super) fn corrections(out: &mut String, report: &Report) {
    let corrections = report.corrections;
    if corrections.file.is_none() {
        return;
    }
    let [changed, kept, open] = corrections.counts();
    let _ = writeln!(
        out,
        "## Corrections\n\n{} corrected by `{CORRECTIONS_FILE}`, {} looked at and kept, {} not looked \
         at yet. The data files are as they were; everything in this report is computed with the \
         corrections.\n",
        count(changed, "cell"),
        kept,
        open
    );
    if changed + kept == 0 {
        return;
    }
    let _ = writeln!(
        out,
        "| file | line | record | column | in the file | taken as | who | why |\n\
         | :--- | ---: | :--- | :--- | :--- | :--- | :--- | :--- |"
    );
    for (row, line) in corrections.rows.iter().zip(&corrections.lines) {
        let taken = match &row.answer {
            Answer::Changed(new) => escaped(new),
            Answer::Kept => "kept".to_owned(),
            Answer::Open => continue,
        };
        let _ = writeln!(
            out,
            "| {} | {line} | {} | {} | {} | {taken} | {} | {} |",
            escaped(&match &row.sheet {
                Some(sheet) => format!("{}, sheet '{sheet}'", row.file),
                None => row.file.clone(),
            }),
            escaped(&record(row)),
            escaped(&row.column),
            escaped(&row.old),
            escaped(&row.who),
            escaped(&row.why)
        );
    }
    out.push('\n');
}

/// "2021, B1, plot 3, vine 2".
fn record(row: &Correction) -> String {
    let [season, block, plot, vine] = &row.keys;
    let named =
        |what: &str, name: &Option<String>| name.as_ref().map(|name| format!("{what} {name}"));
    let parts = [
        season.clone(),
        named("block", block),
        named("plot", plot),
        named("vine", vine),
    ];
    parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
}
