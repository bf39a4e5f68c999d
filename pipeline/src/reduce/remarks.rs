//! What is said about a summary: how many records it is of, and what was left out.

use super::layout::Layout;
use super::plan::Plan;
use super::tally::Tally;
use crate::diagnostic::Diagnostic;
use crate::load::columns::Use;
use crate::load::csv::cell;
use crate::load::heads::Wanted;
use crate::trial::How;

/// The remarks on the files of a summary.
pub(super) fn remarks(
    wanted: &Wanted<'_>,
    plan: &Plan,
    tally: &Tally,
    layouts: &[Layout],
) -> Vec<Diagnostic> {
    let file = wanted.data.file.value.as_str();
    let at = |column: Option<&str>| cell(file, None, column);
    let files: usize = layouts.iter().map(|layout| layout.inputs.len()).sum();
    let of_files = match files {
        0 | 1 => String::new(),
        files => format!(" ({} files)", grouped(files as u64)),
    };
    let of = if plan.keys.iter().any(|key| key.what == Use::Vine) {
        "vine"
    } else {
        "plot"
    };
    let of = match plan.keys.iter().any(|key| key.what == Use::Season) {
        true => format!("{of} and season"),
        false => of.to_owned(),
    };
    let how = match plan.how {
        How::Count => "how many values there are, one",
        How::Sum => "sums, one",
        How::Mean => "means, one",
    };
    let mut remarks = vec![
        Diagnostic::note(
            "summary",
            format!(
                "{} records of {file}{of_files} were reduced to {} {how} a {of}; they were read as doubles and added up without rounding, and a summary has 15 digits",
                grouped(tally.read),
                grouped(tally.names.len() as u64),
            ),
        )
        .at(at(None)),
    ];
    for (key, without) in plan.keys.iter().zip(&tally.without) {
        if *without > 0 {
            remarks.push(
                Diagnostic::note(
                    "summary-without-key",
                    format!(
                        "{} of {file} with nothing in column '{}' {} left out",
                        records(*without),
                        key.heading,
                        were(*without)
                    ),
                )
                .at(at(Some(&key.heading))),
            );
        }
    }
    for (value, sums) in plan.values.iter().zip(&tally.sums) {
        let heading = value.heading.as_str();
        if sums.missing > 0 {
            remarks.push(
                Diagnostic::note(
                    "summary-missing",
                    format!(
                        "{} of {file} {} no value in column '{heading}'",
                        records(sums.missing),
                        if sums.missing == 1 { "has" } else { "have" }
                    ),
                )
                .at(at(Some(heading))),
            );
        }
        if sums.impossible > 0 {
            let (low, high) = sums.outside;
            let range = if low == high {
                format!("{low}")
            } else {
                format!("from {low} to {high}")
            };
            let (word, verb) = match sums.impossible {
                1 => ("value", "is"),
                _ => ("values", "are"),
            };
            remarks.push(
                Diagnostic::warning(
                    "summary-impossible",
                    format!(
                        "{} {word} in column '{heading}' of {file} ({range}) {verb} impossible and {} left out: {}",
                        grouped(sums.impossible),
                        were(sums.impossible),
                        value.why
                    ),
                )
                .at(at(Some(heading)))
                .help("if they mean 'not recorded', list them in missing = [...] of the file; if they can be true, widen possible = [low, high]"),
            );
        }
    }
    remarks
}

fn records(count: u64) -> String {
    let word = if count == 1 { "record" } else { "records" };
    format!("{} {word}", grouped(count))
}

fn were(count: u64) -> &'static str {
    if count == 1 { "was" } else { "were" }
}

/// A count with commas between its thousands.
fn grouped(count: u64) -> String {
    let digits = count.to_string();
    let mut text = String::new();
    for (at, digit) in digits.chars().enumerate() {
        if at > 0 && (digits.len() - at).is_multiple_of(3) {
            text.push(',');
        }
        text.push(digit);
    }
    text
}

#[cfg(test)]
mod tests {
    #[test]
    fn thousands_are_told_apart() {
        for (count, text) in [(7, "7"), (1000, "1,000"), (50_000_000, "50,000,000")] {
            assert_eq!(super::grouped(count), text);
        }
    }
}
