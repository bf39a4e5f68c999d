//! Tables of the other intervals and of the comparisons on the log scale.

use caneplot_numerics::bootstrap::FEW;
use caneplot_plugin::findings::{Column, Format, Table};

use crate::logs::Estimate;
use crate::others::Others;
use crate::report::Report;
use crate::tables::{row_label, title};
use crate::treatments::level_words;

/// A table of other intervals with more rows than this goes into a file.
const MOST_ROWS: usize = 8;

/// The tables that stand behind those of the ratio itself.
#[must_use]
pub fn tables(report: &Report<'_>) -> Vec<Table> {
    [intervals(report), control(report), course(report)]
        .into_iter()
        .flatten()
        .collect()
}

/// Other intervals of the ratio of means.
fn intervals(report: &Report<'_>) -> Option<Table> {
    let others = report.others.as_ref()?;
    let mut labels = Vec::new();
    let mut rows: Vec<&Others> = Vec::new();
    let mut starts = Vec::new();
    for (at, group) in report.groups.iter().enumerate() {
        if report.groups.len() > 1 {
            starts.push(rows.len());
        }
        for entry in report.entries(&report.overall, at) {
            if let Some(found) = &others.groups[at][entry.at] {
                labels.push(row_label(report, group, &entry));
                rows.push(found);
            }
        }
    }
    let format = Format::Decimals(report.decimals());
    let end = |name: String, of: &dyn Fn(&Others) -> Option<f64>| {
        let values = rows.iter().map(|row| of(row)).collect();
        Column::number(&name, values, format).in_unit(&report.ratio.unit)
    };
    let any_log = rows.iter().any(|row| row.log.is_some());
    let any_resampled = rows.iter().any(|row| row.resampled.is_some());
    if !any_log && !any_resampled {
        return None;
    }
    let mut columns = vec![Column::text("Treatment", labels)];
    if any_log {
        columns.push(end("Log scale from".to_owned(), &|row| Some(row.log?.0)));
        columns.push(end("Log scale to".to_owned(), &|row| Some(row.log?.1)));
    }
    let mut notes = Vec::new();
    if any_resampled {
        let unit = others.unit.words();
        let heading = |end: &str| format!("Resampled {unit} {end}");
        columns.push(end(heading("from"), &|row| Some(row.resampled?.0)));
        columns.push(end(heading("to"), &|row| Some(row.resampled?.1)));
        if others.few() {
            notes.push(format!(
                "Intervals from fewer than {FEW} resampled {unit} come out too narrow."
            ));
        }
    }
    Some(Table {
        id: "intervals".to_owned(),
        title: format!(
            "{}: other {} intervals",
            title(report, "treatment"),
            report.level_words()
        ),
        columns,
        notes,
        groups: starts,
        file_only: rows.len() > MOST_ROWS,
    })
}

/// Three columns of a factor with its interval.
fn factor_columns(
    report: &Report<'_>,
    name: &str,
    rows: &[Estimate],
    format: Format,
) -> Vec<Column> {
    let column = |name: String, of: fn(&Estimate) -> f64| {
        Column::number(
            &name,
            rows.iter().map(|row| Some(of(row))).collect(),
            format,
        )
    };
    let level = report.level_words();
    vec![
        column(name.to_owned(), |row| row.value),
        column(format!("{level} from"), |row| row.low),
        column(format!("{level} to"), |row| row.high),
    ]
}

/// Each level beside the control of its factor.
fn control(report: &Report<'_>) -> Option<Table> {
    let rows = &report.logs.as_ref()?.controls;
    if rows.is_empty() {
        return None;
    }
    let factor = |at: usize| &report.trial.factors[at];
    let times: Vec<Estimate> = rows.iter().map(|row| row.times).collect();
    let mut columns = vec![Column::text(
        "Treatment",
        rows.iter()
            .map(|row| level_words(factor(row.factor), row.level)),
    )];
    columns.extend(factor_columns(
        report,
        "Times the control's",
        &times,
        Format::Significant(3),
    ));
    columns.push(Column::probability(
        "P",
        rows.iter().map(|row| Some(row.p)).collect(),
    ));
    Some(Table {
        id: "control".to_owned(),
        title: format!("{}: ratio beside the control's", title(report, "treatment")),
        columns,
        notes: vec![
            "From the plots' own ratios on the log scale; each comparison stands by itself."
                .to_owned(),
        ],
        groups: Vec::new(),
        file_only: true,
    })
}

/// The course of each treatment over the seasons.
fn course(report: &Report<'_>) -> Option<Table> {
    let rows = &report.logs.as_ref()?.courses;
    if rows.is_empty() {
        return None;
    }
    let label = |levels: &[usize]| {
        let treatments = report.groups[0].treatments.iter();
        treatments
            .filter(|treatment| {
                let pairs = treatment.levels.iter().zip(levels);
                pairs.fold(true, |all, (wanted, level)| all && *wanted == Some(*level))
            })
            .map(|treatment| treatment.label.clone())
            .next()
            .unwrap_or_default()
    };
    let times: Vec<Estimate> = rows.iter().map(|row| row.times).collect();
    let mut columns = vec![Column::text(
        "Treatment",
        rows.iter().map(|row| label(&row.levels)),
    )];
    columns.extend(factor_columns(
        report,
        "Times a season",
        &times,
        Format::Significant(3),
    ));
    Some(Table {
        id: "course".to_owned(),
        title: format!("{}: course over the seasons", title(report, "treatment")),
        columns,
        notes: vec![
            "By how much the ratio was multiplied from one season to the next, on average."
                .to_owned(),
        ],
        groups: Vec::new(),
        file_only: true,
    })
}
