//! The plots of one ratio: their place in the design, their two values, and what was left out.

use std::collections::BTreeMap;

use caneplot_plugin::request::{Ratio, Response, TrialInfo};
use caneplot_plugin::{Call, Refusal, Table};

/// One plot in one season, or over seasons.
#[derive(Debug, Clone, PartialEq)]
pub struct Plot {
    /// Block, row and column, those the design has.
    pub place: Vec<String>,
    /// Its name, as a reader would look it up.
    pub name: String,
    /// Index of the season in the trial's list; 0 where there is one unnamed season.
    pub season: usize,
    /// Level of each factor, as indices.
    pub levels: Vec<usize>,
    /// Value above the line less its offset.
    pub above: f64,
    /// Value below the line less its offset.
    pub below: f64,
}

/// A record that no ratio can be made of.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LeftOut {
    /// Name of the plot.
    pub name: String,
    /// Index of its season.
    pub season: usize,
    /// Why.
    pub why: Why,
}

/// Why a record was left out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Why {
    /// The response above the line was not recorded.
    NoAbove,
    /// The response below the line was not recorded.
    NoBelow,
    /// The response below the line is zero or less.
    NotPositive,
    /// Over seasons: not every season is there.
    Season,
}

/// The plots of one ratio.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Plots {
    /// Those with both values, in the order of the table.
    pub plots: Vec<Plot>,
    /// The others.
    pub left_out: Vec<LeftOut>,
    /// What is added to `above`.
    pub above_offset: f64,
    /// What is added to `below`.
    pub below_offset: f64,
    /// Turns above/below into the ratio's unit.
    pub scale: f64,
}

impl Plots {
    /// The plots of a ratio from the table `plots`.
    ///
    /// # Errors
    /// Refuses a table without a needed column, a response that is not declared, and a level of a
    /// factor that is not among the declared ones.
    pub fn of(call: &Call, ratio: &Ratio) -> Result<Self, Refusal> {
        let trial = &call.request.trial;
        let table = call.table("plots")?;
        let (above, above_offset) = column(trial, table, &ratio.of)?;
        let (below, below_offset) = match (&ratio.per, ratio.per_length) {
            (Some(per), _) => column(trial, table, per)?,
            (None, Some(length)) => (vec![Some(0.0); table.rows], length),
            (None, None) => {
                return Err(Refusal::new(format!(
                    "the ratio '{}' has nothing below the line",
                    ratio.name
                )));
            }
        };
        let places = places(trial, table)?;
        let seasons = seasons(trial, table)?;
        let levels = levels(trial, table)?;
        let mut found = Self {
            above_offset,
            below_offset,
            scale: ratio.scale,
            ..Self::default()
        };
        for row in 0..table.rows {
            let name = name(trial, table, &places[row], &levels[row], row)?;
            let why = match (above[row], below[row]) {
                (None, _) => Why::NoAbove,
                (_, None) => Why::NoBelow,
                (_, Some(value)) if value + below_offset <= 0.0 => Why::NotPositive,
                (Some(above), Some(below)) => {
                    found.plots.push(Plot {
                        place: places[row].clone(),
                        name,
                        season: seasons[row],
                        levels: levels[row].clone(),
                        above,
                        below,
                    });
                    continue;
                }
            };
            found.left_out.push(LeftOut {
                name,
                season: seasons[row],
                why,
            });
        }
        Ok(found)
    }

    /// The ratio of one plot.
    #[must_use]
    pub fn ratio(&self, plot: &Plot) -> f64 {
        (plot.above + self.above_offset) / (plot.below + self.below_offset) * self.scale
    }

    /// Seasons in which a ratio could be made of any plot, in order.
    #[must_use]
    pub fn seasons(&self) -> Vec<usize> {
        let mut seasons: Vec<usize> = self.plots.iter().map(|plot| plot.season).collect();
        seasons.sort_unstable();
        seasons.dedup();
        seasons
    }

    /// The plots of one season.
    #[must_use]
    pub fn in_season(&self, season: usize) -> Self {
        let plots = self.plots.iter().filter(|plot| plot.season == season);
        Self {
            plots: plots.cloned().collect(),
            left_out: Vec::new(),
            ..*self
        }
    }

    /// Each plot's means over the seasons. A plot that lacks a season would compare other years with
    /// the rest, so it is left out.
    ///
    /// # Errors
    /// Refuses where two records of one season cannot be told apart.
    pub fn over_seasons(&self) -> Result<Self, Refusal> {
        let seasons = self.seasons();
        if seasons.len() < 2 {
            return Ok(Self {
                plots: self.plots.clone(),
                left_out: Vec::new(),
                ..*self
            });
        }
        let mut groups: Vec<(&Plot, Vec<&Plot>)> = Vec::new();
        let mut known = BTreeMap::new();
        for plot in &self.plots {
            let key = (&plot.place, &plot.name, &plot.levels);
            let at = *known.entry(key).or_insert_with(|| {
                groups.push((plot, Vec::new()));
                groups.len() - 1
            });
            if groups[at].1.iter().any(|other| other.season == plot.season) {
                return Err(Refusal::new(format!(
                    "plot {} has two records of one season",
                    plot.name
                ))
                .hint("give every plot a name of its own in the column of plots"));
            }
            groups[at].1.push(plot);
        }
        let mut found = Self {
            left_out: Vec::new(),
            plots: Vec::new(),
            ..*self
        };
        for (first, records) in groups {
            if records.len() < seasons.len() {
                found.left_out.push(LeftOut {
                    name: first.name.clone(),
                    season: first.season,
                    why: Why::Season,
                });
                continue;
            }
            let mean = |value: fn(&Plot) -> f64| {
                let values: Vec<f64> = records.iter().map(|plot| value(plot)).collect();
                caneplot_numerics::sum::mean(&values).unwrap_or_default()
            };
            found.plots.push(Plot {
                above: mean(|plot| plot.above),
                below: mean(|plot| plot.below),
                ..first.clone()
            });
        }
        Ok(found)
    }
}

/// A response by its name.
///
/// # Errors
/// Refuses where the trial declares none of that name.
pub fn response<'a>(trial: &'a TrialInfo, name: &str) -> Result<&'a Response, Refusal> {
    let mut responses = trial.responses.iter();
    responses.find(|r| r.name == name).ok_or_else(|| {
        Refusal::new(format!(
            "a ratio is made with '{name}', which is not a response of the trial"
        ))
    })
}

/// A response's numbers and its offset.
fn column(
    trial: &TrialInfo,
    table: &Table,
    name: &str,
) -> Result<(Vec<Option<f64>>, f64), Refusal> {
    let offset = response(trial, name)?.offset;
    Ok((table.numbers(name)?.to_vec(), offset))
}

fn words(table: &Table, name: &str, row: usize) -> Result<String, Refusal> {
    table.texts(name)?[row].clone().ok_or_else(|| {
        Refusal::new(format!("the column '{name}' is empty in a row of 'plots'"))
            .column(name)
            .rows(vec![row])
    })
}

/// Block, row and column of each row of the table, those the design has.
fn places(trial: &TrialInfo, table: &Table) -> Result<Vec<Vec<String>>, Refusal> {
    let mut names = Vec::new();
    if trial.design.block {
        names.push("block");
    }
    if trial.design.row_column {
        names.extend(["row", "column"]);
    }
    (0..table.rows)
        .map(|row| names.iter().map(|name| words(table, name, row)).collect())
        .collect()
}

fn seasons(trial: &TrialInfo, table: &Table) -> Result<Vec<usize>, Refusal> {
    if !trial.design.season {
        return Ok(vec![0; table.rows]);
    }
    (0..table.rows)
        .map(|row| {
            let season = words(table, "season", row)?;
            let at = trial.seasons.iter().position(|known| *known == season);
            at.ok_or_else(|| {
                Refusal::new(format!("the season '{season}' is not one of the trial's"))
                    .column("season")
                    .rows(vec![row])
            })
        })
        .collect()
}

fn levels(trial: &TrialInfo, table: &Table) -> Result<Vec<Vec<usize>>, Refusal> {
    (0..table.rows)
        .map(|row| {
            let factors = trial.factors.iter();
            factors
                .map(|factor| {
                    let level = words(table, &factor.name, row)?;
                    let at = factor.levels.iter().position(|known| known.name == level);
                    at.ok_or_else(|| {
                        Refusal::new(format!(
                            "'{level}' is not a declared level of the factor '{}'",
                            factor.name
                        ))
                        .column(&factor.name)
                        .rows(vec![row])
                    })
                })
                .collect()
        })
        .collect()
}

/// The plot's own name, else its place and treatment.
fn name(
    trial: &TrialInfo,
    table: &Table,
    place: &[String],
    levels: &[usize],
    row: usize,
) -> Result<String, Refusal> {
    if table.has("plot") {
        return words(table, "plot", row);
    }
    let levels = trial.factors.iter().zip(levels);
    let names = levels.map(|(factor, level)| factor.levels[*level].name.clone());
    let parts: Vec<String> = place.iter().cloned().chain(names).collect();
    Ok(parts.join("-"))
}
