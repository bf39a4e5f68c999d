//! Values beside those of the same treatment and season, on a logarithmic scale: a wrong unit, a lost
//! decimal point or a change from season to season multiplies.

use std::collections::HashMap;

use super::robust::{cautious_spread, from_few, median};
use super::stand::Stand;
use super::{Facts, Numbers};
use crate::decimal::nearest_f64;
use crate::load::File;
use crate::load::season::Belongs;

/// Values of a treatment and season that count, and of a season to pool deviations; our choice.
const FEWEST: usize = 3;
const POOLED: usize = 12;
/// A spread is taken to be at least 2 %: values that agree better do so by their rounding.
const LEAST_SPREAD: f64 = 0.02;

/// Seasons and treatments as one number.
pub struct Grouping {
    treatments: Vec<Option<u32>>,
    count: u32,
}

impl Grouping {
    /// The treatment of every plot.
    #[must_use]
    pub fn of(facts: &Facts) -> Self {
        let mut known: HashMap<Vec<u32>, u32> = HashMap::new();
        let plots = facts.loaded.index.plots.iter();
        let treatments = plots
            .map(|plot| {
                let treatment = plot.treatment()?;
                let next = known.len() as u32;
                Some(*known.entry(treatment).or_insert(next))
            })
            .collect();
        Self {
            treatments,
            count: known.len() as u32,
        }
    }

    /// Season and treatment of a record; `None` where either is unknown.
    #[must_use]
    pub fn group(&self, file: &File, row: usize, belongs: Belongs) -> Option<u32> {
        let treatment = self.treatments[file.plots[row]? as usize]?;
        let season = match file.season {
            Some(_) => file.season_of(row, belongs)?,
            None => 0,
        };
        Some(self.key(season, treatment))
    }

    /// Season and treatment of a plot; `None` where its treatment is unknown.
    #[must_use]
    pub fn group_of_plot(&self, plot: u32, season: u32) -> Option<u32> {
        Some(self.key(season, self.treatments[plot as usize]?))
    }

    fn key(&self, season: u32, treatment: u32) -> u32 {
        season * self.count + treatment
    }

    fn season(&self, group: u32) -> u32 {
        group / self.count.max(1)
    }
}

/// A value and the season and treatment it belongs to.
pub type Item = Option<(u32, f64)>;

/// Middle and spread of the logarithms of every treatment and season.
pub struct Mates {
    /// Median of each group, if it has enough values.
    middles: HashMap<u32, f64>,
    /// Spread of each season.
    spreads: HashMap<u32, f64>,
    count: u32,
}

impl Mates {
    /// From values above 0 with their groups; others are passed over.
    #[must_use]
    pub fn of(grouping: &Grouping, items: &[Item]) -> Self {
        let mut groups: HashMap<u32, Vec<f64>> = HashMap::new();
        for (group, value) in items.iter().flatten() {
            if *value > 0.0 {
                groups.entry(*group).or_default().push(value.ln());
            }
        }
        groups.retain(|_, values| values.len() >= FEWEST);
        let mut middles = HashMap::new();
        let mut away: HashMap<u32, Vec<f64>> = HashMap::new();
        for (group, values) in groups {
            let middle = median(values.clone());
            middles.insert(group, middle);
            let few = from_few(values.len());
            let of_season = away.entry(grouping.season(group)).or_default();
            of_season.extend(values.iter().map(|value| (value - middle).abs() * few));
        }
        let spreads = away
            .into_iter()
            .filter(|(_, away)| away.len() >= POOLED)
            .map(|(season, away)| (season, cautious_spread(away).max(LEAST_SPREAD)))
            .collect();
        Self {
            middles,
            spreads,
            count: grouping.count,
        }
    }

    /// How many robust standard deviations a value is from the middle of a group.
    #[must_use]
    pub fn distance(&self, group: u32, value: f64) -> Option<f64> {
        let spread = self.spread(group)?;
        (value > 0.0)
            .then(|| Some((value.ln() - self.middles.get(&group)?) / spread))
            .flatten()
    }

    /// Robust standard deviation of logarithms in the season of a group.
    #[must_use]
    pub fn spread(&self, group: u32) -> Option<f64> {
        let season = group / self.count.max(1);
        self.spreads.get(&season).copied()
    }

    /// Median of a group, in its unit.
    #[must_use]
    pub fn middle(&self, group: u32) -> Option<f64> {
        self.middles.get(&group).map(|middle| middle.exp())
    }
}

/// The values of a column with their groups, those of dead and missing vines left out.
#[must_use]
pub fn items(grouping: &Grouping, numbers: &Numbers, stand: Option<&Stand>) -> Vec<Item> {
    let belongs = numbers.file.belongs(numbers.response.quantity);
    let values = numbers.part.values.iter().enumerate();
    values
        .map(|(row, value)| {
            let value = nearest_f64((*value)?);
            let gap = stand.is_some_and(|stand| stand.gap(numbers, row).is_some());
            let group = grouping.group(numbers.file, row, belongs)?;
            (!gap).then_some((group, value))
        })
        .collect()
}

/// Median of the vines of each plot and season (of its one record, where it has one), with the
/// records it was made of; in the order of plots and seasons.
#[must_use]
pub fn plots(numbers: &Numbers, items: &[Item]) -> Vec<PlotValue> {
    let belongs = numbers.file.belongs(numbers.response.quantity);
    let mut held: HashMap<(u32, u32), Vec<usize>> = HashMap::new();
    for (row, item) in items.iter().enumerate() {
        if let (Some((_, value)), Some(plot)) = (item, numbers.file.plots[row])
            && *value > 0.0
        {
            let season = numbers.file.season_of(row, belongs).unwrap_or(0);
            held.entry((plot, season)).or_default().push(row);
        }
    }
    let mut plots: Vec<PlotValue> = held
        .into_iter()
        .map(|((plot, season), rows)| PlotValue {
            plot,
            season,
            value: median(
                rows.iter()
                    .filter_map(|row| items[*row].map(|(_, value)| value))
                    .collect(),
            ),
            rows,
        })
        .collect();
    plots.sort_by_key(|one| (one.plot, one.season));
    plots
}

/// The middle of a plot in a season.
pub struct PlotValue {
    /// Index of the plot.
    pub plot: u32,
    /// Index of the season.
    pub season: u32,
    /// Median of its records.
    pub value: f64,
    /// Its records.
    pub rows: Vec<usize>,
}
