//! What a level asks for, and the prunings that a rule of balanced pruning goes by.

use std::collections::BTreeMap;

use caneplot_plugin::request::{Factor, Quantity, Response};
use caneplot_plugin::{Call, Refusal};
use caneplot_readings::Register;

use crate::units::kilograms_per_vine;

/// Nodes a level asks for of a vine; `None` where that cannot be said.
pub(crate) fn nodes(factor: &Factor, level: usize, prunings_kg: Option<f64>) -> Option<f64> {
    let level = &factor.levels[level];
    match &level.rule {
        Some(rule) => prunings_kg.map(|kilograms| rule.nodes(kilograms)),
        None => level.value,
    }
}

/// The prunings that decide the nodes left for a season: those of the winter before it, which grew in
/// the season before.
pub(crate) struct Prunings<'a> {
    /// The response they are recorded in.
    pub response: Option<&'a Response>,
    /// The covariate that stands for the season before the first.
    pub before: Option<&'a Response>,
    /// Kilograms by plot, vine and season of growth; the vine is empty for a plot's mean.
    grown: BTreeMap<(usize, String, usize), f64>,
    /// Kilograms by plot before the trial.
    first: BTreeMap<usize, f64>,
}

impl<'a> Prunings<'a> {
    /// The prunings of a call, on vines where the nodes left are recorded on vines too.
    pub fn of(call: &'a Call, register: &Register<'_>, on_vines: bool) -> Result<Self, Refusal> {
        let trial = &call.request.trial;
        let weighs =
            |one: &&Response| one.quantity == Quantity::PruningWeight && one.derived.is_none();
        let response = trial.responses.iter().find(weighs);
        let before = trial.covariates.iter().find(weighs);
        let mut prunings = Self {
            response,
            before,
            grown: BTreeMap::new(),
            first: BTreeMap::new(),
        };
        if let Some(response) = response {
            prunings.read(call, register, response, on_vines && response.on_vines)?;
        }
        if let Some(before) = before {
            let kilograms = kilograms_per_vine(before)?;
            let table = call.table("plots")?;
            let values = table.numbers(&before.name)?;
            for ((plot, _), value) in register.rows(table)?.into_iter().zip(values) {
                if let Some(value) = value {
                    prunings
                        .first
                        .insert(plot, (value + before.offset) * kilograms);
                }
            }
        }
        Ok(prunings)
    }

    fn read(
        &mut self,
        call: &Call,
        register: &Register<'_>,
        response: &Response,
        on_vines: bool,
    ) -> Result<(), Refusal> {
        let kilograms = kilograms_per_vine(response)?;
        let table = call.table(if on_vines { "vines" } else { "plots" })?;
        let values = table.numbers(&response.name)?;
        let vines = on_vines.then(|| table.texts("vine")).transpose()?;
        for (row, (plot, season)) in register.rows(table)?.into_iter().enumerate() {
            let vine = vines
                .and_then(|vines| vines[row].clone())
                .unwrap_or_default();
            if let Some(value) = values[row] {
                let key = (plot, vine, season);
                self.grown
                    .insert(key, (value + response.offset) * kilograms);
            }
        }
        Ok(())
    }

    /// Whether single vines have prunings.
    pub fn on_vines(&self) -> bool {
        self.response.is_some_and(|response| response.on_vines)
    }

    /// Kilograms that decide the nodes of a vine (or of a plot, with an empty name) for a season after
    /// the first.
    pub fn of_vine(&self, plot: usize, vine: &str, season: usize) -> Option<f64> {
        let grown_in = season.checked_sub(1)?;
        self.grown.get(&(plot, vine.to_owned(), grown_in)).copied()
    }

    /// Kilograms a vine of a plot that decide the nodes of the first season.
    pub fn of_plot_before(&self, plot: usize) -> Option<f64> {
        self.first.get(&plot).copied()
    }
}
