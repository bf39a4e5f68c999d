//! Where the records of a comma-separated text begin and end (RFC 4180).
//!
//! The cells themselves are read by polars; but polars numbers records, not lines, and a person
//! looks for a line. So this walks over the text once, knows quotes, and keeps the line each
//! record starts on. It also finds what a reader might otherwise guess its way through: rows with
//! too many or too few cells, quotes that never close, quotes in the middle of a cell.

use std::ops::Range;

/// What the walk found.
#[derive(Debug, Default, PartialEq, Eq)]
pub struct Scan {
    /// Bytes of the header, without its line end.
    pub header: Range<usize>,
    /// Line the header stands on, counted from 1.
    pub header_line: usize,
    /// Cells in the header up to the last that is not empty.
    pub width: usize,
    /// First byte after the header.
    pub body: usize,
    /// Line each further record starts on.
    pub lines: Vec<usize>,
    /// Line and number of cells of records of another width than the header.
    pub ragged: Vec<(usize, usize)>,
    /// Line of the first record with something in a column behind the last heading, where the
    /// header has cells there.
    pub unnamed: Option<usize>,
    /// Bytes after the header that hold nothing: empty lines with their line ends, empty cells
    /// behind the last column.
    pub blanks: Vec<Range<usize>>,
}

/// Why a text cannot be cut into records.
#[derive(Debug, PartialEq, Eq)]
pub enum Broken {
    /// No record at all.
    Empty,
    /// A quote opened on this line never closes.
    OpenQuote(usize),
    /// A quote inside or behind a cell on this line.
    StrayQuote(usize),
}

/// The first lines of a text that are not empty: where each begins and on which line. They end
/// before the first that cannot be cut.
#[must_use]
pub fn first(text: &str, separator: u8, most: usize) -> Vec<(usize, Range<usize>)> {
    let bytes = text.as_bytes();
    let (mut at, mut line, mut found) = (0, 1, Vec::new());
    while at < bytes.len() && found.len() < most {
        let Ok(record) = record(bytes, at, line, separator, usize::MAX) else {
            break;
        };
        if !record.blank {
            found.push((line, at..record.end));
        }
        line += record.line_ends;
        at = record.next;
    }
    found
}

/// Cuts a text into records; the header begins at this byte, on this line.
///
/// # Errors
/// [`Broken`] where quotes leave it undecided what a record is, or there is none.
pub fn records(text: &str, separator: u8, header: (usize, usize)) -> Result<Scan, Broken> {
    let bytes = text.as_bytes();
    let mut scan = Scan {
        width: usize::MAX,
        ..Scan::default()
    };
    let ((mut at, mut line), mut headed, mut whole) = (header, false, 0);
    while at < bytes.len() {
        let record = record(bytes, at, line, separator, scan.width)?;
        if record.blank {
            if headed {
                scan.blanks.push(at..record.next);
            }
        } else if headed {
            scan.lines.push(line);
            if record.filled > scan.width {
                if record.cells <= whole {
                    scan.unnamed.get_or_insert(line);
                } else {
                    scan.ragged.push((line, record.cells));
                }
            } else if record.cells < scan.width {
                scan.ragged.push((line, record.cells));
            } else if record.cells > scan.width {
                scan.blanks.push(record.beyond..record.end);
            }
        } else {
            headed = true;
            scan.header = at..record.end;
            scan.header_line = line;
            (scan.width, whole) = (record.filled, record.cells);
            scan.body = record.next;
        }
        line += record.line_ends;
        at = record.next;
    }
    if headed { Ok(scan) } else { Err(Broken::Empty) }
}

struct Record {
    end: usize,
    next: usize,
    cells: usize,
    /// Cells up to the last that is not empty.
    filled: usize,
    /// The separator behind the cell that is the last of the header.
    beyond: usize,
    line_ends: usize,
    blank: bool,
}

fn record(
    bytes: &[u8],
    start: usize,
    line: usize,
    separator: u8,
    width: usize,
) -> Result<Record, Broken> {
    let mut at = start;
    let (mut cells, mut inside, mut filled, mut beyond) = (1, 0, 0, 0);
    let mut cell_start = true;
    while let Some(&byte) = bytes.get(at) {
        match byte {
            b'\n' => {
                let end = at - usize::from(at > start && bytes[at - 1] == b'\r');
                let next = at + 1;
                return Ok(Record {
                    end,
                    next,
                    cells,
                    filled,
                    beyond,
                    line_ends: inside + 1,
                    blank: filled == 0,
                });
            }
            b'"' if cell_start => {
                let (after, breaks) =
                    closing(bytes, at + 1).ok_or(Broken::OpenQuote(line + inside))?;
                inside += breaks;
                // An empty cell in quotes is empty, but a line of such is no empty line.
                filled = cells;
                at = after;
                if !matches!(bytes.get(at), None | Some(b'\r' | b'\n'))
                    && bytes.get(at) != Some(&separator)
                {
                    return Err(Broken::StrayQuote(line + inside));
                }
                cell_start = false;
                continue;
            }
            b'"' => return Err(Broken::StrayQuote(line + inside)),
            byte if byte == separator => {
                if cells == width {
                    beyond = at;
                }
                cells += 1;
                cell_start = true;
            }
            byte => {
                if !matches!(byte, b' ' | b'\t' | b'\r') {
                    filled = cells;
                }
                cell_start = false;
            }
        }
        at += 1;
    }
    Ok(Record {
        end: at,
        next: at,
        cells,
        filled,
        beyond,
        line_ends: inside,
        blank: filled == 0,
    })
}

/// First byte after the quote that closes a cell, and the line ends inside the cell.
fn closing(bytes: &[u8], from: usize) -> Option<(usize, usize)> {
    let (mut at, mut breaks) = (from, 0);
    loop {
        match bytes.get(at)? {
            b'"' if bytes.get(at + 1) == Some(&b'"') => at += 2,
            b'"' => return Some((at + 1, breaks)),
            byte => {
                breaks += usize::from(*byte == b'\n');
                at += 1;
            }
        }
    }
}

/// The cells of one record without quotes.
#[must_use]
pub fn cells(record: &str, separator: u8) -> Vec<String> {
    let mut cells = vec![String::new()];
    let mut quoted = false;
    let mut letters = record.chars().peekable();
    while let Some(letter) = letters.next() {
        let last = cells.len() - 1;
        if letter == '"' && quoted && letters.peek() == Some(&'"') {
            letters.next();
            cells[last].push('"');
        } else if letter == '"' {
            quoted = !quoted;
        } else if letter == char::from(separator) && !quoted {
            cells.push(String::new());
        } else {
            cells[last].push(letter);
        }
    }
    cells
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_physical_with_quoted_breaks_and_blank_lines() {
        let text = "a,b\r\n1,\"x\ny\"\r\n\r\n,\r\n2,z\n\n3,w";
        let scan = records(text, b',', (0, 1)).unwrap();
        assert_eq!(scan.lines, [2, 6, 8]);
        assert_eq!(scan.blanks.len(), 3);
        assert_eq!(&text[scan.header], "a,b");
        assert!(scan.ragged.is_empty());
    }

    #[test]
    fn a_row_of_another_width_is_named_by_line() {
        let scan = records("a,b\n1,2\n1,2,3\n4\n", b',', (0, 1)).unwrap();
        assert_eq!(scan.ragged, [(3, 3), (4, 1)]);
    }

    #[test]
    fn quotes_that_leave_it_open_are_refused_by_line() {
        assert_eq!(
            records("a,b\n1,\"2\n3,4\n", b',', (0, 1)),
            Err(Broken::OpenQuote(2))
        );
        assert_eq!(
            records("a,b\n1,x\"2\n", b',', (0, 1)),
            Err(Broken::StrayQuote(2))
        );
        assert_eq!(
            records("a,b\n1,\"x\"2\n", b',', (0, 1)),
            Err(Broken::StrayQuote(2))
        );
        assert_eq!(records("\n \n", b',', (0, 1)), Err(Broken::Empty));
    }

    #[test]
    fn doubled_quotes_and_separators_in_quotes_are_text() {
        assert_eq!(cells("a,\"b,\"\"c\"\"\",", b','), ["a", "b,\"c\"", ""]);
    }

    proptest::proptest! {
        #[test]
        fn every_record_gets_the_line_it_starts_on(rows in proptest::collection::vec((0_usize..3, 0_usize..3), 1..12)) {
            let mut text = String::from("a,b\n");
            let mut expected = Vec::new();
            for (blank, inside) in rows {
                text.push_str(&"\n".repeat(blank));
                expected.push(text.matches('\n').count() + 1);
                text.push_str(&format!("1,\"{}\"\n", "\n".repeat(inside)));
            }
            proptest::prop_assert_eq!(records(&text, b',', (0, 1)).unwrap().lines, expected);
        }
    }
}
