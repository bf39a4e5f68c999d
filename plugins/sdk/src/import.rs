//! Arrow C data as the plain vectors of [`Table`].
//!
//! Row `i` of a column is at `column.offset + table.offset + i`: a struct's own offset is not
//! applied to its children by whoever made it.

use std::ffi::CStr;

use crate::abi;
use crate::call::{Data, Table};

/// Copies a table out of the program's memory.
///
/// # Errors
/// A sentence where the data breaks the contract: another type, too short a column, text that is
/// not UTF-8, a number that is not finite.
///
/// # Safety
/// The pointers of `table` must be null or follow the Arrow C Data Interface, and stay valid during
/// the call.
pub unsafe fn table_from_arrow(table: &abi::Table) -> Result<Table, String> {
    // SAFETY: the caller's contract, for the text and both pointers.
    let (name, schema, array) = unsafe {
        (
            table.name.text().ok_or("a table's name is not UTF-8")?,
            table.schema.as_ref(),
            table.array.as_ref(),
        )
    };
    let (Some(schema), Some(array)) = (schema, array) else {
        return Err(format!("table '{name}' has no data"));
    };
    // SAFETY: a schema's format is a text closed by a zero.
    let format = unsafe { text_of(schema.format) };
    if format != "+s" {
        return Err(format!(
            "table '{name}' has the Arrow format '{format}' instead of '+s'"
        ));
    }
    if schema.n_children != array.n_children {
        return Err(format!(
            "table '{name}' has as many as {} column types for {} columns",
            schema.n_children, array.n_children
        ));
    }
    let rows = size(array.length, name, "length")?;
    let parent = Slice {
        skip: size(array.offset, name, "offset")?,
        rows,
    };
    // SAFETY: a struct array has a validity bitmap (or null) as its only buffer.
    let present = unsafe { Bits::of(array, parent.skip) };
    let mut columns = Vec::new();
    for index in 0..size(array.n_children, name, "number of columns")? {
        // SAFETY: both have `n_children` children, each a valid pointer.
        let (column_schema, column) = unsafe {
            (
                (*schema.children.add(index)).as_ref(),
                (*array.children.add(index)).as_ref(),
            )
        };
        let (Some(column_schema), Some(column)) = (column_schema, column) else {
            return Err(format!("column {index} of table '{name}' has no data"));
        };
        // SAFETY: a schema's name and format are texts closed by a zero.
        let (heading, format) =
            unsafe { (text_of(column_schema.name), text_of(column_schema.format)) };
        // SAFETY: `column` is an array of the type that `format` says.
        let data = unsafe { column_data(column, &format, &parent, &present) }
            .map_err(|fault| format!("column '{heading}' of table '{name}' {fault}"))?;
        columns.push((heading, data));
    }
    Ok(Table {
        name: name.to_owned(),
        rows,
        columns,
    })
}

/// The rows of the table inside its columns.
struct Slice {
    skip: usize,
    rows: usize,
}

/// A bitmap, or none where every bit would be set.
struct Bits {
    bytes: *const u8,
    skip: usize,
}

impl Bits {
    /// The validity bitmap of an array.
    ///
    /// # Safety
    /// `array` must follow the Arrow C Data Interface.
    unsafe fn of(array: &abi::ArrowArray, skip: usize) -> Self {
        let bytes = if array.n_buffers < 1 || array.buffers.is_null() || array.null_count == 0 {
            std::ptr::null()
        } else {
            // SAFETY: there is at least one buffer, and the first is the validity bitmap.
            unsafe { (*array.buffers).cast() }
        };
        Self { bytes, skip }
    }

    /// Bit `row`, set where there is no bitmap.
    ///
    /// # Safety
    /// The bitmap must have at least `skip + row + 1` bits.
    unsafe fn get(&self, row: usize) -> bool {
        if self.bytes.is_null() {
            return true;
        }
        let at = self.skip + row;
        // SAFETY: the caller's contract.
        unsafe { *self.bytes.add(at / 8) >> (at % 8) & 1 == 1 }
    }
}

/// # Safety
/// `column` must be an Arrow array of the type `format`.
unsafe fn column_data(
    column: &abi::ArrowArray,
    format: &str,
    parent: &Slice,
    present: &Bits,
) -> Result<Data, String> {
    let own = usize::try_from(column.offset).map_err(|_| "has a negative offset")?;
    let length = usize::try_from(column.length).map_err(|_| "has a negative length")?;
    if length < parent.skip + parent.rows {
        return Err(format!(
            "has {length} rows instead of {}",
            parent.skip + parent.rows
        ));
    }
    let buffers = if format == "U" { 3 } else { 2 };
    if !matches!(format, "g" | "l" | "b" | "U") {
        return Err(format!(
            "has the Arrow format '{format}'; only g, l, b and U are known"
        ));
    }
    if column.n_buffers != buffers {
        return Err(format!(
            "has {} buffers instead of {buffers}",
            column.n_buffers
        ));
    }
    let skip = own + parent.skip;
    // SAFETY: the caller's contract.
    let valid = unsafe { Bits::of(column, skip) };
    // SAFETY: `length` rows were checked to cover every row asked for.
    let present = |row| unsafe { present.get(row) && valid.get(row) };
    let rows = parent.rows;
    // SAFETY: there are at least two buffers.
    let buffer = |index| unsafe { *column.buffers.add(index) };
    if rows > 0 && (buffer(1).is_null() || (format == "U" && offsets_without_text(column))) {
        return Err("has rows but no buffer".to_owned());
    }
    match format {
        "g" => {
            let values: *const f64 = buffer(1).cast();
            let mut numbers = Vec::with_capacity(rows);
            for row in 0..rows {
                // SAFETY: the buffer has `own + length` numbers.
                let value = present(row).then(|| unsafe { *values.add(skip + row) });
                if value.is_some_and(|value| !value.is_finite()) {
                    return Err(format!("holds a number that is not finite in row {row}"));
                }
                numbers.push(value);
            }
            Ok(Data::Numbers(numbers))
        }
        "l" => {
            let values: *const i64 = buffer(1).cast();
            // SAFETY: the buffer has `own + length` numbers.
            let read = |row| present(row).then(|| unsafe { *values.add(skip + row) });
            Ok(Data::Whole((0..rows).map(read).collect()))
        }
        "b" => {
            let bits = Bits {
                bytes: buffer(1).cast(),
                skip,
            };
            // SAFETY: the bitmap has `own + length` bits.
            let read = |row| present(row).then(|| unsafe { bits.get(row) });
            Ok(Data::Flags((0..rows).map(read).collect()))
        }
        _ => {
            let offsets: *const i64 = buffer(1).cast();
            let bytes: *const u8 = buffer(2).cast();
            let mut texts = Vec::with_capacity(rows);
            for row in 0..rows {
                if !present(row) {
                    texts.push(None);
                    continue;
                }
                // SAFETY: there are `own + length + 1` offsets.
                let (start, end) =
                    unsafe { (*offsets.add(skip + row), *offsets.add(skip + row + 1)) };
                let (Ok(start), Ok(len)) = (usize::try_from(start), usize::try_from(end - start))
                else {
                    return Err(format!("has impossible text offsets in row {row}"));
                };
                let text = abi::Bytes {
                    ptr: bytes.wrapping_add(start),
                    len,
                };
                // SAFETY: offsets lie inside the text buffer by the Arrow format.
                let text = unsafe { text.text() };
                let text = text.ok_or_else(|| format!("is not UTF-8 in row {row}"))?;
                texts.push(Some(text.to_owned()));
            }
            Ok(Data::Texts(texts))
        }
    }
}

/// Whether a text column says that it has text but brings no buffer with it.
fn offsets_without_text(column: &abi::ArrowArray) -> bool {
    // SAFETY: called for columns with three buffers and at least one row, whose offsets begin with
    // `offset + length + 1` numbers.
    unsafe {
        let offsets: *const i64 = (*column.buffers.add(1)).cast();
        let last = usize::try_from(column.offset + column.length).unwrap_or(0);
        (*column.buffers.add(2)).is_null() && *offsets.add(last) != 0
    }
}

/// # Safety
/// `text` must be null or closed by a zero.
unsafe fn text_of(text: *const std::ffi::c_char) -> String {
    if text.is_null() {
        return String::new();
    }
    // SAFETY: not null, closed by a zero by the caller's contract.
    unsafe { CStr::from_ptr(text) }
        .to_string_lossy()
        .into_owned()
}

fn size(value: i64, table: &str, what: &str) -> Result<usize, String> {
    usize::try_from(value).map_err(|_| format!("table '{table}' has a negative {what}"))
}
