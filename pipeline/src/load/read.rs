//! Files to [`File`]s: each wanted column read once, names coded, numbers made exact.

use std::collections::HashSet;

use polars::prelude::{DataFrame, StringChunked};

use super::columns::{self, Found, Use};
use super::csv;
use super::decimals;
use super::heads::Wanted;
use super::opened::Opened;
use super::season::{Belongs, belongs};
use super::text::{Coded, list};
use super::typed;
use super::workbook;
use super::{File, Measured, Part, wide};
use crate::correct::{Edits, edited};
use crate::diagnostic::Diagnostic;
use crate::reduce;
use crate::trial::{Level, Trial, Written};

/// Every data file of the trial, opened.
///
/// # Errors
/// The faults of every file that cannot be read.
pub fn opened(trial: &Trial) -> Result<Vec<Opened>, Vec<Diagnostic>> {
    let mut opened = Vec::new();
    let mut faults = Vec::new();
    let mut pending = Vec::new();
    for data in &trial.data {
        let wanted = Wanted { trial, data };
        let file = match &data.summary {
            None => one_opened(&wanted),
            Some(summary) => reduce::begun(&wanted, summary).map(|(file, rest)| {
                pending.push((opened.len(), rest, wanted, summary));
                file
            }),
        };
        match file {
            Ok(file) => opened.push(file),
            Err(found) => faults.extend(found),
        }
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    if !pending.is_empty() {
        // A misspelt column is better told before some million records are read.
        columns::placed(trial, &opened)?;
    }
    for (at, rest, wanted, summary) in pending {
        reduce::finish(&mut opened[at], rest, &wanted, summary)?;
    }
    Ok(opened)
}

fn one_opened(wanted: &Wanted<'_>) -> Result<Opened, Vec<Diagnostic>> {
    let (trial, data) = (wanted.trial, wanted.data);
    let bytes = std::fs::read(&data.path).map_err(|error| vec![unreadable(wanted, &error)])?;
    let opened = if data.is_workbook() {
        workbook::opened(bytes, wanted)?
    } else if data.is_typed() {
        typed::opened(bytes, wanted)?
    } else {
        csv::opened(bytes, wanted)?
    };
    let opened = match (&data.season, &trial.design.season) {
        (Some(season), Some(column)) => {
            workbook::with_season(opened, &season.value, &column.value, wanted)
                .map_err(|fault| vec![fault])?
        }
        (Some(season), None) => {
            return Err(vec![
                Diagnostic::error(
                    "season-twice",
                    "the name of a sheet is to be its season, but [design] names no column of seasons",
                )
                .at(trial.place(&season.span))
                .help("add season = \"season\" to [design] and the seasons to [trial]"),
            ]);
        }
        (None, _) => opened,
    };
    wide::unfolded(opened, wanted)
}

fn unreadable(wanted: &Wanted<'_>, error: &std::io::Error) -> Diagnostic {
    let name = &wanted.data.file.value;
    Diagnostic::error(
        "unreadable-file",
        format!("{name} cannot be opened: {error}"),
    )
    .at(csv::cell(name, None, None))
    .help("check the name of the file and that it may be read")
}

/// Where the numbers of a file go, by what they are.
#[derive(Debug, Default)]
pub struct Numbers {
    /// By response.
    pub measured: Vec<Measured>,
    /// By covariate.
    pub covariates: Vec<Vec<Part>>,
    /// Row, first and last position of plots.
    pub field: [Vec<Part>; 3],
}

/// One file read, corrections put in; its numbers go to the responses, covariates and places they belong to.
///
/// # Errors
/// A fault of the reader.
pub fn file(
    trial: &Trial,
    at: usize,
    opened: &Opened,
    found: &Found,
    edits: &Edits,
    numbers: &mut Numbers,
) -> Result<(File, Vec<Diagnostic>), Diagnostic> {
    let mut wanted: Vec<usize> = found.iter().map(|(_, heading)| *heading).collect();
    wanted.sort_unstable();
    wanted.dedup();
    let frame = edited(opened.columns(&wanted)?, edits)?;
    let data = &trial.data[at];
    let mut notes = Vec::new();
    let mark = decimals::mark(trial, data, opened, &frame, found, &mut notes)?;
    let mut file = File {
        name: opened.name(),
        origin: opened.origin.clone(),
        sha256: opened.sha256.clone(),
        bytes: opened.bytes,
        lines: opened.lines.clone(),
        winter: data.winter.as_ref().map(|winter| winter.value),
        factors: vec![None; trial.factors.len()],
        otherwise: otherwise(trial, found),
        ..File::default()
    };
    for (what, heading) in found {
        let heading = opened.headings[*heading].as_str();
        let cells = text_column(&frame, opened, heading)?;
        let names = || Coded::of(heading, trimmed(cells));
        // "-" may be a missing code and yet the name of a level.
        let names_or_missing = |levels: &[Level]| {
            let missing = |text: &&str| {
                data.missing.iter().any(|code| code == text)
                    && levels.iter().all(|level| level.name != *text)
            };
            let named = |cell: Option<_>| cell.filter(|text| !missing(text));
            Coded::of(heading, trimmed(cells).map(named))
        };
        let read = |takes_dates| {
            let mut part = Part::read(
                at,
                heading,
                trimmed(cells),
                &data.missing,
                takes_dates,
                mark,
            );
            let summary = opened.origin.summary.as_ref();
            if let Some(decimals) = summary.and_then(|summary| summary.decimals(heading)) {
                part.decimals = part.decimals.min(decimals);
            }
            part
        };
        match what {
            Use::Plot => file.plot = names(),
            Use::Block => file.block = Some(names()),
            Use::Row => file.row = Some(names()),
            Use::Column => file.column = Some(names()),
            Use::Vine => file.vine = Some(names()),
            Use::Season => file.season = Some(names()),
            Use::Factor(at) => {
                let factor = &trial.factors[*at];
                let levels = names_or_missing(&factor.levels);
                file.factors[*at] = Some(decimals::with_points(levels, factor, mark));
            }
            Use::Status => file.status = Some(names_or_missing(&[])),
            Use::Value(at) => numbers.measured[*at]
                .values
                .push(read(trial.responses[*at].takes_dates())),
            Use::Total(at) => numbers.measured[*at].totals.push(read(false)),
            Use::Covariate(at) => {
                numbers.covariates[*at].push(read(trial.covariates[*at].takes_dates()));
            }
            Use::Field(at) => numbers.field[*at].push(read(false)),
        }
    }
    notes.extend(spaces(&frame, opened, &wanted)?);
    if file.height() == 0 {
        notes.push(
            Diagnostic::warning(
                "no-records",
                format!("{} has headings and no records", file.name),
            )
            .at(file.whole()),
        );
    }
    Ok((file, notes))
}

/// Status and labour beside a crop are those of the season; taken at pruning, those of the winter.
fn otherwise(trial: &Trial, found: &Found) -> Belongs {
    let of_season = found.iter().any(|(what, _)| match what {
        Use::Value(at) => belongs(trial.responses[*at].quantity) == Some(Belongs::Label),
        _ => false,
    });
    if of_season {
        Belongs::Label
    } else {
        Belongs::Before
    }
}

/// A column of a frame as text.
///
/// # Errors
/// The frame has no such column of text.
pub fn text_column<'a>(
    frame: &'a DataFrame,
    opened: &Opened,
    heading: &str,
) -> Result<&'a StringChunked, Diagnostic> {
    frame
        .column(heading)
        .and_then(|column| column.str())
        .map_err(|error| {
            Diagnostic::error("unreadable-file", format!("{}: {error}", opened.name()))
                .at(opened.origin.place(None, Some(heading)))
        })
}

/// The cells of a column without spaces at their ends; `None` where nothing is left.
pub fn trimmed(cells: &StringChunked) -> impl Iterator<Item = Option<&str>> {
    cells
        .iter()
        .map(|cell| cell.map(str::trim).filter(|text| !text.is_empty()))
}

/// A note on cells with spaces at their ends, which are taken off.
fn spaces(
    frame: &DataFrame,
    opened: &Opened,
    wanted: &[usize],
) -> Result<Vec<Diagnostic>, Diagnostic> {
    let (mut cells, mut columns) = (0, Vec::new());
    let mut first: Option<(usize, &str)> = None;
    for heading in wanted {
        let heading = opened.headings[*heading].as_str();
        let mut any = false;
        for (row, cell) in text_column(frame, opened, heading)?.iter().enumerate() {
            let Some(text) = cell else { continue };
            let bytes = text.as_bytes();
            // The ends of nearly every cell are ASCII and need no search for rarer spaces.
            let plain = |byte: Option<&u8>| byte.is_none_or(u8::is_ascii_graphic);
            if plain(bytes.first()) && plain(bytes.last()) {
                continue;
            }
            let trimmed = text.trim();
            if trimmed.len() != text.len() && !trimmed.is_empty() {
                cells += 1;
                any = true;
                if first.is_none_or(|(other, _)| row < other) {
                    first = Some((row, heading));
                }
            }
        }
        if any {
            columns.push(format!("'{heading}'"));
        }
    }
    let Some((row, heading)) = first else {
        return Ok(Vec::new());
    };
    Ok(vec![
        Diagnostic::note(
            "spaces",
            format!(
                "{} of {} had spaces at the ends, which were taken off ({})",
                super::text::count(cells, "cell"),
                opened.name(),
                list(&columns)
            ),
        )
        .at(opened.origin.record(&opened.lines, row, Some(heading))),
    ])
}

/// Columns that two files have, where their seasons meet: which file is meant cannot be known.
/// Files of other seasons, or of other plots, are parts of one column.
#[must_use]
pub fn in_two_files(trial: &Trial, files: &[File], measured: &[Measured]) -> Vec<Diagnostic> {
    let mut faults = Vec::new();
    let mut reported: Vec<&str> = Vec::new();
    for (response, measured) in trial.responses.iter().zip(measured) {
        let belongs = |file: &File| file.belongs(response.quantity);
        let columns = [
            (Some(&response.column), &measured.values),
            (response.of.as_ref(), &measured.totals),
        ];
        for (column, parts) in columns {
            let Some(column) = column else { continue };
            if !reported.contains(&column.value.as_str())
                && let Some(fault) = meeting(
                    trial,
                    files,
                    column,
                    parts.iter().map(|part| part.file),
                    &belongs,
                )
            {
                reported.push(&column.value);
                faults.push(fault);
            }
        }
    }
    if let Some(status) = &trial.status {
        let holders = (0..files.len()).filter(|at| files[*at].status.is_some());
        faults.extend(meeting(trial, files, &status.column, holders, &|file| {
            file.otherwise
        }));
    }
    faults
}

fn meeting(
    trial: &Trial,
    files: &[File],
    column: &Written<String>,
    holders: impl Iterator<Item = usize>,
    belongs: &dyn Fn(&File) -> Belongs,
) -> Option<Diagnostic> {
    let holders: Vec<usize> = holders.collect();
    let seasons = |at: usize| -> Option<Vec<Option<u32>>> {
        files[at].season.as_ref()?;
        Some(files[at].seasons[belongs(&files[at]) as usize].clone())
    };
    let in_time = |a: usize, b: usize| match (seasons(a), seasons(b)) {
        (Some(one), Some(other)) => !one
            .iter()
            .flatten()
            .any(|season| other.contains(&Some(*season))),
        _ => false,
    };
    let plots = |at: usize| files[at].plots.iter().flatten().copied();
    let in_space = |a: usize, b: usize| {
        let one: HashSet<u32> = plots(a).collect();
        !one.is_empty() && plots(b).all(|plot| !one.contains(&plot))
    };
    let apart = |a: usize, b: usize| in_time(a, b) || in_space(a, b);
    let pairs = holders
        .iter()
        .enumerate()
        .flat_map(|(at, a)| holders[..at].iter().map(move |b| (*b, *a)));
    let (first, second) = pairs.into_iter().find(|(a, b)| !apart(*a, *b))?;
    Some(
        Diagnostic::error(
            "column-in-two-files",
            format!(
                "{} and {} both have a column '{}' for the same seasons, so it is unclear which is meant",
                files[first].name, files[second].name, column.value
            ),
        )
        .at(trial.place(&column.span))
        .at(files[first].origin.place(None, Some(&column.value)))
        .at(files[second].origin.place(None, Some(&column.value)))
        .help("rename or delete the column in the file that is not meant"),
    )
}
