//! From the request to the values of one response in a complete design.
//!
//! Exchanging treatments between plots needs every plot to have been measured as often as the others.
//! Where a value is missing, the block that lacks it is left out (of a completely randomised trial
//! the plot), with a note; what is left is the design again, only smaller.

use std::collections::BTreeSet;

use caneplot_numerics::design::{Applied, Design, Kind, Sheet};
use caneplot_numerics::strata::Classifier;
use caneplot_plugin::findings::{Rank, Statement};
use caneplot_plugin::request::{DesignKind, Response, Role, TrialInfo};
use caneplot_plugin::{Call, Refusal, Table};

use crate::words::{inside, list, safe};

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

/// Refuses a trial that no response can be tested in.
pub(crate) fn possible(call: &Call) -> Result<(), Refusal> {
    if call.request.trial.factors.is_empty() {
        return Err(Refusal::new("the trial declares no treatment factor")
            .hint("declare the treatments under [factors] in trial.toml"));
    }
    call.table("plots").map(|_| ())
}

/// The values of a response.
pub(crate) fn of(call: &Call, response: &Response) -> Result<Readings, Refusal> {
    let trial = &call.request.trial;
    let table = call.table("plots")?;
    let column = table.numbers(&response.name)?;
    let recorded: Vec<usize> = (0..table.rows)
        .filter(|&row| column[row].is_some())
        .collect();
    if recorded.is_empty() {
        return Err(Refusal::new("it has no value at all").column(&response.name));
    }
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
        .map(|name| texts(table, name, &all))
        .collect::<Result<Vec<_>, _>>()?;
    let of = |row: usize| -> String {
        let parts: Vec<&str> = columns.iter().map(|c| c[row].as_str()).collect();
        parts.join("-")
    };
    // A season in which nothing was recorded is no gap.
    let seasons = if trial.design.season {
        texts(table, "season", &all)?
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

/// The design columns of some rows.
fn sheet(trial: &TrialInfo, table: &Table, rows: &[usize]) -> Result<Sheet, Refusal> {
    let column = |name: &str, order: &[String]| {
        if !table.has(name) {
            return Ok(None);
        }
        let all = texts(table, name, rows)?;
        Ok::<_, Refusal>(Some(Classifier::from_texts(name, &all, order)))
    };
    let season = if trial.design.season {
        column("season", &trial.seasons)?.filter(|season| season.levels.len() > 1)
    } else {
        None
    };
    let treatments = trial
        .factors
        .iter()
        .map(|factor| {
            let order: Vec<String> = factor.levels.iter().map(|l| l.name.clone()).collect();
            let all = texts(table, &factor.name, rows)?;
            let classifier = Classifier::from_texts(&factor.label, &all, &order);
            Ok((classifier, applied(factor.role)))
        })
        .collect::<Result<Vec<_>, Refusal>>()?;
    Ok(Sheet {
        kind: kind(trial.design.kind),
        block: column("block", &[])?,
        row: column("row", &[])?,
        column: column("column", &[])?,
        plot: Classifier::from_texts("plot", &texts(table, "plot", rows)?, &[]),
        season,
        vines: false,
        treatments,
        block_by_season: false,
    })
}

/// The names in a design column at these rows.
fn texts(table: &Table, name: &str, rows: &[usize]) -> Result<Vec<String>, Refusal> {
    let column = table.texts(name)?;
    rows.iter()
        .map(|&row| {
            column[row].clone().ok_or_else(|| {
                Refusal::new(format!(
                    "the column '{name}' of the plots has an empty cell"
                ))
                .column(name)
                .rows(vec![row])
            })
        })
        .collect()
}

fn kind(kind: DesignKind) -> Kind {
    match kind {
        DesignKind::CompletelyRandomised => Kind::CompletelyRandomised,
        DesignKind::RandomisedBlock => Kind::RandomisedBlock,
        DesignKind::LatinSquare => Kind::LatinSquare,
        DesignKind::SplitPlot => Kind::SplitPlot,
        DesignKind::StripPlot => Kind::StripPlot,
        DesignKind::SplitSplitPlot => Kind::SplitSplitPlot,
    }
}

fn applied(role: Role) -> Applied {
    match role {
        Role::Treatment => Applied::Plot,
        Role::WholePlot => Applied::WholePlot,
        Role::SubPlot => Applied::SubPlot,
        Role::SubSubPlot => Applied::SubSubPlot,
        Role::RowStrip => Applied::RowStrip,
        Role::CrossStrip => Applied::CrossStrip,
    }
}
