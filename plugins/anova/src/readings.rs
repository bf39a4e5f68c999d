//! From the request to the values of one response with their design columns.
//!
//! Values that are not recorded are left out here; whether what remains is still the design is for
//! the engine to say. A season or block without any value is left out whole, with a note.

use caneplot_numerics::design::{Applied, DesignError, Kind, Sheet};
use caneplot_numerics::strata::Classifier;
use caneplot_plugin::findings::{Format, Rank, Statement};
use caneplot_plugin::request::{Basis, DesignKind, Response, Role};
use caneplot_plugin::{Call, Refusal, Table};

use crate::options::{BlockSeason, Options};
use crate::words::{counted, inside, list, safe};

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

/// Refuses a trial that no response can be analysed in.
pub(crate) fn possible(call: &Call) -> Result<(), Refusal> {
    let trial = &call.request.trial;
    if trial.factors.is_empty() {
        return Err(Refusal::new("the trial declares no treatment factor")
            .hint("declare the treatments under [factors] in trial.toml"));
    }
    let (design, table) = (&trial.design, call.table("plots")?);
    let needed = match design.kind {
        DesignKind::CompletelyRandomised => vec![],
        DesignKind::LatinSquare => vec!["row", "column"],
        _ => vec!["block"],
    };
    for column in needed {
        if !table.has(column) {
            return Err(Refusal::new(format!(
                "a {} needs the column '{column}'",
                kind(design.kind).words()
            ))
            .column(column)
            .hint("name the column under [design] in trial.toml"));
        }
    }
    Ok(())
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
    let column = data.numbers(&response.name)?;
    let rows: Vec<usize> = (0..data.rows)
        .filter(|&row| column[row].is_some())
        .collect();
    if rows.is_empty() {
        return Err(
            Refusal::new(format!("'{}' has no value at all", response.label))
                .column(&response.name),
        );
    }
    let values: Vec<f64> = rows.iter().filter_map(|&row| column[row]).collect();
    let mut notes = Vec::new();
    let mut column_of = |name: &str, words: &str, order: &[String]| {
        if !data.has(name) {
            return Ok(None);
        }
        let all = texts(data, name, &rows)?;
        let classifier = Classifier::from_texts(words, &all, order);
        notes.extend(left_out(data, name, words, &classifier)?);
        Ok::<_, Refusal>(Some(classifier))
    };
    let block = column_of("block", "Block", &[])?;
    let row = column_of("row", "Row", &[])?;
    let across = column_of("column", "Column", &[])?;
    let season = if trial.design.season {
        column_of("season", "Season", &trial.seasons)?.filter(|season| season.levels.len() > 1)
    } else {
        None
    };
    let mut treatments = Vec::new();
    for factor in &trial.factors {
        let order: Vec<String> = factor
            .levels
            .iter()
            .map(|level| level.name.clone())
            .collect();
        let all = texts(data, &factor.name, &rows)?;
        if let Some(unknown) = all.iter().find(|level| !order.contains(level)) {
            return Err(Refusal::new(format!(
                "'{unknown}' is not a level of the factor '{}'",
                factor.name
            ))
            .column(&factor.name)
            .hint(format!("the levels declared are {}", list(&order))));
        }
        let classifier = Classifier::from_texts(&factor.label, &all, &order);
        for level in order
            .iter()
            .filter(|level| !classifier.levels.contains(level))
        {
            notes.push(
                Statement::new(format!(
                    "{} {} has no value and is left out.",
                    safe(&factor.label),
                    safe(level)
                ))
                .rank(Rank::Detail),
            );
        }
        treatments.push((classifier, applied(factor.role)));
    }
    let plot = Classifier::from_texts("plot", &texts(data, "plot", &rows)?, &[]);
    Ok(Readings {
        key: (table.to_owned(), rows),
        sheet: Sheet {
            kind: kind(trial.design.kind),
            block,
            row,
            column: across,
            plot,
            season,
            vines,
            treatments,
            block_by_season: options.block_season == BlockSeason::Separate,
        },
        values,
        notes,
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

/// A note on the seasons or blocks that have no value of this response.
fn left_out(
    table: &Table,
    name: &str,
    words: &str,
    present: &Classifier,
) -> Result<Option<Statement>, Refusal> {
    let mut absent: Vec<String> = table
        .texts(name)?
        .iter()
        .flatten()
        .filter(|level| !present.levels.contains(level))
        .map(|level| safe(level))
        .collect();
    absent.sort();
    absent.dedup();
    Ok((!absent.is_empty()).then(|| {
        let noun = counted(absent.len(), &inside(words));
        Statement::new(format!(
            "{noun} without any value {} left out: {}.",
            if absent.len() == 1 { "is" } else { "are" },
            list(&absent)
        ))
        .rank(Rank::Detail)
    }))
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
