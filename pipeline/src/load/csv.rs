//! A text of separated cells as columns of text: every cell as it was typed, so that a decimal
//! number stays the decimal that was written.

use std::io::Cursor;
use std::path::Path;
use std::sync::Arc;

use polars::prelude::{
    CsvParseOptions, CsvReadOptions, DataFrame, DataType, Field, Schema, SerReader,
};

use super::dialect;
use super::encoding::{self, NoText};
use super::heads::{self, Wanted};
use super::opened::{Body, Opened, Origin};
use super::scan::{self, Broken, Scan};
use super::units_row::{self, Row};
use crate::diagnostic::{Diagnostic, Place};

/// A text whose records are found, its cells not yet.
#[derive(Debug)]
pub struct Text {
    text: String,
    /// Byte between cells.
    pub separator: u8,
    scan: Scan,
}

/// Opens a data file of a trial and finds its records.
///
/// # Errors
/// One diagnostic a fault: no text, no header, headings empty or twice, rows of another width,
/// quotes that do not close, a row of other units.
pub fn opened(bytes: Vec<u8>, wanted: &Wanted<'_>) -> Result<Opened, Vec<Diagnostic>> {
    let header = |rows: &Rows, origin: &Origin, remarks: &mut Vec<Diagnostic>| {
        wanted.header(rows, origin, remarks)
    };
    let most = wanted.data.header_row.as_ref().map_or(0, |row| row.value);
    let most = most.max(dialect::LOOKED_AT);
    let mut opened = text(&wanted.data.file.value, bytes, most, &header)?;
    let Body::Text(body) = &mut opened.body else {
        return Ok(opened);
    };
    let (separator, scan) = (body.separator, &mut body.scan);
    let end = units(
        &body.text,
        separator,
        scan,
        &opened.lines,
        &opened.headings,
        wanted,
        &opened.origin,
    )?;
    if let Some(end) = end {
        let line = opened.lines.remove(0);
        opened.remarks.push(heads::units_note(&opened.origin, line));
        scan.body = end;
        scan.blanks.retain(|blank| blank.start >= end);
    }
    Ok(opened)
}

/// Opens a file that belongs to no trial, by the headings it is to have.
///
/// # Errors
/// As [`opened`], and a file that cannot be read.
pub fn alone(name: &str, path: &Path, headings: &[&str]) -> Result<Opened, Vec<Diagnostic>> {
    let bytes = bytes_of(name, path)?;
    let known = |heading: &str| headings.contains(&heading);
    let header = |rows: &Rows, _: &Origin, _: &mut Vec<Diagnostic>| {
        let cells: Vec<Vec<String>> = rows.iter().map(|(_, cells)| cells.clone()).collect();
        Ok((!rows.is_empty()).then(|| dialect::header(&cells, &known)))
    };
    text(name, bytes, dialect::LOOKED_AT, &header)
}

/// Opens a text that no trial speaks of: headings in its first line, records under it.
///
/// # Errors
/// The file cannot be read, and as [`opened`].
pub fn plain(name: &str, path: &Path) -> Result<Opened, Vec<Diagnostic>> {
    let mut opened = text(name, bytes_of(name, path)?, 0, &|_, _, _| Ok(None))?;
    // Nobody needs to hear how a file of the program's own kind was read.
    opened.remarks.clear();
    Ok(opened)
}

fn bytes_of(name: &str, path: &Path) -> Result<Vec<u8>, Vec<Diagnostic>> {
    std::fs::read(path).map_err(|error| {
        let fault = format!("{name} cannot be opened: {error}");
        vec![
            Diagnostic::error("unreadable-file", fault)
                .at(cell(name, None, None))
                .help("check the name of the file and that it may be read"),
        ]
    })
}

/// The first rows of a text with their lines.
type Rows = [(usize, Vec<String>)];

/// Which of the first rows holds the headings.
type Header<'a> =
    &'a dyn Fn(&Rows, &Origin, &mut Vec<Diagnostic>) -> Result<Option<usize>, Vec<Diagnostic>>;

fn text(
    name: &str,
    bytes: Vec<u8>,
    most: usize,
    header: Header<'_>,
) -> Result<Opened, Vec<Diagnostic>> {
    let sha256 = crate::hash::sha256(&bytes);
    let size = bytes.len() as u64;
    let decoded = encoding::decoded(bytes).map_err(|fault| vec![no_text(name, &fault)])?;
    let text = decoded.text;
    if text.contains('\r') && !text.contains('\n') {
        return Err(vec![carriage_returns(name)]);
    }
    let mut remarks = Vec::new();
    let mut note = |rule, message: String| {
        remarks.push(Diagnostic::note(rule, message).at(cell(name, None, None)));
    };
    if let Some(encoding) = decoded.from {
        note(
            "encoding",
            format!("{name} is not UTF-8; it was read as {encoding}"),
        );
    }
    let separator = dialect::separator(&text);
    if separator != b',' {
        let word = dialect::in_words(separator);
        note(
            "separator",
            format!("{name} is separated by {word}; it was read so"),
        );
    }
    let origin = Origin {
        path: name.to_owned(),
        ..Origin::default()
    };
    let first = scan::first(&text, separator, most);
    let rows: Vec<(usize, Vec<String>)> = first
        .iter()
        .map(|(line, range)| (*line, cells(&text[range.clone()], separator)))
        .collect();
    let start = match header(&rows, &origin, &mut remarks)? {
        Some(at) => (first[at].1.start, first[at].0),
        None => (0, 1),
    };
    let mut scan =
        scan::records(&text, separator, start).map_err(|broken| vec![cut(name, &broken)])?;
    let mut headings = cells(&text[scan.header.clone()], separator);
    headings.truncate(scan.width);
    let mut faults = heads::faults(&origin, scan.header_line, &headings);
    faults.extend(unnamed(name, &scan));
    faults.extend(ragged(name, &scan));
    if !faults.is_empty() {
        return Err(faults);
    }
    Ok(Opened {
        origin,
        sha256,
        bytes: size,
        headings,
        header_line: scan.header_line,
        lines: std::mem::take(&mut scan.lines),
        remarks,
        body: Body::Text(Text {
            text,
            separator,
            scan,
        }),
    })
}

/// The cells of one record, trimmed.
fn cells(record: &str, separator: u8) -> Vec<String> {
    scan::cells(record, separator)
        .iter()
        .map(|cell| cell.trim().to_owned())
        .collect()
}

/// First byte after the row of units, where there is one.
fn units(
    text: &str,
    separator: u8,
    scan: &Scan,
    lines: &[usize],
    headings: &[String],
    wanted: &Wanted<'_>,
    origin: &Origin,
) -> Result<Option<usize>, Vec<Diagnostic>> {
    let found = scan::first(&text[scan.body..], separator, 1);
    let (Some((_, range)), Some(line)) = (found.first(), lines.first()) else {
        return Ok(None);
    };
    let row = Row {
        origin,
        line: *line,
        headings,
        cells: &cells(&text[scan.body..][range.clone()], separator),
    };
    if !units_row::holds_units(&row, wanted.data, wanted.trial)? {
        return Ok(None);
    }
    let end = scan.body + range.end;
    let rest = &text[end..];
    let line_end = rest.len() - rest.trim_start_matches('\r').len();
    Ok(Some((end + line_end + 1).min(text.len())))
}

impl Text {
    /// Whether a cell can hold a comma at all: never in a text separated by commas without quotes.
    #[must_use]
    pub fn may_hold_commas(&self) -> bool {
        self.separator != b',' || self.text.contains('"')
    }

    /// The wanted columns as text, in the order of the file, under their headings.
    ///
    /// # Errors
    /// A diagnostic where polars and the walk over the records disagree.
    pub fn columns(&self, file: &Opened, wanted: &[usize]) -> Result<DataFrame, Diagnostic> {
        let name = file.name();
        let schema: Schema = file
            .headings
            .iter()
            .map(|heading| Field::new(heading.as_str().into(), DataType::String))
            .collect();
        let frame = CsvReadOptions::default()
            .with_has_header(false)
            .with_schema(Some(Arc::new(schema)))
            .with_projection(Some(Arc::new(wanted.to_vec())))
            .with_parse_options(
                CsvParseOptions::default()
                    .with_separator(self.separator)
                    .with_quote_char(Some(b'"')),
            )
            .into_reader_with_file_handle(Cursor::new(self.body()))
            .finish()
            .map_err(|error| {
                Diagnostic::error("unreadable-file", format!("{name} cannot be read: {error}"))
                    .at(cell(&name, None, None))
                    .help("save the file again as comma-separated text")
            })?;
        if frame.height() != file.lines.len() {
            return Err(Diagnostic::error(
                "unreadable-file",
                format!(
                    "{name} holds {} records by its line ends and {} by its cells; its quotes are ambiguous",
                    file.lines.len(),
                    frame.height()
                ),
            )
            .at(cell(&name, None, None))
            .help("put every cell that holds a quote, a comma or a line break in quotes, and double the quotes inside"));
        }
        Ok(frame)
    }

    /// The records after the header without what holds nothing between them.
    fn body(&self) -> Vec<u8> {
        let mut body = Vec::with_capacity(self.text.len() - self.scan.body);
        let mut from = self.scan.body;
        for blank in &self.scan.blanks {
            body.extend_from_slice(&self.text.as_bytes()[from..blank.start]);
            from = blank.end;
        }
        body.extend_from_slice(&self.text.as_bytes()[from..]);
        body
    }
}

/// A place in a data file.
#[must_use]
pub fn cell(file: &str, line: Option<usize>, column: Option<&str>) -> Place {
    Place::Cell {
        path: file.into(),
        line,
        column: column.map(str::to_owned),
        sheet: None,
    }
}

fn no_text(name: &str, fault: &NoText) -> Diagnostic {
    let (line, message, help) = match fault {
        NoText::Packed => (
            None,
            format!("{name} is a workbook or a packed file and no text"),
            "give the file the ending of its kind (.xlsx, .ods), or export the sheet as 'CSV UTF-8'",
        ),
        NoText::Broken(encoding, line) => (
            Some(*line),
            format!(
                "{name} looks like {encoding} text, but line {line} has a byte that belongs to another encoding"
            ),
            "save the file as 'CSV UTF-8'",
        ),
        NoText::Zero(line) => (
            Some(*line),
            format!("line {line} of {name} holds a zero byte, which no text has"),
            "save the file as 'CSV UTF-8'; the file may be damaged",
        ),
    };
    Diagnostic::error("encoding", message)
        .at(cell(name, line, None))
        .help(help)
}

fn carriage_returns(name: &str) -> Diagnostic {
    Diagnostic::error(
        "broken-csv",
        format!(
            "the lines of {name} end in bare carriage returns, so it is one line to most programs"
        ),
    )
    .at(cell(name, None, None))
    .help("save the file as 'CSV UTF-8'")
}

fn cut(name: &str, broken: &Broken) -> Diagnostic {
    let (line, message, help) = match broken {
        Broken::Empty => (
            None,
            format!("{name} is empty"),
            "the first line must hold the headings, the lines after it one record each",
        ),
        Broken::OpenQuote(line) => (
            Some(*line),
            format!("a quote opened on line {line} of {name} never closes"),
            "close the quote, or double it where it is part of the text",
        ),
        Broken::StrayQuote(line) => (
            Some(*line),
            format!("line {line} of {name} has a quote inside a cell that is not quoted"),
            "put the whole cell in quotes and double the quotes inside, or take the quote out",
        ),
    };
    Diagnostic::error("broken-csv", message)
        .at(cell(name, line, None))
        .help(help)
}

/// Something stands in a column whose heading is empty.
fn unnamed(name: &str, scan: &Scan) -> Option<Diagnostic> {
    scan.unnamed
        .map(|line| heads::without_heading(name, scan.width, cell(name, Some(line), None)))
}

fn ragged(name: &str, scan: &Scan) -> Vec<Diagnostic> {
    let Some((line, found)) = scan.ragged.first() else {
        return Vec::new();
    };
    let rest = super::text::and_more(scan.ragged.len() - 1, "line", "lines");
    vec![
        Diagnostic::error(
            "ragged-rows",
            format!(
                "line {line} of {name} has {found} cell{}, the header has {}{rest}",
                if *found == 1 { "" } else { "s" },
                scan.width
            ),
        )
        .at(cell(name, Some(*line), None))
        .help("a comma inside a text needs quotes around the text, a number with a decimal comma too; fill missing cells with nothing between two commas"),
    ]
}

#[cfg(test)]
mod tests {

    /// A cell as a spreadsheet writes it: in quotes where it must be, or always.
    fn written(cell: &str, always: bool) -> String {
        if always || cell.contains(['"', ',', '\n', '\r']) {
            format!("\"{}\"", cell.replace('"', "\"\""))
        } else {
            cell.to_owned()
        }
    }

    proptest::proptest! {
        #[test]
        fn every_cell_comes_back_as_it_was_typed(
            rows in proptest::collection::vec(("[a-c,\" \n.0-9é]{0,6}", "[1-9][0-9.]{0,5}", proptest::bool::ANY), 1..40),
            ending in proptest::sample::select(vec!["\n", "\r\n"]),
        ) {
            let mut text = format!("first,second,third{ending}");
            for (cell, number, always) in &rows {
                let cell = written(cell, *always);
                text.push_str(&format!("{number},{cell},{cell}{ending}"));
            }
            let folder = tempfile::TempDir::new().unwrap();
            let path = folder.path().join("a.csv");
            std::fs::write(&path, text).unwrap();
            let frame = crate::load::testing::frame_of(&path, &[0, 2]);
            let column = |name: &str| -> Vec<String> {
                let column = frame.column(name).unwrap().str().unwrap();
                column.iter().map(|cell| cell.unwrap_or("").to_owned()).collect()
            };
            let expected: Vec<String> = rows.iter().map(|(cell, ..)| cell.clone()).collect();
            proptest::prop_assert_eq!(column("third"), expected);
            let numbers: Vec<String> = rows.iter().map(|(_, number, _)| number.clone()).collect();
            proptest::prop_assert_eq!(column("first"), numbers);
        }
    }
}
