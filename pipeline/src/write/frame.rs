//! The checked plot table as a person may use it: values in their units, not centred.

use caneplot_plugin::request::TrialInfo;
use polars::frame::DataFrame;
use polars::prelude::DataType;

use super::csv;

/// A table handed to the plugins as CSV text; responses and covariates have their
/// offset added again.
#[must_use]
pub fn checked_csv(frame: &DataFrame, info: &TrialInfo) -> String {
    let columns = frame.columns();
    let header: Vec<String> = columns.iter().map(|c| c.name().to_string()).collect();
    let cells: Vec<Vec<String>> = columns
        .iter()
        .map(|column| {
            let offset = info
                .responses
                .iter()
                .chain(&info.covariates)
                .find(|response| response.name == column.name().as_str())
                .map_or(0.0, |response| response.offset);
            match column.dtype() {
                DataType::Float64 => column.f64().map_or_else(
                    |_| Vec::new(),
                    |values| {
                        values
                            .iter()
                            .map(|v| v.map_or(String::new(), |v| plain(offset + v)))
                            .collect()
                    },
                ),
                DataType::Int64 => column.i64().map_or_else(
                    |_| Vec::new(),
                    |values| {
                        values
                            .iter()
                            .map(|v| v.map_or(String::new(), |v| v.to_string()))
                            .collect()
                    },
                ),
                _ => column.str().map_or_else(
                    |_| Vec::new(),
                    |values| values.iter().map(|v| v.unwrap_or("").to_owned()).collect(),
                ),
            }
        })
        .collect();
    let mut out = csv::line(&header);
    for row in 0..frame.height() {
        let fields: Vec<&str> = cells
            .iter()
            .map(|column| column.get(row).map_or("", String::as_str))
            .collect();
        out.push_str(&csv::line(&fields));
    }
    out
}

/// Fifteen significant digits, without the noise of the sixteenth.
fn plain(value: f64) -> String {
    let rounded: f64 = format!("{value:.14e}").parse().unwrap_or(value);
    super::numbers::exact(rounded)
}
