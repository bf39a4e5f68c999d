//! The treatment tests of all responses, raw and adjusted.

use caneplot_plugin::findings::{Column, Format, Table};

use super::seasons::names;
use crate::family::Line;
use crate::plan::Planner;

/// The table; a group for the primary response, where there is one.
pub(crate) fn family(planner: &Planner<'_>, lines: &[Line]) -> Table {
    let trial = planner.trial();
    let primary = lines.iter().filter(|line| line.primary).count();
    let name = |line: &Line| {
        if line.primary {
            format!("{} (primary)", line.response)
        } else {
            line.response.clone()
        }
    };
    let number = |value: &dyn Fn(&Line) -> Option<f64>| lines.iter().map(value).collect::<Vec<_>>();
    let count = |value: &dyn Fn(&Line) -> usize| {
        lines.iter().map(|line| Some(value(line) as i64)).collect()
    };
    let mut columns = vec![Column::text("Response", lines.iter().map(name))];
    if lines.iter().any(|line| line.factors.len() > 1) || trial.factors.len() > 1 {
        let sources = lines.iter().map(|line| names(trial, &line.factors));
        columns.push(Column::text("Source of variation", sources));
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
        groups: if primary > 0 && primary < lines.len() {
            vec![0, primary]
        } else {
            Vec::new()
        },
        file_only: false,
    }
}
