//! The amounts of a trial that yield can be taken apart by, by plot and season.

use caneplot_plugin::request::{Basis, Quantity, Response, TrialInfo};
use caneplot_plugin::{Call, Refusal, Table};
use caneplot_readings::Register;

/// An amount by plot and season; `None` where not recorded.
pub(crate) type Grid = Vec<Vec<Option<f64>>>;

/// What is read from the tables of one call.
pub(crate) struct Measures<'r, 'a> {
    pub call: &'a Call,
    pub register: &'r Register<'a>,
}

impl<'a> Measures<'_, 'a> {
    fn trial(&self) -> &'a TrialInfo {
        &self.call.request.trial
    }

    /// The response that measures a quantity, per living vine rather than per planted space.
    pub fn response(&self, quantity: Quantity) -> Option<&'a Response> {
        let mut all = self
            .trial()
            .responses
            .iter()
            .filter(|r| r.quantity == quantity);
        all.clone()
            .find(|response| response.basis != Basis::PlantedSpace)
            .or_else(|| all.next())
    }

    /// The response that says which share of nodes broke: counts before percentages, dates not at all.
    pub fn bud_break(&self) -> Option<&'a Response> {
        let all = self.trial().responses.iter();
        let mut shares = all.filter(|response| {
            response.quantity == Quantity::BudBreak
                && (response.counts.is_some() || response.unit == "%")
        });
        shares
            .clone()
            .find(|response| response.counts.is_some())
            .or_else(|| shares.next())
    }

    /// Yield per planted space beside that per living vine, made where the trial has gaps.
    pub fn yield_of_spaces(&self) -> Option<&'a Response> {
        self.trial().responses.iter().find(|response| {
            response.quantity == Quantity::Yield
                && response.basis == Basis::PlantedSpace
                && response.derived.is_some()
        })
    }

    /// Values of a response with their offset.
    pub fn values(&self, response: &Response) -> Result<Grid, Refusal> {
        let table = self.call.table("plots")?;
        let numbers = table.numbers(&response.name)?;
        self.grid(table, |row| Some(response.offset + numbers[row]?))
    }

    /// Living vines and planted spaces of each plot, where the table of plots tells; a plot without a
    /// living vine has none.
    pub fn stand(&self) -> Result<Option<(Grid, Grid)>, Refusal> {
        let table = self.call.table("plots")?;
        if !(table.has("vines_alive") && table.has("vines_planted")) {
            return Ok(None);
        }
        let (alive, planted) = (table.whole("vines_alive")?, table.whole("vines_planted")?);
        let above_zero = |value: Option<i64>| value.filter(|value| *value > 0).map(|v| v as f64);
        let (alive, planted) = (
            self.grid(table, |row| above_zero(alive[row]))?,
            self.grid(table, |row| above_zero(planted[row]))?,
        );
        // Planted spaces are not known where no vine has a status.
        let known = planted.iter().flatten().any(Option::is_some);
        Ok(known.then_some((alive, planted)))
    }

    /// Mean count and mean total a vine of a count out of a count, with whether single vines were
    /// counted. Counts of whole plots are divided by the living vines where these are known.
    pub fn counts(&self, response: &Response) -> Result<Option<(Grid, Grid, bool)>, Refusal> {
        let Some((count, of)) = &response.counts else {
            return Ok(None);
        };
        let vines = self
            .call
            .table("vines")
            .ok()
            .filter(|table| table.has(count));
        if let Some(table) = vines {
            let (count, of) = (table.whole(count)?, table.whole(of)?);
            return Ok(Some((
                self.mean_of_vines(table, count, of, |count, _| count)?,
                self.mean_of_vines(table, count, of, |_, of| of)?,
                true,
            )));
        }
        let table = self.call.table("plots")?;
        let (count, of) = (table.whole(count)?, table.whole(of)?);
        let alive = if table.has("vines_alive") {
            Some(table.whole("vines_alive")?)
        } else {
            None
        };
        let divided = |value: Option<i64>, row: usize| {
            let vines = match alive {
                Some(alive) => alive[row].filter(|vines| *vines > 0)? as f64,
                None => 1.0,
            };
            Some(value? as f64 / vines)
        };
        Ok(Some((
            self.grid(table, |row| divided(count[row], row))?,
            self.grid(table, |row| divided(of[row], row))?,
            alive.is_some(),
        )))
    }

    fn mean_of_vines(
        &self,
        table: &Table,
        count: &[Option<i64>],
        of: &[Option<i64>],
        which: fn(i64, i64) -> i64,
    ) -> Result<Grid, Refusal> {
        let mut sums = vec![vec![(0_i64, 0_u32); self.register.seasons()]; self.register.plots()];
        for (row, (plot, season)) in self.register.rows(table)?.into_iter().enumerate() {
            if let (Some(count), Some(of)) = (count[row], of[row]) {
                let (sum, vines) = &mut sums[plot][season];
                *sum += which(count, of);
                *vines += 1;
            }
        }
        let mean = |(sum, vines): (i64, u32)| (vines > 0).then(|| sum as f64 / f64::from(vines));
        Ok(sums
            .into_iter()
            .map(|seasons| seasons.into_iter().map(mean).collect())
            .collect())
    }

    fn grid(&self, table: &Table, of: impl Fn(usize) -> Option<f64>) -> Result<Grid, Refusal> {
        let mut grid = vec![vec![None; self.register.seasons()]; self.register.plots()];
        for (row, (plot, season)) in self.register.rows(table)?.into_iter().enumerate() {
            let Some(value) = of(row) else { continue };
            if grid[plot][season].replace(value).is_some() {
                return Err(Refusal::new(format!(
                    "{} has two records of one season",
                    self.register.words(plot)
                ))
                .rows(vec![row])
                .hint("give every plot a name of its own in the column of plots"));
            }
        }
        Ok(grid)
    }
}

/// One grid over or times another, place by place.
pub(crate) fn combined(a: &Grid, b: &Grid, of: fn(f64, f64) -> f64) -> Grid {
    let both = |(a, b): (&Option<f64>, &Option<f64>)| Some(of((*a)?, (*b)?));
    a.iter()
        .zip(b)
        .map(|(a, b)| a.iter().zip(b).map(both).collect())
        .collect()
}
