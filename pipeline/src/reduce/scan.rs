//! Files with the same columns, read batch by batch.

use std::sync::{Arc, Mutex, PoisonError};

use polars::error::{PolarsError, PolarsResult, polars_err};
use polars::prelude::{
    CsvEncoding, DataFrame, DataType, Engine, Expr, Field, HiveOptions, LazyCsvReader,
    LazyFileListReader, LazyFrame, NullValues, OptFlags, PlRefPath, ScanArgsParquet, Schema, col,
};

use super::keys::{Coded, groups};
use super::layout::{Holds, Kind, Layout};
use super::locate;
use super::plan::Plan;
use super::progress::Progress;
use super::tally::{MOST_GROUPS, Stop, Tally, sums};
use crate::diagnostic::Diagnostic;
use crate::trial::DecimalMark;

/// Name of a column of keys in a batch.
fn key_name(at: usize) -> String {
    format!("key {at}")
}

/// Name of a column of values in a batch.
pub(super) fn value_name(at: usize) -> String {
    format!("value {at}")
}

/// Reads the files of a layout and adds up their records.
///
/// # Errors
/// Cells that are no numbers, damaged files, sums that are too large, more groups than plots can be.
pub(super) fn run(
    layout: &Layout,
    plan: &Arc<Plan>,
    tally: &Arc<Mutex<Tally>>,
    progress: &Progress,
) -> Result<(), Diagnostic> {
    let read = frame(layout, plan)
        .and_then(|frame| collected(frame, layout, Arc::clone(plan), Arc::clone(tally), progress));
    let stop = tally.lock().unwrap_or_else(PoisonError::into_inner).stop;
    match (stop, read) {
        (Some(stop), _) => Err(stopped(stop, plan, layout)),
        (None, Err(error)) => Err(locate::fault(layout, plan, &error)),
        (None, Ok(())) => Ok(()),
    }
}

/// The wanted columns of the files, under the names of a batch.
fn frame(layout: &Layout, plan: &Plan) -> PolarsResult<LazyFrame> {
    let paths = layout
        .paths
        .iter()
        .map(|path| PlRefPath::new(path.as_str()))
        .collect();
    let frame = match layout.kind {
        Kind::Parquet => {
            let arguments = ScanArgsParquet {
                // Folders that name columns are understood already, but not those of a network.
                hive_options: if layout.inputs.is_empty() {
                    HiveOptions::new_enabled()
                } else {
                    HiveOptions::new_disabled()
                },
                glob: layout.inputs.is_empty(),
                use_statistics: false,
                cache: false,
                ..ScanArgsParquet::default()
            };
            LazyFrame::scan_parquet_files(paths, arguments)?
        }
        Kind::Text(separator, mark) => {
            let missing = plan
                .missing
                .iter()
                .map(|code| code.as_str().into())
                .collect();
            LazyCsvReader::new_paths(paths)
                .with_has_header(true)
                .with_schema(Some(Arc::new(schema(layout, plan))))
                .with_separator(separator)
                .with_decimal_comma(mark == DecimalMark::Comma)
                .with_encoding(CsvEncoding::Utf8)
                .with_null_values(Some(NullValues::AllColumns(missing)))
                .with_raise_if_empty(false)
                .with_glob(layout.inputs.is_empty())
                .with_cache(false)
                .finish()?
        }
    };
    Ok(frame.select(wanted(layout, plan)))
}

/// Types of the columns of a text: a value is a number, whatever else is not looked at.
fn schema(layout: &Layout, plan: &Plan) -> Schema {
    let is_value = |heading: &str| {
        let is_key = plan.keys.iter().any(|key| key.heading == heading);
        !is_key && plan.values.iter().any(|value| value.heading == heading)
    };
    let columns = layout.columns.iter();
    columns
        .map(|column| {
            let kind = if is_value(&column.heading) {
                DataType::Float64
            } else {
                DataType::String
            };
            Field::new(column.name.as_str().into(), kind)
        })
        .collect()
}

fn wanted(layout: &Layout, plan: &Plan) -> Vec<Expr> {
    let mut wanted = Vec::new();
    for (at, key) in plan.keys.iter().enumerate() {
        if let Some(column) = layout.column(&key.heading) {
            wanted.push(col(column.name.as_str()).alias(key_name(at)));
        }
    }
    for (at, value) in plan.values.iter().enumerate() {
        if let Some(column) = layout.column(&value.heading) {
            let cells = col(column.name.as_str()).cast(DataType::Float64);
            wanted.push(cells.alias(value_name(at)));
        }
    }
    wanted
}

/// Runs the query; each batch is added up where it was read, and nothing of it is kept.
fn collected(
    frame: LazyFrame,
    layout: &Layout,
    plan: Arc<Plan>,
    tally: Arc<Mutex<Tally>>,
    progress: &Progress,
) -> PolarsResult<()> {
    let keys: Vec<(Option<String>, Holds)> = plan
        .keys
        .iter()
        .map(|key| {
            let fixed = layout.fixed_value(&key.heading).map(str::to_owned);
            let holds = layout
                .column(&key.heading)
                .map_or(Holds::Texts, |column| column.holds);
            (fixed, holds)
        })
        .collect();
    let progress = progress.clone();
    let add = move |batch: DataFrame| {
        let height = batch.height();
        let coded = keys
            .iter()
            .enumerate()
            .map(|(at, (fixed, holds))| match fixed {
                Some(name) => Ok(Coded::same(name, height, &plan.missing)),
                None => Coded::of(batch.column(&key_name(at))?, *holds, &plan.missing),
            });
        let groups = groups(&coded.collect::<PolarsResult<Vec<Coded>>>()?, height);
        let sums = sums(&plan, &groups, &batch)?;
        let mut tally = tally.lock().unwrap_or_else(PoisonError::into_inner);
        match sums {
            Ok(sums) => tally.add(&groups, &sums),
            Err(stop) => tally.stop = Some(stop),
        }
        if tally.stop.is_some() {
            return Err(polars_err!(ComputeError: "stopped"));
        }
        progress.add(height);
        Ok(batch.clear())
    };
    frame
        .map(add, OptFlags::STREAMING, None, Some("add up"))
        .collect_with_engine(Engine::Streaming)
        .map(|_| ())
}

fn stopped(stop: Stop, plan: &Plan, layout: &Layout) -> Diagnostic {
    match stop {
        Stop::Sum(at) => {
            let heading = &plan.values[at].heading;
            Diagnostic::error(
                "too-large",
                format!("the numbers of column '{heading}' add up to more than 9.2e18"),
            )
            .at(layout.place(Some(heading)))
            .help("write them in a larger unit; a number such as 1e30 may mean 'not recorded' and belongs into missing = [...]")
        }
        Stop::Groups => Diagnostic::error(
            "summary",
            format!("the records name more than {MOST_GROUPS} different plots, vines or seasons"),
        )
        .at(layout.place(None))
        .help(
            "name the columns that hold plots and seasons in [design], not one of places or times",
        ),
    }
}

/// What polars says of an error, its first line.
pub(super) fn first_line(error: &PolarsError) -> String {
    let text = error.to_string();
    text.lines().next().unwrap_or("").to_owned()
}
