//! Covariates: one value a plot, the mean of its vines where recorded on vines, in every season.

use caneplot_plugin::request::Response as Described;

use super::reduce::{self, Mean, Reduced};
use crate::decimal::Decimal;
use crate::diagnostic::Diagnostic;
use crate::load::{Loaded, Part};
use crate::trial::{Response, Trial};

/// The covariates that have a number, in the order of the trial file. Every vine with a number
/// counts, also one that died later: it lived when the covariate was recorded.
///
/// # Errors
/// Units that do not convert; numbers too large to add up.
pub fn of_plots(trial: &Trial, loaded: &Loaded) -> Result<Vec<Reduced>, Vec<Diagnostic>> {
    let mut reduced = Vec::new();
    let mut faults = Vec::new();
    for (covariate, parts) in trial.covariates.iter().zip(&loaded.covariates) {
        match one(trial, loaded, covariate, parts) {
            Ok(one) => reduced.push(one),
            Err(fault) => faults.push(fault),
        }
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    reduced.retain(Reduced::has_data);
    Ok(reduced)
}

fn one(
    trial: &Trial,
    loaded: &Loaded,
    covariate: &Response,
    parts: &[Part],
) -> Result<Reduced, Diagnostic> {
    let factor = reduce::factor(trial, covariate)?;
    let plots = means(loaded, parts).ok_or_else(|| {
        Diagnostic::error(
            "too-large",
            format!(
                "the numbers of the covariate '{}' are too large to add up",
                covariate.name
            ),
        )
        .at(trial.place(&covariate.span))
        .help("record them in a larger unit")
    })?;
    let recorded = parts.iter().map(|part| part.decimals).max().unwrap_or(0);
    let on_vines = parts
        .iter()
        .any(|part| loaded.files[part.file].vine.is_some());
    let report = covariate.report_unit.as_ref();
    let seasons = loaded.index.seasons.len();
    Ok(Reduced {
        described: Described {
            name: covariate.name.clone(),
            label: covariate.label.clone(),
            unit: report.unwrap_or(&covariate.unit).to_string(),
            quantity: covariate.quantity,
            basis: reduce::basis(&covariate.unit, report, on_vines),
            decimals: reduce::decimals(recorded, factor),
            ..Described::default()
        },
        plots: plots
            .into_iter()
            .flat_map(|mean| std::iter::repeat_n(mean, seasons))
            .collect(),
        vines: Vec::new(),
        counts: None,
        factor,
        offset: Decimal::ZERO,
    })
}

/// The mean of each plot's vines, else the plot's own value. Rows of one vine or plot agree: the
/// checks have seen to that.
fn means(loaded: &Loaded, parts: &[Part]) -> Option<Vec<Option<Mean>>> {
    let mut vines: Vec<Option<Decimal>> = vec![None; loaded.index.vines.len()];
    let mut plots: Vec<Option<Decimal>> = vec![None; loaded.index.plots.len()];
    for part in parts {
        let file = &loaded.files[part.file];
        for (row, value) in part.values.iter().enumerate() {
            let slot = match (file.vines[row], file.plots[row]) {
                (Some(vine), _) => &mut vines[vine as usize],
                (None, Some(plot)) => &mut plots[plot as usize],
                (None, None) => continue,
            };
            *slot = slot.or(*value);
        }
    }
    let mut means: Vec<Option<Mean>> = vec![None; plots.len()];
    for (vine, value) in loaded.index.vines.iter().zip(&vines) {
        let Some(value) = value else { continue };
        let mean = &mut means[vine.plot as usize];
        let (sum, number) = mean.map_or((Decimal::ZERO, 0), |mean| (mean.sum, mean.number));
        *mean = Some(Mean {
            sum: sum.checked_add(*value)?,
            number: number + 1,
        });
    }
    for (mean, value) in means.iter_mut().zip(plots) {
        *mean = mean.or(value.map(|sum| Mean { sum, number: 1 }));
    }
    Some(means)
}
