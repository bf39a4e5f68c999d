//! The tables of several curves: seasons, or levels of another factor.

use caneplot_numerics::variance::TermLine;
use caneplot_plugin::findings::{Column, Format, Table};

use crate::place::{Event, Spot};
use crate::study::{Fitted, Group, Study};
use crate::tables::{DIGITS, capital};
use crate::voice::shape_label;

/// The curves of the members of a group.
pub(crate) fn of(study: &Study<'_>, group: &Group, id: &str) -> Option<Table> {
    let fitted: Vec<(&str, &Fitted)> = group.fitted().collect();
    let (_, any) = fitted.first()?;
    let amounts = study.of_amounts(any);
    let heights = study.of_means();
    let spots: Vec<Option<&Spot>> = fitted.iter().map(|(_, it)| it.spot.as_ref().ok()).collect();
    let column = |value: &dyn Fn(&Fitted) -> Option<f64>| -> Vec<Option<f64>> {
        fitted.iter().map(|(_, it)| value(it)).collect()
    };
    let of_spot = |value: &dyn Fn(&Spot) -> Option<f64>| -> Vec<Option<f64>> {
        spots.iter().map(|spot| spot.and_then(value)).collect()
    };
    let in_unit = |column: Column, unit: &str| {
        if unit.is_empty() {
            column
        } else {
            column.in_unit(unit)
        }
    };
    let heading = if group.seasons { "Season" } else { &group.noun };
    let event = |spot: &Option<&Spot>| match spot.map(|spot| spot.event) {
        Some(Event::Join) if spot.is_some_and(|spot| spot.or_below) => "level from, at the latest",
        Some(Event::Join) => "level from",
        Some(Event::NearlyLevel) => "nearly level from",
        Some(Event::Highest) => "highest at",
        Some(Event::Lowest) => "lowest at",
        None => "",
    };
    let confidence = study.options.confidence();
    let (y, x) = (study.y(), study.unit());
    let refused = group
        .members
        .iter()
        .filter_map(|(name, fitted)| fitted.as_ref().err().map(|why| format!("{name}: {why}.")));
    let mut notes = vec![
        "Each curve has the error of its own plots; the shape is chosen for each by itself."
            .to_owned(),
    ];
    notes.extend(refused);
    Some(Table {
        id: id.to_owned(),
        title: format!(
            "{} over {}, each {} by itself",
            study.response_first(),
            study.factor_name(),
            if group.seasons {
                "season".to_owned()
            } else {
                format!(
                    "level of {}",
                    crate::voice::undoubled(&caneplot_plugin::words::inside(&group.noun))
                )
            }
        ),
        columns: vec![
            Column::text(heading, fitted.iter().map(|(name, _)| *name)),
            Column::count(
                &format!("{}s", capital(study.noun)),
                fitted
                    .iter()
                    .map(|(_, it)| Some(it.levels.units as i64))
                    .collect(),
            ),
            Column::text(
                "Shape",
                fitted.iter().map(|(_, it)| shape_label(it.fit.curve.shape)),
            ),
            in_unit(
                Column::number(
                    "Change, lowest to highest level",
                    column(&|it| Some(it.change())),
                    heights,
                ),
                y,
            ),
            Column::text("Event", spots.iter().map(event)),
            in_unit(
                Column::number("Place", of_spot(&|spot| Some(spot.at)), amounts),
                x,
            ),
            in_unit(
                Column::number(
                    &format!("{confidence} from"),
                    of_spot(&|spot| spot.low),
                    amounts,
                ),
                x,
            ),
            in_unit(
                Column::number(
                    &format!("{confidence} to"),
                    of_spot(&|spot| spot.high),
                    amounts,
                ),
                x,
            ),
        ],
        notes,
        ..Table::default()
    })
}

/// Tests of parallelism.
pub(crate) fn parallelism(study: &Study<'_>) -> Option<Table> {
    let mut rows: Vec<(String, Option<TermLine>, i64)> = Vec::new();
    let mut groups = Vec::new();
    for group in &study.groups {
        let test = &group.test;
        if test.whole.is_none() {
            continue;
        }
        groups.push(rows.len());
        let name = if group.seasons { "Season" } else { &group.noun };
        let label = &study.factor.label;
        rows.push((
            format!("{label} × {name}"),
            test.whole,
            test.error.df as i64,
        ));
        for (part, line) in [
            ("steepness (linear)", test.linear),
            ("bend (quadratic)", test.quadratic),
            ("the rest", test.rest),
        ] {
            if line.is_some() {
                rows.push((format!("  of it {part}"), line, test.error.df as i64));
            }
        }
    }
    if rows.is_empty() {
        return None;
    }
    let column = |value: &dyn Fn(&TermLine) -> Option<f64>| -> Vec<Option<f64>> {
        rows.iter()
            .map(|(_, line, _)| line.as_ref().and_then(value))
            .collect()
    };
    Some(Table {
        id: "parallel".to_owned(),
        title: "Do the curves run parallel?".to_owned(),
        columns: vec![
            Column::text("Source of variation", rows.iter().map(|row| row.0.clone())),
            Column::count(
                "df",
                rows.iter()
                    .map(|row| row.1.map(|line| line.df as i64))
                    .collect(),
            ),
            Column::count("df of error", rows.iter().map(|row| Some(row.2)).collect()),
            Column::number(
                "Sum of squares",
                column(&|line| Some(line.sum_of_squares)),
                DIGITS,
            ),
            Column::number("F", column(&|line| line.f), Format::Decimals(2)),
            Column::probability("P", column(&|line| line.p)),
        ],
        notes: {
            let season = study.season_group().is_some();
            let other = study.groups.iter().any(|group| !group.seasons);
            [
                (season, "Seasons are compared within plots."),
                (
                    other,
                    "Levels of another factor are compared between the units that both factors were applied to.",
                ),
            ]
            .into_iter()
            .filter(|&(is, _)| is)
            .map(|(_, note)| note.to_owned())
            .collect()
        },
        groups,
        ..Table::default()
    })
}
