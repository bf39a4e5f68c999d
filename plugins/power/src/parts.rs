//! The parts of variance of a trial, and what they add to the strata of its design.

use crate::planned::Planned;

/// Variances, in the squared unit of the response.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Parts {
    pub whole_plots: f64,
    pub sub_plots: f64,
    pub row_strips: f64,
    pub cross_strips: f64,
    /// Plots treated alike, lasting.
    pub plots: f64,
    /// Vines of one plot, lasting.
    pub vines: f64,
    /// A plot from season to season.
    pub seasons: f64,
    /// A vine from season to season.
    pub vine_seasons: f64,
    /// A treatment from season to season, the same on all plots.
    pub treatments_by_season: f64,
}

impl Parts {
    /// What stays with a plot of so many vines.
    pub fn lasting(&self, vines: f64) -> f64 {
        self.plots + self.vines / vines
    }

    /// What is new on it every season.
    pub fn passing(&self, vines: f64) -> f64 {
        self.seasons + self.vine_seasons / vines
    }

    /// Variance of a plot's mean over the seasons.
    pub fn of_plot_mean(&self, vines: f64, seasons: f64) -> f64 {
        self.lasting(vines) + self.passing(vines) / seasons
    }

    /// The number of vines a plot that makes its mean known best for the money: the variance
    /// a + b/m at the cost c + d·m of a plot is least where m = √(b c/(a d)).
    ///
    /// `None` where vines cost nothing or plots do not vary by themselves: the more the better.
    pub fn best_vines(&self, seasons: f64, price_plot: f64, price_vine: f64) -> Option<f64> {
        let plot = self.plots + self.seasons / seasons;
        let vine = self.vines + self.vine_seasons / seasons;
        (plot > 0.0 && price_vine > 0.0).then(|| (vine * price_plot / (plot * price_vine)).sqrt())
    }

    /// The variance one unit of each stratum adds, in the order of the layout.
    pub fn of_strata(&self, planned: &Planned, vines: f64) -> Vec<f64> {
        let design = &planned.design;
        let strata = design.layout.strata().iter().enumerate();
        strata
            .map(|(at, stratum)| {
                if at == design.plots {
                    return match design.within_plots {
                        Some(_) => self.lasting(vines),
                        None => self.of_plot_mean(vines, 1.0),
                    };
                }
                if Some(at) == design.within_plots {
                    return self.passing(vines);
                }
                match stratum.name.as_str() {
                    "Between whole plots" => self.whole_plots,
                    "Between sub plots" => self.sub_plots,
                    "Between row strips" => self.row_strips,
                    "Between cross strips" => self.cross_strips,
                    // Blocks, rows and columns are not in any comparison.
                    _ => 0.0,
                }
            })
            .collect()
    }
}
