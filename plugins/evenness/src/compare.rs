//! Treatments compared by numbers of plots: means, differences from the control, tests.

use caneplot_numerics::contrasts::{ContrastError, Estimate, Plots, Test};
use caneplot_plugin::Call;
use caneplot_plugin::words;
use caneplot_readings::{Occasion, Register, Treatments};

/// The treatments of one set of factors on one occasion.
pub(crate) struct Comparison<'a> {
    pub treatments: Treatments<'a>,
    /// Mean of each treatment, all columns together.
    pub means: Vec<Estimate>,
    /// Each treatment less the control; nothing for the control itself.
    pub differences: Vec<Option<Estimate>>,
    /// F test of each column, where the set is one factor.
    pub tests: Vec<Option<Test>>,
    /// Nothing had to be adjusted for.
    pub complete: bool,
    /// Plots count by unequal weights.
    pub weighted: bool,
    /// The treatment of each plot of the occasion.
    pub of_plot: Vec<usize>,
}

impl<'a> Comparison<'a> {
    pub fn of(
        call: &'a Call,
        register: &Register<'_>,
        occasion: &Occasion,
        columns: &[&[f64]],
        weights: Option<&[f64]>,
        factors: &[usize],
    ) -> Result<Self, ContrastError> {
        let sheet = register.sheet(&occasion.plots);
        let plots = Plots::new(&sheet, weights)?;
        let errors = plots.errors(columns)?;
        let treatments = Treatments::of(&call.request.trial, &sheet, &plots, factors)?;
        let compared = &treatments.compared;
        let all = 0..treatments.count();
        let means = all
            .clone()
            .map(|treatment| plots.mean(&errors, compared, treatment))
            .collect::<Result<_, _>>()?;
        let differences = all
            .map(|treatment| {
                if treatment == treatments.control {
                    return Ok(None);
                }
                plots
                    .difference(&errors, compared, treatment, treatments.control)
                    .map(Some)
            })
            .collect::<Result<_, _>>()?;
        let tests = (0..columns.len())
            .map(|column| plots.test(&errors, compared, column))
            .collect();
        let of_plot = (0..occasion.plots.len())
            .map(|plot| {
                let own = |(&factor, &level): (&usize, &usize)| {
                    sheet.treatments[factor].0.codes[plot] == level
                };
                let is = |levels: &Vec<usize>| factors.iter().zip(levels).all(own);
                // Every plot has a level of every factor, so it is in one of the treatments.
                compared.levels.iter().position(is).unwrap_or(0)
            })
            .collect();
        Ok(Self {
            means,
            differences,
            tests,
            complete: plots.complete(),
            weighted: plots.weighted(),
            of_plot,
            treatments,
        })
    }

    /// "n = 4 plots", "n = 3 to 4 plots".
    pub fn plots_words(&self) -> String {
        let counts = &self.treatments.compared.plots;
        let least = counts.iter().min().copied().unwrap_or(0);
        let most = counts.iter().max().copied().unwrap_or(0);
        if least == most {
            format!("n = {}", words::counted(least, "plot"))
        } else {
            format!("n = {least} to {most} plots")
        }
    }
}

/// Half the width of an interval, where the variance is one.
pub(crate) fn half_width(estimate: &Estimate, column: usize, level: f64) -> Option<f64> {
    let variance = estimate.products[column][column];
    (variance >= 0.0)
        .then(|| estimate.half_width(column, level).ok())
        .flatten()
}
