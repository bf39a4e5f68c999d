//! Units, vines to plots, ratios, season alignment: the tables that plugins get.

use caneplot_plugin::request::TrialInfo;
use polars::frame::DataFrame;

use crate::diagnostic::Diagnostic;

/// What plugins get, and what was noticed on the way.
#[derive(Debug, Clone)]
pub struct Derived {
    /// The trial as plugins see it.
    pub info: TrialInfo,
    /// One row a plot (and season), columns as `caneplot_plugin::request` says.
    pub plots: DataFrame,
    /// One row a living vine (and season).
    pub vines: Option<DataFrame>,
    /// Remarks for the report.
    pub remarks: Vec<Diagnostic>,
}
