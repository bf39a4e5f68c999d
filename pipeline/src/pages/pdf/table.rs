//! A table on a sheet: its columns fitted into the line, its type smaller or its sheet turned where
//! that is the only way.

use super::super::PagesError;
use super::super::tree::{Side, Span, Table, plain};
use super::blocks::Writer;
use crate::draw::text::{self, Face};

/// Sizes of type, the usual first.
const SIZES: [f64; 4] = [8.5, 7.8, 7.1, 6.5];
/// The smallest size, for a table that fits nowhere else.
const SMALLEST: f64 = 5.5;
/// Left and right of each cell, as a share of the size.
const INSET: f64 = 0.5;
/// Width left over, so that rounding breaks no word.
const SPARE: f64 = 0.5;
/// A table of more rows may go over to the next sheet.
const MOST_TOGETHER: usize = 16;

/// How a table is set.
#[derive(Debug, PartialEq)]
struct Fit {
    size: f64,
    /// Width of each column in points.
    columns: Vec<f64>,
    /// Whether the sheet is turned.
    turned: bool,
}

/// The widths a column can have, as shares of the size of type.
#[derive(Debug, Clone, Copy, Default)]
struct Column {
    /// No word is broken.
    least: f64,
    /// The cells stand on one line each, the heading on two.
    easy: f64,
    /// Everything stands on one line.
    natural: f64,
}

/// Writes a table.
///
/// # Errors
/// [`PagesError`] where a figure in a cell is missing or is no SVG.
pub fn write(writer: &mut Writer, table: &Table) -> Result<(), PagesError> {
    let (upright, lying) = writer.paper.lines();
    let fit = fit(&columns(table), upright, lying);
    if fit.turned {
        writer.out.push_str("#page(flipped: true)[\n");
    }
    let widths: Vec<String> = fit
        .columns
        .iter()
        .map(|width| format!("{width:.2}pt"))
        .collect();
    let sides: Vec<&str> = table
        .sides
        .iter()
        .map(|side| match side {
            Side::Left => "left",
            Side::Middle => "center",
            Side::Right => "right",
        })
        .collect();
    // The comma makes a list of a single column too.
    writer.out.push_str(&format!(
        "#listing(size: {}pt, together: {}, columns: ({},), sides: ({},), title: ",
        fit.size,
        table.rows.len() <= MOST_TOGETHER,
        widths.join(", "),
        sides.join(", "),
    ));
    bracketed(writer, &table.title)?;
    writer.out.push_str(", notes: (");
    for note in &table.notes {
        bracketed(writer, note)?;
        writer.out.push_str(", ");
    }
    writer.out.push_str("), head: (");
    for spans in &table.head {
        let empty = plain(spans).trim().is_empty();
        writer.out.push_str(if empty { "none" } else { "" });
        if !empty {
            bracketed(writer, spans)?;
        }
        writer.out.push_str(", ");
    }
    writer.out.push_str("), rows: (\n");
    for cells in &table.rows {
        writer.out.push('(');
        for spans in cells {
            bracketed(writer, spans)?;
            writer.out.push_str(", ");
        }
        writer.out.push_str("),\n");
    }
    writer.out.push_str("))\n");
    if fit.turned {
        writer.out.push_str("]\n");
    }
    writer.out.push('\n');
    Ok(())
}

fn bracketed(writer: &mut Writer, spans: &[Span]) -> Result<(), PagesError> {
    writer.out.push('[');
    writer.spans(spans)?;
    writer.out.push(']');
    Ok(())
}

/// The widths each column can have.
fn columns(table: &Table) -> Vec<Column> {
    let mut columns = vec![Column::default(); table.head.len()];
    for (at, column) in columns.iter_mut().enumerate() {
        let words = table.sides.get(at) == Some(&Side::Left);
        if let Some(spans) = table.head.get(at) {
            widen(column, &plain(spans), Face::Bold, true);
            column.easy = column.least.max(column.natural / 2.0);
        }
        for (row, cells) in table.rows.iter().enumerate() {
            let face = if table.begins_group(row) && at == 0 {
                Face::Bold
            } else {
                Face::Regular
            };
            if let Some(spans) = cells.get(at) {
                // A number with its letters or its limits stays on one line.
                let text = plain(spans);
                widen(column, &text, face, words);
                column.easy = column.easy.max(text::width(&text, 1.0, face));
            }
        }
    }
    columns
}

fn widen(column: &mut Column, text: &str, face: Face, breaks: bool) {
    let whole = text::width(text, 1.0, face);
    let least = if breaks {
        text.split_whitespace()
            .map(|word| text::width(word, 1.0, face))
            .fold(0.0, f64::max)
    } else {
        whole
    };
    column.natural = column.natural.max(whole);
    column.least = column.least.max(least);
}

/// The largest type in which the columns find room.
fn fit(columns: &[Column], upright: f64, lying: f64) -> Fit {
    let around = 2.0 * INSET * columns.len() as f64;
    let spare = SPARE * columns.len() as f64;
    let least: f64 = columns.iter().map(|column| column.least).sum::<f64>() + around;
    let fits = |size: f64, line: f64| least * size + spare <= line;
    let found = SIZES
        .iter()
        .find(|size| fits(**size, upright))
        .map(|size| (*size, false));
    let (size, turned) = found
        .or_else(|| {
            let size = SIZES.iter().find(|size| fits(**size, lying))?;
            Some((*size, true))
        })
        .unwrap_or((SMALLEST, true));
    let line = if turned { lying } else { upright };
    Fit {
        size,
        columns: widths(columns, line - spare, size),
        turned,
    }
}

/// The widest of the three widths that there is room for, and what is left over shared out towards
/// the next.
fn widths(columns: &[Column], line: f64, size: f64) -> Vec<f64> {
    let inset = 2.0 * INSET * size + SPARE;
    let total = |width: &dyn Fn(&Column) -> f64| -> f64 {
        columns.iter().map(|c| width(c) * size + inset).sum()
    };
    let steps: [&dyn Fn(&Column) -> f64; 3] = [&|c| c.least, &|c| c.easy, &|c| c.natural];
    let (from, to) = if total(steps[1]) <= line {
        (steps[1], steps[2])
    } else {
        (steps[0], steps[1])
    };
    let wanted = total(to) - total(from);
    let share = if wanted > 0.0 {
        ((line - total(from)) / wanted).clamp(0.0, 1.0)
    } else {
        0.0
    };
    columns
        .iter()
        .map(|c| (from(c) + (to(c) - from(c)) * share) * size + inset)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn column(least: f64, natural: f64) -> Column {
        Column {
            least,
            easy: natural,
            natural,
        }
    }

    #[test]
    fn a_table_with_room_has_its_natural_widths() {
        let fit = fit(&[column(5.0, 20.0), column(4.0, 4.0)], 480.0, 700.0);
        assert_eq!((fit.size, fit.turned), (8.5, false));
        assert!((fit.columns[0] - (21.0 * 8.5 + 0.5)).abs() < 1e-9);
    }

    #[test]
    fn long_words_give_way_before_the_type_does() {
        let fit = fit(&[column(5.0, 90.0), column(30.0, 30.0)], 480.0, 700.0);
        assert_eq!(fit.size, 8.5);
        assert!(fit.columns.iter().sum::<f64>() <= 480.0);
        assert!((fit.columns[1] - (31.0 * 8.5 + 0.5)).abs() < 1e-9);
    }

    #[test]
    fn then_the_type_is_smaller_and_then_the_sheet_turned() {
        let many = |each: f64| vec![column(each, each); 10];
        assert_eq!(fit(&many(6.0), 480.0, 700.0).size, 6.5);
        let turned = fit(&many(8.0), 480.0, 700.0);
        assert_eq!((turned.size, turned.turned), (7.1, true));
        assert!(turned.columns.iter().sum::<f64>() <= 700.0);
    }
}
