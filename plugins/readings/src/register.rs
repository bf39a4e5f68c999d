//! The plots of a trial, and where the rows of its tables belong.

use std::collections::BTreeMap;

use caneplot_numerics::design::Sheet;
use caneplot_numerics::strata::Classifier;
use caneplot_plugin::request::TrialInfo;

use crate::design::{applied, kind};
use crate::{names, sheets};
use caneplot_plugin::{Call, Refusal, Table};

/// The design columns that tell plots of one name apart.
const PLACES: [&str; 3] = ["block", "row", "column"];

/// The plots of a trial in the order of the table `plots`.
#[derive(Debug, Clone)]
pub struct Register<'a> {
    trial: &'a TrialInfo,
    /// Block, row and column, those the table has.
    places: Vec<&'static str>,
    /// Values of those, and the name.
    keys: Vec<Vec<String>>,
    /// Level of each factor.
    levels: Vec<Vec<String>>,
    number: BTreeMap<Vec<String>, usize>,
}

impl<'a> Register<'a> {
    /// The plots of the table `plots`.
    ///
    /// # Errors
    /// Refuses a trial without a factor, a table without a column the design needs, empty cells in
    /// design columns, levels that are not declared, and plots with two levels of a factor.
    pub fn of(call: &'a Call) -> Result<Self, Refusal> {
        let trial = &call.request.trial;
        sheets::treated(trial)?;
        let table = call.table("plots")?;
        let places = PLACES.into_iter().filter(|name| table.has(name)).collect();
        let mut register = Self {
            trial,
            places,
            keys: Vec::new(),
            levels: Vec::new(),
            number: BTreeMap::new(),
        };
        for row in 0..table.rows {
            let key = register.key(table, row)?;
            let levels = register.levels_at(table, row)?;
            match register.number.get(&key) {
                Some(&plot) if register.levels[plot] != levels => {
                    return Err(Refusal::new(format!(
                        "{} has two sets of treatments ({} and {}); a plot keeps its treatment",
                        register.words(plot),
                        register.levels[plot].join(", "),
                        levels.join(", ")
                    ))
                    .rows(vec![row]));
                }
                Some(_) => {}
                None => {
                    register.number.insert(key.clone(), register.keys.len());
                    register.keys.push(key);
                    register.levels.push(levels);
                }
            }
        }
        Ok(register)
    }

    /// Number of plots.
    #[must_use]
    pub fn plots(&self) -> usize {
        self.keys.len()
    }

    /// Number of seasons; one where the trial names none.
    #[must_use]
    pub fn seasons(&self) -> usize {
        if self.trial.design.season {
            self.trial.seasons.len()
        } else {
            1
        }
    }

    /// A season in words.
    #[must_use]
    pub fn season(&self, season: usize) -> &str {
        self.trial.seasons.get(season).map_or("", String::as_str)
    }

    /// A plot in words: "plot 3 of block B1".
    #[must_use]
    pub fn words(&self, plot: usize) -> String {
        let key = &self.keys[plot];
        let places = self.places.iter().zip(key);
        names::plot(
            &key[key.len() - 1],
            places.map(|(place, value)| (*place, value.as_str())),
        )
    }

    /// Plot and season of each row of a table.
    ///
    /// # Errors
    /// Refuses empty cells in design columns, plots that the table `plots` does not have and seasons
    /// that are not the trial's.
    pub fn rows(&self, table: &Table) -> Result<Vec<(usize, usize)>, Refusal> {
        (0..table.rows)
            .map(|row| {
                let key = self.key(table, row)?;
                let plot = *self.number.get(&key).ok_or_else(|| {
                    Refusal::new(format!(
                        "table '{}' has a plot that the table of plots lacks: {}",
                        table.name,
                        key.join(", ")
                    ))
                    .rows(vec![row])
                })?;
                if !self.trial.design.season {
                    return Ok((plot, 0));
                }
                let season = text(table, "season", row)?;
                let known = self.trial.seasons.iter().position(|known| *known == season);
                let season = known.ok_or_else(|| {
                    Refusal::new(format!("'{season}' is not a season of the trial"))
                        .column("season")
                        .rows(vec![row])
                })?;
                Ok((plot, season))
            })
            .collect()
    }

    /// Some of the plots as the numerics take them: one value a plot.
    #[must_use]
    pub fn sheet(&self, plots: &[usize]) -> Sheet {
        let place = |name: &str| {
            let at = self.places.iter().position(|place| *place == name)?;
            let values: Vec<&str> = plots.iter().map(|&p| self.keys[p][at].as_str()).collect();
            Some(Classifier::from_texts(name, &values, &[]))
        };
        let own: Vec<&str> = plots
            .iter()
            .map(|&plot| self.keys[plot][self.places.len()].as_str())
            .collect();
        let treatments = self
            .trial
            .factors
            .iter()
            .enumerate()
            .map(|(at, factor)| {
                let order: Vec<String> = factor
                    .levels
                    .iter()
                    .map(|level| level.name.clone())
                    .collect();
                let values: Vec<&str> =
                    plots.iter().map(|&p| self.levels[p][at].as_str()).collect();
                let classifier = Classifier::from_texts(&factor.label, &values, &order);
                (classifier, applied(factor.role))
            })
            .collect();
        Sheet {
            kind: kind(self.trial.design.kind),
            block: place("block"),
            row: place("row"),
            column: place("column"),
            plot: Classifier::from_texts("plot", &own, &[]),
            season: None,
            vines: false,
            treatments,
            block_by_season: false,
        }
    }

    /// Place and name of a row's plot.
    fn key(&self, table: &Table, row: usize) -> Result<Vec<String>, Refusal> {
        self.places
            .iter()
            .copied()
            .chain(["plot"])
            .map(|name| text(table, name, row))
            .collect()
    }

    fn levels_at(&self, table: &Table, row: usize) -> Result<Vec<String>, Refusal> {
        let factors = self.trial.factors.iter();
        factors
            .map(|factor| {
                let level = text(table, &factor.name, row)?;
                if factor.levels.iter().any(|known| known.name == level) {
                    return Ok(level);
                }
                Err(sheets::undeclared(factor, &level).rows(vec![row]))
            })
            .collect()
    }
}

/// The cell of a design column.
pub(crate) fn text(table: &Table, name: &str, row: usize) -> Result<String, Refusal> {
    table.texts(name)?[row].clone().ok_or_else(|| {
        Refusal::new(format!(
            "the column '{name}' of the table '{}' has an empty cell",
            table.name
        ))
        .column(name)
        .rows(vec![row])
    })
}
