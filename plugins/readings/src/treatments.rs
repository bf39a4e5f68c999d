//! Which treatments are compared, and with which control.

use caneplot_numerics::contrasts::{Compared, ContrastError, Plots};
use caneplot_numerics::design::Sheet;
use caneplot_plugin::request::{Level, TrialInfo};
use caneplot_plugin::words;

/// The sets of factors whose levels are compared: each factor, and, where a trial has several factors
/// and no more than `most` combinations, all of them together.
#[must_use]
pub fn sets(trial: &TrialInfo, most: usize) -> Vec<Vec<usize>> {
    let count = trial.factors.len();
    let mut sets: Vec<Vec<usize>> = (0..count).map(|factor| vec![factor]).collect();
    let combinations: usize = trial.factors.iter().map(|f| f.levels.len()).product();
    if count > 1 && combinations <= most {
        sets.push((0..count).collect());
    }
    sets
}

/// Every set of two or more of these, small sets first.
#[must_use]
pub fn together(factors: &[usize]) -> Vec<Vec<usize>> {
    let chosen = |mask: usize| {
        let factors = factors.iter().enumerate();
        factors.filter_map(move |(at, &factor)| (mask & (1 << at) != 0).then_some(factor))
    };
    let mut all: Vec<Vec<usize>> = (1_usize..1 << factors.len())
        .map(|mask| chosen(mask).collect())
        .filter(|set: &Vec<usize>| set.len() > 1)
        .collect();
    all.sort_by(|a, b| a.len().cmp(&b.len()).then(a.cmp(b)));
    all
}

/// The treatments of one set of factors, in the order of the trial file.
#[derive(Debug, Clone)]
pub struct Treatments<'a> {
    trial: &'a TrialInfo,
    /// What the numerics compare.
    pub compared: Compared,
    /// Place of each factor's level among those declared.
    pub levels: Vec<Vec<usize>>,
    /// The treatment the others are compared with.
    pub control: usize,
    /// Whether the trial declares it, for every factor concerned.
    pub declared: bool,
}

impl<'a> Treatments<'a> {
    /// The treatments of these factors among the plots of a sheet.
    ///
    /// # Errors
    /// [`ContrastError`] where a mean over the other factors does not exist.
    pub fn of(
        trial: &'a TrialInfo,
        sheet: &Sheet,
        plots: &Plots,
        factors: &[usize],
    ) -> Result<Self, ContrastError> {
        let compared = plots.compared(factors)?;
        let declared_place = |factor: usize, level: usize| {
            let name = &sheet.treatments[factor].0.levels[level];
            let mut levels = trial.factors[factor].levels.iter();
            // A register takes declared levels only, so the name is among them.
            levels.position(|known| known.name == *name).unwrap_or(0)
        };
        let levels: Vec<Vec<usize>> = compared
            .levels
            .iter()
            .map(|cell| {
                let pairs = factors.iter().zip(cell);
                pairs
                    .map(|(&factor, &level)| declared_place(factor, level))
                    .collect()
            })
            .collect();
        let control_level = |&factor: &usize| {
            let about = &trial.factors[factor];
            let name = about.control.as_ref()?;
            about.levels.iter().position(|level| level.name == *name)
        };
        let wanted: Option<Vec<usize>> = factors.iter().map(control_level).collect();
        let found = wanted.and_then(|wanted| levels.iter().position(|cell| *cell == wanted));
        let fallback: Vec<usize> = factors
            .iter()
            .map(|factor| control_level(factor).unwrap_or(0))
            .collect();
        let control = found
            .or_else(|| levels.iter().position(|cell| *cell == fallback))
            .unwrap_or(0);
        Ok(Self {
            trial,
            compared,
            levels,
            control,
            declared: found.is_some(),
        })
    }

    /// Number of treatments.
    #[must_use]
    pub fn count(&self) -> usize {
        self.levels.len()
    }

    /// All treatments except the control.
    #[must_use]
    pub fn others(&self) -> Vec<usize> {
        (0..self.count()).filter(|&at| at != self.control).collect()
    }

    /// A treatment in a sentence: "48 nodes/vine", "head-trained, 24 nodes/vine".
    #[must_use]
    pub fn words(&self, treatment: usize) -> String {
        let parts: Vec<String> = self
            .each(treatment)
            .map(|(factor, level)| words::level(&self.trial.factors[factor], level))
            .collect();
        parts.join(", ")
    }

    /// A treatment in a table or on an axis.
    #[must_use]
    pub fn label(&self, treatment: usize) -> String {
        let parts: Vec<&str> = self
            .each(treatment)
            .map(|(_, level)| level.label.as_str())
            .collect();
        parts.join(", ")
    }

    /// What stands in for a control that the trial does not declare; `None` where it does.
    #[must_use]
    pub fn control_note(&self) -> Option<String> {
        let control = self.words(self.control);
        if self.declared {
            return None;
        }
        Some(match self.compared.factors.as_slice() {
            [_] => format!(
                "No control with data is declared for {}, so treatments are compared with the first level, {control}.",
                words::inside(&self.heading())
            ),
            _ => format!(
                "Not every factor declares a control, so combinations are compared with {control}."
            ),
        })
    }

    /// What levels of one factor stand for in a trial of several; `None` for combinations.
    #[must_use]
    pub fn margin_note(&self) -> Option<String> {
        (self.trial.factors.len() > 1 && self.compared.factors.len() == 1).then(|| {
            format!(
                "Levels of {} are means over the levels of the other factors; where factors act together, only the combinations tell.",
                words::inside(&self.heading())
            )
        })
    }

    /// What the treatments are levels of: "Nodes left", "Training system and nodes left".
    #[must_use]
    pub fn heading(&self) -> String {
        let names: Vec<String> = self
            .compared
            .factors
            .iter()
            .enumerate()
            .map(|(at, &factor)| {
                let label = &self.trial.factors[factor].label;
                if at == 0 {
                    label.clone()
                } else {
                    words::inside(label)
                }
            })
            .collect();
        words::list(&names)
    }

    /// The quantity of a treatment that is one level of a numeric factor.
    #[must_use]
    pub fn quantity(&self, treatment: usize) -> Option<f64> {
        let factor = &self.trial.factors[*self.compared.factors.first()?];
        if self.compared.factors.len() > 1 || !factor.is_numeric() {
            return None;
        }
        factor.levels[self.levels[treatment][0]].value
    }

    /// Unit of the only factor, where it is a quantity with one.
    #[must_use]
    pub fn unit(&self) -> Option<&str> {
        match self.compared.factors.as_slice() {
            [factor] => self.trial.factors[*factor].unit.as_deref(),
            _ => None,
        }
    }

    /// A name for sections, tables and figures: "nodes", "system-nodes".
    #[must_use]
    pub fn id(&self) -> String {
        let names: Vec<String> = self
            .compared
            .factors
            .iter()
            .map(|&factor| words::id(&self.trial.factors[factor].name))
            .collect();
        names.join("-")
    }

    fn each(&self, treatment: usize) -> impl Iterator<Item = (usize, &Level)> {
        let pairs = self.compared.factors.iter().zip(&self.levels[treatment]);
        pairs.map(|(&factor, &level)| (factor, &self.trial.factors[factor].levels[level]))
    }
}
