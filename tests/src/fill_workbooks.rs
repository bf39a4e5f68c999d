//! Copies the records of filled CSV sheets into the workbooks of a planned trial, cell by cell where a
//! blank waits under the same heading on the line of the same keys, as somebody would type them.
//!
//! The parts of the archive are changed as text, so that everything else in them stays as the program
//! wrote it.

use std::collections::BTreeMap;
use std::io::{self, Cursor, Read, Write};
use std::path::Path;

use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipArchive, ZipWriter};

use crate::fill::{Table, tables};

/// Headings that tell the lines of a sheet apart.
const KEYS: [&str; 3] = ["season", "plot", "vine"];

/// Fills every workbook in `sheets/` from the CSV files beside it. Returns the number of cells
/// filled.
///
/// # Errors
/// What the system says about a file, or a sheet whose headings no CSV file has.
pub fn fill_workbooks(folder: &Path) -> io::Result<usize> {
    let tables = tables(folder)?;
    let mut names: Vec<_> = std::fs::read_dir(folder.join("sheets"))?
        .flatten()
        .map(|entry| entry.path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "xlsx"))
        .collect();
    names.sort();
    let mut filled = 0;
    for path in names {
        let mut book = ZipArchive::new(Cursor::new(std::fs::read(&path)?))?;
        let mut made = ZipWriter::new(Cursor::new(Vec::new()));
        let options = SimpleFileOptions::default().compression_method(CompressionMethod::Stored);
        for at in 0..book.len() {
            let mut part = book.by_index(at)?;
            let name = part.name()?.into_owned();
            let mut text = String::new();
            part.read_to_string(&mut text)?;
            if name.starts_with("xl/worksheets/") {
                let (changed, cells) = sheet(&text, &tables)?;
                filled += cells;
                text = changed;
            }
            made.start_file(name, options)?;
            made.write_all(text.as_bytes())?;
        }
        std::fs::write(&path, made.finish()?.into_inner())?;
    }
    Ok(filled)
}

/// A sheet with its blanks filled, and how many were.
fn sheet(xml: &str, tables: &[(String, Table)]) -> io::Result<(String, usize)> {
    let Some(heading) = between(xml, "<row r=\"1\"", "</row>") else {
        return Ok((xml.to_owned(), 0));
    };
    let headings: Vec<String> = cells(heading).into_iter().map(|cell| cell.text).collect();
    if !headings.iter().any(|heading| heading == "plot") {
        return Ok((xml.to_owned(), 0));
    }
    let (_, table) = tables
        .iter()
        .find(|(_, table)| table.headings == headings)
        .ok_or_else(|| io::Error::other(format!("no CSV file has the headings {headings:?}")))?;
    let key = |row: &[String]| -> Vec<String> {
        let at = KEYS.iter().filter_map(|key| table.column(key));
        at.map(|at| row[at].clone()).collect()
    };
    let records: BTreeMap<Vec<String>, &Vec<String>> =
        table.rows.iter().map(|row| (key(row), row)).collect();
    let (mut out, mut filled) = (String::with_capacity(xml.len() * 2), 0);
    let mut rest = xml;
    while let Some(begin) = rest.find("<row ") {
        let end = rest[begin..]
            .find("</row>")
            .map_or(rest.len(), |end| begin + end);
        let row = &rest[begin..end];
        let cells = cells(row);
        let texts: Vec<String> = cells.iter().map(|cell| cell.text.clone()).collect();
        let record = records.get(&key(&texts));
        out.push_str(&rest[..begin]);
        let mut written = row.to_owned();
        // From the last cell to the first, so that places before a change stay where they are.
        for (at, cell) in cells.iter().enumerate().rev() {
            let value = record.map_or("", |record| record[at].as_str());
            if cell.text.is_empty() && !value.is_empty() {
                written.replace_range(cell.from..cell.to, &with(&cell.open, value));
                filled += 1;
            }
        }
        out.push_str(&written);
        rest = &rest[end..];
    }
    out.push_str(rest);
    Ok((out, filled))
}

/// A cell of a row: where it stands in the row's text, its opening and its text.
struct Cell {
    from: usize,
    to: usize,
    /// `<c r="H2" s="3"`, without type and end.
    open: String,
    text: String,
}

fn cells(row: &str) -> Vec<Cell> {
    let mut cells = Vec::new();
    let mut from = 0;
    while let Some(begin) = row[from..].find("<c r=").map(|at| from + at) {
        let Some(close) = row[begin..].find('>').map(|at| begin + at) else {
            break;
        };
        let empty = row[..close].ends_with('/');
        let to = match empty {
            true => close + 1,
            false => row[close..]
                .find("</c>")
                .map_or(row.len(), |at| close + at + 4),
        };
        let inner = &row[close + 1..to.max(close + 1)];
        let text = between(inner, "<v>", "</v>")
            .or_else(|| between(inner, "<t xml:space=\"preserve\">", "</t>"))
            .unwrap_or_default();
        cells.push(Cell {
            from: begin,
            to,
            open: row[begin..close].trim_end_matches('/').to_owned(),
            text: text
                .replace("&lt;", "<")
                .replace("&gt;", ">")
                .replace("&quot;", "\"")
                .replace("&amp;", "&"),
        });
        from = to;
    }
    cells
}

/// A cell with a value in it: a number as a number.
fn with(open: &str, value: &str) -> String {
    match value.parse::<f64>() {
        Ok(_) => format!("{open}><v>{value}</v></c>"),
        Err(_) => {
            format!("{open} t=\"inlineStr\"><is><t xml:space=\"preserve\">{value}</t></is></c>")
        }
    }
}

/// The text behind the first `open` and before the next `close`.
fn between<'a>(text: &'a str, open: &str, close: &str) -> Option<&'a str> {
    let rest = &text[text.find(open)? + open.len()..];
    Some(&rest[..rest.find(close)?])
}
