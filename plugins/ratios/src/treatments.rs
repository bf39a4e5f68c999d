//! The treatments a ratio is given for: every combination of factor levels, and in trials of several
//! factors each level of each factor over the others.

use caneplot_plugin::request::{Canopy, Factor, TrialInfo};

use crate::plots::Plot;

/// The canopy that published ranges would be looked up for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CanopyOf {
    /// One kind.
    One(Canopy),
    /// Several kinds, in a mean over other factors.
    Several,
    /// Not declared.
    Unknown,
}

/// A treatment, or a level of one factor over all others.
#[derive(Debug, Clone, PartialEq)]
pub struct Treatment {
    /// In words: "head-trained with 24 nodes/vine".
    pub label: String,
    /// The level of each factor, `None` where it is averaged over.
    pub levels: Vec<Option<usize>>,
    /// Its canopy.
    pub canopy: CanopyOf,
}

/// Treatments that belong together in a table.
#[derive(Debug, Clone, PartialEq)]
pub struct Group {
    /// The factor whose levels these are; `None` for combinations of all factors.
    pub factor: Option<usize>,
    /// In the order of the trial file.
    pub treatments: Vec<Treatment>,
}

impl Treatment {
    /// Whether a plot belongs to it.
    #[must_use]
    pub fn has(&self, plot: &Plot) -> bool {
        let pairs = self.levels.iter().zip(&plot.levels);
        pairs.fold(true, |all, (wanted, level)| {
            all && wanted.is_none_or(|wanted| wanted == *level)
        })
    }
}

/// The groups of a trial: the levels of its one factor, or the combinations first and then the levels
/// of each factor. Combinations without a plot are left out.
#[must_use]
pub fn groups(trial: &TrialInfo, plots: &[Plot]) -> Vec<Group> {
    let combinations: Vec<Treatment> = combinations(&trial.factors)
        .into_iter()
        .filter(|levels| plots.iter().any(|plot| plot.levels == *levels))
        .map(|levels| Treatment {
            label: label(trial, &levels),
            canopy: canopy(trial, &levels).map_or(CanopyOf::Unknown, CanopyOf::One),
            levels: levels.into_iter().map(Some).collect(),
        })
        .collect();
    if trial.factors.len() < 2 {
        return vec![Group {
            factor: trial.factors.first().map(|_| 0),
            treatments: combinations,
        }];
    }
    let margins = (0..trial.factors.len()).map(|factor| Group {
        factor: Some(factor),
        treatments: margin(trial, factor, &combinations),
    });
    let margins: Vec<Group> = margins.collect();
    let mut groups = vec![Group {
        factor: None,
        treatments: combinations,
    }];
    groups.extend(margins);
    groups
}

fn margin(trial: &TrialInfo, factor: usize, combinations: &[Treatment]) -> Vec<Treatment> {
    (0..trial.factors[factor].levels.len())
        .filter_map(|level| {
            let inside = || {
                combinations
                    .iter()
                    .filter(|c| c.levels[factor] == Some(level))
            };
            let first = inside().next()?;
            let alike = inside().all(|c| c.canopy == first.canopy);
            let mut levels = vec![None; trial.factors.len()];
            levels[factor] = Some(level);
            Some(Treatment {
                label: level_words(&trial.factors[factor], level),
                levels,
                canopy: if alike {
                    first.canopy
                } else {
                    CanopyOf::Several
                },
            })
        })
        .collect()
}

/// All combinations of levels, the last factor running fastest.
fn combinations(factors: &[Factor]) -> Vec<Vec<usize>> {
    factors.iter().fold(vec![Vec::new()], |found, factor| {
        let longer = found.iter().flat_map(|levels| {
            (0..factor.levels.len()).map(|level| {
                let mut levels = levels.clone();
                levels.push(level);
                levels
            })
        });
        longer.collect()
    })
}

/// The canopy of a treatment: the factor level's where one makes it, else the vineyard's. Where two
/// factors make different canopies neither is believed.
fn canopy(trial: &TrialInfo, levels: &[usize]) -> Option<Canopy> {
    let pairs = trial.factors.iter().zip(levels);
    let mut made: Vec<Canopy> = pairs
        .filter_map(|(factor, level)| factor.levels[*level].canopy)
        .collect();
    made.dedup();
    match made.as_slice() {
        [] => trial.vineyard.canopy,
        [one] => Some(*one),
        _ => None,
    }
}

fn label(trial: &TrialInfo, levels: &[usize]) -> String {
    let pairs = trial.factors.iter().zip(levels);
    let words: Vec<String> = pairs.map(|(f, level)| level_words(f, *level)).collect();
    match words.as_slice() {
        [] => "all plots".to_owned(),
        [one] => one.clone(),
        [first, rest @ ..] => format!("{first} with {}", rest.join(" and ")),
    }
}

/// A level in words, with the unit of a quantity.
#[must_use]
pub fn level_words(factor: &Factor, level: usize) -> String {
    let level = &factor.levels[level];
    let label = if level.label.is_empty() {
        &level.name
    } else {
        &level.label
    };
    match &factor.unit {
        Some(unit) if level.value.is_some() => format!("{label} {unit}"),
        _ => label.clone(),
    }
}
