//! Findings as plain text, to be read by the eyes of a test or of a person.

use std::fmt::Write;

use caneplot_plugin::Findings;
use caneplot_plugin::findings::{Cells, Format, Section, Statement, Table, Value};

fn number(value: f64, format: Format) -> String {
    match format {
        Format::Count => format!("{value:.0}"),
        Format::Decimals(decimals) => format!("{value:.*}", usize::from(decimals)),
        Format::Significant(digits) => format!("{value:.*e}", usize::from(digits) - 1),
        Format::Probability if value < 0.001 => "< 0.001".to_owned(),
        Format::Probability => format!("{value:.3}"),
        Format::Percent(decimals) => format!("{:.*} %", usize::from(decimals), value * 100.0),
    }
}

fn in_sentence(value: &Value) -> String {
    let text = number(value.value, value.format);
    let text = match value.format {
        Format::Probability if text.starts_with('<') => format!("P {text}"),
        Format::Probability => format!("P = {text}"),
        _ => text,
    };
    match &value.unit {
        Some(unit) => format!("{text} {unit}"),
        None => text,
    }
}

pub(super) fn sentence(statement: &Statement) -> String {
    let mut text = statement.text.clone();
    for (name, value) in &statement.values {
        text = text.replace(&format!("{{{name}}}"), &in_sentence(value));
    }
    text
}

pub(super) fn cell(cells: &Cells, row: usize) -> String {
    let text = match cells {
        Cells::Text { values } => values[row].clone(),
        Cells::Count { values } => values[row].map(|value| value.to_string()),
        Cells::Number { values, format } => values[row].map(|value| number(value, *format)),
        Cells::Probability { values } => {
            values[row].map(|value| number(value, Format::Probability))
        }
        Cells::Lettered {
            values,
            letters,
            format,
        } => values[row].map(|value| format!("{} {}", number(value, *format), letters[row])),
    };
    text.unwrap_or_default()
}

fn table(table: &Table, out: &mut String) {
    writeln!(
        out,
        "\n  [{}] {}{}",
        table.id,
        table.title,
        if table.file_only { " (file only)" } else { "" }
    )
    .unwrap();
    let rows = table.columns[0].cells.len();
    let mut grid: Vec<Vec<String>> = vec![
        table
            .columns
            .iter()
            .map(|column| match &column.unit {
                Some(unit) => format!("{} ({unit})", column.name),
                None => column.name.clone(),
            })
            .collect(),
    ];
    grid.extend((0..rows).map(|row| {
        table
            .columns
            .iter()
            .map(|column| cell(&column.cells, row))
            .collect()
    }));
    let widths: Vec<usize> = (0..table.columns.len())
        .map(|at| {
            grid.iter()
                .map(|row| row[at].chars().count())
                .max()
                .unwrap()
        })
        .collect();
    for (at, row) in grid.iter().enumerate() {
        if at > 0 && table.groups.contains(&(at - 1)) {
            writeln!(out).unwrap();
        }
        for (text, width) in row.iter().zip(&widths) {
            write!(out, "  {text:<width$}").unwrap();
        }
        writeln!(out).unwrap();
    }
    for note in &table.notes {
        writeln!(out, "    {note}").unwrap();
    }
}

fn section(section: &Section, out: &mut String) {
    writeln!(out, "\n== {}", section.title).unwrap();
    for statement in &section.statements {
        writeln!(out, "* {:?}: {}", statement.rank, sentence(statement)).unwrap();
    }
    for found in &section.tables {
        table(found, out);
    }
    for figure in &section.figures {
        writeln!(
            out,
            "\n  figure {}: {}\n    alt: {}\n    foot: {:?} series {:?} ({:?})",
            figure.id, figure.caption, figure.alt, figure.foot, figure.series, figure.series_title
        )
        .unwrap();
    }
    for note in &section.notes {
        writeln!(out, "- {}", sentence(note)).unwrap();
    }
}

pub(super) fn text(findings: &Findings) -> String {
    let mut out = String::new();
    for found in &findings.sections {
        section(found, &mut out);
    }
    writeln!(out, "\nMethods: {}", findings.methods.join(" ")).unwrap();
    for reference in &findings.references {
        writeln!(out, "[{}] {}", reference.key, reference.text).unwrap();
    }
    out
}
