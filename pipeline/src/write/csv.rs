//! Tables as CSV: full precision, one header line, units in the header.

use caneplot_plugin::findings::{Cells, Table};

use super::numbers;

/// A table as CSV text (UTF-8, line feeds, quotes only where needed).
#[must_use]
pub fn table(table: &Table) -> String {
    let rows = table.columns.first().map_or(0, |column| column.cells.len());
    let mut header = Vec::new();
    for column in &table.columns {
        let name = match &column.unit {
            Some(unit) => format!("{} ({unit})", column.name),
            None => column.name.clone(),
        };
        if matches!(column.cells, Cells::Lettered { .. }) {
            header.push(name.clone());
            header.push(format!("{}, letters", column.name));
        } else {
            header.push(name);
        }
    }
    let mut out = line(&header);
    for row in 0..rows {
        let mut fields = Vec::with_capacity(header.len());
        for column in &table.columns {
            match &column.cells {
                Cells::Text { values } => {
                    fields.push(values.get(row).cloned().flatten().unwrap_or_default());
                }
                Cells::Count { values } => {
                    fields.push(optional(values.get(row).copied().flatten(), |v| {
                        v.to_string()
                    }));
                }
                Cells::Number { values, .. } | Cells::Probability { values } => {
                    fields.push(optional(values.get(row).copied().flatten(), numbers::exact));
                }
                Cells::Lettered {
                    values, letters, ..
                } => {
                    fields.push(optional(values.get(row).copied().flatten(), numbers::exact));
                    fields.push(letters.get(row).cloned().unwrap_or_default());
                }
            }
        }
        out.push_str(&line(&fields));
    }
    out
}

/// One line of CSV.
#[must_use]
pub fn line<S: AsRef<str>>(fields: &[S]) -> String {
    let quoted: Vec<String> = fields.iter().map(|field| quoted(field.as_ref())).collect();
    quoted.join(",") + "\n"
}

fn quoted(field: &str) -> String {
    if field.contains([',', '"', '\n', '\r']) {
        format!("\"{}\"", field.replace('"', "\"\""))
    } else {
        field.to_owned()
    }
}

fn optional<T>(value: Option<T>, text: impl Fn(T) -> String) -> String {
    value.map(text).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use caneplot_plugin::findings::{Column, Format};

    use super::*;

    #[test]
    fn every_digit_and_every_comma_survives() {
        let made = Table {
            columns: vec![
                Column::text("Source, of variation", ["a \"b\""]),
                Column::number("F", vec![Some(1.0 / 3.0)], Format::Decimals(2)),
            ],
            ..Table::default()
        };
        assert_eq!(
            table(&made),
            "\"Source, of variation\",F\n\"a \"\"b\"\"\",0.3333333333333333\n"
        );
    }
}
