//! Which column of which file holds what the trial declares, and what is missing.

use super::opened::Opened;
use super::text::list;
use crate::diagnostic::{Diagnostic, nearest};
use crate::reduce::COUNTED;
use crate::trial::{Trial, Written};

/// What a column is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Use {
    /// Blocks.
    Block,
    /// Rows of a Latin square.
    Row,
    /// Columns of a Latin square.
    Column,
    /// Plots.
    Plot,
    /// Vines.
    Vine,
    /// Seasons.
    Season,
    /// Levels of the factor with this index.
    Factor(usize),
    /// Status of vines.
    Status,
    /// Values of the response with this index.
    Value(usize),
    /// Totals of the count with this index.
    Total(usize),
    /// Values of the covariate with this index.
    Covariate(usize),
    /// A place in the field: row, first position, last position.
    Field(usize),
}

impl Use {
    /// Whether its cells are numbers and no names.
    #[must_use]
    pub fn is_number(self) -> bool {
        matches!(
            self,
            Use::Value(_) | Use::Total(_) | Use::Covariate(_) | Use::Field(_)
        )
    }
}

/// Every column the trial speaks of.
#[must_use]
pub fn wanted(trial: &Trial) -> Vec<(Use, &Written<String>)> {
    let design = &trial.design;
    let mut wanted = vec![(Use::Plot, &design.plot)];
    let optional = [
        (Use::Block, &design.block),
        (Use::Row, &design.row),
        (Use::Column, &design.column),
        (Use::Vine, &design.vine),
        (Use::Season, &design.season),
    ];
    wanted.extend(
        optional
            .into_iter()
            .filter_map(|(what, column)| Some((what, column.as_ref()?))),
    );
    wanted.extend(
        trial
            .factors
            .iter()
            .enumerate()
            .map(|(at, factor)| (Use::Factor(at), &factor.column)),
    );
    wanted.extend(
        trial
            .status
            .iter()
            .map(|status| (Use::Status, &status.column)),
    );
    for (at, response) in trial.responses.iter().enumerate() {
        wanted.push((Use::Value(at), &response.column));
        wanted.extend(response.of.iter().map(|of| (Use::Total(at), of)));
    }
    for (at, covariate) in trial.covariates.iter().enumerate() {
        wanted.push((Use::Covariate(at), &covariate.column));
    }
    let places = trial.field.iter().flat_map(crate::trial::Field::columns);
    wanted.extend(
        places
            .enumerate()
            .map(|(at, (_, column))| (Use::Field(at), column)),
    );
    wanted
}

/// The columns found in one file: use and index of the heading.
pub type Found = Vec<(Use, usize)>;

/// The columns each file has.
///
/// # Errors
/// A diagnostic for every declared column that no file has, and every file without plots.
pub fn placed(trial: &Trial, files: &[Opened]) -> Result<Vec<Found>, Vec<Diagnostic>> {
    let wanted = wanted(trial);
    let found: Vec<Found> = files
        .iter()
        .map(|file| {
            let at = |column: &str| file.headings.iter().position(|heading| heading == column);
            wanted
                .iter()
                .filter_map(|(what, column)| Some((*what, at(&column.value)?)))
                .collect()
        })
        .collect();
    let mut faults = Vec::new();
    let mut reported: Vec<&str> = Vec::new();
    for (what, column) in &wanted {
        let anywhere = found.iter().flatten().any(|(other, _)| other == what);
        if !anywhere && !reported.contains(&column.value.as_str()) {
            reported.push(&column.value);
            faults.push(nowhere(trial, files, column));
        }
    }
    let plot = &trial.design.plot;
    if !reported.contains(&plot.value.as_str()) {
        let without = files
            .iter()
            .zip(&found)
            .zip(&trial.data)
            .filter(|((_, found), _)| found.iter().all(|(what, _)| *what != Use::Plot));
        for ((file, _), data) in without {
            faults.push(without_plots(trial, file, plot, &data.file));
        }
    }
    if faults.is_empty() {
        Ok(found)
    } else {
        Err(faults)
    }
}

fn nowhere(trial: &Trial, files: &[Opened], column: &Written<String>) -> Diagnostic {
    let headings = files
        .iter()
        .flat_map(|file| file.headings.iter().map(String::as_str));
    let mut fault = Diagnostic::error(
        "missing-column",
        format!("no data file has a column '{}'", column.value),
    )
    .at(trial.place(&column.span));
    if let Some(near) = nearest(&column.value, headings) {
        let holders: Vec<String> = files
            .iter()
            .filter(|file| file.headings.iter().any(|heading| heading == near))
            .map(Opened::name)
            .collect();
        fault = fault.help(format!(
            "write \"{near}\", a column of {}, if that is meant",
            list(&holders)
        ));
    } else {
        let all: Vec<String> = files
            .iter()
            .map(|file| format!("{} has {}", file.name(), list(&file.headings)))
            .collect();
        fault = fault.help(format!("name a column that exists: {}", all.join("; ")));
    }
    fault
}

fn without_plots(
    trial: &Trial,
    file: &Opened,
    plot: &Written<String>,
    written: &Written<String>,
) -> Diagnostic {
    let near = nearest(&plot.value, file.headings.iter().map(String::as_str))
        .map_or(String::new(), |near| {
            format!("; its column '{near}' may be meant")
        });
    Diagnostic::error(
        "missing-column",
        format!(
            "{} has no column '{}', so its records belong to no plot",
            file.name(),
            plot.value
        ),
    )
    .at(trial.place(&written.span))
    .help(format!(
        "head the column of plots '{}' in every file{near}",
        plot.value
    ))
}

/// A note on the columns of each file that nothing in the trial speaks of.
#[must_use]
pub fn unused(files: &[Opened], found: &[Found]) -> Vec<Diagnostic> {
    let mut notes = Vec::new();
    for (file, found) in files.iter().zip(found) {
        let idle: Vec<String> = file
            .headings
            .iter()
            .enumerate()
            .filter(|(at, heading)| {
                let is_count = file.origin.summary.is_some() && *heading == COUNTED;
                !is_count && found.iter().all(|(_, used)| used != at)
            })
            .map(|(_, heading)| format!("'{heading}'"))
            .collect();
        if !idle.is_empty() {
            let (word, verb) = if idle.len() == 1 {
                ("column", "is")
            } else {
                ("columns", "are")
            };
            notes.push(
                Diagnostic::note(
                    "unused-columns",
                    format!("{word} {} of {} {verb} not used", list(&idle), file.name()),
                )
                .at(file.origin.place(None, None)),
            );
        }
    }
    notes
}
