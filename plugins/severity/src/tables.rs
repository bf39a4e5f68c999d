//! Nodes left beside nodes meant, by treatment and season.

use caneplot_plugin::findings::{Column, Format, Table};

use crate::cells::Cell;
use crate::section::Study;

/// Rows beyond which the table by season is a file only.
const MOST_ROWS: usize = 40;

pub(crate) fn tables(study: &Study<'_>) -> Vec<Table> {
    let mut all = vec![table(
        study,
        "nodes",
        "Nodes left and nodes meant",
        &study.cells.overall,
    )];
    if study.seasons().len() > 1 {
        let title = "Nodes left and nodes meant, season by season";
        let mut seasons = table(study, "seasons", title, &study.cells.by_season);
        seasons.file_only = study.cells.by_season.len() > MOST_ROWS;
        all.push(seasons);
    }
    all
}

fn table(study: &Study<'_>, id: &str, title: &str, cells: &[Cell]) -> Table {
    let each = |value: fn(&Cell) -> f64| cells.iter().map(|cell| Some(value(cell))).collect();
    let count = |value: fn(&Cell) -> usize| {
        cells
            .iter()
            .map(|cell| i64::try_from(value(cell)).ok())
            .collect()
    };
    let one = Format::Decimals(1);
    let mut columns = vec![Column::text(
        &study.heading,
        cells
            .iter()
            .map(|cell| study.labels[cell.treatment].clone()),
    )];
    let by_season = cells.iter().any(|cell| cell.season.is_some());
    if by_season {
        let name = |cell: &Cell| {
            cell.season
                .map_or("", |season| study.register.season(season))
        };
        columns.push(Column::text("Season", cells.iter().map(name)));
    }
    columns.push(Column::count("Plots", count(|cell| cell.plots)));
    columns.push(Column::count("Records", count(|cell| cell.records)));
    if study.by_rule {
        let prunings = cells.iter().map(|cell| cell.prunings_kg).collect();
        columns
            .push(Column::number("Prunings", prunings, Format::Significant(3)).in_unit("kg/vine"));
    }
    let meant = if study.by_rule {
        "By the rule"
    } else {
        "Meant"
    };
    columns.extend([
        Column::number(meant, each(|cell| cell.meant), one),
        Column::number("Left", each(|cell| cell.left), one),
        Column::number("Left less meant", each(Cell::beyond), one),
        Column::number(
            "Spread",
            cells.iter().map(|cell| cell.spread).collect(),
            one,
        ),
        Column::number("Within tolerance", each(Cell::share), Format::Percent(0)),
    ]);
    let mut groups: Vec<usize> = Vec::new();
    for at in 1..cells.len() {
        if by_season && cells[at].treatment != cells[at - 1].treatment {
            groups.push(at);
        }
    }
    Table {
        id: id.to_owned(),
        title: format!("{title} ({})", study.response.unit),
        columns,
        notes: notes(study),
        groups,
        file_only: false,
    }
}

fn notes(study: &Study<'_>) -> Vec<String> {
    let records = match study.noun() {
        "vine" => "A record is a vine in a season.",
        "plot mean" => "A record is the mean of a plot in a season.",
        _ => {
            "A record is a vine in a season, or the mean of a plot where single vines cannot be judged."
        }
    };
    vec![
        format!(
            "{records} Means are means of plots; spread is the standard deviation of nodes left less nodes meant between records."
        ),
        format!(
            "Within tolerance: no more than {} % of the nodes meant away from them; one node is always allowed.",
            (study.options.tolerance * 1e4).round() / 1e2
        ),
    ]
}
