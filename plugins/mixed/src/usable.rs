//! Which covariates can serve for the values of one response.
//!
//! A covariate cannot where it is the same in every plot, where it follows from the treatments, from
//! the blocks or from the covariates before it, or where too many plots lack it. One that the trial
//! declares is then left out with a sentence.

use std::collections::BTreeSet;

use caneplot_numerics::strata::Classifier;
use caneplot_plugin::findings::{Format, Statement};
use caneplot_plugin::words::{inside, safe, shortened};

use crate::covariates::Covariate;

/// Plots may be left out for the lack of a covariate up to this share of them.
const MOST_LOST: f64 = 0.2;
/// Plots named in one sentence.
const NAMED: usize = 6;
/// What is left of a covariate below this share of its own spread is rounding.
const NOTHING: f64 = 1e-7;

/// Rows with a value of the response that also have the covariates that serve, and those.
pub(crate) fn complete(
    recorded: &[usize],
    covariates: &[Covariate],
    keys: &[String],
    cell: &dyn Fn(usize) -> Vec<Option<String>>,
    notes: &mut Vec<Statement>,
) -> (Vec<usize>, Vec<Covariate>) {
    let plots =
        |rows: &[usize]| -> BTreeSet<&str> { rows.iter().map(|&row| keys[row].as_str()).collect() };
    let cells = |rows: &[usize]| rows.iter().map(|&row| cell(row)).collect::<BTreeSet<_>>();
    let mut rows = recorded.to_vec();
    let mut used = Vec::new();
    for covariate in covariates {
        let (with, without): (Vec<usize>, Vec<usize>) = rows
            .iter()
            .partition(|&&row| covariate.by_row[row].is_some());
        let lost = plots(&without);
        if lost.is_empty() {
            used.push(covariate.clone());
            continue;
        }
        let names: Vec<String> = lost.iter().map(|name| safe(name)).collect();
        let names = shortened(&names, NAMED);
        let label = inside(&covariate.label);
        let too_many = lost.len() as f64 > MOST_LOST * plots(&rows).len() as f64;
        if covariate.declared && (too_many || cells(&with) != cells(&rows)) {
            let why = match too_many {
                true => "more than a fifth of the plots lack it",
                false => "without the plots that lack it some treatment would have no value",
            };
            notes.push(
                Statement::new(format!(
                    "Not adjusted for {label}: {why} ({{lost}} {}: {names}).",
                    plural(lost.len(), "plot", "plots")
                ))
                .with("lost", lost.len() as f64, Format::Count),
            );
            continue;
        }
        notes.push(
            Statement::new(format!(
                "{{lost}} {} the covariate {label}: {names}.",
                plural(
                    lost.len(),
                    "plot is left out because it lacks",
                    "plots are left out because they lack"
                )
            ))
            .with("lost", lost.len() as f64, Format::Count),
        );
        rows = with;
        used.push(covariate.clone());
    }
    (rows, used)
}

/// Why a covariate can tell nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Useless {
    Constant,
    Treatments,
    Repeats,
    Blocks,
}

impl Useless {
    /// The reason behind the covariate's name.
    pub fn words(self) -> &'static str {
        match self {
            Useless::Constant => "is the same in every plot",
            Useless::Treatments => {
                "is the same in all plots of a treatment, so its effect cannot be told from that of the treatments"
            }
            Useless::Repeats => "repeats another covariate",
            Useless::Blocks => "does not vary inside blocks, which already allow for it",
        }
    }
}

/// Why a covariate (over the values) can tell nothing; `None` where it can.
pub(crate) fn useless(
    values: &[f64],
    treatments: &Classifier,
    block: Option<&Classifier>,
    others: &[Vec<f64>],
) -> Option<Useless> {
    let size = |column: &[f64]| column.iter().map(|x| x * x).sum::<f64>().sqrt();
    let units = values.len();
    let mut basis: Vec<Vec<f64>> = Vec::new();
    take_in(&mut basis, vec![1.0; units]);
    let spread = size(&left_of(&basis, values));
    if spread <= NOTHING * size(values) || spread == 0.0 {
        return Some(Useless::Constant);
    }
    let nothing = |basis: &[Vec<f64>]| size(&left_of(basis, values)) <= NOTHING * spread;
    let indicator = |codes: &[usize], level: usize| -> Vec<f64> {
        codes.iter().map(|&code| f64::from(code == level)).collect()
    };
    for level in 0..treatments.levels.len() {
        take_in(&mut basis, indicator(&treatments.codes, level));
    }
    if nothing(&basis) {
        return Some(Useless::Treatments);
    }
    for other in others {
        take_in(&mut basis, other.clone());
    }
    if nothing(&basis) {
        return Some(Useless::Repeats);
    }
    for level in 0..block.map_or(0, |block| block.levels.len()) {
        if let Some(block) = block {
            take_in(&mut basis, indicator(&block.codes, level));
        }
    }
    nothing(&basis).then_some(Useless::Blocks)
}

/// The word for one or for more.
fn plural(count: usize, one: &'static str, more: &'static str) -> &'static str {
    match count {
        1 => one,
        _ => more,
    }
}

/// What is left of a column beside an orthonormal basis.
fn left_of(basis: &[Vec<f64>], column: &[f64]) -> Vec<f64> {
    let mut left = column.to_vec();
    // The second pass takes out what rounding left of the first.
    for _ in 0..2 {
        for direction in basis {
            let along: f64 = direction.iter().zip(&left).map(|(a, b)| a * b).sum();
            for (entry, part) in left.iter_mut().zip(direction) {
                *entry -= along * part;
            }
        }
    }
    left
}

/// Adds a column to a basis unless it depends on it.
fn take_in(basis: &mut Vec<Vec<f64>>, column: Vec<f64>) {
    let length = |column: &[f64]| column.iter().map(|x| x * x).sum::<f64>().sqrt();
    let left = left_of(basis, &column);
    let remains = length(&left);
    if remains > NOTHING * length(&column) {
        basis.push(left.iter().map(|entry| entry / remains).collect());
    }
}
