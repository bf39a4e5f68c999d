//! The tables themselves: rows in an order people expect, numbers centred on an exact offset.

use polars::prelude::{Column, DataFrame};

use super::reduce::{Mean, Reduced};
use super::stand::Stand;
use crate::decimal::{Decimal, natural, nearest_f64};
use crate::diagnostic::Diagnostic;
use crate::load::{Index, Loaded, places};
use crate::trial::Trial;

/// Gives every response its offset: the median of its recorded numbers, a decimal that stands in the
/// data (rounded to four decimals where the numbers are quotients).
pub fn centre(responses: &mut [Reduced]) {
    for response in responses {
        let mut values: Vec<Decimal> = if response.vines.is_empty() {
            response.plots.iter().flatten().map(offered).collect()
        } else {
            response
                .vines
                .iter()
                .flatten()
                .map(|value| shortened(*value))
                .collect()
        };
        let middle = values.len().saturating_sub(1) / 2;
        response.offset = match values.as_mut_slice() {
            [] => Decimal::ZERO,
            values => *values.select_nth_unstable(middle).1,
        };
        let printed = match response.offset.checked_mul(response.factor) {
            Some(printed) => printed.normalize(),
            None => {
                response.offset = Decimal::ZERO;
                Decimal::ZERO
            }
        };
        response.described.offset = nearest_f64(printed);
        response.described.offset_text = printed.to_string();
    }
}

fn offered(mean: &Mean) -> Decimal {
    if mean.number == 1 {
        shortened(mean.sum)
    } else {
        (mean.sum / Decimal::from(mean.number)).round_dp(4)
    }
}

/// Decimals longer than anybody records are quotients.
fn shortened(value: Decimal) -> Decimal {
    if value.scale() > 15 {
        value.round_dp(4)
    } else {
        value
    }
}

/// The number beside the offset: (sum − number × offset) / number, in the unit of the report.
fn centred(mean: Mean, response: &Reduced) -> f64 {
    let number = Decimal::from(mean.number);
    let exact = || {
        let distance = mean.sum.checked_sub(response.offset.checked_mul(number)?)?;
        distance.checked_mul(response.factor)?.checked_div(number)
    };
    exact().map_or_else(
        || {
            let distance =
                nearest_f64(mean.sum) / f64::from(mean.number) - nearest_f64(response.offset);
            distance * nearest_f64(response.factor)
        },
        nearest_f64,
    )
}

/// Plots in the order of their place and name, as people count.
fn ordered(index: &Index) -> Vec<usize> {
    let mut order: Vec<usize> = (0..index.plots.len()).collect();
    let part = |plot: usize, at: usize| {
        index.plots[plot].place[at]
            .as_ref()
            .map_or("", |(name, _)| name)
    };
    order.sort_by(|a, b| {
        (0..3)
            .map(|at| natural(part(*a, at), part(*b, at)))
            .fold(std::cmp::Ordering::Equal, std::cmp::Ordering::then)
            .then_with(|| natural(&index.plots[*a].own, &index.plots[*b].own))
    });
    order
}

/// A row of a table: plot, season, and vine in the table of vines.
struct Row {
    plot: usize,
    season: usize,
    vine: Option<usize>,
}

/// One row a plot and season.
///
/// # Errors
/// Two columns of one name.
pub fn plots(
    trial: &Trial,
    loaded: &Loaded,
    stand: &Stand,
    responses: &[Reduced],
    covariates: &[Reduced],
) -> Result<DataFrame, Vec<Diagnostic>> {
    let rows: Vec<Row> = ordered(&loaded.index)
        .into_iter()
        .flat_map(|plot| {
            (0..stand.seasons).map(move |season| Row {
                plot,
                season,
                vine: None,
            })
        })
        .collect();
    let cell = |row: &Row| row.plot * stand.seasons + row.season;
    let mut columns = keys(trial, loaded, &rows);
    for response in responses.iter().chain(covariates) {
        let values = rows
            .iter()
            .map(|row| Some(centred(response.plots[cell(row)]?, response)));
        columns.push(numbers(&response.described.name, values));
        if let (Some(counts), Some(names)) = (&response.counts, &response.described.counts) {
            let pairs: Vec<_> = rows.iter().map(|row| counts.plots[cell(row)]).collect();
            columns.extend(whole(names, &pairs));
        }
    }
    if trial.field.is_some() {
        let spots = places::of_plots(loaded);
        let names = ["field_row", "field_first", "field_last", "field_position"];
        for (at, name) in names.into_iter().enumerate() {
            let values = rows.iter().map(|row| Some(spots[row.plot]?.numbers()[at]));
            columns.push(numbers(name, values));
        }
    }
    if trial.design.vine.is_some() {
        let alive: Vec<Option<i64>> = rows
            .iter()
            .map(|row| Some(stand.alive[cell(row)]))
            .collect();
        let planted = rows
            .iter()
            .map(|row| stand.known.then_some(stand.planted[cell(row)]));
        columns.push(Column::new("vines_alive".into(), alive));
        columns.push(Column::new(
            "vines_planted".into(),
            planted.collect::<Vec<_>>(),
        ));
    }
    frame(columns, rows.len())
}

/// One row a living vine and season, where anything is recorded on vines.
///
/// # Errors
/// Two columns of one name.
pub fn vines(
    trial: &Trial,
    loaded: &Loaded,
    stand: &Stand,
    responses: &[Reduced],
) -> Result<Option<DataFrame>, Vec<Diagnostic>> {
    let recorded: Vec<&Reduced> = responses
        .iter()
        .filter(|response| response.described.on_vines)
        .collect();
    if recorded.is_empty() {
        return Ok(None);
    }
    let mut place = vec![0; loaded.index.plots.len()];
    for (at, plot) in ordered(&loaded.index).into_iter().enumerate() {
        place[plot] = at;
    }
    let vines = &loaded.index.vines;
    let mut order: Vec<usize> = (0..vines.len()).collect();
    order.sort_by(|a, b| {
        let (a, b) = (&vines[*a], &vines[*b]);
        place[a.plot as usize]
            .cmp(&place[b.plot as usize])
            .then_with(|| natural(&a.name, &b.name))
    });
    let rows: Vec<Row> = order
        .into_iter()
        .flat_map(|vine| (0..stand.seasons).map(move |season| (vine, season)))
        .filter(|(vine, season)| stand.lives(*vine, *season))
        .map(|(vine, season)| Row {
            plot: vines[vine].plot as usize,
            season,
            vine: Some(vine),
        })
        .collect();
    let cell = |row: &Row| row.vine.map(|vine| vine * stand.seasons + row.season);
    let mut columns = keys(trial, loaded, &rows);
    for response in recorded {
        let values = rows.iter().map(|row| {
            let sum = response.vines[cell(row)?]?;
            Some(centred(Mean { sum, number: 1 }, response))
        });
        columns.push(numbers(&response.described.name, values));
        if let (Some(counts), Some(names)) = (&response.counts, &response.described.counts) {
            let pairs: Vec<_> = rows.iter().map(|row| counts.vines[cell(row)?]).collect();
            columns.extend(whole(names, &pairs));
        }
    }
    frame(columns, rows.len()).map(Some)
}

fn keys(trial: &Trial, loaded: &Loaded, rows: &[Row]) -> Vec<Column> {
    let (index, design) = (&loaded.index, &trial.design);
    let text = |name: &str, of: &dyn Fn(&Row) -> Option<String>| {
        Column::new(
            name.into(),
            rows.iter().map(of).collect::<Vec<Option<String>>>(),
        )
    };
    let mut columns = Vec::new();
    let parts = [
        ("block", &design.block),
        ("row", &design.row),
        ("column", &design.column),
    ];
    for (at, (name, declared)) in parts.into_iter().enumerate() {
        if declared.is_some() {
            let part = |row: &Row| Some(index.plots[row.plot].place[at].as_ref()?.0.clone());
            columns.push(text(name, &part));
        }
    }
    columns.push(text("plot", &|row| {
        Some(index.plots[row.plot].name.clone())
    }));
    if rows.first().is_some_and(|row| row.vine.is_some()) {
        columns.push(text("vine", &|row| {
            Some(index.vines[row.vine?].name.clone())
        }));
    }
    if design.season.is_some() {
        columns.push(text("season", &|row| {
            Some(index.seasons[row.season].clone())
        }));
    }
    for (at, factor) in trial.factors.iter().enumerate() {
        columns.push(text(&factor.name, &|row| {
            let (level, _) = index.plots[row.plot].levels[at].as_ref()?;
            Some(factor.levels[*level as usize].name.clone())
        }));
    }
    columns
}

fn numbers(name: &str, values: impl Iterator<Item = Option<f64>>) -> Column {
    Column::new(name.into(), values.collect::<Vec<Option<f64>>>())
}

fn whole((count, of): &(String, String), pairs: &[Option<(i64, i64)>]) -> [Column; 2] {
    let counts: Vec<Option<i64>> = pairs.iter().map(|pair| Some((*pair)?.0)).collect();
    let totals: Vec<Option<i64>> = pairs.iter().map(|pair| Some((*pair)?.1)).collect();
    [
        Column::new(count.as_str().into(), counts),
        Column::new(of.as_str().into(), totals),
    ]
}

fn frame(columns: Vec<Column>, height: usize) -> Result<DataFrame, Vec<Diagnostic>> {
    DataFrame::new(height, columns).map_err(|error| {
        vec![
            Diagnostic::error("column-names", format!("the table of plots cannot be made: {error}"))
                .help("give factors and responses names of their own, other than block, row, column, plot, vine and season"),
        ]
    })
}
