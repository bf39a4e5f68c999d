//! What a sheet's cells do not say themselves: which are merged, which rows and columns are hidden.
//!
//! Office Open XML (ECMA-376-1, 18.3.1: `row`, `col`, `mergeCell`) and OpenDocument (OASIS ODF 1.3
//! part 3, 9.1 and 19.749: `table:visibility`, `table:number-rows-spanned`).

use std::borrow::Cow;
use std::collections::HashMap;
use std::io::{BufReader, Cursor, Read};
use std::ops::RangeInclusive;

use quick_xml::events::{BytesStart, Event};
use quick_xml::name::LocalName;
use quick_xml::{Decoder, Reader};
use zip::ZipArchive;

/// Why a sheet's layout cannot be read.
#[derive(Debug, thiserror::Error)]
pub(super) enum LayoutError {
    /// The packed file lacks a part.
    #[error("{0}")]
    Packed(#[from] zip::result::ZipError),
    /// A part is no XML.
    #[error("{0}")]
    Xml(#[from] quick_xml::Error),
    /// An attribute is none.
    #[error("{0}")]
    Attribute(#[from] quick_xml::events::attributes::AttrError),
}

/// Cells merged into one.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Merged {
    /// Their rows, counted from 1.
    pub(super) rows: RangeInclusive<usize>,
    /// Their first column, from 0.
    pub(super) column: usize,
}

/// Merged cells, hidden rows and columns of a sheet.
#[derive(Debug, Default)]
pub(super) struct Layout {
    /// Merged cells.
    pub(super) merged: Vec<Merged>,
    /// Row (from 1) and column (from 0) of formulas that no value was saved of.
    pub(super) valueless: Vec<(usize, usize)>,
    /// Hidden rows, counted from 1.
    rows: Vec<RangeInclusive<usize>>,
    /// Hidden columns, from 0.
    columns: Vec<RangeInclusive<usize>>,
}

/// The name under which text inside an element is met.
const TEXT: &str = "#text";

/// A cell while it is read.
#[derive(Default)]
struct Reading {
    place: Option<(usize, usize)>,
    is_text: bool,
    has_formula: bool,
    has_value: bool,
    inside_value: bool,
}

type Attributes = HashMap<String, String>;

impl Layout {
    /// Whether a row, counted from 1, is hidden.
    pub(super) fn hides_row(&self, row: usize) -> bool {
        self.rows.iter().any(|rows| rows.contains(&row))
    }

    /// Whether a column, counted from 0, is hidden.
    pub(super) fn hides_column(&self, column: usize) -> bool {
        self.columns.iter().any(|columns| columns.contains(&column))
    }

    /// The layout of a sheet of an Office Open XML workbook.
    pub(super) fn of_excel(bytes: &[u8], sheet: &str) -> Result<Self, LayoutError> {
        let mut layout = Self::default();
        let mut id = None;
        elements(bytes, "xl/workbook.xml", &mut |name, _, attributes| {
            if name == "sheet" && attributes.get("name").is_some_and(|name| name == sheet) {
                id = attributes.get("id").cloned();
            }
        })?;
        let mut target = None;
        elements(
            bytes,
            "xl/_rels/workbook.xml.rels",
            &mut |name, _, attributes| {
                if name == "Relationship" && attributes.get("Id") == id.as_ref() {
                    target = attributes.get("Target").cloned();
                }
            },
        )?;
        let Some(target) = target else {
            return Ok(layout);
        };
        let part = match target.strip_prefix('/') {
            Some(whole) => whole.to_owned(),
            None => format!("xl/{target}"),
        };
        let (mut row, mut cell) = (0, Reading::default());
        elements(bytes, &part, &mut |name, is_start, attributes| {
            match (name, is_start) {
                ("c", true) => {
                    cell = Reading {
                        place: attributes.get("r").and_then(|place| split(place)),
                        // A text may be empty and yet a value.
                        is_text: attributes.get("t").is_some_and(|kind| kind == "str"),
                        ..Reading::default()
                    }
                }
                ("f", true) => cell.has_formula = true,
                ("v", start) => cell.inside_value = start,
                (TEXT, _) => cell.has_value |= cell.inside_value,
                ("c", false) if cell.has_formula && !cell.has_value && !cell.is_text => {
                    layout.valueless.extend(cell.place);
                }
                _ => {}
            }
            if !is_start {
                return;
            }
            let hidden = attributes
                .get("hidden")
                .is_some_and(|v| v == "1" || v == "true");
            match name {
                "row" => {
                    row = number(attributes, "r").unwrap_or(row + 1);
                    if hidden {
                        layout.rows.push(row..=row);
                    }
                }
                "col" if hidden => {
                    if let (Some(first), Some(last)) =
                        (number(attributes, "min"), number(attributes, "max"))
                    {
                        layout
                            .columns
                            .push(first.saturating_sub(1)..=last.saturating_sub(1));
                    }
                }
                "mergeCell" => layout
                    .merged
                    .extend(attributes.get("ref").and_then(|r| area(r))),
                _ => {}
            }
        })?;
        Ok(layout)
    }

    /// The layout of a sheet of an OpenDocument workbook.
    pub(super) fn of_open_document(bytes: &[u8], sheet: &str) -> Result<Self, LayoutError> {
        let mut layout = Self::default();
        let (mut inside, mut row, mut column, mut next_row) = (false, 0, 0, 1);
        elements(bytes, "content.xml", &mut |name, is_start, attributes| {
            let hidden = attributes
                .get("visibility")
                .is_some_and(|v| v == "collapse" || v == "filter");
            match name {
                "table" => {
                    inside = is_start && attributes.get("name").is_some_and(|name| name == sheet);
                    (column, next_row) = (0, 1);
                }
                _ if !inside || !is_start => {}
                "table-column" => {
                    let times = number(attributes, "number-columns-repeated").unwrap_or(1);
                    if hidden {
                        layout
                            .columns
                            .push(column..=(column + times).saturating_sub(1));
                    }
                    column += times;
                }
                "table-row" => {
                    let times = number(attributes, "number-rows-repeated").unwrap_or(1);
                    (row, column) = (next_row, 0);
                    next_row += times;
                    if hidden {
                        layout.rows.push(row..=next_row - 1);
                    }
                }
                "table-cell" | "covered-table-cell" => {
                    let spanned = number(attributes, "number-rows-spanned").unwrap_or(1);
                    if spanned > 1 {
                        let rows = row..=row + spanned - 1;
                        layout.merged.push(Merged { rows, column });
                    }
                    column += number(attributes, "number-columns-repeated").unwrap_or(1);
                }
                _ => {}
            }
        })?;
        Ok(layout)
    }
}

fn number(attributes: &Attributes, name: &str) -> Option<usize> {
    attributes.get(name)?.parse().ok()
}

/// The cells of "B5:B7".
fn area(text: &str) -> Option<Merged> {
    let (first, last) = text.split_once(':')?;
    let ((top, column), (bottom, _)) = (split(first)?, split(last)?);
    Some(Merged {
        rows: top..=bottom,
        column,
    })
}

/// Row (from 1) and column (from 0) of "B5".
fn split(cell: &str) -> Option<(usize, usize)> {
    let at = cell.find(|letter: char| letter.is_ascii_digit())?;
    let column = cell[..at].bytes().try_fold(0_usize, |column, letter| {
        letter
            .is_ascii_uppercase()
            .then(|| column * 26 + usize::from(letter - b'A') + 1)
    })?;
    Some((cell[at..].parse().ok()?, column.checked_sub(1)?))
}

/// Walks over the elements of a part: local name, whether it begins, attributes by local name.
fn elements(
    bytes: &[u8],
    part: &str,
    found: &mut dyn FnMut(&str, bool, &Attributes),
) -> Result<(), LayoutError> {
    let mut packed = ZipArchive::new(Cursor::new(bytes))?;
    let part: Box<dyn Read + '_> = Box::new(packed.by_name(part)?);
    let mut reader = Reader::from_reader(BufReader::new(part));
    let decoder = reader.decoder();
    let mut buffer = Vec::new();
    loop {
        match reader.read_event_into(&mut buffer)? {
            Event::Eof => return Ok(()),
            Event::Start(element) => {
                found(
                    &local(element.local_name()),
                    true,
                    &attributes(&element, decoder)?,
                );
            }
            Event::Empty(element) => {
                let name = local(element.local_name());
                found(&name, true, &attributes(&element, decoder)?);
                found(&name, false, &Attributes::new());
            }
            Event::End(element) => {
                found(&local(element.local_name()), false, &Attributes::new());
            }
            Event::Text(text) if !text.trim_ascii().is_empty() => {
                found(TEXT, true, &Attributes::new());
            }
            _ => {}
        }
        buffer.clear();
    }
}

fn local(name: LocalName<'_>) -> Cow<'_, str> {
    String::from_utf8_lossy(name.into_inner())
}

fn attributes(element: &BytesStart<'_>, decoder: Decoder) -> Result<Attributes, LayoutError> {
    element
        .attributes()
        .map(|attribute| {
            let attribute = attribute?;
            let name = local(attribute.key.local_name()).into_owned();
            Ok((
                name,
                attribute.decode_and_unescape_value(decoder)?.into_owned(),
            ))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn merged_cells_are_read_by_their_letters() {
        let merged = |rows, column| Some(Merged { rows, column });
        assert_eq!(area("B5:B7"), merged(5..=7, 1));
        assert_eq!(area("AA1:AB2"), merged(1..=2, 26));
        assert_eq!(area("B5"), None);
    }
}
