//! How many vines stand behind the values of plots.

use std::collections::BTreeMap;

use caneplot_plugin::findings::{Format, Rank, Statement};
use caneplot_plugin::words::counted;
use caneplot_plugin::{Call, Refusal};
use caneplot_readings::Register;

/// Living vines in the plots of a trial.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Vines {
    fewest: usize,
    most: usize,
    living: usize,
    /// Planted in all plots and seasons that have living vines, where the trial says how many a plot
    /// has.
    planted: Option<usize>,
}

/// The living vines; `None` where single vines are not recorded.
pub(crate) fn of(call: &Call) -> Result<Option<Vines>, Refusal> {
    let design = &call.request.trial.design;
    let Some(table) = call.tables.iter().find(|table| table.name == "vines") else {
        return Ok(None);
    };
    if !design.vine || table.rows == 0 {
        return Ok(None);
    }
    let mut of_plot: BTreeMap<(usize, usize), usize> = BTreeMap::new();
    for place in Register::of(call)?.rows(table)? {
        *of_plot.entry(place).or_insert(0) += 1;
    }
    let planted = call.request.trial.vineyard.vines_per_plot;
    let vines = Vines {
        fewest: of_plot.values().min().copied().unwrap_or(0),
        most: of_plot.values().max().copied().unwrap_or(0),
        living: table.rows,
        planted: planted
            .map(|each| each as usize * of_plot.len())
            .filter(|planted| *planted >= table.rows),
    };
    Ok(Some(vines))
}

impl Vines {
    /// How plots with unequal numbers of vines count.
    pub fn note(self) -> Statement {
        let range = match self.fewest == self.most {
            true => format!("{} a plot", counted(self.most, "living vine")),
            false => format!("{} to {} living vines a plot", self.fewest, self.most),
        };
        let dead = self.planted.map_or(0, |planted| planted - self.living);
        let gaps = match dead {
            0 => String::new(),
            _ => "; {dead} of {planted} are dead or not recorded, counted over plots and seasons"
                .to_owned(),
        };
        let statement = Statement::new(format!(
            "Each plot counts once, by the mean of its vines ({range}{gaps}): vines are samples of their plot, not replicates, and plots with fewer vines have the same weight."
        ))
        .rank(Rank::Detail);
        match (dead, self.planted) {
            (0, _) | (_, None) => statement,
            (dead, Some(planted)) => statement.with("dead", dead as f64, Format::Count).with(
                "planted",
                planted as f64,
                Format::Count,
            ),
        }
    }
}
