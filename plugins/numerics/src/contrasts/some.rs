//! The sheet of some of the plots of a trial.

use crate::design::{Applied, Sheet};
use crate::strata::Classifier;

impl Sheet {
    /// The sheet of some of its plots, factors without a plot losing their levels.
    #[must_use]
    pub fn of_plots(&self, plots: &[usize]) -> Self {
        let some = |classifier: &Classifier| {
            let names: Vec<&str> = plots
                .iter()
                .map(|&plot| classifier.levels[classifier.codes[plot]].as_str())
                .collect();
            Classifier::from_texts(&classifier.name, &names, &classifier.levels)
        };
        let kept = |classifier: &Option<Classifier>| classifier.as_ref().map(some);
        let treatments: Vec<(Classifier, Applied)> = self
            .treatments
            .iter()
            .map(|(factor, applied)| (some(factor), *applied))
            .collect();
        Self {
            kind: self.kind,
            block: kept(&self.block),
            row: kept(&self.row),
            column: kept(&self.column),
            plot: some(&self.plot),
            season: kept(&self.season),
            vines: self.vines,
            treatments,
            block_by_season: self.block_by_season,
        }
    }
}
