//! From the request to the values of one response in a complete design.
//!
//! Exchanging treatments between plots needs every plot to have been measured as often as the others.
//! Where a value is missing, the block that lacks it is left out (of a completely randomised trial
//! the plot), with a note; what is left is the design again, only smaller.

use std::collections::BTreeSet;

use caneplot_numerics::design::{Design, Sheet};
use caneplot_plugin::findings::{Rank, Statement};
use caneplot_plugin::request::{DesignKind, Response, TrialInfo};
use caneplot_plugin::words::{inside, list, safe};
use caneplot_plugin::{Call, Refusal, Table};
use caneplot_readings::sheets;

/// More plots than this are not named one by one.
const MOST_NAMED: usize = 6;

/// The values of one response in a complete design.
pub(crate) struct Readings {
    /// Rows of the table that are used.
    pub rows: Vec<usize>,
    /// Their design columns.
    pub sheet: Sheet,
    /// The design they make up.
    pub design: Design,
    /// The values, centred on the offset of the response.
    pub values: Vec<f64>,
    /// What was left out.
    pub note: Option<Statement>,
}

/// The values of a response.
pub(crate) fn of(call: &Call, response: &Response) -> Result<Readings, Refusal> {
    let trial = &call.request.trial;
    let table = call.table("plots")?;
    let column = table.numbers(&response.name)?;
    let recorded = sheets::recorded(table, response)?;
    let sheet = sheet(trial, table, &recorded)?;
    let (rows, sheet, design, note) = match sheet.design() {
        Ok(design) => (recorded, sheet, design, None),
        Err(error) => {
            let refused = || Refusal::new(error.to_string());
            let (rows, note) = without_gaps(trial, table, response, column)?.ok_or_else(refused)?;
            let sheet = self::sheet(trial, table, &rows)?;
            let design = sheet.design().map_err(|_| refused())?;
            (rows, sheet, design, Some(note))
        }
    };
    Ok(Readings {
        values: rows.iter().filter_map(|&row| column[row]).collect(),
        rows,
        sheet,
        design,
        note,
    })
}

/// The design columns of some rows, the season named as it stands inside a term.
fn sheet(trial: &TrialInfo, table: &Table, rows: &[usize]) -> Result<Sheet, Refusal> {
    let mut sheet = sheets::sheet(trial, table, rows, false)?;
    if let Some(season) = &mut sheet.season {
        season.name = "season".to_owned();
    }
    Ok(sheet)
}

/// The rows of the blocks (or plots) without a gap, and what was left out; `None` where no gap is to
/// blame or a Latin square has one.
fn without_gaps(
    trial: &TrialInfo,
    table: &Table,
    response: &Response,
    column: &[Option<f64>],
) -> Result<Option<(Vec<usize>, Statement)>, Refusal> {
    let group: Vec<&str> = match trial.design.kind {
        DesignKind::LatinSquare => return Ok(None),
        DesignKind::CompletelyRandomised if table.has("block") => vec!["block", "plot"],
        DesignKind::CompletelyRandomised => vec!["plot"],
        _ => vec!["block"],
    };
    let all: Vec<usize> = (0..table.rows).collect();
    let columns = group
        .iter()
        .map(|name| sheets::texts(table, name, &all))
        .collect::<Result<Vec<_>, _>>()?;
    let of = |row: usize| -> String {
        let parts: Vec<&str> = columns.iter().map(|c| c[row].as_str()).collect();
        parts.join("-")
    };
    // A season in which nothing was recorded is no gap.
    let seasons = if trial.design.season {
        sheets::texts(table, "season", &all)?
    } else {
        vec![String::new(); table.rows]
    };
    let kept: BTreeSet<&str> = all
        .iter()
        .filter(|&&row| column[row].is_some())
        .map(|&row| seasons[row].as_str())
        .collect();
    let gaps: Vec<usize> = all
        .iter()
        .copied()
        .filter(|&row| column[row].is_none() && kept.contains(seasons[row].as_str()))
        .collect();
    let out: BTreeSet<String> = gaps.iter().map(|&row| of(row)).collect();
    let rows: Vec<usize> = all
        .into_iter()
        .filter(|&row| column[row].is_some() && !out.contains(&of(row)))
        .collect();
    if out.is_empty() || rows.is_empty() {
        return Ok(None);
    }
    let noun = group[group.len() - 1];
    let names: Vec<String> = out.iter().map(|name| safe(name)).collect();
    let what = if names.len() > MOST_NAMED {
        format!("{} {noun}s", names.len())
    } else {
        let plural = if names.len() == 1 { "" } else { "s" };
        format!("{noun}{plural} {}", list(&names))
    };
    let verb = if names.len() == 1 { "is" } else { "are" };
    let note = Statement::new(format!(
        "For {}, {what} {verb} left out: values are missing there, and only complete {noun}s can be shuffled.",
        inside(&response.label)
    ))
    .rank(Rank::Detail);
    Ok(Some((rows, note)))
}
