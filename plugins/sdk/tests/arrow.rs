//! Arrow C data made by hand, in the forms that another producer than polars may choose.

// The helpers here are tests as well.
#![allow(clippy::unwrap_used)]

use std::ffi::{CString, c_void};
use std::ptr::null_mut;

use caneplot_plugin::abi::{ArrowArray, ArrowSchema, Bytes, Table};
use caneplot_plugin::{Data, table_from_arrow};

/// A column with its buffers, alive as long as this is.
struct Column {
    format: CString,
    name: CString,
    buffers: Vec<*const c_void>,
    offset: i64,
    length: i64,
}

fn column(name: &str, format: &str, offset: i64, length: i64, buffers: &[*const c_void]) -> Column {
    Column {
        format: CString::new(format).unwrap(),
        name: CString::new(name).unwrap(),
        buffers: buffers.to_vec(),
        offset,
        length,
    }
}

fn address<T>(values: &[T]) -> *const c_void {
    values.as_ptr().cast()
}

/// The table of some columns: `rows` rows from `offset` on, with a validity bitmap of its own.
fn imported(
    mut columns: Vec<Column>,
    format: &str,
    offset: i64,
    rows: i64,
    validity: *const c_void,
) -> Result<caneplot_plugin::Table, String> {
    let schema =
        |format: &CString, name: &CString, children: &mut Vec<*mut ArrowSchema>| ArrowSchema {
            format: format.as_ptr(),
            name: name.as_ptr(),
            metadata: std::ptr::null(),
            flags: 0,
            n_children: children.len() as i64,
            children: children.as_mut_ptr(),
            dictionary: null_mut(),
            release: None,
            private_data: null_mut(),
        };
    let array =
        |offset, length, buffers: &mut Vec<*const c_void>, children: &mut Vec<_>| ArrowArray {
            length,
            null_count: -1,
            offset,
            n_buffers: buffers.len() as i64,
            n_children: children.len() as i64,
            buffers: buffers.as_mut_ptr(),
            children: children.as_mut_ptr(),
            dictionary: null_mut(),
            release: None,
            private_data: null_mut(),
        };
    let mut schemas: Vec<ArrowSchema> = columns
        .iter()
        .map(|column| schema(&column.format, &column.name, &mut Vec::new()))
        .collect();
    let mut arrays: Vec<ArrowArray> = columns
        .iter_mut()
        .map(|column| {
            array(
                column.offset,
                column.length,
                &mut column.buffers,
                &mut Vec::new(),
            )
        })
        .collect();
    let mut schema_children: Vec<_> = schemas.iter_mut().map(std::ptr::from_mut).collect();
    let mut array_children: Vec<_> = arrays.iter_mut().map(std::ptr::from_mut).collect();
    let format = CString::new(format).unwrap();
    let schema = schema(&format, &CString::default(), &mut schema_children);
    let mut own = vec![validity];
    let array = array(offset, rows, &mut own, &mut array_children);
    let table = Table {
        name: Bytes::new("plots"),
        schema: &raw const schema,
        array: &raw const array,
    };
    // SAFETY: everything pointed at is alive and laid out as Arrow says.
    unsafe { table_from_arrow(&table) }
}

const ALL: *const c_void = std::ptr::null();

#[test]
fn offsets_of_table_and_column_add_up_and_gaps_of_both_count() {
    let numbers = [9.0, 8.0, 1.5, f64::NAN, 3.5, 4.5];
    // Column row 3, a NaN behind a null, is missing; the bits are those of the whole buffer.
    let valid = [0b0011_0111u8];
    // Of the table the row 3 (its offset counted in) is missing.
    let table_valid = [0b0000_0111u8];
    let whole = [0i64, 10, 20, 30, 40, 50];
    let flags = [0b0010_1100u8];
    let texts = "zzyyaéb";
    let ends = [0i64, 2, 4, 5, 7, 7, 8];
    let table = imported(
        vec![
            column("a", "g", 1, 5, &[address(&valid), address(&numbers)]),
            column("b", "l", 1, 5, &[ALL, address(&whole)]),
            column("c", "b", 1, 5, &[ALL, address(&flags)]),
            column(
                "d",
                "U",
                1,
                5,
                &[ALL, address(&ends), texts.as_ptr().cast()],
            ),
        ],
        "+s",
        1,
        3,
        address(&table_valid),
    )
    .unwrap();
    let text = |text: &str| Some(text.to_owned());
    assert_eq!(table.rows, 3);
    assert_eq!(
        table.columns[0].1,
        Data::Numbers(vec![Some(1.5), None, None])
    );
    assert_eq!(
        table.columns[1].1,
        Data::Whole(vec![Some(20), Some(30), None])
    );
    assert_eq!(
        table.columns[2].1,
        Data::Flags(vec![Some(true), Some(true), None])
    );
    assert_eq!(
        table.columns[3].1,
        Data::Texts(vec![text("a"), text("é"), None])
    );
}

#[test]
fn without_rows_the_buffers_may_be_null() {
    let table = imported(
        vec![
            column("a", "g", 0, 0, &[ALL, ALL]),
            column("d", "U", 0, 0, &[ALL, ALL, ALL]),
        ],
        "+s",
        0,
        0,
        ALL,
    )
    .unwrap();
    assert_eq!(table.columns[0].1, Data::Numbers(Vec::new()));
    assert_eq!(table.columns[1].1, Data::Texts(Vec::new()));
}

#[test]
fn data_outside_the_contract_is_refused_by_column() {
    let numbers = [1.0, f64::INFINITY];
    let good = || vec![ALL, address(&numbers)];
    let crooked = [0i64, 2, 1];
    let broken = [0xffu8, 0xfe];
    let ends = [0i64, 1, 2];
    for (format, buffers, length, expected) in [
        (
            "g",
            good(),
            2,
            "column 'x' of table 'plots' holds a number that is not finite in row 1",
        ),
        (
            "g",
            good(),
            1,
            "column 'x' of table 'plots' has 1 rows instead of 2",
        ),
        (
            "f",
            good(),
            2,
            "column 'x' of table 'plots' has the Arrow format 'f'",
        ),
        (
            "l",
            vec![ALL],
            2,
            "column 'x' of table 'plots' has 1 buffers instead of 2",
        ),
        (
            "g",
            vec![ALL, ALL],
            2,
            "column 'x' of table 'plots' has rows but no buffer",
        ),
        (
            "U",
            vec![ALL, address(&crooked), address(&broken)],
            2,
            "column 'x' of table 'plots' is not UTF-8 in row 0",
        ),
        (
            "U",
            vec![ALL, address(&crooked), b"ab".as_ptr().cast()],
            2,
            "column 'x' of table 'plots' has impossible text offsets in row 1",
        ),
        (
            "U",
            vec![ALL, address(&ends), ALL],
            2,
            "column 'x' of table 'plots' has rows but no",
        ),
    ] {
        let columns = vec![column("x", format, 0, length, &buffers)];
        let refusal = imported(columns, "+s", 0, 2, ALL).unwrap_err();
        assert!(refusal.starts_with(expected), "{refusal}");
    }
    let refusal = imported(Vec::new(), "g", 0, 2, ALL).unwrap_err();
    assert_eq!(
        refusal,
        "table 'plots' has the Arrow format 'g' instead of '+s'"
    );
}
