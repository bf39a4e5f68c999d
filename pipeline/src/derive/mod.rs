//! Units, vines to plots, ratios, season alignment: the tables that plugins get.
//!
//! In order: `records` puts every number where it belongs (plot or vine, season), `stand` counts
//! the vines, `reduce` brings vines to plots in exact decimals, `covariates` does so with what was
//! recorded before the treatments, `made` makes responses from others, `lost` counts the vines lost,
//! `ratios` lists the ratios, `tables` centres the numbers and builds the frames, `remarks` says
//! what was left out.

mod covariates;
pub mod info;
mod lost;
mod made;
mod ratios;
mod records;
mod reduce;
mod remarks;
mod stand;
mod tables;

use caneplot_plugin::request::TrialInfo;
use polars::frame::DataFrame;

use crate::diagnostic::Diagnostic;
use crate::load::Loaded;
use crate::trial::Trial;

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

/// Brings checked data to the tables that plugins get.
///
/// # Errors
/// A value that two records claim, units that do not convert, numbers too large to add up.
pub fn derive(trial: &Trial, loaded: &Loaded) -> Result<Derived, Vec<Diagnostic>> {
    let records = records::placed(trial, loaded)?;
    let stand = stand::counted(trial, loaded, &records)?;
    let declared = reduce::to_plots(trial, loaded, &records, &stand)?;
    let mut remarks = remarks::all(trial, loaded, &stand, &declared);
    let (sizes, notes) = made::sizes(trial, loaded, &records, &declared, &stand);
    remarks.extend(notes);
    let mut responses: Vec<_> = declared
        .into_iter()
        .filter(reduce::Reduced::has_data)
        .collect();
    let ratios = ratios::listed(trial, &responses);
    responses.extend(made::per_space(&responses, &stand, loaded));
    responses.extend(sizes);
    responses.extend(lost::vines_lost(trial, loaded, &stand));
    let mut covariates = covariates::of_plots(trial, loaded)?;
    tables::centre(&mut responses);
    tables::centre(&mut covariates);
    let vines = tables::vines(trial, loaded, &stand, &responses)?;
    let plots = tables::plots(trial, loaded, &stand, &responses, &covariates)?;
    let info = info::info(
        trial,
        loaded,
        responses,
        covariates,
        ratios,
        vines.is_some(),
    );
    Ok(Derived {
        info,
        plots,
        vines,
        remarks,
    })
}

#[cfg(test)]
mod any;
#[cfg(test)]
mod covariates_tests;
#[cfg(test)]
mod tests;
