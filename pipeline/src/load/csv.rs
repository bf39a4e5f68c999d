//! A comma-separated file as columns of text: every cell as it was typed, so that a decimal number
//! stays the decimal that was written.

use std::io::Cursor;
use std::path::Path;
use std::sync::Arc;

use polars::prelude::{
    CsvParseOptions, CsvReadOptions, DataFrame, DataType, Field, Schema, SerReader,
};
use sha2::{Digest, Sha256};

use super::scan::{self, Broken, Scan};
use crate::diagnostic::{Diagnostic, Place};

/// A data file opened (read-only), its records found and its headings read, its cells not yet.
#[derive(Debug)]
pub struct Opened {
    /// As written in the trial file.
    pub name: String,
    /// SHA-256 of the bytes, in hexadecimal.
    pub sha256: String,
    /// Size in bytes.
    pub bytes: u64,
    /// Headings, trimmed.
    pub headings: Vec<String>,
    /// Remarks on the way.
    pub remarks: Vec<Diagnostic>,
    text: String,
    separator: u8,
    scan: Scan,
}

impl Opened {
    /// Opens a file and finds its records.
    ///
    /// # Errors
    /// One diagnostic a fault: not readable, not UTF-8, no header, headings empty or twice, rows of
    /// another width, quotes that do not close.
    pub fn open(name: &str, path: &Path) -> Result<Self, Vec<Diagnostic>> {
        let bytes = std::fs::read(path).map_err(|error| vec![unreadable(name, &error)])?;
        let sha256 = Sha256::digest(&bytes)
            .iter()
            .map(|byte| format!("{byte:02x}"))
            .collect();
        let size = bytes.len() as u64;
        let mut text = String::from_utf8(bytes).map_err(|error| vec![not_utf8(name, &error)])?;
        if text.starts_with('\u{feff}') {
            text.drain(..'\u{feff}'.len_utf8());
        }
        if text.contains('\r') && !text.contains('\n') {
            return Err(vec![carriage_returns(name)]);
        }
        let separator = scan::separator(&text);
        let scan = scan::records(&text, separator).map_err(|broken| vec![cut(name, &broken)])?;
        let headings: Vec<String> = scan::cells(&text[scan.header.clone()], separator)
            .iter()
            .map(|heading| heading.trim().to_owned())
            .collect();
        let mut faults = headings_faults(name, scan.header_line, &headings);
        faults.extend(ragged(name, &scan));
        if !faults.is_empty() {
            return Err(faults);
        }
        let mut remarks = Vec::new();
        if separator != b',' {
            let word = if separator == b';' {
                "semicolons"
            } else {
                "tabs"
            };
            remarks.push(
                Diagnostic::note(
                    "separator",
                    format!("{name} is separated by {word}; it was read so"),
                )
                .at(cell(name, None, None)),
            );
        }
        Ok(Self {
            name: name.to_owned(),
            sha256,
            bytes: size,
            headings,
            remarks,
            text,
            separator,
            scan,
        })
    }

    /// Line each record starts on.
    #[must_use]
    pub fn lines(&self) -> &[usize] {
        &self.scan.lines
    }

    /// The wanted columns as text, in the order of the file, under their headings.
    ///
    /// # Errors
    /// A diagnostic where polars and the walk over the records disagree.
    pub fn columns(&self, wanted: &[usize]) -> Result<DataFrame, Diagnostic> {
        let schema: Schema = self
            .headings
            .iter()
            .map(|heading| Field::new(heading.as_str().into(), DataType::String))
            .collect();
        let body = self.body();
        if body.is_empty() {
            let empty: Schema = wanted
                .iter()
                .map(|at| Field::new(self.headings[*at].as_str().into(), DataType::String))
                .collect();
            return Ok(DataFrame::empty_with_schema(&empty));
        }
        let frame = CsvReadOptions::default()
            .with_has_header(false)
            .with_schema(Some(Arc::new(schema)))
            .with_projection(Some(Arc::new(wanted.to_vec())))
            .with_parse_options(
                CsvParseOptions::default()
                    .with_separator(self.separator)
                    .with_quote_char(Some(b'"')),
            )
            .into_reader_with_file_handle(Cursor::new(body))
            .finish()
            .map_err(|error| {
                Diagnostic::error(
                    "unreadable-file",
                    format!("{} cannot be read: {error}", self.name),
                )
                .at(cell(&self.name, None, None))
                .help("save the file again as comma-separated text")
            })?;
        if frame.height() != self.scan.lines.len() {
            return Err(Diagnostic::error(
                "unreadable-file",
                format!(
                    "{} holds {} records by its line ends and {} by its cells; its quotes are ambiguous",
                    self.name,
                    self.scan.lines.len(),
                    frame.height()
                ),
            )
            .at(cell(&self.name, None, None))
            .help("put every cell that holds a quote, a comma or a line break in quotes, and double the quotes inside"));
        }
        Ok(frame)
    }

    /// The records after the header without the empty lines between them.
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
    }
}

fn unreadable(name: &str, error: &std::io::Error) -> Diagnostic {
    Diagnostic::error(
        "unreadable-file",
        format!("{name} cannot be opened: {error}"),
    )
    .at(cell(name, None, None))
    .help("check the name of the file and that it may be read")
}

fn not_utf8(name: &str, error: &std::string::FromUtf8Error) -> Diagnostic {
    let at = error.utf8_error().valid_up_to();
    let line = error.as_bytes()[..at]
        .iter()
        .filter(|byte| **byte == b'\n')
        .count()
        + 1;
    Diagnostic::error(
        "not-utf8",
        format!(
            "{name} is not UTF-8 text: line {line} has a byte that belongs to another encoding"
        ),
    )
    .at(cell(name, Some(line), None))
    .help("save the file as 'CSV UTF-8'; a spreadsheet file has to be exported first")
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

fn headings_faults(name: &str, line: usize, headings: &[String]) -> Vec<Diagnostic> {
    let mut faults = Vec::new();
    for (at, heading) in headings.iter().enumerate() {
        if heading.is_empty() {
            faults.push(
                Diagnostic::error(
                    "headings",
                    format!("column {} of {name} has no heading", at + 1),
                )
                .at(cell(name, Some(line), None))
                .help("name the column, or delete it"),
            );
        } else if headings[..at].contains(heading) && !headings[at + 1..].contains(heading) {
            let times = headings.iter().filter(|other| *other == heading).count();
            faults.push(
                Diagnostic::error(
                    "headings",
                    format!("{name} has the heading '{heading}' {times} times"),
                )
                .at(cell(name, Some(line), Some(heading)))
                .help("give each column its own heading"),
            );
        }
    }
    faults
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
        .help("a comma inside a text needs quotes around the text, a decimal comma must be a point; fill missing cells with nothing between two commas"),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

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
            let opened = Opened::open("a.csv", &path).unwrap();
            let frame = opened.columns(&[0, 2]).unwrap();
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
