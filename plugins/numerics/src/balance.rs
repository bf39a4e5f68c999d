//! Whether the values of a response make up the design they are declared to be.
//!
//! The engine proves orthogonality on its own; these checks come first because they can name the
//! plot, block, row or season a person has to look at.

use std::collections::BTreeMap;

use crate::cells::Cells;
use crate::design::{DesignError, Sheet};
use crate::kinds::Kind;
use crate::strata::Classifier;
use crate::together::together;

impl Sheet {
    pub(crate) fn check_factors(&self) -> Result<(), DesignError> {
        if self.treatments.is_empty() {
            return Err(DesignError::NoTreatment);
        }
        if self.plot.codes.len() < 2 {
            return Err(DesignError::TooFew);
        }
        for (factor, _) in &self.treatments {
            if let [level] = factor.levels.as_slice() {
                return Err(DesignError::OneLevel {
                    factor: factor.name.clone(),
                    level: level.clone(),
                });
            }
        }
        Ok(())
    }

    pub(crate) fn check_roles(&self) -> Result<(), DesignError> {
        let missing = |column| DesignError::ColumnMissing {
            design: self.kind.words(),
            column,
        };
        match self.kind {
            Kind::CompletelyRandomised => {}
            Kind::LatinSquare => {
                if self.row.is_none() {
                    return Err(missing("rows"));
                }
                if self.column.is_none() {
                    return Err(missing("columns"));
                }
            }
            _ if self.block.is_none() => return Err(missing("blocks")),
            _ => {}
        }
        let roles = self.kind.roles();
        for (factor, applied) in &self.treatments {
            if !roles.contains(applied) {
                return Err(DesignError::Role(format!(
                    "'{}' is declared as applied to {}, which a {} does not have",
                    factor.name,
                    applied.words(),
                    self.kind.words()
                )));
            }
        }
        for role in roles {
            if !self.treatments.iter().any(|(_, applied)| applied == role) {
                return Err(DesignError::Role(format!(
                    "no factor is declared as applied to {}, which a {} needs",
                    role.words(),
                    self.kind.words()
                )));
            }
        }
        Ok(())
    }

    /// Every plot has one level of every factor.
    pub(crate) fn check_plots(&self, plots: &Cells) -> Result<(), DesignError> {
        for (factor, _) in &self.treatments {
            for (unit, &plot) in plots.of_unit().iter().enumerate() {
                let first = plots.first()[plot];
                if factor.codes[unit] != factor.codes[first] {
                    return Err(DesignError::TwoLevels {
                        plot: self.plot_words(unit),
                        factor: factor.name.clone(),
                        first: factor.levels[factor.codes[first]].clone(),
                        second: factor.levels[factor.codes[unit]].clone(),
                    });
                }
            }
        }
        Ok(())
    }

    /// Every plot has a value in every season, and one only or as many vines as every other.
    pub(crate) fn check_seasons(&self, plots: &Cells) -> Result<(), DesignError> {
        let seasons = self.season.as_ref().map_or(1, |season| season.levels.len());
        let mut counts = vec![vec![0_usize; seasons]; plots.count()];
        for (unit, &plot) in plots.of_unit().iter().enumerate() {
            let season = self.season.as_ref().map_or(0, |season| season.codes[unit]);
            counts[plot][season] += 1;
        }
        let in_season = |season: usize| {
            self.season.as_ref().map_or_else(String::new, |classifier| {
                format!(" in season {}", classifier.levels[season])
            })
        };
        let missing: Vec<String> = counts
            .iter()
            .enumerate()
            .flat_map(|(plot, row)| row.iter().enumerate().map(move |(s, &n)| (plot, s, n)))
            .filter(|&(_, _, count)| count == 0)
            .map(|(plot, season, _)| {
                let words = self.plot_words(plots.first()[plot]);
                format!("{words} has no value{}", in_season(season))
            })
            .collect();
        if let Some(words) = listed(&missing) {
            return Err(DesignError::Unbalanced(words));
        }
        let all = || counts.iter().flatten().copied();
        let (fewest, most) = (all().min().unwrap_or(0), all().max().unwrap_or(0));
        if self.vines {
            if fewest != most {
                return Err(DesignError::UnequalVines { fewest, most });
            }
            return Ok(());
        }
        for (plot, row) in counts.iter().enumerate() {
            if let Some((season, &count)) = row.iter().enumerate().find(|&(_, &count)| count > 1) {
                return Err(DesignError::Duplicate {
                    plot: self.plot_words(plots.first()[plot]),
                    count,
                    season: in_season(season),
                });
            }
        }
        Ok(())
    }

    /// Every block (or row and column) has every treatment combination as often as the others have it.
    ///
    /// Combinations need not be equally frequent: a control laid out twice in every block is sound.
    pub(crate) fn check_groups(&self, plots: &Cells) -> Result<(), DesignError> {
        self.check_crossing()?;
        match self.kind {
            Kind::CompletelyRandomised => Ok(()),
            Kind::LatinSquare => {
                for (group, word) in [(&self.row, "row"), (&self.column, "column")] {
                    if let Some(group) = group {
                        self.check_group(plots, group, word)?;
                    }
                }
                Ok(())
            }
            _ => match &self.block {
                Some(block) => self.check_group(plots, block, "block"),
                None => Ok(()),
            },
        }
    }

    /// With several factors every combination of their levels occurs.
    fn check_crossing(&self) -> Result<(), DesignError> {
        let combinations = self.combinations();
        let wanted: usize = self
            .treatments
            .iter()
            .map(|(factor, _)| factor.levels.len())
            .product();
        if combinations.count() == wanted {
            return Ok(());
        }
        let factors: Vec<&Classifier> = self.treatments.iter().map(|(factor, _)| factor).collect();
        if let Some(pair) = together(&factors).first() {
            let names: Vec<String> = factors
                .iter()
                .map(|factor| format!("'{}'", factor.name))
                .collect();
            return Err(DesignError::NotTheDesign(pair.words(&names)));
        }
        let present: Vec<Vec<usize>> = combinations
            .first()
            .iter()
            .map(|&unit| {
                self.treatments
                    .iter()
                    .map(|(factor, _)| factor.codes[unit])
                    .collect()
            })
            .collect();
        let mut absent = vec![0_usize; self.treatments.len()];
        while present.contains(&absent) {
            for at in (0..absent.len()).rev() {
                absent[at] += 1;
                if absent[at] < self.treatments[at].0.levels.len() {
                    break;
                }
                absent[at] = 0;
            }
        }
        let words: Vec<String> = self
            .treatments
            .iter()
            .zip(&absent)
            .map(|((factor, _), &level)| format!("{} {}", factor.name, factor.levels[level]))
            .collect();
        Err(DesignError::Unbalanced(format!(
            "no plot has the combination {}",
            words.join(", ")
        )))
    }

    fn check_group(
        &self,
        plots: &Cells,
        group: &Classifier,
        word: &str,
    ) -> Result<(), DesignError> {
        let combinations = self.combinations();
        let mut counts = vec![vec![0_usize; combinations.count()]; group.levels.len()];
        for &unit in plots.first() {
            counts[group.codes[unit]][combinations.of_unit()[unit]] += 1;
        }
        let usual: Vec<usize> = (0..combinations.count())
            .map(|combination| usual(counts.iter().map(|row| row[combination])))
            .collect();
        let most = usual.iter().copied().max().unwrap_or(0);
        let treatment =
            |combination: usize| self.treatment_words(combinations.first()[combination]);
        if word == "block"
            && let Some(words) = apart(&counts, &group.levels, &treatment)
        {
            return Err(DesignError::NotTheDesign(words));
        }
        let mut missing = Vec::new();
        for (level, row) in counts.iter().enumerate() {
            for (combination, &count) in row.iter().enumerate() {
                let usual = usual[combination];
                if count == usual {
                    continue;
                }
                let treatment = treatment(combination);
                let name = &group.levels[level];
                if count > usual {
                    let plots = if count == 1 { "plot" } else { "plots" };
                    return Err(DesignError::NotTheDesign(format!(
                        "{word} {name} has {count} {plots} with {treatment} where other {word}s have {usual}: this is not a {}",
                        self.kind.words()
                    )));
                }
                missing.push(format!("{word} {name} has no value for {treatment}"));
            }
        }
        match listed(&missing) {
            Some(words) if self.kind == Kind::LatinSquare => Err(DesignError::NotTheDesign(
                format!("{words}: this is not a Latin square"),
            )),
            Some(words) => Err(DesignError::Unbalanced(words)),
            None if most > 1 && self.needs_single_plots() => {
                Err(DesignError::NotTheDesign(format!(
                    "every {word} has {most} plots of a combination of treatments, so that the larger units of the {} cannot be told apart",
                    self.kind.words()
                )))
            }
            None => Ok(()),
        }
    }

    fn needs_single_plots(&self) -> bool {
        matches!(
            self.kind,
            Kind::SplitPlot | Kind::StripPlot | Kind::SplitSplitPlot
        )
    }
}

/// What keeps treatments from being compared inside blocks, given the plots of each block and
/// treatment: blocks of one treatment, or a treatment in one block.
fn apart(
    counts: &[Vec<usize>],
    blocks: &[String],
    treatment: &dyn Fn(usize) -> String,
) -> Option<String> {
    let treatments = counts.first()?.len();
    if blocks.len() < 2 || treatments < 2 {
        return None;
    }
    let only = |row: &[usize]| -> Option<usize> {
        let mut present = row.iter().enumerate().filter(|&(_, &count)| count > 0);
        let (first, _) = present.next()?;
        present.next().is_none().then_some(first)
    };
    let single: Vec<(usize, usize)> = counts
        .iter()
        .enumerate()
        .filter_map(|(block, row)| Some((block, only(row)?)))
        .collect();
    if single.len() == blocks.len() {
        return Some(
            "every block has plots of one treatment only, so that what treatments did cannot be told from what blocks did: whole blocks are compared here, not plots inside blocks"
                .to_owned(),
        );
    }
    // Of two treatments with a plot each, one that is missing is a gap like any other.
    let whole =
        |&&(block, combination): &&(usize, usize)| treatments > 2 || counts[block][combination] > 1;
    if let Some(&(block, combination)) = single.iter().find(whole) {
        return Some(format!(
            "block {} has plots with {} only, so that nothing can be compared inside it",
            blocks[block],
            treatment(combination)
        ));
    }
    let here = |combination: usize| -> Vec<usize> {
        let with = (0..blocks.len()).filter(|&block| counts[block][combination] > 0);
        with.collect()
    };
    (0..treatments).find_map(|combination| match here(combination).as_slice() {
        // Of two blocks, that one lacks a treatment is a gap like any other.
        [block] if blocks.len() > 2 => Some(format!(
            "{} stands in block {} only, so that it cannot be told from that block",
            treatment(combination),
            blocks[*block]
        )),
        _ => None,
    })
}

/// The usual number; of two equally usual ones the larger, so that the sentence says what is missing
/// rather than what is too much.
fn usual(counts: impl Iterator<Item = usize>) -> usize {
    let mut tally: BTreeMap<usize, usize> = BTreeMap::new();
    for count in counts {
        *tally.entry(count).or_default() += 1;
    }
    tally
        .iter()
        .max_by_key(|&(&count, &times)| (times, count))
        .map_or(0, |(&count, _)| count)
}

/// Up to three of the phrases, and how many more there are.
fn listed(phrases: &[String]) -> Option<String> {
    match phrases {
        [] => None,
        [one] => Some(one.clone()),
        [shown @ .., last] if shown.len() < 3 => Some(format!("{} and {last}", shown.join(", "))),
        _ => Some(format!(
            "{} and {} more like it",
            phrases[..2].join(", "),
            phrases.len() - 2
        )),
    }
}
