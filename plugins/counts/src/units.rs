//! The units that counts lie in: blocks, whole plots, strips, plots.

use caneplot_numerics::counts::Grouping;
use caneplot_plugin::request::{DesignKind, Role, TrialInfo};
use caneplot_plugin::{Refusal, Table};

/// Numbers units in the order in which they first stand.
fn numbered(keys: &[Vec<String>]) -> Vec<usize> {
    let mut known: Vec<&Vec<String>> = Vec::new();
    keys.iter()
        .map(|key| {
            known
                .iter()
                .position(|other| *other == key)
                .unwrap_or_else(|| {
                    known.push(key);
                    known.len() - 1
                })
        })
        .collect()
}

/// The words of key columns for each of the rows.
///
/// # Errors
/// Where a column is missing or not of words.
pub fn keys(plots: &Table, columns: &[&str], rows: &[usize]) -> Result<Vec<Vec<String>>, Refusal> {
    let mut keys = vec![Vec::new(); rows.len()];
    for column in columns {
        let words = plots.texts(column)?;
        for (key, row) in keys.iter_mut().zip(rows) {
            key.push(words[*row].clone().unwrap_or_default());
        }
    }
    Ok(keys)
}

/// The units of the design from the coarsest to the finest, single counts left out.
///
/// # Errors
/// Where a column of the design is missing or not of words.
pub fn groupings(
    trial: &TrialInfo,
    plots: &Table,
    rows: &[usize],
    seasons: bool,
) -> Result<Vec<Grouping>, Refusal> {
    let design = &trial.design;
    let carried = |roles: &[Role]| -> Vec<&str> {
        let factors = trial.factors.iter();
        let of = factors.filter(|factor| roles.contains(&factor.role));
        of.map(|factor| factor.name.as_str()).collect()
    };
    let block: &[&str] = if design.block { &["block"] } else { &[] };
    let inside = |roles: &[Role]| [block, &carried(roles)].concat();
    let mut wanted: Vec<(&str, Vec<&str>)> = Vec::new();
    if design.kind == DesignKind::LatinSquare && design.row_column {
        wanted.push(("row", vec!["row"]));
        wanted.push(("column", vec!["column"]));
    } else if design.kind != DesignKind::CompletelyRandomised && design.block {
        wanted.push(("block", vec!["block"]));
    }
    match design.kind {
        DesignKind::SplitPlot => wanted.push(("whole plot", inside(&[Role::WholePlot]))),
        DesignKind::SplitSplitPlot => {
            wanted.push(("whole plot", inside(&[Role::WholePlot])));
            wanted.push(("sub plot", inside(&[Role::WholePlot, Role::SubPlot])));
        }
        DesignKind::StripPlot => {
            wanted.push(("row strip", inside(&[Role::RowStrip])));
            wanted.push(("cross strip", inside(&[Role::CrossStrip])));
        }
        _ => {}
    }
    if seasons {
        let place = ["block", "row", "column", "plot"];
        wanted.push((
            "plot",
            place.into_iter().filter(|key| plots.has(key)).collect(),
        ));
    }
    let mut found = Vec::new();
    for (name, columns) in wanted {
        let codes = numbered(&keys(plots, &columns, rows)?);
        let units = codes.iter().max().map_or(0, |most| most + 1);
        // A unit for each count is no grouping; a single unit cannot vary.
        if units > 1 && units < rows.len() {
            found.push(Grouping {
                name: name.to_owned(),
                codes,
            });
        }
    }
    Ok(found)
}
