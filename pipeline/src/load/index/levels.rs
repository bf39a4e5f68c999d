//! The level every plot has of every factor.

use super::{Contradiction, Index, Seen, Undeclared, contradict};
use crate::decimal::exact;
use crate::load::File;
use crate::load::columns::Use;
use crate::trial::{Factor, Trial};

/// The declared level a text of the data means: the same text, or for numbers the same number.
#[must_use]
pub fn level(factor: &Factor, text: &str) -> Option<u32> {
    let same = factor
        .levels
        .iter()
        .position(|level| level.name == text)
        .or_else(|| {
            let value = exact(text).ok()?;
            factor.levels.iter().position(|level| {
                level.value.is_some() && exact(&level.name).is_ok_and(|declared| declared == value)
            })
        })?;
    Some(same as u32)
}

/// Gives the plots their levels; what contradicts or is not declared is kept.
pub(super) fn join_levels(trial: &Trial, files: &[File], index: &mut Index) {
    for (at, factor) in trial.factors.iter().enumerate() {
        for (number, file) in files.iter().enumerate() {
            let Some(column) = &file.factors[at] else {
                continue;
            };
            let levels: Vec<Option<u32>> = column
                .names
                .iter()
                .map(|name| level(factor, name))
                .collect();
            for row in 0..file.height() {
                let (Some(code), Some(plot)) = (column.codes[row], file.plots[row]) else {
                    continue;
                };
                let seen = Seen { file: number, row };
                let Some(level) = levels[code as usize] else {
                    undeclared(index, at, &column.names[code as usize], seen);
                    continue;
                };
                let held = &mut index.plots[plot as usize].levels[at];
                match held {
                    None => *held = Some((level, seen)),
                    Some((known, first)) if *known != level => {
                        let first = *first;
                        let what = Use::Factor(at);
                        contradict(
                            index,
                            Contradiction {
                                plot,
                                what,
                                first,
                                second: seen,
                            },
                        );
                    }
                    Some(_) => {}
                }
            }
        }
    }
}

fn undeclared(index: &mut Index, factor: usize, name: &str, seen: Seen) {
    let known = index
        .undeclared
        .iter_mut()
        .find(|known| known.factor == factor && known.name == name);
    match known {
        Some(known) => known.rows.push(seen),
        None => index.undeclared.push(Undeclared {
            factor,
            name: name.to_owned(),
            rows: vec![seen],
        }),
    }
}
