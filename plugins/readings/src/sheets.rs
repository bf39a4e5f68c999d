//! The values of one response in a table with their design columns, as the numerics take them.
//!
//! Values that are not recorded are left out; whether what remains is still the design is for the
//! engine to say.

use caneplot_numerics::design::Sheet;
use caneplot_numerics::strata::Classifier;
use caneplot_plugin::request::{DesignKind, Factor, Response, TrialInfo};
use caneplot_plugin::{Call, Refusal, Table};

use crate::design::{applied, kind};
use crate::register::text;

/// Refuses a trial without a treatment factor.
///
/// # Errors
/// Says where factors are declared.
pub fn treated(trial: &TrialInfo) -> Result<(), Refusal> {
    if trial.factors.is_empty() {
        return Err(Refusal::new("the trial declares no treatment factor")
            .hint("declare the treatments under [factors] in trial.toml"));
    }
    Ok(())
}

/// Refuses a trial that no response can be analysed in: without a factor, without a table of plots or
/// without a column that its design needs.
///
/// # Errors
/// Names what is missing and where it is declared.
pub fn possible(call: &Call) -> Result<(), Refusal> {
    let trial = &call.request.trial;
    treated(trial)?;
    let table = call.table("plots")?;
    let design = trial.design.kind;
    let needed: &[&str] = match design {
        DesignKind::CompletelyRandomised => &[],
        DesignKind::LatinSquare => &["row", "column"],
        _ => &["block"],
    };
    match needed.iter().find(|column| !table.has(column)) {
        None => Ok(()),
        Some(column) => Err(Refusal::new(format!(
            "a {} needs the column '{column}'",
            kind(design).words()
        ))
        .column(*column)
        .hint("name the column under [design] in trial.toml")),
    }
}

/// The rows of a table in which a response has a value.
///
/// # Errors
/// Refuses a table without the column, or without any value in it.
pub fn recorded(table: &Table, response: &Response) -> Result<Vec<usize>, Refusal> {
    let column = table.numbers(&response.name)?;
    let rows: Vec<usize> = (0..table.rows)
        .filter(|&row| column[row].is_some())
        .collect();
    if rows.is_empty() {
        return Err(Refusal::new("it has no value at all").column(&response.name));
    }
    Ok(rows)
}

/// The names in a design column at some rows.
///
/// # Errors
/// Refuses a table without the column, and empty cells in it.
pub fn texts(table: &Table, name: &str, rows: &[usize]) -> Result<Vec<String>, Refusal> {
    rows.iter().map(|&row| text(table, name, row)).collect()
}

/// The design columns of some rows of a table, each row a value: a plot, a plot in a season or, where
/// `vines` says so, a vine. One season alone is no season.
///
/// # Errors
/// Refuses empty cells in design columns and levels that are not declared.
pub fn sheet(
    trial: &TrialInfo,
    table: &Table,
    rows: &[usize],
    vines: bool,
) -> Result<Sheet, Refusal> {
    let column = |name: &str, words: &str, order: &[String]| {
        if !table.has(name) {
            return Ok(None);
        }
        let all = texts(table, name, rows)?;
        Ok::<_, Refusal>(Some(Classifier::from_texts(words, &all, order)))
    };
    let season = if trial.design.season {
        column("season", "Season", &trial.seasons)?.filter(|season| season.levels.len() > 1)
    } else {
        None
    };
    let treatments = trial
        .factors
        .iter()
        .map(|factor| Ok((levels(factor, table, rows)?, applied(factor.role))))
        .collect::<Result<Vec<_>, Refusal>>()?;
    Ok(Sheet {
        kind: kind(trial.design.kind),
        block: column("block", "Block", &[])?,
        row: column("row", "Row", &[])?,
        column: column("column", "Column", &[])?,
        plot: Classifier::from_texts("plot", &texts(table, "plot", rows)?, &[]),
        season,
        vines,
        treatments,
        block_by_season: false,
    })
}

/// The levels of a factor at some rows, in the order they are declared.
fn levels(factor: &Factor, table: &Table, rows: &[usize]) -> Result<Classifier, Refusal> {
    let order: Vec<String> = factor
        .levels
        .iter()
        .map(|level| level.name.clone())
        .collect();
    let all = texts(table, &factor.name, rows)?;
    if let Some(at) = all.iter().position(|level| !order.contains(level)) {
        return Err(undeclared(factor, &all[at]).rows(vec![rows[at]]));
    }
    Ok(Classifier::from_texts(&factor.label, &all, &order))
}

/// The refusal of a level that trial.toml does not have.
pub(crate) fn undeclared(factor: &Factor, level: &str) -> Refusal {
    let known: Vec<&str> = factor.levels.iter().map(|one| one.name.as_str()).collect();
    Refusal::new(format!(
        "'{level}' is not a level of the factor '{}'",
        factor.name
    ))
    .column(&factor.name)
    .hint(format!(
        "the levels declared are {}",
        caneplot_plugin::words::list(&known)
    ))
}

#[cfg(test)]
mod tests {
    use caneplot_plugin::request::Quantity;

    use super::*;
    use crate::names::plot_of;
    use crate::testing::{self, Made, factor, numbers, response, texts as words};

    fn trial(levels: [&str; 4]) -> Call {
        let plots = testing::table(
            "plots",
            vec![
                ("block", words(["A", "A", "B", "B"])),
                ("plot", words(["1", "2", "1", "2"])),
                ("pruning", words(levels)),
                ("yield", numbers([1.0, 2.0, 3.0, 4.0])),
            ],
        );
        let pruning = factor("pruning", "Pruning", &["cane", "spur"], None);
        Made::new(DesignKind::RandomisedBlock, vec![pruning], plots)
            .with(response("yield", "Yield", "kg/vine", Quantity::Other))
            .call()
    }

    #[test]
    fn rows_become_a_sheet_whose_plots_have_names() {
        let call = trial(["cane", "spur", "spur", "cane"]);
        let (trial, table) = (&call.request.trial, call.table("plots").unwrap());
        possible(&call).unwrap();
        let rows = recorded(table, &trial.responses[0]).unwrap();
        let sheet = sheet(trial, table, &rows[1..], false).unwrap();
        assert_eq!(sheet.treatments[0].0.codes, [1, 1, 0]);
        assert_eq!(plot_of(&sheet, 1), "plot 1 of block B");
    }

    #[test]
    fn a_level_that_is_not_declared_is_refused_with_its_row() {
        let call = trial(["cane", "spur", "hedge", "cane"]);
        let (trial, table) = (&call.request.trial, call.table("plots").unwrap());
        let refusal = sheet(trial, table, &[1, 2], false).unwrap_err();
        assert_eq!(refusal.rows, [2]);
        assert!(refusal.message.contains("'hedge' is not a level"));
        assert_eq!(
            refusal.hint.as_deref(),
            Some("the levels declared are cane and spur")
        );
    }
}
