//! The treatment tests of all responses, raw and adjusted.

use caneplot_plugin::findings::{Column, Format, Table};

use super::seasons::names;
use crate::family::Line;
use crate::plan::Planner;

/// The table; with a primary response, it and the others stand under headings.
pub(crate) fn family(planner: &Planner<'_>, lines: &[Line]) -> Table {
    let trial = planner.trial();
    let primary = lines.iter().filter(|line| line.primary).count();
    let mut rows: Vec<Option<&Line>> = lines.iter().map(Some).collect();
    let mut groups = Vec::new();
    let mut names_of: Vec<String> = lines.iter().map(|line| line.response.clone()).collect();
    if primary > 0 {
        // The later one first, so that the earlier place holds.
        for (at, heading) in [(primary, "Other responses"), (0, "Primary response")] {
            if at < lines.len() {
                rows.insert(at, None);
                names_of.insert(at, heading.to_owned());
            }
        }
        groups = (0..rows.len()).filter(|&row| rows[row].is_none()).collect();
    }
    let number = |value: &dyn Fn(&Line) -> Option<f64>| {
        rows.iter().map(|line| value((*line)?)).collect::<Vec<_>>()
    };
    let count = |value: &dyn Fn(&Line) -> usize| {
        rows.iter()
            .map(|line| Some(value((*line)?) as i64))
            .collect()
    };
    let mut columns = vec![Column::text("Response", names_of)];
    if trial.factors.len() > 1 {
        let source = |line: &Option<&Line>| {
            line.map_or_else(String::new, |line| names(trial, &line.factors))
        };
        columns.push(Column::text("Source of variation", rows.iter().map(source)));
    }
    columns.extend([
        Column::count("df", count(&|line| line.test.df)),
        Column::count("Error df", count(&|line| line.test.error_df)),
        Column::number("F", number(&|line| Some(line.test.f)), Format::Decimals(2)),
        Column::probability("P", number(&|line| Some(line.test.p))),
        Column::probability(
            "P, false discoveries controlled",
            number(&|line| Some(line.adjusted?.0)),
        ),
        Column::probability("P, Holm", number(&|line| Some(line.adjusted?.1))),
    ]);
    Table {
        id: "responses".to_owned(),
        title: "Tests of the treatments, means over the seasons".to_owned(),
        columns,
        notes: vec![format!(
            "Adjusted for the {} tests {}.",
            lines.len() - primary,
            if primary == 0 {
                "of this table"
            } else {
                "that are not of the primary response"
            }
        )],
        groups,
        file_only: false,
    }
}
