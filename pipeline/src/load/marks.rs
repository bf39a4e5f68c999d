//! The mark before decimals: point or comma, told from the cells of a file or declared.
//!
//! "1,234" alone tells nothing: it is 1.234 to one and 1234 to another, and a guess would be wrong
//! by a thousand. Another cell of the file decides ("0,5", "12,25"), or the trial file does.

use std::borrow::Cow;

use super::heads::Wanted;
use super::opened::Origin;
use crate::diagnostic::Diagnostic;
use crate::trial::DecimalMark;

/// What the cells of a file tell about their decimals.
#[derive(Debug, Default)]
pub struct Evidence {
    commas: usize,
    points: usize,
    /// The first cell that may have decimals or thousands: its text, column and record.
    pub either: Option<(String, String, usize)>,
    either_comma: bool,
    either_point: bool,
}

/// What a file uses.
#[derive(Debug, PartialEq, Eq)]
pub enum Told {
    /// One of the two, because cells say so.
    Sure(DecimalMark),
    /// No cell has decimals, or they are all written with points as usual.
    Usual,
    /// Decimals or thousands.
    Unclear,
}

impl Evidence {
    /// Looks at a cell.
    pub fn add(&mut self, text: &str, column: &str, row: usize) {
        let Some((mark, is_sure)) = shape(text) else {
            return;
        };
        match (mark, is_sure) {
            (DecimalMark::Comma, true) => self.commas += 1,
            (DecimalMark::Point, true) => self.points += 1,
            (mark, false) => {
                let comma = mark == DecimalMark::Comma;
                // A comma is the stranger of the two, so it is the one to show.
                if self.either.is_none() || (comma && !self.either_comma) {
                    self.either = Some((text.to_owned(), column.to_owned(), row));
                }
                self.either_comma |= comma;
                self.either_point |= !comma;
            }
        }
    }

    /// What the cells together tell; `doubtful` where points between thousands are to be expected
    /// (semicolons separate files where commas stand before decimals).
    #[must_use]
    pub fn told(&self, doubtful: bool) -> Told {
        // Where a file has both, the fewer are the mistakes, and are reported as no numbers.
        match (self.commas, self.points) {
            (0, 0) if self.either_comma || (self.either_point && doubtful) => Told::Unclear,
            (commas, points) if commas > points => Told::Sure(DecimalMark::Comma),
            _ => Told::Usual,
        }
    }
}

/// Whether a text is a number, with either mark.
#[must_use]
pub fn is_number(text: &str) -> bool {
    shape(text).is_some() || crate::decimal::exact(text).is_ok()
}

/// Decimals or thousands: the cell that shows it, and what to declare.
#[must_use]
pub fn unclear(
    evidence: &Evidence,
    origin: &Origin,
    lines: &[usize],
    wanted: &Wanted<'_>,
) -> Diagnostic {
    let (text, column, row) = match &evidence.either {
        Some((text, column, row)) => (text.as_str(), Some(column.as_str()), Some(*row)),
        None => ("", None, None),
    };
    let place = match row {
        Some(row) => origin.record(lines, row, column),
        None => origin.place(None, column),
    };
    let (decimal, whole) = (text.replace(',', "."), text.replace([',', '.'], ""));
    let used = if text.contains(',') { "," } else { "." };
    Diagnostic::error(
        "decimal-mark",
        format!(
            "'{text}' in {} may mean {decimal} or {whole}, and no other cell tells which",
            origin.name()
        ),
    )
    .at(place)
    .at(wanted.trial.place(&wanted.data.file.span))
    .help(format!(
        "add decimal = \"{used}\" under the file in [[data]] if it stands before decimals; otherwise take the marks between thousands out"
    ))
}

/// The one mark of a cell between digits, and whether it can only be that of decimals.
fn shape(text: &str) -> Option<(DecimalMark, bool)> {
    let digits = text.strip_prefix(['+', '-']).unwrap_or(text);
    let at = digits.find([',', '.'])?;
    let (whole, rest) = (&digits[..at], &digits[at + 1..]);
    let plain = |part: &str| part.bytes().all(|byte| byte.is_ascii_digit());
    if !plain(whole) || !plain(rest) || rest.is_empty() {
        return None;
    }
    let mark = if digits.as_bytes()[at] == b',' {
        DecimalMark::Comma
    } else {
        DecimalMark::Point
    };
    let thousands = rest.len() == 3 && (1..=3).contains(&whole.len()) && !whole.starts_with('0');
    Some((mark, !thousands))
}

/// A cell with a point before its decimals; `None` where it has a point although commas stand
/// before the decimals of its file.
#[must_use]
pub fn with_point(text: &str, mark: DecimalMark) -> Option<Cow<'_, str>> {
    match mark {
        DecimalMark::Point => Some(Cow::Borrowed(text)),
        DecimalMark::Comma if text.contains('.') => None,
        DecimalMark::Comma if text.contains(',') => Some(Cow::Owned(text.replace(',', "."))),
        DecimalMark::Comma => Some(Cow::Borrowed(text)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(cells: &[&str], doubtful: bool) -> Told {
        let mut evidence = Evidence::default();
        for cell in cells {
            evidence.add(cell, "kg", 0);
        }
        evidence.told(doubtful)
    }

    #[test]
    fn one_cell_that_can_only_be_a_decimal_decides() {
        assert_eq!(
            told(&["1,234", "3,5"], false),
            Told::Sure(DecimalMark::Comma)
        );
        assert_eq!(told(&["0,917"], false), Told::Sure(DecimalMark::Comma));
        assert_eq!(
            told(&["1234,567", "1.234"], true),
            Told::Sure(DecimalMark::Comma)
        );
        assert_eq!(told(&["1.234", "0.917"], true), Told::Usual);
        assert_eq!(told(&["1,5", "3.5", "2.5"], false), Told::Usual);
        assert_eq!(told(&["12", "NA", "1,2,3"], true), Told::Usual);
    }

    #[test]
    fn thousands_or_decimals_stay_unclear() {
        assert_eq!(told(&["1,234", "12,345", "7"], false), Told::Unclear);
        assert_eq!(told(&["1.234"], true), Told::Unclear);
        assert_eq!(told(&["1.234"], false), Told::Usual);
    }

    #[test]
    fn a_point_among_decimal_commas_is_no_number() {
        assert_eq!(
            with_point("-3,10", DecimalMark::Comma).as_deref(),
            Some("-3.10")
        );
        assert_eq!(with_point("1.234", DecimalMark::Comma), None);
        assert_eq!(
            with_point("1,5", DecimalMark::Point).as_deref(),
            Some("1,5")
        );
    }
}
