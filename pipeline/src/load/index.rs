//! Plots, vines and seasons of the trial, put together from the keys of every file.
//!
//! A plot is its name; where names repeat from block to block (or from row to column) it is its
//! place and its name. Repeating is told from a slip by counting: names repeat where more than half
//! of them stand at several places.

use std::collections::{HashMap, HashSet};

use super::season::{Belongs, moved, shift};
use super::text::{Coded, lines};
use super::{File, columns::Use};
use crate::decimal::exact;
use crate::diagnostic::Diagnostic;
use crate::trial::{Factor, Trial};

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
    let mut faults: Vec<Diagnostic> = files.iter().flat_map(without_key).collect();
    let names_repeat = names_repeat(files);
    if names_repeat {
        faults.extend(files.iter().filter_map(|file| without_place(trial, file)));
    }
    let seasons = match seasons(trial, files) {
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
    join_levels(trial, files, &mut index);
    join_vines(files, &mut index);
    Ok(index)
}

fn without_key(file: &File) -> Vec<Diagnostic> {
    let named = |what: &'static str, key: &Option<Coded>| {
        key.as_ref()
            .map(|key| (what, key.heading.clone(), empty_rows(file, key)))
    };
    let mut keys = vec![(
        "plot",
        file.plot.heading.clone(),
        empty_rows(file, &file.plot),
    )];
    keys.extend(named("block", &file.block));
    keys.extend(named("row", &file.row));
    keys.extend(named("column", &file.column));
    keys.extend(named("vine", &file.vine));
    keys.extend(named("season", &file.season));
    keys.into_iter()
        .filter(|(_, _, empty)| !empty.is_empty())
        .map(|(what, heading, empty)| {
            Diagnostic::error(
                "empty-key",
                format!("{} of {} names no {what}", lines(&empty), file.name),
            )
            .at(super::csv::cell(&file.name, Some(empty[0]), Some(&heading)))
            .help(format!(
                "fill in the {what} of every record, or delete the record"
            ))
        })
        .collect()
}

fn empty_rows(file: &File, key: &Coded) -> Vec<usize> {
    let empty = key
        .codes
        .iter()
        .zip(&file.lines)
        .filter(|(code, _)| code.is_none());
    empty.map(|(_, line)| *line).collect()
}

fn names_repeat(files: &[File]) -> bool {
    let mut places: HashMap<&str, Vec<[Option<&str>; 3]>> = HashMap::new();
    for file in files {
        if file.block.is_none() && file.row.is_none() && file.column.is_none() {
            continue;
        }
        let mut known = HashSet::new();
        let codes = |row: usize| {
            [&file.block, &file.row, &file.column]
                .map(|part| part.as_ref().and_then(|part| part.codes[row]))
        };
        for row in 0..file.height() {
            let Some(plot) = file.plot.codes[row] else {
                continue;
            };
            if !known.insert((plot, codes(row))) {
                continue;
            }
            let Some(name) = file.plot.name(row) else {
                continue;
            };
            let at = places.entry(name).or_default();
            let here = place(file, row);
            // A file that leaves a part of the place out says nothing against the others.
            let agrees = |other: &[Option<&str>; 3]| {
                other
                    .iter()
                    .zip(&here)
                    .all(|(a, b)| a.is_none() || b.is_none() || a == b)
            };
            if !at.iter().any(agrees) {
                at.push(here);
            }
        }
    }
    let repeated = places.values().filter(|places| places.len() > 1).count();
    repeated * 2 > places.len()
}

fn without_place(trial: &Trial, file: &File) -> Option<Diagnostic> {
    let design = &trial.design;
    let parts = [
        (&design.block, &file.block),
        (&design.row, &file.row),
        (&design.column, &file.column),
    ];
    let lacking: Vec<&str> = parts
        .into_iter()
        .filter(|(_, held)| held.is_none())
        .filter_map(|(declared, _)| declared.as_ref().map(|column| column.value.as_str()))
        .collect();
    if lacking.is_empty() {
        return None;
    }
    Some(
        Diagnostic::error(
            "plot-names-repeat",
            format!(
                "plot names repeat from block to block, but {} has no column '{}' to tell them apart",
                file.name,
                lacking.join("', '")
            ),
        )
        .at(file.whole())
        .help("add that column to the file, or give every plot of the trial its own name"),
    )
}

/// The seasons of the trial, and the season of every label of every file.
fn seasons(trial: &Trial, files: &mut [File]) -> Result<Vec<String>, Vec<Diagnostic>> {
    let mut faults = Vec::new();
    let mut moved_labels = Vec::new();
    for file in files.iter() {
        let mut both: [Vec<Option<String>>; 2] = [Vec::new(), Vec::new()];
        if let Some(labels) = &file.season {
            for belongs in [Belongs::Before, Belongs::After] {
                let by = shift(file.winter, belongs);
                both[belongs as usize] =
                    labels.names.iter().map(|label| moved(label, by)).collect();
            }
            let stuck = labels
                .names
                .iter()
                .enumerate()
                .find(|(at, _)| both.iter().any(|labels| labels[*at].is_none()));
            if let Some((code, label)) = stuck {
                let row = labels
                    .codes
                    .iter()
                    .position(|at| *at == Some(code as u32))
                    .unwrap_or(0);
                faults.push(
                    Diagnostic::error(
                        "season-label",
                        format!(
                            "season '{label}' of {} cannot be moved by a winter",
                            file.name
                        ),
                    )
                    .at(file.place(row, Some(&labels.heading)))
                    .help("name seasons by the year of their harvest, as in 2021"),
                );
            }
        }
        moved_labels.push(both);
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let mut seasons = trial.seasons.clone();
    if seasons.is_empty() {
        seasons.push(String::new());
    }
    for (file, both) in files.iter_mut().zip(moved_labels) {
        file.seasons = both.map(|labels| {
            let at = |label: Option<String>| {
                let label = label?;
                seasons
                    .iter()
                    .position(|season| *season == label)
                    .map(|at| at as u32)
            };
            labels.into_iter().map(at).collect()
        });
    }
    Ok(seasons)
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

fn join_levels(trial: &Trial, files: &[File], index: &mut Index) {
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
