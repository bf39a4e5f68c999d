//! Tables whose columns have types (Parquet, Arrow's file) as columns of text, which is what every
//! other file is read as.
//!
//! A double becomes the shortest decimal that reads back as the same double, a date 2021-04-17; whole
//! numbers, decimals and texts lose nothing anyway. Columns are read at the level of Arrow, because
//! the data frame has not all types switched on.

mod cells;
mod kinds;
mod parquet;

use std::io::Cursor;
use std::panic::{AssertUnwindSafe, catch_unwind};

use polars::error::{PolarsError, PolarsResult};
use polars_arrow::array::Array;
use polars_arrow::datatypes::Field;
use polars_arrow::io::ipc::read::{FileReader, read_file_metadata};

use super::heads::{self, Wanted};
use super::opened::{Body, Cell, Opened, Origin};
use super::text::list;
use crate::diagnostic::Diagnostic;

/// A column: where it stands, what it holds.
type Fields = Vec<Field>;

/// Opens a Parquet or Arrow file and reads its columns as text.
///
/// # Errors
/// A file that is neither or is damaged; a column the trial speaks of whose cells are lists, bytes or
/// truths; headings empty or twice; keys of `[[data]]` that are for texts.
pub fn opened(bytes: Vec<u8>, wanted: &Wanted<'_>) -> Result<Opened, Vec<Diagnostic>> {
    let sha256 = crate::hash::sha256(&bytes);
    let size = bytes.len() as u64;
    let origin = Origin {
        path: wanted.data.file.value.clone(),
        numbered: true,
        ..Origin::default()
    };
    let damaged = |error: &str| vec![unreadable(&origin, error)];
    let table = whole(bytes).map_err(|error| damaged(&error.to_string()))?;
    let fields = table.fields();
    let headings: Vec<String> = fields
        .iter()
        .map(|field| field.name.trim().to_owned())
        .collect();
    let mut faults = heads::faults(&origin, 0, &headings);
    let mut left: Vec<String> = Vec::new();
    let mut read: Vec<usize> = Vec::new();
    for (at, field) in fields.iter().enumerate() {
        match kinds::unread(&field.dtype) {
            None => read.push(at),
            Some(what) if wanted.knows(&headings[at]) => {
                faults.push(unread(&origin, &headings[at], what));
            }
            Some(_) => left.push(format!("'{}'", headings[at])),
        }
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let columns = quietly(|| table.columns(&read)).map_err(|error| damaged(&error.to_string()))?;
    let height = table.height();
    if columns.iter().any(|column| column.len() != height) {
        return Err(damaged("its columns are of different lengths"));
    }
    let remarks = (!left.is_empty()).then(|| {
        let (word, verb) = if left.len() == 1 {
            ("column", "holds")
        } else {
            ("columns", "hold")
        };
        let message = format!(
            "{word} {} of {} {verb} neither numbers nor texts nor dates and cannot be read",
            list(&left),
            origin.name()
        );
        Diagnostic::note("unread-columns", message).at(origin.place(None, None))
    });
    Ok(Opened {
        headings: read.iter().map(|at| headings[*at].clone()).collect(),
        sha256,
        bytes: size,
        header_line: 0,
        lines: (1..=height).collect(),
        remarks: remarks.into_iter().collect(),
        body: Body::Cells(columns),
        origin,
    })
}

/// A table in memory, its columns not read yet.
enum Table {
    Parquet(parquet::Table),
    Arrow(Vec<u8>, polars_arrow::io::ipc::read::FileMetadata, usize),
}

/// First bytes of a Parquet file.
const PARQUET: &[u8] = b"PAR1";

/// First bytes of an Arrow file.
const ARROW: &[u8] = b"ARROW1";

/// The table, whichever of the two kinds it is: its bytes tell, whatever its ending.
fn whole(bytes: Vec<u8>) -> PolarsResult<Table> {
    if bytes.starts_with(PARQUET) {
        return quietly(|| parquet::Table::new(bytes).map(Table::Parquet));
    }
    if !bytes.starts_with(ARROW) {
        return Err(PolarsError::ComputeError(
            "it is neither a Parquet file nor an Arrow file".into(),
        ));
    }
    quietly(|| {
        let mut cursor = Cursor::new(bytes);
        let metadata = read_file_metadata(&mut cursor)?;
        let rows = polars_arrow::io::ipc::read::get_row_count(&mut cursor)?;
        let height = usize::try_from(rows).unwrap_or(0);
        Ok(Table::Arrow(cursor.into_inner(), metadata, height))
    })
}

/// What reads damaged files must not end the program: its panics become errors.
fn quietly<T>(work: impl FnOnce() -> PolarsResult<T>) -> PolarsResult<T> {
    catch_unwind(AssertUnwindSafe(work))
        .unwrap_or_else(|_| Err(PolarsError::ComputeError("its inside is damaged".into())))
}

impl Table {
    fn fields(&self) -> Fields {
        match self {
            Table::Parquet(table) => table.schema.iter_values().cloned().collect(),
            Table::Arrow(_, metadata, _) => metadata.schema.iter_values().cloned().collect(),
        }
    }

    fn height(&self) -> usize {
        match self {
            Table::Parquet(table) => table.height(),
            Table::Arrow(_, _, height) => *height,
        }
    }

    /// Some columns, in the order of the file, as cells.
    fn columns(&self, read: &[usize]) -> PolarsResult<Vec<Vec<Cell>>> {
        let mut columns: Vec<Vec<Cell>> = vec![Vec::with_capacity(self.height()); read.len()];
        match self {
            Table::Parquet(table) => {
                for (at, cells) in read.iter().zip(&mut columns) {
                    for array in table.column(*at)? {
                        cells::put(array.as_ref(), cells);
                    }
                }
            }
            Table::Arrow(bytes, metadata, _) => {
                let cursor = Cursor::new(bytes.as_slice());
                let projection = Some(read.to_vec());
                for batch in FileReader::new(cursor, metadata.clone(), projection, None) {
                    let batch = batch?;
                    for (array, cells) in batch.arrays().iter().zip(&mut columns) {
                        let array: &dyn Array = array.as_ref();
                        cells::put(array, cells);
                    }
                }
            }
        }
        Ok(columns)
    }
}

fn unreadable(origin: &Origin, error: &str) -> Diagnostic {
    let name = origin.name();
    Diagnostic::error("unreadable-file", format!("{name} cannot be read: {error}"))
        .at(origin.place(None, None))
        .help("write the file again, or save the table as CSV and name that file")
}

fn unread(origin: &Origin, heading: &str, what: &str) -> Diagnostic {
    Diagnostic::error(
        "column-type",
        format!(
            "column '{heading}' of {} holds {what}, and a record needs a number, a text or a date there",
            origin.name()
        ),
    )
    .at(origin.place(None, Some(heading)))
    .help("write the column with one number, text or date a row")
}
