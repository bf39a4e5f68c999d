//! The one table: every response and term with both probabilities.

use caneplot_plugin::findings::{Column, Format, Table};

use crate::tested::Results;
use crate::words::{grouped, many};

/// More rows than this go into a file.
const MOST_ROWS: usize = 40;

/// The table; `None` where nothing was tested.
pub(crate) fn table(results: &Results<'_>) -> Option<Table> {
    let rows = &results.tested;
    if rows.is_empty() {
        return None;
    }
    let drawn = rows.iter().any(|row| row.shuffled.drawn.is_some());
    let mut columns = vec![
        Column::text(
            "Response",
            rows.iter().map(|row| row.response.label.clone()),
        ),
        Column::text(
            "Source of variation",
            rows.iter().map(|row| row.term.clone()),
        ),
        Column::text(
            "Arrangements",
            rows.iter().map(|row| match row.shuffled.drawn {
                Some(drawn) => format!(
                    "{} of {}",
                    grouped(drawn),
                    many(row.shuffled.arrangements.log10, None)
                ),
                None => format!(
                    "all {}",
                    many(
                        row.shuffled.arrangements.log10,
                        row.shuffled.arrangements.number
                    )
                ),
            }),
        ),
        Column::probability(
            "P by shuffling",
            rows.iter().map(|row| Some(row.shuffled.p)).collect(),
        ),
    ];
    if drawn {
        let reach = |row: &crate::tested::Tested<'_>| {
            row.shuffled
                .drawn
                .map(|_| 1.96 * row.shuffled.standard_error())
        };
        columns.push(Column::number(
            "± 1.96 SE",
            rows.iter().map(reach).collect(),
            Format::Decimals(4),
        ));
    }
    columns.push(Column::probability(
        "P by F",
        rows.iter().map(|row| Some(row.p)).collect(),
    ));
    let starts = |at: &usize| *at == 0 || !std::ptr::eq(rows[*at].response, rows[at - 1].response);
    let groups: Vec<usize> = (0..rows.len()).filter(starts).collect();
    let grouped = groups.len() < rows.len();
    let mut notes = Vec::new();
    if drawn {
        notes.push("SE is the standard error of P from drawing arrangements.".to_owned());
    }
    Some(Table {
        id: "probabilities".to_owned(),
        title: "Probability of an F at least as large, by shuffling and by the F distribution"
            .to_owned(),
        columns,
        notes,
        groups: if grouped { groups } else { Vec::new() },
        file_only: rows.len() > MOST_ROWS,
    })
}
