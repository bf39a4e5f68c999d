//! What findings must keep beyond their types: one rule for the plugin that makes them and the
//! program that reads them.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

use crate::findings::{Cells, FINDINGS_SCHEMA, Findings, Format, Section, Statement, Table, Value};

mod estimates;
mod figure;

/// What is wrong and where in the document.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub struct Fault {
    /// Such as `sections[0].tables[1].columns[2].values[4]`.
    pub path: String,
    /// What is wrong, to be read after the path.
    pub message: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.path, self.message)
    }
}

fn fault(path: impl Into<String>, message: impl Into<String>) -> Result<(), Fault> {
    Err(Fault {
        path: path.into(),
        message: message.into(),
    })
}

/// Checks findings as a whole.
///
/// # Errors
/// The first fault: a number that is not finite, columns or marks of unequal length, an id that is
/// not made of `a-z0-9_-` or stands twice, a `{name}` in a sentence without its value, a citation
/// key without its reference, a probability outside 0 to 1, a series that is not there.
pub fn check(findings: &Findings) -> Result<(), Fault> {
    let Findings {
        schema,
        sections,
        methods,
        references,
    } = findings;
    if *schema != FINDINGS_SCHEMA {
        return fault(
            "schema",
            format!("is {schema} instead of {FINDINGS_SCHEMA}"),
        );
    }
    let mut ids = BTreeSet::new();
    for (index, section) in sections.iter().enumerate() {
        let path = format!("sections[{index}]");
        id(&section.id, &mut ids, &path)?;
        check_section(section, &path)?;
    }
    let mut keys = BTreeSet::new();
    for (index, reference) in references.iter().enumerate() {
        if !keys.insert(reference.key.as_str()) {
            return fault(
                format!("references[{index}].key"),
                format!("'{}' stands twice", reference.key),
            );
        }
    }
    for (index, sentence) in methods.iter().enumerate() {
        for key in citation_keys(sentence) {
            if !keys.contains(key) {
                return fault(
                    format!("methods[{index}]"),
                    format!("cites '{key}', which is not among the references"),
                );
            }
        }
    }
    Ok(())
}

fn check_section(section: &Section, path: &str) -> Result<(), Fault> {
    for (name, statements) in [
        ("statements", &section.statements),
        ("notes", &section.notes),
    ] {
        for (index, statement) in statements.iter().enumerate() {
            check_statement(statement, &format!("{path}.{name}[{index}]"))?;
        }
    }
    let mut ids = BTreeSet::new();
    for (index, table) in section.tables.iter().enumerate() {
        let path = format!("{path}.tables[{index}]");
        id(&table.id, &mut ids, &path)?;
        check_table(table, &path)?;
    }
    let mut ids = BTreeSet::new();
    for (index, figure) in section.figures.iter().enumerate() {
        let path = format!("{path}.figures[{index}]");
        id(&figure.id, &mut ids, &path)?;
        figure::check_figure(figure, &path)?;
    }
    let mut known = BTreeSet::new();
    for (index, one) in section.estimates.iter().enumerate() {
        let path = format!("{path}.estimates[{index}]");
        estimates::check(one, &path)?;
        if !known.insert((&one.name, &one.factors, &one.season)) {
            return fault(path, "is of the same as one before it");
        }
    }
    Ok(())
}

/// Ids become parts of file names, so they are few letters and never stand twice.
fn id<'a>(id: &'a str, seen: &mut BTreeSet<&'a str>, path: &str) -> Result<(), Fault> {
    let allowed = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_' || c == '-';
    if id.is_empty() || !id.chars().all(allowed) {
        return fault(
            format!("{path}.id"),
            format!("'{id}' is not made of a-z, 0-9, _ and -"),
        );
    }
    if !seen.insert(id) {
        return fault(format!("{path}.id"), format!("'{id}' stands twice"));
    }
    Ok(())
}

/// Checks one sentence: every `{name}` has a value and every value is a finite number.
///
/// # Errors
/// The first fault under `path`.
pub fn check_statement(statement: &Statement, path: &str) -> Result<(), Fault> {
    for (name, value) in &statement.values {
        check_value(value, &format!("{path}.values.{name}"))?;
    }
    match placeholders(&statement.text) {
        Err(message) => fault(format!("{path}.text"), message),
        Ok(names) => lacking(&names, &statement.values).map_or(Ok(()), |name| {
            fault(
                format!("{path}.text"),
                format!("has {{{name}}}, for which there is no value"),
            )
        }),
    }
}

fn lacking<'a>(names: &[&'a str], values: &BTreeMap<String, Value>) -> Option<&'a str> {
    names
        .iter()
        .copied()
        .find(|name| !values.contains_key(*name))
}

/// The names in braces of a sentence, in order; a doubled brace is a literal one.
///
/// # Errors
/// Says which brace stands alone.
pub fn placeholders(text: &str) -> Result<Vec<&str>, String> {
    let mut names = Vec::new();
    let mut rest = text;
    while let Some(at) = rest.find(['{', '}']) {
        let from = &rest[at..];
        if from.starts_with("{{") || from.starts_with("}}") {
            rest = &from[2..];
        } else if from.starts_with('}') {
            return Err("has a closing brace without an opening one".to_owned());
        } else {
            let Some(end) = from.find('}') else {
                return Err("has an opening brace without a closing one".to_owned());
            };
            names.push(&from[1..end]);
            rest = &from[end + 1..];
        }
    }
    Ok(names)
}

fn check_value(value: &Value, path: &str) -> Result<(), Fault> {
    finite(value.value, path)?;
    if value.format == Format::Probability {
        probability(value.value, path)?;
    }
    Ok(())
}

fn finite(value: f64, path: &str) -> Result<(), Fault> {
    if value.is_finite() {
        Ok(())
    } else {
        fault(path, format!("is not a finite number ({value})"))
    }
}

fn probability(value: f64, path: &str) -> Result<(), Fault> {
    if (0.0..=1.0).contains(&value) {
        Ok(())
    } else {
        fault(path, format!("is a probability of {value}"))
    }
}

fn check_table(table: &Table, path: &str) -> Result<(), Fault> {
    let rows = table.columns.first().map_or(0, |column| column.cells.len());
    for (index, column) in table.columns.iter().enumerate() {
        let path = format!("{path}.columns[{index}]");
        if column.cells.len() != rows {
            return fault(
                path,
                format!(
                    "('{}') has {} rows where the first column has {rows}",
                    column.name,
                    column.cells.len()
                ),
            );
        }
        let (values, format) = match &column.cells {
            Cells::Text { .. } | Cells::Count { .. } => continue,
            Cells::Number { values, format } => (values, *format),
            Cells::Probability { values } => (values, Format::Probability),
            Cells::Lettered {
                values,
                letters,
                format,
            } => {
                if letters.len() != values.len() {
                    return fault(
                        format!("{path}.letters"),
                        format!("are {} for {} values", letters.len(), values.len()),
                    );
                }
                (values, *format)
            }
        };
        for (row, value) in values.iter().enumerate() {
            let path = format!("{path}.values[{row}]");
            if let Some(value) = *value {
                finite(value, &path)?;
                if format == Format::Probability {
                    probability(value, &path)?;
                }
            }
        }
    }
    match table.groups.iter().position(|&row| row >= rows) {
        Some(index) => fault(
            format!("{path}.groups[{index}]"),
            format!("is row {} of {rows}", table.groups[index]),
        ),
        None => Ok(()),
    }
}

/// The keys cited in a sentence as `[@key]` or `[@one; @two]`.
#[must_use]
pub fn citation_keys(sentence: &str) -> Vec<&str> {
    let mut keys = Vec::new();
    let mut rest = sentence;
    while let Some(at) = rest.find("[@") {
        let Some(end) = rest[at..].find(']') else {
            break;
        };
        keys.extend(
            rest[at + 1..at + end]
                .split(';')
                .map(|key| key.trim().trim_start_matches('@')),
        );
        rest = &rest[at + end..];
    }
    keys
}
