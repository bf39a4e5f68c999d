//! The values of one response by plot and season.

use caneplot_plugin::request::{Quantity, Response};
use caneplot_plugin::{Call, Refusal, words};
use caneplot_readings::Register;

/// A response with its values.
#[derive(Debug, Clone)]
pub(crate) struct Records {
    /// The response; of values made here, a description made here.
    pub response: Response,
    /// By plot and season, centred on the offset of the response.
    pub values: Vec<Vec<Option<f64>>>,
    /// Solids yield, made here of crop and Brix.
    solids: bool,
}

impl Records {
    /// The values of a response in the table of plots; `rows` are plot and season of each of its rows.
    pub fn of(
        call: &Call,
        register: &Register<'_>,
        rows: &[(usize, usize)],
        response: &Response,
    ) -> Result<Self, Refusal> {
        let column = call.table("plots")?.numbers(&response.name)?;
        let mut values = vec![vec![None; register.seasons()]; register.plots()];
        for (row, &(plot, season)) in rows.iter().enumerate() {
            let cell: &mut Option<f64> = &mut values[plot][season];
            if cell.is_some() && column[row].is_some() {
                return Err(Refusal::new(format!(
                    "{} has several values of '{}' in {}",
                    register.words(plot),
                    response.label,
                    register.season(season)
                ))
                .column(&response.name)
                .rows(vec![row]));
            }
            *cell = cell.or(column[row]);
        }
        if values.iter().flatten().all(Option::is_none) {
            return Err(
                Refusal::new(format!("'{}' has no value at all", response.label))
                    .column(&response.name),
            );
        }
        Ok(Self {
            response: response.clone(),
            values,
            solids: false,
        })
    }

    /// Solids yield of every plot and season: crop × Brix/100.
    pub fn solids(crop: &Self, brix: &Self) -> Option<Self> {
        let product = |crop_row: &[Option<f64>], brix_row: &[Option<f64>]| {
            let cells = crop_row.iter().zip(brix_row);
            cells
                .map(|(a, b)| {
                    let (a, b) = (crop.response.offset + (*a)?, brix.response.offset + (*b)?);
                    Some(a * b / 100.0)
                })
                .collect::<Vec<Option<f64>>>()
        };
        let mut values: Vec<Vec<Option<f64>>> = crop
            .values
            .iter()
            .zip(&brix.values)
            .map(|(a, b)| product(a, b))
            .collect();
        let offset = values.iter().flatten().find_map(|value| *value)?;
        for value in values.iter_mut().flatten().flatten() {
            *value -= offset;
        }
        Some(Self {
            response: Response {
                name: "solids_yield".to_owned(),
                label: "Solids yield".to_owned(),
                unit: crop.response.unit.clone(),
                quantity: Quantity::Other,
                basis: crop.response.basis,
                offset,
                offset_text: String::new(),
                decimals: (crop.response.decimals + 1).min(4),
                counts: None,
                on_vines: false,
                derived: Some(format!(
                    "{} × {} / 100 of every plot and season",
                    words::inside(&crop.response.label),
                    words::inside(&brix.response.label)
                )),
            },
            values,
            solids: true,
        })
    }

    /// Those of the given seasons in which some plot has a value.
    pub fn recorded(&self, seasons: &[usize]) -> Vec<usize> {
        let some = |season: usize| self.values.iter().any(|plot| plot[season].is_some());
        seasons
            .iter()
            .copied()
            .filter(|&season| some(season))
            .collect()
    }

    /// Plots with a value in every one of these seasons.
    pub fn complete(&self, seasons: &[usize]) -> Vec<usize> {
        let whole = |plot: &usize| seasons.iter().all(|&s| self.values[*plot][s].is_some());
        (0..self.values.len()).filter(whole).collect()
    }

    /// What keeps plots from being complete: "plot 3 of block B1 has no value in 2022".
    pub fn lacking(&self, register: &Register<'_>, seasons: &[usize]) -> Vec<String> {
        let mut found = Vec::new();
        for (plot, row) in self.values.iter().enumerate() {
            let empty: Vec<&str> = seasons
                .iter()
                .filter(|&&season| row[season].is_none())
                .map(|&season| register.season(season))
                .collect();
            if empty.is_empty() {
                continue;
            }
            let plot = register.words(plot);
            found.push(if empty.len() == seasons.len() && seasons.len() > 1 {
                format!("{plot} has no value in any season")
            } else {
                format!("{plot} has no value in {}", words::list(&empty))
            });
        }
        found
    }

    /// The values of some plots in one season, centred.
    pub fn column(&self, plots: &[usize], season: usize) -> Vec<f64> {
        plots
            .iter()
            .filter_map(|&plot| self.values[plot][season])
            .collect()
    }

    /// Whether values of several seasons may be added up to something that means more than its mean.
    pub fn adds_up(&self) -> bool {
        self.solids
            || matches!(
                self.response.quantity,
                Quantity::Yield
                    | Quantity::ClusterCount
                    | Quantity::PruningWeight
                    | Quantity::Labour
            )
    }

    /// Whether it is a crop, which can alternate.
    pub fn is_crop(&self) -> bool {
        self.adds_up()
            && !matches!(
                self.response.quantity,
                Quantity::PruningWeight | Quantity::Labour
            )
    }
}
