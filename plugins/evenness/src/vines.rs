//! The values of single vines, plot by plot and season by season.

use caneplot_plugin::request::{Quantity, Response};
use caneplot_plugin::{Call, Refusal};
use caneplot_readings::Register;

/// Values of one response on single vines.
pub(crate) struct Vines<'a> {
    pub response: &'a Response,
    /// By plot and season, centred on the offset of the response.
    pub values: Vec<Vec<Vec<f64>>>,
}

impl<'a> Vines<'a> {
    pub fn of(
        call: &Call,
        register: &Register<'_>,
        response: &'a Response,
    ) -> Result<Self, Refusal> {
        let table = call
            .table("vines")
            .ok()
            .filter(|table| table.has(&response.name));
        let Some(table) = table else {
            return Err(Refusal::new("it is not recorded on single vines")
                .column(&response.name)
                .hint("record it vine by vine, or leave it out of the option 'responses' of the analysis 'evenness'"));
        };
        let numbers = table.numbers(&response.name)?;
        let mut values = vec![vec![Vec::new(); register.seasons()]; register.plots()];
        for ((plot, season), number) in register.rows(table)?.into_iter().zip(numbers) {
            values[plot][season].extend(*number);
        }
        if values.iter().flatten().all(Vec::is_empty) {
            return Err(Refusal::new("it has no value at all").column(&response.name));
        }
        Ok(Self { response, values })
    }

    /// Whether the values are days on which vines came to a stage: bud break, or another that no
    /// quantity of the trade names.
    pub fn dates(&self) -> bool {
        matches!(self.response.quantity, Quantity::BudBreak | Quantity::Other)
            && self.response.counts.is_none()
            && ["day", "day of year", "days"].contains(&self.response.unit.as_str())
    }

    /// Plots and seasons with values that satisfy a condition, in words: "plot 3 of block B1 in 2021".
    pub fn named(&self, register: &Register<'_>, which: impl Fn(&[f64]) -> bool) -> Vec<String> {
        let mut names = Vec::new();
        for (plot, seasons) in self.values.iter().enumerate() {
            for (season, values) in seasons.iter().enumerate() {
                if !values.is_empty() && which(values) {
                    names.push(match register.season(season) {
                        "" => register.words(plot),
                        name => format!("{} in {name}", register.words(plot)),
                    });
                }
            }
        }
        names
    }

    /// Fewest and most vines with a value in a plot and season.
    pub fn numbers(&self) -> (usize, usize) {
        let counts = || {
            let all = self.values.iter().flatten().map(Vec::len);
            all.filter(|count| *count > 0)
        };
        (counts().min().unwrap_or(0), counts().max().unwrap_or(0))
    }

    /// One record a plot and season, `None` where there is none.
    pub fn records(
        &self,
        mut of: impl FnMut(&[f64]) -> Option<Vec<f64>>,
    ) -> Vec<Vec<Option<Vec<f64>>>> {
        self.values
            .iter()
            .map(|seasons| seasons.iter().map(|values| of(values)).collect())
            .collect()
    }
}
