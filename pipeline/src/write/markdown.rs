//! Sentences and tables as Markdown.

use caneplot_plugin::findings::{Cells, Column, Statement, Table};

use super::citations::Citations;
use super::numbers;

/// Plain text made safe inside Markdown: nothing in a name can become markup.
#[must_use]
pub fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '\\' | '`' | '*' | '_' | '[' | ']' | '|' | '#' => {
                out.push('\\');
                out.push(c);
            }
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '\n' | '\r' => out.push(' '),
            _ => out.push(c),
        }
    }
    out
}

/// A statement as one line of plain text, numbers filled in.
///
/// A placeholder without a value stays visible as `{name}`; findings are checked for that on
/// arrival, so it does not happen in a report.
#[must_use]
pub fn sentence(statement: &Statement) -> String {
    let mut out = String::with_capacity(statement.text.len() + 32);
    let mut rest = statement.text.as_str();
    while let Some(at) = rest.find(['{', '}']) {
        out.push_str(&rest[..at]);
        let tail = &rest[at..];
        if tail.starts_with("{{") || tail.starts_with("}}") {
            out.push_str(&tail[..1]);
            rest = &tail[2..];
        } else if let Some(end) = tail.strip_prefix('{').and_then(|inner| inner.find('}')) {
            let name = &tail[1..=end];
            match statement.values.get(name) {
                Some(value) => out.push_str(&numbers::phrase(value)),
                None => out.push_str(&tail[..end + 2]),
            }
            rest = &tail[end + 2..];
        } else {
            out.push_str(&tail[..1]);
            rest = &tail[1..];
        }
    }
    out.push_str(rest);
    out
}

/// One cell as text; empty where there is nothing.
#[must_use]
pub fn cell(column: &Column, row: usize, citations: &mut Citations) -> String {
    match &column.cells {
        Cells::Text { values } => {
            citations.cited(values.get(row).and_then(Option::as_deref).unwrap_or(""))
        }
        Cells::Count { values } => values
            .get(row)
            .copied()
            .flatten()
            .map_or(String::new(), |value| value.to_string().replace('-', "−")),
        Cells::Number { values, format } => values
            .get(row)
            .copied()
            .flatten()
            .map_or(String::new(), |v| numbers::cell(v, *format)),
        Cells::Probability { values } => {
            values
                .get(row)
                .copied()
                .flatten()
                .map_or(String::new(), |value| {
                    numbers::cell(value, caneplot_plugin::findings::Format::Probability)
                        .replace('<', "&lt;")
                        .replace('>', "&gt;")
                })
        }
        Cells::Lettered {
            values,
            letters,
            format,
        } => {
            let Some(value) = values.get(row).copied().flatten() else {
                return String::new();
            };
            let number = numbers::cell(value, *format);
            match letters.get(row).map(String::as_str) {
                Some("") | None => number,
                Some(letters) => format!("{number} {letters}"),
            }
        }
    }
}

/// A table as a Markdown pipe table with its title above and its notes below.
#[must_use]
pub fn table(table: &Table, citations: &mut Citations) -> String {
    let rows = table.columns.first().map_or(0, |column| column.cells.len());
    let mut out = format!("**{}**\n\n", escaped(&table.title));
    out.push('|');
    for column in &table.columns {
        let heading = match &column.unit {
            Some(unit) => format!("{} ({})", escaped(&column.name), escaped(unit)),
            None => escaped(&column.name),
        };
        out.push_str(&format!(" {heading} |"));
    }
    out.push_str("\n|");
    for column in &table.columns {
        out.push_str(if matches!(column.cells, Cells::Text { .. }) {
            " :--- |"
        } else {
            " ---: |"
        });
    }
    out.push('\n');
    for row in 0..rows {
        let begins_group = table.groups.len() > 1 && table.groups.contains(&row);
        out.push('|');
        for (index, column) in table.columns.iter().enumerate() {
            let text = cell(column, row, citations);
            let text = if begins_group && index == 0 && !text.is_empty() {
                format!("**{text}**")
            } else {
                text
            };
            out.push_str(&format!(" {text} |"));
        }
        out.push('\n');
    }
    for note in &table.notes {
        out.push_str(&format!("\n*{}*\n", citations.cited(note)));
    }
    out
}

#[cfg(test)]
mod tests {
    use caneplot_plugin::findings::Format;

    use super::*;

    #[test]
    fn numbers_stand_where_the_sentence_names_them() {
        let statement = Statement::new("Yield rose by {more} ({p}); {{sic}}")
            .with_unit("more", 1.25, Format::Decimals(1), "kg/vine")
            .with("p", 0.0004, Format::Probability);
        assert_eq!(
            sentence(&statement),
            "Yield rose by 1.2 kg/vine (P < 0.001); {sic}"
        );
    }

    #[test]
    fn a_name_cannot_become_markup() {
        assert_eq!(escaped("a|b <i>*x*"), "a\\|b &lt;i&gt;\\*x\\*");
    }

    #[test]
    fn a_table_keeps_its_columns_apart() {
        let made = Table {
            id: "means".into(),
            title: "Means".into(),
            columns: vec![
                Column::text("Nodes", ["12", "24"]),
                Column::number("Yield", vec![Some(1.0), None], Format::Decimals(1))
                    .in_unit("kg/vine"),
            ],
            ..Table::default()
        };
        assert_eq!(
            table(&made, &mut Citations::default()),
            "**Means**\n\n| Nodes | Yield (kg/vine) |\n| :--- | ---: |\n| 12 | 1.0 |\n| 24 |  |\n"
        );
    }
}
