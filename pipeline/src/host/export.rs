//! A data frame as Arrow C data: the form in which tables cross to a plugin.

use std::fs::File;
use std::path::Path;

use caneplot_plugin::abi;
use polars::prelude::{
    CompatLevel, DataFrame, DataType, IpcReader, IpcWriter, SerReader, SerWriter,
};
use polars_arrow::array::StructArray;
use polars_arrow::datatypes::{ArrowDataType, Field};
use polars_arrow::ffi;

/// A table in the C form, alive as long as this is.
pub struct Exported {
    name: String,
    schema: Box<ffi::ArrowSchema>,
    array: Box<ffi::ArrowArray>,
}

impl Exported {
    /// Exports a frame of float64, int64, boolean and text columns.
    ///
    /// # Errors
    /// A sentence about a column of another type, or with a number that is not finite.
    pub fn new(name: &str, frame: &DataFrame) -> Result<Self, String> {
        let mut fields = Vec::new();
        let mut arrays = Vec::new();
        for column in frame.columns() {
            match column.dtype() {
                DataType::Int64 | DataType::Boolean | DataType::String => {}
                DataType::Float64 => {
                    let numbers = column.f64().map_err(|error| error.to_string())?;
                    if numbers.iter().flatten().any(|number| !number.is_finite()) {
                        return Err(format!(
                            "column '{}' of table '{name}' holds a number that is not finite",
                            column.name()
                        ));
                    }
                }
                other => {
                    return Err(format!(
                        "column '{}' of table '{name}' is of type {other}, which plugins do not know",
                        column.name()
                    ));
                }
            }
            // The oldest level has plain large texts; the newest has string views, hard to read in C.
            let array = column.clone().rechunk_to_arrow(CompatLevel::oldest());
            fields.push(Field::new(
                column.name().clone(),
                array.dtype().clone(),
                true,
            ));
            arrays.push(array);
        }
        let dtype = ArrowDataType::Struct(fields);
        let array = StructArray::try_new(dtype.clone(), frame.height(), arrays, None)
            .map_err(|error| error.to_string())?;
        let field = Field::new(name.into(), dtype, false);
        Ok(Self {
            name: name.to_owned(),
            schema: Box::new(ffi::export_field_to_c(&field)),
            array: Box::new(ffi::export_array_to_c(Box::new(array))),
        })
    }

    /// The C struct, to be used no longer than this is alive.
    #[must_use]
    pub fn table(&self) -> abi::Table {
        abi::Table {
            name: abi::Bytes::new(&self.name),
            // polars' structs keep their members private, but are the same standard layout.
            schema: std::ptr::from_ref(&*self.schema).cast(),
            array: std::ptr::from_ref(&*self.array).cast(),
        }
    }
}

/// Writes a table into a job folder.
///
/// # Errors
/// A sentence with the system's words.
pub fn write_table(frame: &DataFrame, path: &Path) -> Result<(), String> {
    let file = File::create(path).map_err(|error| error.to_string())?;
    IpcWriter::new(file)
        .finish(&mut frame.clone())
        .map_err(|error| error.to_string())
}

/// Reads a table from a job folder.
///
/// # Errors
/// A sentence with the system's words.
pub fn read_table(path: &Path) -> Result<DataFrame, String> {
    let file =
        File::open(path).map_err(|error| format!("{} cannot be read: {error}", path.display()))?;
    IpcReader::new(file)
        .finish()
        .map_err(|error| format!("{} cannot be read: {error}", path.display()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use caneplot_plugin::{Data, table_from_arrow};
    use polars::prelude::df;

    fn sent(frame: &DataFrame) -> caneplot_plugin::Table {
        let exported = Exported::new("plots", frame).unwrap();
        // SAFETY: `exported` is alive.
        unsafe { table_from_arrow(&exported.table()) }.unwrap()
    }

    fn frame() -> DataFrame {
        df!(
            "block" => [Some("A"), None, Some("Überlingen"), Some("")],
            "yield" => [Some(1.5), None, Some(-0.0), Some(1e300)],
            "of" => [Some(1i64), Some(i64::MIN), None, Some(4)],
            "kept" => [Some(true), Some(false), None, Some(true)],
        )
        .unwrap()
    }

    #[test]
    fn every_kind_of_column_crosses_with_its_gaps() {
        let table = sent(&frame());
        assert_eq!(table.rows, 4);
        let text = |text: &str| Some(text.to_owned());
        assert_eq!(
            table.columns,
            vec![
                (
                    "block".to_owned(),
                    Data::Texts(vec![text("A"), None, text("Überlingen"), text("")])
                ),
                (
                    "yield".to_owned(),
                    Data::Numbers(vec![Some(1.5), None, Some(-0.0), Some(1e300)])
                ),
                (
                    "of".to_owned(),
                    Data::Whole(vec![Some(1), Some(i64::MIN), None, Some(4)])
                ),
                (
                    "kept".to_owned(),
                    Data::Flags(vec![Some(true), Some(false), None, Some(true)])
                ),
            ]
        );
    }

    /// A slice keeps the buffers of the whole and says from where; so does a stack of chunks.
    #[test]
    fn slices_and_chunks_cross_as_what_they_show() {
        let whole = sent(&frame());
        let part = sent(&frame().slice(1, 2));
        let twice = sent(&frame().vstack(&frame().slice(2, 2)).unwrap());
        for (column, (_, data)) in whole.columns.iter().enumerate() {
            macro_rules! check {
                ($kind:path, $values:ident) => {{
                    let ($kind(part), $kind(twice)) =
                        (&part.columns[column].1, &twice.columns[column].1)
                    else {
                        panic!("another kind");
                    };
                    assert_eq!(part, &$values[1..3]);
                    assert_eq!(&twice[..4], &$values[..]);
                    assert_eq!(&twice[4..], &$values[2..]);
                }};
            }
            match data {
                Data::Numbers(values) => check!(Data::Numbers, values),
                Data::Whole(values) => check!(Data::Whole, values),
                Data::Flags(values) => check!(Data::Flags, values),
                Data::Texts(values) => check!(Data::Texts, values),
            }
        }
    }

    #[test]
    fn a_table_without_rows_crosses() {
        let table = sent(&frame().slice(0, 0));
        assert_eq!(table.rows, 0);
        assert_eq!(table.columns[1].1, Data::Numbers(Vec::new()));
        assert_eq!(table.columns[0].1, Data::Texts(Vec::new()));
    }

    #[test]
    fn what_plugins_do_not_know_is_refused_by_column() {
        let nan = df!("brix" => [1.0, f64::NAN]).unwrap();
        assert!(Exported::new("plots", &nan).is_err_and(|text| text.contains("'brix'")));
        let narrow = df!("rows" => [1i32]).unwrap();
        assert!(Exported::new("plots", &narrow).is_err_and(|text| text.contains("'rows'")));
    }

    #[test]
    fn a_table_survives_its_file() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("plots.arrow");
        write_table(&frame(), &path).unwrap();
        assert!(read_table(&path).unwrap().equals_missing(&frame()));
    }
}
