//! Records summed up by treatment and season.

use std::collections::{BTreeMap, BTreeSet};

use caneplot_numerics::sum::{mean, squares_about_mean};

use crate::options::Options;
use crate::records::Record;

/// What was done in one treatment, in one season or over all of them.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Cell {
    /// Index of the treatment.
    pub treatment: usize,
    /// `None` over all seasons.
    pub season: Option<usize>,
    pub plots: usize,
    /// Vines (or plots) and seasons with a record.
    pub records: usize,
    /// Nodes meant, mean of plots.
    pub meant: f64,
    /// Nodes left, mean of plots.
    pub left: f64,
    /// Standard deviation of nodes left minus nodes meant; `None` for a single record.
    pub spread: Option<f64>,
    /// Records within the tolerance.
    pub within: usize,
    /// Mean kilograms of prunings, mean of plots.
    pub prunings_kg: Option<f64>,
}

impl Cell {
    /// Nodes left beyond those meant.
    pub fn beyond(&self) -> f64 {
        self.left - self.meant
    }

    /// Share of records within the tolerance.
    pub fn share(&self) -> f64 {
        self.within as f64 / self.records as f64
    }

    /// Whether the mean missed what was meant.
    pub fn is_missed(&self, options: &Options) -> bool {
        !options.within(self.left, self.meant)
    }
}

/// A cell for every treatment and season with records, then one a treatment over all seasons.
pub(crate) struct Cells {
    pub by_season: Vec<Cell>,
    pub overall: Vec<Cell>,
}

/// Sums up. `treatments` is the treatment of each plot.
pub(crate) fn cells(records: &[Record], treatments: &[usize], options: &Options) -> Cells {
    let mut groups: BTreeMap<(usize, Option<usize>), Vec<&Record>> = BTreeMap::new();
    for record in records {
        let treatment = treatments[record.plot];
        for season in [None, Some(record.season)] {
            groups.entry((treatment, season)).or_default().push(record);
        }
    }
    let all = groups
        .into_iter()
        .map(|((treatment, season), records)| cell(treatment, season, &records, options));
    let (overall, by_season) = all.partition(|cell| cell.season.is_none());
    Cells { by_season, overall }
}

fn cell(treatment: usize, season: Option<usize>, records: &[&Record], options: &Options) -> Cell {
    let within = records
        .iter()
        .filter(|one| options.within(one.left, one.meant))
        .count();
    let missed: Vec<f64> = records.iter().map(|one| one.left - one.meant).collect();
    let spread = (missed.len() > 1)
        .then(|| (squares_about_mean(&missed) / (missed.len() - 1) as f64).sqrt());
    let plots: BTreeSet<usize> = records.iter().map(|one| one.plot).collect();
    let weighs = records.iter().all(|one| one.prunings_kg.is_some());
    Cell {
        treatment,
        season,
        plots: plots.len(),
        records: records.len(),
        meant: of_plots(records, |one| one.meant),
        left: of_plots(records, |one| one.left),
        spread,
        within,
        prunings_kg: weighs.then(|| of_plots(records, |one| one.prunings_kg.unwrap_or(0.0))),
    }
}

/// The mean of the means of plots and seasons, so that a plot with many vines counts once.
fn of_plots(records: &[&Record], value: impl Fn(&Record) -> f64) -> f64 {
    let mut plots: BTreeMap<(usize, usize), Vec<f64>> = BTreeMap::new();
    for record in records {
        let values = plots.entry((record.plot, record.season)).or_default();
        values.push(value(record));
    }
    let means: Vec<f64> = plots.values().filter_map(|values| mean(values)).collect();
    // A cell is made of at least one record.
    mean(&means).unwrap_or_default()
}
