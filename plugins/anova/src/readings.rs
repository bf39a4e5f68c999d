//! From the request to the values of one response with their design columns.
//!
//! Values that are not recorded are left out here; whether what remains is still the design is for
//! the engine to say. A season or block without any value is left out whole, with a note.

use std::collections::BTreeSet;

use caneplot_numerics::design::{DesignError, Sheet};
use caneplot_plugin::findings::{Format, Rank, Statement};
use caneplot_plugin::request::{Basis, Response};
use caneplot_plugin::{Call, Refusal, Table};
use caneplot_readings::sheets;

use crate::options::{BlockSeason, Options};
use crate::words::{counted, list, safe};

/// The values of one response, centred, with their design.
pub(crate) struct Readings {
    /// Name of the table and the rows that are used.
    pub key: (String, Vec<usize>),
    /// The design columns of those rows.
    pub sheet: Sheet,
    /// The values, centred on the offset of the response.
    pub values: Vec<f64>,
    /// What was left out.
    pub notes: Vec<Statement>,
}

/// The values of a response in the plots.
pub(crate) fn of_plots(
    call: &Call,
    options: &Options,
    response: &Response,
) -> Result<Readings, Refusal> {
    readings(call, options, response, "plots", false)
}

/// The values of a response on single vines, where the trial has them.
///
/// A response reckoned over planted spaces, a percentage of counts or a quotient is not the mean of
/// the vines' own values, so it is never read from them.
pub(crate) fn of_vines(
    call: &Call,
    options: &Options,
    response: &Response,
) -> Option<Result<Readings, Refusal>> {
    let usable = call.request.trial.design.vine
        && response.on_vines
        && response.basis != Basis::PlantedSpace
        && response.counts.is_none()
        && response.derived.is_none()
        && call
            .table("vines")
            .is_ok_and(|table| table.has(&response.name));
    usable.then(|| readings(call, options, response, "vines", true))
}

/// Says that plots hold unequal numbers of vines, so that plot means are analysed.
pub(crate) fn unequal_vines(error: &DesignError) -> Option<Statement> {
    match error {
        DesignError::UnequalVines { fewest, most } => Some(
            Statement::new(
                "Plots hold from {fewest} to {most} living vines. Plot means are analysed, each plot counting once; the vines are not replicates.",
            )
            .with("fewest", *fewest as f64, Format::Count)
            .with("most", *most as f64, Format::Count)
            .rank(Rank::Detail),
        ),
        _ => None,
    }
}

fn readings(
    call: &Call,
    options: &Options,
    response: &Response,
    table: &str,
    vines: bool,
) -> Result<Readings, Refusal> {
    let trial = &call.request.trial;
    let data = call.table(table)?;
    let rows = sheets::recorded(data, response)?;
    let mut sheet = sheets::sheet(trial, data, &rows, vines)?;
    sheet.block_by_season = options.block_season == BlockSeason::Separate;
    let column = data.numbers(&response.name)?;
    let mut notes = Vec::new();
    for (name, used) in [
        ("block", true),
        ("row", true),
        ("column", true),
        ("season", trial.design.season),
    ] {
        if used && data.has(name) {
            notes.extend(left_out(data, name, &rows)?);
        }
    }
    for (factor, (classifier, _)) in trial.factors.iter().zip(&sheet.treatments) {
        for level in &factor.levels {
            if !classifier.levels.contains(&level.name) {
                notes.push(
                    Statement::new(format!(
                        "{} {} has no value and is left out.",
                        safe(&factor.label),
                        safe(&level.name)
                    ))
                    .rank(Rank::Detail),
                );
            }
        }
    }
    Ok(Readings {
        values: rows.iter().filter_map(|&row| column[row]).collect(),
        key: (table.to_owned(), rows),
        sheet,
        notes,
    })
}

/// A note on the seasons or blocks that have no value of this response.
fn left_out(table: &Table, name: &str, rows: &[usize]) -> Result<Option<Statement>, Refusal> {
    let present: BTreeSet<String> = sheets::texts(table, name, rows)?.into_iter().collect();
    let every = table.texts(name)?.iter().flatten();
    let absent: BTreeSet<&String> = every.filter(|level| !present.contains(*level)).collect();
    let absent: Vec<String> = absent.into_iter().map(|level| safe(level)).collect();
    Ok((!absent.is_empty()).then(|| {
        Statement::new(format!(
            "{} without any value {} left out: {}.",
            counted(absent.len(), name),
            if absent.len() == 1 { "is" } else { "are" },
            list(&absent)
        ))
        .rank(Rank::Detail)
    }))
}
