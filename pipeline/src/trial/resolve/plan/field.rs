//! `[field]`: the rows of the vineyard, their gaps, how blocks lie.

use std::collections::BTreeSet;
use std::ops::Range;

use toml::Spanned;
use toml::de::DeValue;

use super::whole;
use crate::diagnostic::Diagnostic;
use crate::plan::{Field, Gaps, Gradient, Lie, VineRow};
use crate::trial::Written;
use crate::trial::faults::Faults;
use crate::trial::scalar::scalar_text;
use crate::trial::section::Section;
use crate::trial::words::Words;

const FIELD: &[&str] = &[
    "rows",
    "blocks",
    "rows_per_block",
    "gaps",
    "missing",
    "unusable",
    "guard_rows",
    "gradient",
    "gradient_is",
];

const ROWS: &[&str] = &["rows", "positions"];

const LIES: Words<Lie> = Words {
    what: "a way for blocks to lie",
    list: &[
        ("runs of rows", Lie::RunsOfRows),
        ("parts of rows", Lie::PartsOfRows),
    ],
};

const GAPS: Words<Gaps> = Words {
    what: "a way to treat empty positions",
    list: &[("skip", Gaps::Skip), ("count", Gaps::Count)],
};

const GRADIENTS: Words<Gradient> = Words {
    what: "a direction in the field",
    list: &[
        ("to the last row", Gradient::ToLastRow),
        ("to the first row", Gradient::ToFirstRow),
        ("to the last vine", Gradient::ToLastVine),
        ("to the first vine", Gradient::ToFirstVine),
    ],
};

/// More rows or positions than this are a slip of the pen.
const MOST: u32 = 5000;

/// The field, where it is described.
pub(super) fn field(root: &Section<'_>, faults: &mut Faults) -> Option<Field> {
    let mut section = root.section("field", faults)?;
    section.only(FIELD, faults);
    let mut rows = rows(&section, faults);
    let lie = section.word("blocks", &LIES, faults);
    let gaps = section.word("gaps", &GAPS, faults);
    let gradient = section
        .word("gradient", &GRADIENTS, faults)
        .map(|word| word.value);
    let per_block = whole(&section, "rows_per_block", 1..=500, false, faults);
    let is = section.words("gradient_is", "gradient_is = \"slope falls\"", faults);
    for (key, empty) in [("missing", true), ("unusable", false)] {
        for (written, row, position) in places(&section, key, &rows, faults) {
            let row: &mut VineRow = &mut rows[row];
            if (row.first..=row.last).contains(&position) {
                let set = if empty {
                    &mut row.missing
                } else {
                    &mut row.unusable
                };
                set.insert(position);
            } else {
                faults.add(
                    &written.span,
                    Diagnostic::error(
                        "plan-field",
                        format!(
                            "row {} has no position {position}: its positions are {} to {}",
                            row.number, row.first, row.last
                        ),
                    )
                    .help("correct the position, or the positions of the row in [[field.rows]]"),
                );
            }
        }
    }
    guards(&section, &mut rows, faults);
    let lie = lie.map_or_else(
        || match gradient {
            Some(gradient) if !gradient.is_across() => Lie::PartsOfRows,
            _ => Lie::RunsOfRows,
        },
        |word| word.value,
    );
    Some(Field {
        rows,
        lie,
        rows_per_block: per_block.map(|rows| (rows.value as usize, rows.span)),
        gaps: gaps.map_or(Gaps::Skip, |word| word.value),
        gradient,
        gradient_is: is.unwrap_or_else(|| "slope falls".to_owned()),
        span: section.header.clone(),
        made_up: false,
    })
}

/// The rows of all `[[field.rows]]`, in the order of their numbers.
fn rows(section: &Section<'_>, faults: &mut Faults) -> Vec<VineRow> {
    let example = "[[field.rows]] and below it rows = \"1-12\" and positions = 60";
    let Some(value) = section.value("rows") else {
        section.missing("rows", example, faults);
        return Vec::new();
    };
    let Some(list) = value.get_ref().as_array() else {
        section.wrong("rows", value, "a list of tables", example, faults);
        return Vec::new();
    };
    let mut rows: Vec<VineRow> = Vec::new();
    for element in list.iter() {
        let DeValue::Table(table) = element.get_ref() else {
            section.wrong("rows", element, "a list of tables", example, faults);
            continue;
        };
        let mut one = Section::new("[field.rows]", element.span(), table);
        one.only(ROWS, faults);
        let numbers = spans(&one, "rows", "rows = \"1-12\" or rows = 7", faults);
        let positions = positions(&one, faults);
        let Some((first, last)) = positions else {
            continue;
        };
        for number in numbers.iter().flat_map(|(from, to)| *from..=*to) {
            if rows.iter().any(|row| row.number == number) {
                let span = one.value("rows").map_or(element.span(), Spanned::span);
                faults.add(
                    &span,
                    Diagnostic::error("plan-field", format!("row {number} is described twice"))
                        .help("describe every row once"),
                );
                continue;
            }
            rows.push(VineRow {
                number,
                first,
                last,
                missing: BTreeSet::new(),
                unusable: BTreeSet::new(),
                guard: false,
                span: one.value("positions").map_or(element.span(), Spanned::span),
            });
        }
    }
    rows.sort_by_key(|row| row.number);
    rows
}

/// First and last position: a number of positions counts from 1.
fn positions(section: &Section<'_>, faults: &mut Faults) -> Option<(u32, u32)> {
    let example = "positions = 60 or positions = \"5-60\"";
    let value = section.value("positions");
    match value.map(Spanned::get_ref) {
        Some(DeValue::Integer(_)) => {
            whole(section, "positions", 1..=MOST, true, faults).map(|count| (1, count.value))
        }
        Some(_) => spans(section, "positions", example, faults)
            .first()
            .copied(),
        None => {
            section.missing("positions", example, faults);
            None
        }
    }
}

/// Spans of whole numbers: 7, "1-12", [1, "3-5"].
fn spans(section: &Section<'_>, key: &str, example: &str, faults: &mut Faults) -> Vec<(u32, u32)> {
    let Some(value) = section.value(key) else {
        section.missing(key, example, faults);
        return Vec::new();
    };
    let elements: Vec<&Spanned<DeValue<'_>>> = match value.get_ref() {
        DeValue::Array(list) => list.iter().collect(),
        _ => vec![value],
    };
    let mut found = Vec::new();
    for element in elements {
        match scalar_text(element.get_ref()).as_deref().and_then(span) {
            Some(span) => found.push(span),
            None => section.wrong(
                key,
                element,
                "a whole number or a span such as \"1-12\"",
                example,
                faults,
            ),
        }
    }
    found
}

/// "7" or "1-12".
fn span(text: &str) -> Option<(u32, u32)> {
    let number = |text: &str| {
        text.trim()
            .parse::<u32>()
            .ok()
            .filter(|n| (1..=MOST).contains(n))
    };
    match text.split_once(['-', '\u{2013}']) {
        Some((first, last)) => {
            let span = (number(first)?, number(last)?);
            (span.0 <= span.1).then_some(span)
        }
        None => number(text).map(|n| (n, n)),
    }
}

/// Single places of a list such as ["3:17", "5:2-4"]: the text, the row by its place in the list,
/// the position.
fn places(
    section: &Section<'_>,
    key: &str,
    rows: &[VineRow],
    faults: &mut Faults,
) -> Vec<(Written<String>, usize, u32)> {
    let example = format!("{key} = [\"3:17\", \"5:2-4\"], row and position");
    let mut found = Vec::new();
    for written in section.texts(key, &example, faults).unwrap_or_default() {
        let parsed = written
            .value
            .split_once(':')
            .and_then(|(row, positions)| Some((row.trim().parse::<u32>().ok()?, span(positions)?)));
        let Some((number, (first, last))) = parsed else {
            fault(
                &written.span,
                format!("'{}' is not a row and a position", written.value),
                format!("write {example}"),
                faults,
            );
            continue;
        };
        match rows.iter().position(|row| row.number == number) {
            Some(row) => found.extend((first..=last).map(|at| (written.clone(), row, at))),
            // With the rows themselves wrong, whether this is one of them cannot be said.
            None if rows.is_empty() => {}
            None => fault(
                &written.span,
                format!("there is no row {number}"),
                "correct the row, or describe it in [[field.rows]]".to_owned(),
                faults,
            ),
        }
    }
    found
}

fn guards(section: &Section<'_>, rows: &mut [VineRow], faults: &mut Faults) {
    if !section.has("guard_rows") || rows.is_empty() {
        return;
    }
    for (first, last) in spans(section, "guard_rows", "guard_rows = [1, 12]", faults) {
        for number in first..=last {
            match rows.iter_mut().find(|row| row.number == number) {
                Some(row) => row.guard = true,
                None => fault(
                    &section.value("guard_rows").map_or(0..0, Spanned::span),
                    format!("there is no row {number}"),
                    "guard rows are rows described in [[field.rows]]".to_owned(),
                    faults,
                ),
            }
        }
    }
}

fn fault(span: &Range<usize>, message: String, help: String, faults: &mut Faults) {
    faults.add(span, Diagnostic::error("plan-field", message).help(help));
}
