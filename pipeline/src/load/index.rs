//! Plots, vines and seasons of the trial, put together from the keys of every file.
//!
//! A plot is its name; where names repeat from block to block (or from row to column) it is its
//! place and its name. Repeating is told from a slip by counting: names repeat where more than half
//! of them stand at several places in one file and season.

use std::collections::HashMap;

mod keys;
mod levels;
mod seasons;

pub use levels::level;

use super::{File, columns::Use};
use crate::diagnostic::Diagnostic;
use crate::trial::Trial;

/// A record: file and row.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Seen {
    /// Index of the file.
    pub file: usize,
    /// Record, from 0.
    pub row: usize,
}

/// A plot.
#[derive(Debug, Clone, Default)]
pub struct Plot {
    /// As it is called in tables: its name, after its place where names repeat ("B1/3").
    pub name: String,
    /// Its name in the files.
    pub own: String,
    /// Block, row and column, and the record that said so first.
    pub place: [Option<(String, Seen)>; 3],
    /// Level of each factor, and the record that said so first.
    pub levels: Vec<Option<(u32, Seen)>>,
}

impl Plot {
    /// Block.
    #[must_use]
    pub fn block(&self) -> Option<&str> {
        self.place[0].as_ref().map(|(name, _)| name.as_str())
    }

    /// Level of every factor, where all are known.
    #[must_use]
    pub fn treatment(&self) -> Option<Vec<u32>> {
        self.levels
            .iter()
            .map(|level| level.as_ref().map(|(level, _)| *level))
            .collect()
    }
}

/// A vine of a plot.
#[derive(Debug, Clone)]
pub struct Vine {
    /// Its plot.
    pub plot: u32,
    /// Its name inside the plot.
    pub name: String,
}

/// A second word on something a plot has one of.
#[derive(Debug, Clone)]
pub struct Contradiction {
    /// The plot.
    pub plot: u32,
    /// What it is about: block, row, column or a factor.
    pub what: Use,
    /// The record that said it first.
    pub first: Seen,
    /// The record that says otherwise.
    pub second: Seen,
}

/// A level in the data that is not declared.
#[derive(Debug, Clone)]
pub struct Undeclared {
    /// Index of the factor.
    pub factor: usize,
    /// As it stands in the data.
    pub name: String,
    /// The records that have it.
    pub rows: Vec<Seen>,
}

/// Plots, vines and seasons.
#[derive(Debug, Clone, Default)]
pub struct Index {
    /// Plots in order of appearance.
    pub plots: Vec<Plot>,
    /// Vines in order of appearance.
    pub vines: Vec<Vine>,
    /// Seasons in order; one unnamed season where the trial has none.
    pub seasons: Vec<String>,
    /// Whether plot names repeat from place to place.
    pub names_repeat: bool,
    /// Plots in two blocks, with two treatments …; the first of each kind a plot.
    pub contradictions: Vec<Contradiction>,
    /// Levels in the data that are not declared.
    pub undeclared: Vec<Undeclared>,
}

/// Names of block, row and column of a record, as far as the file has them.
fn place(file: &File, row: usize) -> [Option<&str>; 3] {
    [&file.block, &file.row, &file.column].map(|part| part.as_ref().and_then(|part| part.name(row)))
}

/// Joins the keys of all files; records get their plot, vine and season.
///
/// # Errors
/// Records without a plot, vine or season; a file without blocks where plot names repeat; seasons
/// that cannot be moved by a winter.
pub fn joined(trial: &Trial, files: &mut [File]) -> Result<Index, Vec<Diagnostic>> {
    let mut faults: Vec<Diagnostic> = files.iter().flat_map(keys::without_key).collect();
    let names_repeat = keys::names_repeat(files);
    if names_repeat {
        faults.extend(
            files
                .iter()
                .filter_map(|file| keys::without_place(trial, file)),
        );
    }
    let seasons = match seasons::seasons(trial, files) {
        Ok(seasons) => seasons,
        Err(found) => {
            faults.extend(found);
            Vec::new()
        }
    };
    if !faults.is_empty() {
        return Err(faults);
    }
    let mut index = Index {
        seasons,
        names_repeat,
        ..Index::default()
    };
    join_plots(trial, files, &mut index);
    levels::join_levels(trial, files, &mut index);
    join_vines(files, &mut index);
    Ok(index)
}

fn join_plots(trial: &Trial, files: &mut [File], index: &mut Index) {
    let mut known: HashMap<(String, [Option<String>; 3]), u32> = HashMap::new();
    for (at, file) in files.iter_mut().enumerate() {
        let mut cache: HashMap<(Option<u32>, [Option<u32>; 3]), u32> = HashMap::new();
        let mut plots = Vec::with_capacity(file.height());
        for row in 0..file.height() {
            let codes = [&file.block, &file.row, &file.column]
                .map(|part| part.as_ref().and_then(|part| part.codes[row]));
            let key = (file.plot.codes[row], codes);
            if let Some(plot) = cache.get(&key) {
                plots.push(Some(*plot));
                continue;
            }
            let here = place(file, row).map(|part| part.map(str::to_owned));
            let own = file.plot.name(row).unwrap_or_default().to_owned();
            let told = if index.names_repeat {
                here.clone()
            } else {
                [None, None, None]
            };
            let plot = *known.entry((own.clone(), told)).or_insert_with(|| {
                index.plots.push(Plot {
                    name: named(index.names_repeat, &here, &own),
                    own,
                    levels: vec![None; trial.factors.len()],
                    ..Plot::default()
                });
                (index.plots.len() - 1) as u32
            });
            settle_place(index, plot, here, Seen { file: at, row });
            cache.insert(key, plot);
            plots.push(Some(plot));
        }
        file.plots = plots;
    }
}

fn named(repeat: bool, place: &[Option<String>; 3], own: &str) -> String {
    let parts = place
        .iter()
        .flatten()
        .map(String::as_str)
        .filter(|_| repeat);
    parts.chain([own]).collect::<Vec<_>>().join("/")
}

fn settle_place(index: &mut Index, plot: u32, here: [Option<String>; 3], second: Seen) {
    let parts = here.into_iter().zip([Use::Block, Use::Row, Use::Column]);
    for (at, (part, what)) in parts.enumerate() {
        let Some(name) = part else { continue };
        let held = &mut index.plots[plot as usize].place[at];
        match held {
            None => *held = Some((name, second)),
            Some((known, first)) if *known != name => {
                let first = *first;
                contradict(
                    index,
                    Contradiction {
                        plot,
                        what,
                        first,
                        second,
                    },
                );
            }
            Some(_) => {}
        }
    }
}

fn contradict(index: &mut Index, new: Contradiction) {
    let same = |old: &Contradiction| old.plot == new.plot && old.what == new.what;
    if !index.contradictions.iter().any(same) {
        index.contradictions.push(new);
    }
}

fn join_vines(files: &mut [File], index: &mut Index) {
    let mut known: HashMap<u32, HashMap<String, u32>> = HashMap::new();
    for file in files {
        let Some(column) = &file.vine else {
            file.vines = vec![None; file.height()];
            continue;
        };
        let mut cache: HashMap<(u32, u32), u32> = HashMap::new();
        let mut vines = Vec::with_capacity(file.plots.len());
        for (plot, code) in file.plots.iter().zip(&column.codes) {
            let (Some(plot), Some(code)) = (*plot, *code) else {
                vines.push(None);
                continue;
            };
            let vine = *cache.entry((plot, code)).or_insert_with(|| {
                let name = &column.names[code as usize];
                let of_plot = known.entry(plot).or_default();
                *of_plot.entry(name.clone()).or_insert_with(|| {
                    index.vines.push(Vine {
                        plot,
                        name: name.clone(),
                    });
                    (index.vines.len() - 1) as u32
                })
            });
            vines.push(Some(vine));
        }
        file.vines = vines;
    }
}
