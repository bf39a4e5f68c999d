//! What columns the files of a summary have; files with the same columns are read together.

use std::fs::File;
use std::io::Read;
use std::path::Path;

use polars_arrow::datatypes::ArrowDataType;
use polars_parquet::read::{infer_schema, read_metadata};

use super::inputs::Input;
use crate::diagnostic::{Diagnostic, Place};
use crate::load::csv::cell;
use crate::load::heads::Wanted;
use crate::load::{dialect, marks, scan};
use crate::trial::{DecimalMark, SourceFile, Summary};

/// Files with the same columns.
#[derive(Debug)]
pub(super) struct Layout {
    /// Where they are, as the reader wants it.
    pub(super) paths: Vec<String>,
    /// The same as files to be hashed; none of an address in the network.
    pub(super) inputs: Vec<Input>,
    /// What they are.
    pub(super) kind: Kind,
    /// Their columns.
    pub(super) columns: Vec<Column>,
    /// Columns that the names of their folders hold, with the value: season=2024.
    pub(super) fixed: Vec<(String, String)>,
    /// Records in them, where their files say it.
    pub(super) records: Option<u64>,
}

/// A kind of file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    /// Parquet.
    Parquet,
    /// Text: the byte between cells, the mark before the decimals.
    Text(u8, DecimalMark),
}

/// A column.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Column {
    /// Its name in the file.
    pub(super) name: String,
    /// The same without spaces at its ends.
    pub(super) heading: String,
    /// What it holds.
    pub(super) holds: Holds,
}

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Holds {
    /// The cells of a text, which may be anything.
    Anything,
    /// Texts.
    Texts,
    /// Whole numbers.
    Wholes,
    /// Numbers.
    Numbers,
    /// What no key and no value can be, in words.
    Other(&'static str),
}

impl Layout {
    /// Headings of its columns, those in the names of folders too.
    pub(super) fn headings(&self) -> impl Iterator<Item = &str> {
        let own = self.columns.iter().map(|column| column.heading.as_str());
        own.chain(self.fixed.iter().map(|(name, _)| name.as_str()))
    }

    /// A column that is not in the name of a folder.
    pub(super) fn column(&self, heading: &str) -> Option<&Column> {
        if self.fixed_value(heading).is_some() {
            return None;
        }
        self.columns.iter().find(|column| column.heading == heading)
    }

    /// The value of a column in the name of a folder.
    pub(super) fn fixed_value(&self, heading: &str) -> Option<&str> {
        let of = self.fixed.iter().find(|(name, _)| name == heading);
        of.map(|(_, value)| value.as_str())
    }

    /// The first of its files as a place.
    pub(super) fn place(&self, column: Option<&str>) -> Place {
        let name = self.inputs.first().map(|input| input.name.as_str());
        cell(name.unwrap_or(&self.paths[0]), None, column)
    }
}

/// The files of a summary by their columns, in the order of their names.
///
/// # Errors
/// A fault for each file that cannot be read.
pub(super) fn layouts(
    wanted: &Wanted<'_>,
    summary: &Summary,
) -> Result<Vec<Layout>, Vec<Diagnostic>> {
    if let Some(address) = &summary.address {
        return remote(address, wanted);
    }
    let mut layouts: Vec<Layout> = Vec::new();
    let mut faults = Vec::new();
    for source in &summary.sources {
        match one(source, wanted) {
            Ok(new) => {
                let alike = |old: &&mut Layout| {
                    old.kind == new.kind && old.columns == new.columns && old.fixed == new.fixed
                };
                match layouts.iter_mut().find(alike) {
                    Some(old) => {
                        old.paths.extend(new.paths);
                        old.inputs.extend(new.inputs);
                        old.records = old.records.zip(new.records).map(|(a, b)| a + b);
                    }
                    None => layouts.push(new),
                }
            }
            Err(fault) => faults.push(fault),
        }
    }
    if faults.is_empty() {
        Ok(layouts)
    } else {
        Err(faults)
    }
}

#[cfg(feature = "cloud")]
fn remote(address: &str, wanted: &Wanted<'_>) -> Result<Vec<Layout>, Vec<Diagnostic>> {
    super::remote::layout(address, wanted)
        .map(|layout| vec![layout])
        .map_err(|fault| vec![fault])
}

#[cfg(not(feature = "cloud"))]
fn remote(address: &str, wanted: &Wanted<'_>) -> Result<Vec<Layout>, Vec<Diagnostic>> {
    Err(vec![
        Diagnostic::error(
            "network",
            format!("'{address}' is an address in a network, and this program was built without reading from networks"),
        )
        .at(wanted.trial.place(&wanted.data.file.span))
        .help("copy the files into the trial folder, or build the program again with cargo's option --features cloud"),
    ])
}

fn one(source: &SourceFile, wanted: &Wanted<'_>) -> Result<Layout, Diagnostic> {
    let unreadable = |error: String| {
        Diagnostic::error(
            "unreadable-file",
            format!("{} cannot be read: {error}", source.name),
        )
        .at(cell(&source.name, None, None))
        .help("write the file again, or move it out of the folder")
    };
    let input = Input::of(source).map_err(|error| unreadable(error.to_string()))?;
    let path = source
        .path
        .to_str()
        .ok_or_else(|| unreadable("the name of its folder is not UTF-8".to_owned()))?;
    let (kind, columns, records) = if is_parquet(&source.path) {
        let (columns, records) = typed(source, &unreadable)?;
        (Kind::Parquet, columns, Some(records))
    } else {
        let (kind, columns) = text(source, wanted, &unreadable)?;
        (kind, columns, None)
    };
    for (at, column) in columns.iter().enumerate() {
        if columns[..at]
            .iter()
            .any(|other| other.heading == column.heading)
        {
            return Err(Diagnostic::error(
                "headings",
                format!("{} has the heading '{}' twice", source.name, column.heading),
            )
            .at(cell(&source.name, None, Some(&column.heading)))
            .help("give each column its own heading"));
        }
    }
    Ok(Layout {
        paths: vec![path.to_owned()],
        inputs: vec![input],
        kind,
        columns,
        fixed: fixed(&source.name),
        records,
    })
}

fn is_parquet(path: &Path) -> bool {
    path.extension()
        .is_some_and(|ending| ending.eq_ignore_ascii_case("parquet"))
}

/// The columns that folders name: season=2024/part-0.parquet.
fn fixed(name: &str) -> Vec<(String, String)> {
    let mut folders: Vec<&str> = name.split('/').collect();
    folders.pop();
    let parts = folders.iter().filter_map(|folder| folder.split_once('='));
    parts
        .filter(|(name, _)| !name.is_empty())
        .map(|(name, value)| (name.to_owned(), value.to_owned()))
        .collect()
}

fn typed(
    source: &SourceFile,
    unreadable: &dyn Fn(String) -> Diagnostic,
) -> Result<(Vec<Column>, u64), Diagnostic> {
    let mut file = File::open(&source.path).map_err(|error| unreadable(error.to_string()))?;
    let metadata = read_metadata(&mut file).map_err(|error| unreadable(error.to_string()))?;
    let schema = infer_schema(&metadata).map_err(|error| unreadable(error.to_string()))?;
    let mut columns = Vec::new();
    for field in schema.iter_values() {
        if let Some((what, help)) = stops_reading(&field.dtype) {
            return Err(Diagnostic::error(
                "column-type",
                format!(
                    "column '{}' of {} holds {what}, which cannot stand in a file of records to be reduced",
                    field.name, source.name
                ),
            )
            .at(cell(&source.name, None, Some(&field.name)))
            .help(help));
        }
        columns.push(Column {
            name: field.name.to_string(),
            heading: field.name.trim().to_owned(),
            holds: holds(&field.dtype),
        });
    }
    Ok((columns, metadata.num_rows as u64))
}

/// Types that the data frame has not switched on: it would not even skip such a column.
fn stops_reading(kind: &ArrowDataType) -> Option<(&'static str, &'static str)> {
    use ArrowDataType as Kind;
    let leave = "write the files without the column";
    match kind {
        Kind::Dictionary(..) => Some((
            "texts kept as numbers (categories)",
            "write the column as plain text",
        )),
        Kind::Decimal(..) => Some(("decimals of fixed length", "write the column as doubles")),
        Kind::Struct(_) => Some(("several values a row", leave)),
        Kind::FixedSizeList(..) | Kind::Interval(_) | Kind::Float16 | Kind::Extension(_) => {
            Some(("values that cannot be read", leave))
        }
        Kind::List(inner) | Kind::LargeList(inner) => stops_reading(&inner.dtype),
        Kind::Map(inner, _) => stops_reading(&inner.dtype),
        _ => None,
    }
}

fn holds(kind: &ArrowDataType) -> Holds {
    use ArrowDataType as Kind;
    match kind {
        Kind::Utf8 | Kind::LargeUtf8 | Kind::Utf8View => Holds::Texts,
        Kind::Int32 | Kind::Int64 | Kind::UInt32 | Kind::UInt64 => Holds::Wholes,
        Kind::Float32 | Kind::Float64 => Holds::Numbers,
        Kind::Int8 | Kind::Int16 | Kind::UInt8 | Kind::UInt16 => {
            Holds::Other("whole numbers of 8 or 16 bits (32 and 64 are read)")
        }
        Kind::Boolean => Holds::Other("truths (yes or no)"),
        Kind::Date32 | Kind::Date64 | Kind::Timestamp(..) => Holds::Other("dates"),
        _ => Holds::Other("neither numbers nor texts"),
    }
}

/// How much of a text is looked at for its headings.
const LOOKED_AT: u64 = 1 << 16;

fn text(
    source: &SourceFile,
    wanted: &Wanted<'_>,
    unreadable: &dyn Fn(String) -> Diagnostic,
) -> Result<(Kind, Vec<Column>), Diagnostic> {
    let mut bytes = Vec::new();
    File::open(&source.path)
        .and_then(|file| file.take(LOOKED_AT).read_to_end(&mut bytes))
        .map_err(|error| unreadable(error.to_string()))?;
    let end = match std::str::from_utf8(&bytes) {
        Ok(text) => text.len(),
        // The piece may end inside a letter.
        Err(error) if error.error_len().is_none() => error.valid_up_to(),
        Err(_) => {
            return Err(unreadable("it is not UTF-8 text".to_owned()));
        }
    };
    let whole = String::from_utf8_lossy(&bytes[..end]);
    let head = whole.trim_start_matches('\u{feff}');
    let separator = dialect::separator(head);
    let rows = scan::first(head, separator, 50);
    let Some((_, first)) = rows.first() else {
        return Err(unreadable("it is empty".to_owned()));
    };
    let headings = scan::cells(&head[first.clone()], separator);
    let columns = headings.iter().map(|heading| Column {
        name: heading.trim().to_owned(),
        heading: heading.trim().to_owned(),
        holds: Holds::Anything,
    });
    let columns: Vec<Column> = columns.collect();
    if let Some(at) = columns.iter().position(|column| column.heading.is_empty()) {
        return Err(crate::load::heads::without_heading(
            &source.name,
            at,
            cell(&source.name, Some(1), None),
        ));
    }
    let mark = wanted.data.decimal.unwrap_or_else(|| {
        let cells = rows[1..]
            .iter()
            .flat_map(|(_, row)| scan::cells(&head[row.clone()], separator));
        let commas = cells.filter(|cell| {
            let cell = cell.trim();
            cell.contains(',') && !cell.contains('.') && marks::is_number(cell)
        });
        if separator != b',' && commas.count() > 0 {
            DecimalMark::Comma
        } else {
            DecimalMark::Point
        }
    });
    Ok((Kind::Text(separator, mark), columns))
}

#[cfg(test)]
mod tests {
    #[test]
    fn folders_name_columns() {
        assert_eq!(
            super::fixed("sensor/season=2024/side=east/part.parquet"),
            [
                ("season".to_owned(), "2024".to_owned()),
                ("side".to_owned(), "east".to_owned())
            ]
        );
        assert!(super::fixed("a=b.parquet").is_empty());
    }
}
