//! Rows made into the units a factor was applied to: plot means over seasons, whole-plot means.
//!
//! A mean over seasons (or sub plots) is comparable with another only where both have the same ones,
//! so a unit that lacks one of them is left out of the means, and named; a season that most units
//! lack is left out instead.

use caneplot_numerics::cells::Cells;
use caneplot_numerics::curves::{Levels, LevelsError, Units};
use caneplot_plugin::words::{counted, list};

use crate::rows::Rows;

/// The units of one stratum with their means.
#[derive(Debug, Clone)]
pub(crate) struct Means {
    /// Means, centred.
    pub values: Vec<f64>,
    /// A row of each unit, through which it finds its places.
    first: Vec<usize>,
    /// What was left out, as sentences.
    pub left_out: Vec<String>,
}

impl Means {
    /// Means of the units of a stratum.
    pub fn of(rows: &Rows, stratum: usize) -> Self {
        let stratum = &rows.strata[stratum];
        let units = rows.crossed(&[&stratum.codes]);
        let repeats = repeats(rows, &units);
        let both = rows.crossed(&[units.of_unit(), repeats.of_unit()]);
        // Which repeats each unit has.
        let mut has = vec![vec![false; repeats.count()]; units.count()];
        for &row in both.first() {
            has[units.of_unit()[row]][repeats.of_unit()[row]] = true;
        }
        let usual: Vec<bool> = (0..repeats.count())
            .map(|repeat| 2 * has.iter().filter(|unit| unit[repeat]).count() >= units.count())
            .collect();
        let complete: Vec<bool> = has
            .iter()
            .map(|unit| unit.iter().zip(&usual).all(|(has, usual)| *has || !usual))
            .collect();

        let per_repeat = both.means(&rows.values);
        let mut sums = vec![(0.0, 0_usize); units.count()];
        for (cell, &row) in both.first().iter().enumerate() {
            let unit = units.of_unit()[row];
            if complete[unit] && usual[repeats.of_unit()[row]] {
                sums[unit].0 += per_repeat[cell];
                sums[unit].1 += 1;
            }
        }
        let kept: Vec<usize> = (0..units.count())
            .filter(|&unit| complete[unit] && sums[unit].1 > 0)
            .collect();
        Self {
            values: kept
                .iter()
                .map(|&unit| sums[unit].0 / sums[unit].1 as f64)
                .collect(),
            first: kept.iter().map(|&unit| units.first()[unit]).collect(),
            left_out: left_out(rows, &repeats, &usual, &units, &complete, stratum.noun),
        }
    }

    /// A column of the rows at these units.
    fn codes(&self, of_row: &[usize]) -> Vec<usize> {
        self.first.iter().map(|&row| of_row[row]).collect()
    }

    fn crossed(&self, columns: &[&[usize]]) -> Cells {
        let columns: Vec<Vec<usize>> = columns.iter().map(|column| self.codes(column)).collect();
        Cells::crossing(self.values.len(), columns.iter().map(Vec::as_slice))
    }

    /// The factors that do not vary inside a unit.
    fn constant_factors(rows: &Rows, stratum: usize) -> Vec<usize> {
        let units = rows.crossed(&[&rows.strata[stratum].codes]);
        (0..rows.factors.len())
            .filter(|&at| units.refines(&rows.crossed(&[&rows.factors[at].codes])))
            .collect()
    }

    /// What is eliminated before the levels of a factor are compared: coarser units and the other
    /// factors; and the units treated alike.
    pub fn design(&self, rows: &Rows, stratum: usize, factors: &[usize]) -> (Vec<Cells>, Cells) {
        let units = rows.crossed(&[&rows.strata[stratum].codes]);
        let mut eliminated: Vec<Cells> = rows.strata[..stratum]
            .iter()
            .filter(|coarser| units.refines(&rows.crossed(&[&coarser.codes])))
            .map(|coarser| self.crossed(&[&coarser.codes]))
            .collect();
        let constant = Self::constant_factors(rows, stratum);
        let column = |at: &usize| rows.factors[*at].codes.as_slice();
        let others: Vec<&[usize]> = constant
            .iter()
            .filter(|at| !factors.contains(at))
            .map(column)
            .collect();
        if !others.is_empty() {
            eliminated.push(self.crossed(&others));
        }
        let all: Vec<&[usize]> = constant.iter().map(column).collect();
        (eliminated, self.crossed(&all))
    }

    /// The amount of a factor on each unit.
    pub fn amounts(&self, rows: &Rows, factor: usize, amounts: &[f64]) -> Vec<f64> {
        self.codes(&rows.factors[factor].codes)
            .into_iter()
            .map(|level| amounts[level])
            .collect()
    }

    /// The level means of a factor.
    pub fn levels(
        &self,
        rows: &Rows,
        stratum: usize,
        factor: usize,
        amounts: &[f64],
    ) -> Result<Levels, LevelsError> {
        let (eliminated, alike) = self.design(rows, stratum, &[factor]);
        Levels::new(Units {
            values: &self.values,
            amounts: &self.amounts(rows, factor, amounts),
            eliminated: &eliminated,
            alike: &alike,
        })
    }

    /// The cells of one factor.
    pub fn of_factor(&self, rows: &Rows, factor: usize) -> Cells {
        self.crossed(&[&rows.factors[factor].codes])
    }
}

/// What repeats inside units: seasons, and levels of factors applied to smaller units.
fn repeats(rows: &Rows, units: &Cells) -> Cells {
    let mut columns: Vec<&[usize]> = Vec::new();
    if let Some(season) = &rows.season {
        columns.push(&season.codes);
    }
    for factor in &rows.factors {
        if !units.refines(&rows.crossed(&[&factor.codes])) {
            columns.push(&factor.codes);
        }
    }
    rows.crossed(&columns)
}

fn left_out(
    rows: &Rows,
    repeats: &Cells,
    usual: &[bool],
    units: &Cells,
    complete: &[bool],
    noun: &str,
) -> Vec<String> {
    let mut all = Vec::new();
    let mut rare: Vec<String> = (0..usual.len())
        .filter(|&repeat| !usual[repeat])
        .map(|repeat| words_of(rows, repeats.first()[repeat]))
        .collect();
    rare.dedup();
    if !rare.is_empty() {
        all.push(format!(
            "Most {noun}s have no value in {}, so it is left out of the means over all.",
            list(&rare)
        ));
    }
    let gaps: Vec<usize> = (0..complete.len())
        .filter(|&unit| !complete[unit])
        .collect();
    if !gaps.is_empty() {
        let mut names: Vec<String> = gaps
            .iter()
            .take(3)
            .map(|&unit| {
                let row = units.first()[unit];
                if noun == "plot" {
                    rows.plot_names[row].clone()
                } else {
                    format!("the {noun} with {}", rows.plot_names[row])
                }
            })
            .collect();
        if gaps.len() > 3 {
            names.push(format!("{} more", gaps.len() - 3));
        }
        let (lack, are) = if gaps.len() == 1 {
            ("lacks", "is")
        } else {
            ("lack", "are")
        };
        all.push(format!(
            "{} {lack} values that the others have and {are} left out of the curve over all: {}.",
            counted(gaps.len(), noun),
            list(&names)
        ));
    }
    all
}

/// The season and the finer factors' levels of a row.
fn words_of(rows: &Rows, row: usize) -> String {
    match &rows.season {
        Some(season) => season.levels[season.codes[row]].clone(),
        None => rows.plot_names[row].clone(),
    }
}
