//! Files at an address in a network: an object store (s3://) or a server (https://).
//!
//! They are read once, so they are not hashed: the record of a run holds the hash of their summaries.

use polars::prelude::{
    DataType, HiveOptions, LazyCsvReader, LazyFileListReader, LazyFrame, PlRefPath, PolarsResult,
    ScanArgsParquet, SchemaRef,
};

use super::layout::{Column, Holds, Kind, Layout};
use super::scan::first_line;
use crate::diagnostic::Diagnostic;
use crate::load::heads::Wanted;
use crate::trial::DecimalMark;

/// The columns of the files at an address.
///
/// # Errors
/// An address that is of no kind of file, or does not answer.
pub(super) fn layout(address: &str, wanted: &Wanted<'_>) -> Result<Layout, Diagnostic> {
    let fault = |message: String| {
        Diagnostic::error("network", message).at(wanted.trial.place(&wanted.data.file.span))
    };
    let name = address.split('?').next().unwrap_or(address).to_lowercase();
    let kind = if name.ends_with(".parquet") {
        Kind::Parquet
    } else if name.ends_with(".csv") || name.ends_with(".txt") {
        let mark = wanted.data.decimal.unwrap_or(DecimalMark::Point);
        let separator = if mark == DecimalMark::Comma {
            b';'
        } else {
            b','
        };
        Kind::Text(separator, mark)
    } else if name.ends_with(".tsv") {
        Kind::Text(b'\t', wanted.data.decimal.unwrap_or(DecimalMark::Point))
    } else {
        return Err(
            fault(format!("'{address}' does not end in .parquet or .csv"))
                .help("name the files: s3://bucket/sensor/*.parquet"),
        );
    };
    let schema = schema(address, kind).map_err(|error| {
        fault(format!("'{address}' cannot be read: {}", first_line(&error)))
            .help("look whether the address is right and may be read from here; names and keys of a store are taken from its usual environment variables")
    })?;
    let columns = schema.iter().map(|(name, holds)| Column {
        name: name.to_string(),
        heading: name.trim().to_owned(),
        holds: match (kind, holds) {
            (Kind::Text(..), _) => Holds::Anything,
            (_, DataType::String) => Holds::Texts,
            (_, DataType::Int32 | DataType::Int64 | DataType::UInt32 | DataType::UInt64) => {
                Holds::Wholes
            }
            (_, DataType::Float32 | DataType::Float64) => Holds::Numbers,
            _ => Holds::Other("neither numbers nor texts"),
        },
    });
    Ok(Layout {
        paths: vec![address.to_owned()],
        inputs: Vec::new(),
        kind,
        columns: columns.collect(),
        fixed: Vec::new(),
        records: None,
    })
}

fn schema(address: &str, kind: Kind) -> PolarsResult<SchemaRef> {
    let path = PlRefPath::new(address);
    let mut frame = match kind {
        Kind::Parquet => {
            let arguments = ScanArgsParquet {
                hive_options: HiveOptions::new_enabled(),
                ..ScanArgsParquet::default()
            };
            LazyFrame::scan_parquet(path, arguments)?
        }
        Kind::Text(separator, _) => LazyCsvReader::new(path)
            .with_separator(separator)
            .with_infer_schema_length(Some(0))
            .finish()?,
    };
    frame.collect_schema()
}
