//! The design of a set of counts: cells of treatments (and seasons), and the units they lie in.

use caneplot_numerics::counts::Grouping;
use caneplot_plugin::request::{Factor, TrialInfo};
use caneplot_plugin::{Refusal, Table};

use crate::units::{groupings, keys};
use crate::words::literal;

/// A treatment factor, or the season, with the levels that stand in the set.
#[derive(Debug, Clone)]
pub struct Dimension {
    /// In words.
    pub label: String,
    /// Place among the factors of the trial; `None` for the season.
    pub factor: Option<usize>,
    /// Names of the levels in order.
    pub names: Vec<String>,
    /// What is printed for each.
    pub labels: Vec<String>,
    /// Their quantities, where all have one.
    pub values: Option<Vec<f64>>,
    /// Unit of the quantities.
    pub unit: Option<String>,
    /// Place of the control among the levels.
    pub control: Option<usize>,
    /// Level of each count.
    pub codes: Vec<usize>,
}

impl Dimension {
    /// Number of levels.
    #[must_use]
    pub fn size(&self) -> usize {
        self.names.len()
    }
}

/// The design of a set of counts.
#[derive(Debug, Clone)]
pub struct Frame {
    /// Treatment factors with at least two levels, then the season where there are several.
    pub dimensions: Vec<Dimension>,
    /// Level of every dimension of each cell that has counts.
    pub cells: Vec<Vec<usize>>,
    /// Cell of each count.
    pub cell_of: Vec<usize>,
    /// Units from the coarsest to the finest, single counts left out.
    pub groupings: Vec<Grouping>,
    /// What a single count belongs to: "plot", or "plot and season".
    pub single: &'static str,
}

impl Frame {
    /// Whether every combination of levels has counts.
    #[must_use]
    pub fn is_complete(&self) -> bool {
        self.dimensions
            .iter()
            .map(Dimension::size)
            .product::<usize>()
            == self.cells.len()
    }

    /// The combinations without a count, in words.
    #[must_use]
    pub fn empty_cells(&self) -> Vec<String> {
        let mut all: Vec<Vec<usize>> = vec![Vec::new()];
        for dimension in &self.dimensions {
            all = all
                .into_iter()
                .flat_map(|cell| {
                    (0..dimension.size()).map(move |level| [cell.as_slice(), &[level]].concat())
                })
                .collect();
        }
        all.into_iter()
            .filter(|cell| !self.cells.contains(cell))
            .map(|cell| self.cell_words(&cell))
            .collect()
    }

    /// The levels of a cell in words.
    #[must_use]
    pub fn cell_words(&self, cell: &[usize]) -> String {
        let parts: Vec<&str> = cell
            .iter()
            .zip(&self.dimensions)
            .map(|(level, dimension)| dimension.labels[*level].as_str())
            .collect();
        parts.join(" / ")
    }

    /// Indicator columns of the cells.
    #[must_use]
    pub fn cell_columns(&self) -> Vec<Vec<f64>> {
        (0..self.cells.len())
            .map(|cell| {
                self.cell_of
                    .iter()
                    .map(|of| f64::from(*of == cell))
                    .collect()
            })
            .collect()
    }
}

/// The design of the counts in `rows` of the table of plots.
///
/// # Errors
/// Where columns of the design are missing or without words.
pub fn frame(trial: &TrialInfo, plots: &Table, rows: &[usize]) -> Result<Frame, Refusal> {
    let mut dimensions = Vec::new();
    for (at, factor) in trial.factors.iter().enumerate() {
        let dimension = treatment(plots, rows, factor, at)?;
        if dimension.size() > 1 {
            dimensions.push(dimension);
        }
    }
    let mut several = false;
    if trial.design.season {
        let season = season(plots, rows, &trial.seasons)?;
        several = season.size() > 1;
        if several {
            dimensions.push(season);
        }
    }
    let mut cells: Vec<Vec<usize>> = (0..rows.len())
        .map(|at| {
            dimensions
                .iter()
                .map(|dimension| dimension.codes[at])
                .collect()
        })
        .collect();
    let of_row = cells.clone();
    cells.sort();
    cells.dedup();
    let cell_of = of_row
        .iter()
        .map(|cell| cells.iter().position(|known| known == cell).unwrap_or(0))
        .collect();
    Ok(Frame {
        dimensions,
        cells,
        cell_of,
        groupings: groupings(trial, plots, rows, several)?,
        single: if several { "plot and season" } else { "plot" },
    })
}

fn treatment(
    plots: &Table,
    rows: &[usize],
    factor: &Factor,
    at: usize,
) -> Result<Dimension, Refusal> {
    let words = plots.texts(&factor.name)?;
    let mut places = Vec::with_capacity(rows.len());
    for row in rows {
        let word = words[*row].as_deref().unwrap_or_default();
        let place = factor
            .levels
            .iter()
            .position(|level| level.name == word)
            .ok_or_else(|| {
                Refusal::new(format!("'{word}' is no level of '{}'", factor.name))
                    .column(&factor.name)
                    .rows(vec![*row])
            })?;
        places.push(place);
    }
    let present: Vec<usize> = (0..factor.levels.len())
        .filter(|place| places.contains(place))
        .collect();
    let levels = || present.iter().map(|place| &factor.levels[*place]);
    let position = |place: usize| present.iter().position(|other| *other == place);
    let control = factor.control.as_ref().and_then(|control| {
        position(
            factor
                .levels
                .iter()
                .position(|level| level.name == *control)?,
        )
    });
    Ok(Dimension {
        label: factor.label.clone(),
        factor: Some(at),
        names: levels().map(|level| level.name.clone()).collect(),
        labels: levels().map(|level| level.label.clone()).collect(),
        values: factor
            .is_numeric()
            .then(|| levels().filter_map(|level| level.value).collect()),
        unit: factor.unit.clone(),
        control,
        codes: places.iter().filter_map(|place| position(*place)).collect(),
    })
}

fn season(plots: &Table, rows: &[usize], order: &[String]) -> Result<Dimension, Refusal> {
    let words: Vec<String> = keys(plots, &["season"], rows)?.concat();
    let mut names: Vec<String> = order
        .iter()
        .filter(|name| words.contains(name))
        .cloned()
        .collect();
    let mut others: Vec<String> = words
        .iter()
        .filter(|word| !names.contains(word))
        .cloned()
        .collect();
    others.sort();
    others.dedup();
    names.extend(others);
    let codes = words
        .iter()
        .filter_map(|word| names.iter().position(|name| name == word))
        .collect();
    Ok(Dimension {
        label: "Season".to_owned(),
        factor: None,
        labels: names.clone(),
        names,
        values: None,
        unit: None,
        control: None,
        codes,
    })
}

/// Levels of a factor in words, for a sentence.
#[must_use]
pub fn level_words(dimension: &Dimension, level: usize) -> String {
    let label = literal(&dimension.labels[level]);
    match (&dimension.unit, &dimension.values) {
        (Some(unit), Some(_)) => format!("{label} {}", literal(unit)),
        _ => label,
    }
}
