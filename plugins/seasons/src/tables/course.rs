//! Plots summed up over the seasons: means of every treatment, and their tests.

use caneplot_plugin::findings::{Column, Format, Table};
use caneplot_plugin::words;

use super::in_unit;
use super::seasons::names;
use crate::analysed::Test;
use crate::measures::Measure;
use crate::study::{Study, Whole};

/// Columns that stand in the tables.
fn shown(study: &Study<'_>, whole: &Whole<'_>) -> Vec<usize> {
    let seasons = study.seasons.len();
    (0..whole.measures.len())
        .filter(|&column| whole.measures[column].shown(seasons))
        .collect()
}

/// Terms whose treatments stand in the table: every factor, and combinations that a test calls for.
fn terms(study: &Study<'_>, whole: &Whole<'_>) -> Vec<usize> {
    let analysed = &whole.analysed;
    (0..analysed.planned.terms.len())
        .filter(|&term| analysed.treatments(term).is_some())
        .filter(|&term| {
            analysed.planned.terms[term].factors.len() == 1
                || shown(study, whole)
                    .iter()
                    .any(|&column| study.clear(analysed.test(term, column)))
        })
        .collect()
}

/// Means of the numbers that sum up a plot.
pub(crate) fn means(study: &Study<'_>, whole: &Whole<'_>) -> Table {
    let analysed = &whole.analysed;
    let (mut labels, mut rows, mut groups) = (Vec::new(), Vec::new(), Vec::new());
    let wanted = terms(study, whole);
    let several = wanted.len() > 1;
    for term in wanted {
        let Some(treatments) = analysed.treatments(term) else {
            continue;
        };
        if several {
            groups.push(rows.len());
            let factors = &analysed.planned.terms[term].factors;
            labels.push(names(study.planner.trial(), factors));
            rows.push(None);
        }
        for at in 0..treatments.count() {
            labels.push(plain(&treatments.words(at)));
            rows.push(Some((term, at)));
        }
    }
    let mut columns = vec![Column::text("Treatment", labels)];
    for column in shown(study, whole) {
        let measure = whole.measures[column];
        let values = rows
            .iter()
            .map(|&row| row.map(|(term, at)| whole.mean(term, column, at, study.response())))
            .collect();
        let heading = measure.heading(&study.seasons, study.planner.calendar);
        let made = Column::number(&heading, values, whole.format(column, study.response()));
        let unit = if measure.has_unit() { study.unit() } else { "" };
        columns.push(in_unit(made, unit));
    }
    let mut notes = vec![format!(
        "Every number is worked out for each of {} over its {} and then averaged: a plot counts once.",
        words::counted(whole.plots, "plot"),
        words::counted(study.seasons.len(), "season")
    )];
    notes.push(
        "SD: standard deviation; CV: the same as a share of the mean; both between seasons."
            .to_owned(),
    );
    if whole.column(Measure::Bienniality).is_some() {
        notes.push(
            "Bienniality runs from 0, alike every season, to 1, a crop every second season only."
                .to_owned(),
        );
    }
    if !analysed.planned.plots.complete() {
        notes.push("Plots are missing, so means are adjusted to all blocks.".to_owned());
    }
    Table {
        id: "over-seasons".to_owned(),
        title: format!(
            "{} over the seasons: plots summed up",
            study.response().label
        ),
        columns,
        notes,
        groups,
        file_only: false,
    }
}

/// The tests of those numbers.
pub(crate) fn tests(study: &Study<'_>, whole: &Whole<'_>) -> Option<Table> {
    let analysed = &whole.analysed;
    let trial = study.planner.trial();
    let several = analysed.planned.terms.len() > 1;
    let (mut sources, mut errors, mut found) = (Vec::new(), Vec::new(), Vec::new());
    let mut groups = Vec::new();
    let total = whole.column(Measure::Total(study.seasons.len())).is_some();
    // The mean has the F of the total, so one of them is enough.
    let told = |column: &usize| !(total && whole.measures[*column] == Measure::Mean);
    for column in shown(study, whole).into_iter().filter(told) {
        let heading = whole.measures[column].heading(&study.seasons, study.planner.calendar);
        let tested: Vec<usize> = (0..analysed.planned.terms.len())
            .filter(|&term| analysed.test(term, column).is_some())
            .collect();
        if several && !tested.is_empty() {
            groups.push(found.len());
            sources.push(heading.clone());
            errors.push(None);
            found.push(None);
        }
        for term in tested {
            let name = names(trial, &analysed.planned.terms[term].factors);
            sources.push(if several { name } else { heading.clone() });
            errors.push(analysed.error_of_difference(term, column));
            found.push(analysed.test(term, column));
        }
    }
    if found.is_empty() {
        return None;
    }
    let count = |value: &dyn Fn(&Test) -> usize| {
        let count = |test: &Test| value(test) as i64;
        found.iter().map(|test| test.as_ref().map(count)).collect()
    };
    let number = |value: &dyn Fn(&Test) -> f64| {
        found
            .iter()
            .map(|test| test.as_ref().map(value))
            .collect::<Vec<_>>()
    };
    let first = if several {
        "Source of variation"
    } else {
        "Plot value"
    };
    let columns = vec![
        Column::text(first, sources),
        Column::number("SE of difference", errors, Format::Significant(3)),
        Column::count("df", count(&|test| test.df)),
        Column::count("Error df", count(&|test| test.error_df)),
        Column::number("F", number(&|test| test.f), Format::Decimals(2)),
        Column::probability("P", number(&|test| test.p)),
    ];
    let mut notes = Vec::new();
    if total {
        notes.push("The mean of a season has the F and P of the total.".to_owned());
    }
    if several {
        notes.push(
            "The standard error is that of the least precise difference of its line.".to_owned(),
        );
    }
    Some(Table {
        id: "over-seasons-tests".to_owned(),
        title: format!("{}: tests of the plots summed up", study.response().label),
        columns,
        notes,
        groups,
        file_only: false,
    })
}

/// Words of a sentence where braces mean nothing.
pub(crate) fn plain(text: &str) -> String {
    text.replace("{{", "{").replace("}}", "}")
}
