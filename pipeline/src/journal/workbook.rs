//! All tables in one workbook: an index, then a sheet a table, its numbers as numbers with the digits
//! they are printed with, its notes under it.

use std::fmt::Write as _;

use caneplot_plugin::findings::{Cells, Column, Format};

use super::tables::{Named, rows};
use crate::plan::folder::workbook::{HEAD, Page, SPREADSHEET, letters, packed};
use crate::plan::folder::xml::escaped;

/// Longest name of a sheet.
const NAME: usize = 31;
/// Most decimals a format has; more are never printed.
const MOST_DECIMALS: usize = 12;

/// Formats by their place in the list of [`styles`].
const PLAIN: usize = 0;
const HEADING: usize = 1;
const NOTE: usize = 2;
const COUNT: usize = 3;
const PROBABILITY: usize = 4;
/// The first of the formats of so many decimals, then of the percentages.
const DECIMALS: usize = 5;
const PERCENT: usize = DECIMALS + MOST_DECIMALS + 1;

/// The workbook's bytes.
///
/// # Errors
/// What the archive's writer said.
pub fn workbook(title: &str, tables: &[Named<'_>]) -> Result<Vec<u8>, String> {
    let names: Vec<String> = tables
        .iter()
        .enumerate()
        .map(|(at, one)| sheet_name(at, one))
        .collect();
    let mut pages = vec![Page {
        name: "Index".to_owned(),
        xml: index(&names, tables),
    }];
    for (name, one) in names.into_iter().zip(tables) {
        pages.push(Page {
            name,
            xml: sheet(one),
        });
    }
    packed(&pages, title, &styles()).map_err(|error| error.to_string())
}

/// A number, then as much of the table's name as a sheet's name holds.
fn sheet_name(at: usize, one: &Named<'_>) -> String {
    let name = format!("{} {}", at + 1, one.stem);
    name.chars().take(NAME).collect()
}

fn index(names: &[String], tables: &[Named<'_>]) -> String {
    let mut grid = Grid::new(&[34.0, 16.0, 44.0, 60.0, 44.0]);
    grid.row(
        ["Sheet", "Analysis", "Section", "Table", "File"].map(|text| Cell::text(text, HEADING)),
    );
    for (name, one) in names.iter().zip(tables) {
        grid.row(
            [
                name.as_str(),
                one.analysis,
                &one.section.title,
                &one.table.title,
                &format!("tables/{}.csv", one.stem),
            ]
            .map(|text| Cell::text(text, PLAIN)),
        );
    }
    grid.finished()
}

fn sheet(one: &Named<'_>) -> String {
    let table = one.table;
    let mut headings = Vec::new();
    let mut widths = Vec::new();
    for column in &table.columns {
        let name = match &column.unit {
            Some(unit) => format!("{} ({unit})", column.name),
            None => column.name.clone(),
        };
        let text = matches!(column.cells, Cells::Text { .. });
        widths.push(if text { 26.0 } else { 14.0 });
        headings.push(Cell::text(&name, HEADING));
        if matches!(column.cells, Cells::Lettered { .. }) {
            widths.push(10.0);
            headings.push(Cell::text(&format!("{}, letters", column.name), HEADING));
        }
    }
    let mut grid = Grid::new(&widths);
    grid.row(headings);
    for row in 0..rows(table) {
        grid.row(table.columns.iter().flat_map(|column| cells(column, row)));
    }
    grid.row([]);
    for text in std::iter::once(&table.title).chain(&table.notes) {
        grid.row([Cell::text(text, NOTE)]);
    }
    grid.finished()
}

/// One cell: a text or a number, and its format.
struct Cell {
    text: Option<String>,
    number: Option<f64>,
    style: usize,
}

impl Cell {
    fn text(text: &str, style: usize) -> Self {
        Self {
            text: (!text.is_empty()).then(|| text.to_owned()),
            number: None,
            style,
        }
    }

    fn number(number: Option<f64>, style: usize) -> Self {
        Self {
            text: None,
            number,
            style,
        }
    }
}

/// The cells of a column's row: two where letters stand behind the numbers.
fn cells(column: &Column, row: usize) -> Vec<Cell> {
    let of = |values: &[Option<f64>]| values.get(row).copied().flatten();
    match &column.cells {
        Cells::Text { values } => {
            let text = values.get(row).and_then(Option::as_deref);
            vec![Cell::text(text.unwrap_or_default(), PLAIN)]
        }
        Cells::Count { values } => {
            let value = values.get(row).copied().flatten();
            vec![Cell::number(value.map(|value| value as f64), COUNT)]
        }
        Cells::Number { values, format } => {
            let value = of(values);
            vec![Cell::number(value, style(*format, value))]
        }
        Cells::Probability { values } => vec![Cell::number(of(values), PROBABILITY)],
        Cells::Lettered {
            values,
            letters,
            format,
        } => {
            let value = of(values);
            let letters = letters.get(row).map_or("", String::as_str);
            vec![
                Cell::number(value, style(*format, value)),
                Cell::text(letters, PLAIN),
            ]
        }
    }
}

/// The format that shows a number as it is printed.
fn style(format: Format, value: Option<f64>) -> usize {
    let decimals = |decimals: usize| DECIMALS + decimals.min(MOST_DECIMALS);
    match format {
        Format::Count => COUNT,
        Format::Decimals(number) => decimals(usize::from(number)),
        Format::Probability => PROBABILITY,
        Format::Percent(number) => PERCENT + usize::from(number).min(MOST_DECIMALS),
        Format::Significant(digits) => {
            let digits = usize::from(digits).max(1);
            // The exponent after rounding, as the one rule of numbers has it.
            let exponent: i32 = value
                .map(|value| format!("{value:.*e}", digits - 1))
                .and_then(|text| text.split('e').nth(1)?.parse().ok())
                .unwrap_or_default();
            decimals((digits as i32 - 1 - exponent).max(0) as usize)
        }
    }
}

/// A sheet as it grows.
struct Grid {
    xml: String,
    rows: usize,
}

impl Grid {
    fn new(widths: &[f64]) -> Self {
        let mut xml = format!(
            "{HEAD}<worksheet xmlns=\"{SPREADSHEET}\"><sheetViews><sheetView workbookViewId=\"0\">\
             <pane ySplit=\"1\" topLeftCell=\"A2\" activePane=\"bottomLeft\" state=\"frozen\"/>\
             </sheetView></sheetViews>"
        );
        if !widths.is_empty() {
            xml.push_str("<cols>");
            for (at, width) in widths.iter().enumerate() {
                // Writing to a string cannot fail, here and below.
                let _ = write!(
                    xml,
                    "<col min=\"{0}\" max=\"{0}\" width=\"{width}\" customWidth=\"1\"/>",
                    at + 1
                );
            }
            xml.push_str("</cols>");
        }
        xml.push_str("<sheetData>");
        Self { xml, rows: 0 }
    }

    fn row(&mut self, cells: impl IntoIterator<Item = Cell>) {
        self.rows += 1;
        let row = self.rows;
        let _ = write!(self.xml, "<row r=\"{row}\">");
        for (column, cell) in cells.into_iter().enumerate() {
            let (place, style) = (format!("{}{row}", letters(column)), cell.style);
            let _ = match (cell.number, cell.text) {
                // Shortest text that reads back as the same number.
                (Some(number), _) => write!(
                    self.xml,
                    "<c r=\"{place}\" s=\"{style}\"><v>{number:?}</v></c>"
                ),
                (None, Some(text)) => write!(
                    self.xml,
                    "<c r=\"{place}\" s=\"{style}\" t=\"inlineStr\"><is><t xml:space=\"preserve\">{}</t></is></c>",
                    escaped(&text)
                ),
                (None, None) => Ok(()),
            };
        }
        self.xml.push_str("</row>");
    }

    fn finished(self) -> String {
        self.xml + "</sheetData></worksheet>"
    }
}

/// The formats: plain, heading, note, count, probability, then decimals and percentages.
fn styles() -> String {
    let mut codes = vec!["[<0.001]\"<0.001\";[>0.999]\">0.999\";0.000".to_owned()];
    let digits = |decimals: usize| match decimals {
        0 => "0".to_owned(),
        _ => format!("0.{}", "0".repeat(decimals)),
    };
    codes.extend((0..=MOST_DECIMALS).map(digits));
    codes.extend((0..=MOST_DECIMALS).map(|decimals| format!("{}%", digits(decimals))));
    // Numbers from 164 on are free for formats of one's own.
    let first = 164;
    let formats: String = codes
        .iter()
        .enumerate()
        .map(|(at, code)| {
            format!(
                "<numFmt numFmtId=\"{}\" formatCode=\"{}\"/>",
                first + at,
                escaped(code)
            )
        })
        .collect();
    let cell = |number: usize, font: usize| {
        format!(
            "<xf numFmtId=\"{number}\" fontId=\"{font}\" fillId=\"0\" borderId=\"0\" xfId=\"0\" \
             applyNumberFormat=\"1\" applyFont=\"1\"/>"
        )
    };
    // 1 is the built-in format of whole numbers.
    let mut cells = vec![cell(0, 0), cell(0, 1), cell(0, 2), cell(1, 0)];
    cells.extend((0..codes.len()).map(|at| cell(first + at, 0)));
    let font = |kind: &str| format!("<font>{kind}<sz val=\"11\"/><name val=\"Arial\"/></font>");
    format!(
        "{HEAD}<styleSheet xmlns=\"{SPREADSHEET}\"><numFmts count=\"{}\">{formats}</numFmts>\
         <fonts count=\"3\">{}{}{}</fonts>\
         <fills count=\"2\"><fill><patternFill patternType=\"none\"/></fill>\
         <fill><patternFill patternType=\"gray125\"/></fill></fills>\
         <borders count=\"1\"><border><left/><right/><top/><bottom/><diagonal/></border></borders>\
         <cellStyleXfs count=\"1\"><xf numFmtId=\"0\" fontId=\"0\" fillId=\"0\" borderId=\"0\"/></cellStyleXfs>\
         <cellXfs count=\"{}\">{}</cellXfs>\
         <cellStyles count=\"1\"><cellStyle name=\"Normal\" xfId=\"0\" builtinId=\"0\"/></cellStyles>\
         </styleSheet>",
        codes.len(),
        font(""),
        font("<b/>"),
        font("<i/>"),
        cells.len(),
        cells.concat()
    )
}
