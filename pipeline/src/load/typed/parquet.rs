//! Columns of a Parquet file as Arrow arrays, one column at a time.

use std::io::Cursor;

use polars::error::{PolarsError, PolarsResult};
use polars_arrow::array::Array;
use polars_arrow::datatypes::{ArrowDataType, ArrowSchema, Field};
use polars_buffer::Buffer;
use polars_parquet::read::{
    BasicDecompressor, FileMetadata, PageReader, column_iter_to_arrays, infer_schema, read_metadata,
};

/// A Parquet file in memory.
pub(super) struct Table {
    bytes: Buffer<u8>,
    metadata: FileMetadata,
    /// Its columns as Arrow has them.
    pub(super) schema: ArrowSchema,
}

impl Table {
    /// Reads what the end of the file says about it.
    ///
    /// # Errors
    /// polars' own, for a damaged file.
    pub(super) fn new(bytes: Vec<u8>) -> PolarsResult<Self> {
        let metadata = read_metadata(&mut Cursor::new(bytes.as_slice()))?;
        let schema = infer_schema(&metadata)?;
        Ok(Self {
            bytes: Buffer::from(bytes),
            metadata,
            schema,
        })
    }

    /// Number of records.
    pub(super) fn height(&self) -> usize {
        self.metadata.num_rows
    }

    /// A column, an array or more for each group of rows.
    ///
    /// # Errors
    /// polars' own, for a damaged file.
    pub(super) fn column(&self, at: usize) -> PolarsResult<Vec<Box<dyn Array>>> {
        let damaged = |what: &str| PolarsError::ComputeError(what.to_owned().into());
        let (name, field) = self
            .schema
            .get_at_index(at)
            .ok_or_else(|| damaged("a column is not there"))?;
        let mut arrays = Vec::new();
        for group in &self.metadata.row_groups {
            let parts = group
                .columns_under_root_iter(name)
                .ok_or_else(|| damaged("a group of rows lacks a column"))?;
            let (mut pages, mut types) = (Vec::new(), Vec::new());
            for part in parts {
                let range = part.byte_range();
                if range.end > self.bytes.len() as u64 || range.start > range.end {
                    return Err(damaged("a column lies outside of the file"));
                }
                let bytes = self
                    .bytes
                    .clone()
                    .sliced(range.start as usize..range.end as usize);
                let reader = PageReader::new(Cursor::new(bytes), part, Vec::new(), usize::MAX);
                pages.push(BasicDecompressor::new(reader, Vec::new()));
                types.push(&part.descriptor().descriptor.primitive_type);
            }
            let (mut found, _) = column_iter_to_arrays(pages, types, plain(field), None)?;
            arrays.append(&mut found);
        }
        Ok(arrays)
    }
}

/// A column of categories as the texts they stand for.
fn plain(field: &Field) -> Field {
    let mut plain = field.clone();
    if let ArrowDataType::Dictionary(_, values, _) = &field.dtype {
        plain.dtype = match values.as_ref() {
            ArrowDataType::Utf8 | ArrowDataType::LargeUtf8 => ArrowDataType::Utf8View,
            other => other.clone(),
        };
    }
    plain
}
