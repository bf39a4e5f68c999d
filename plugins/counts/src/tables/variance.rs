//! Tests of treatments and what varies beside them.

use caneplot_plugin::findings::{Format, Table};

use super::rows::rows;
use crate::section::Subjected;
use crate::words::capital;

/// Tests of every term.
pub fn tests(subjected: &Subjected) -> Option<Table> {
    let rows = rows(subjected, false, |_, model, _| model.tests.iter().collect());
    if rows.rows.is_empty() {
        return None;
    }
    let columns = vec![
        rows.text("Source of variation", |set, test| {
            test.term.words(&set.frame)
        }),
        rows.count("df", |test| test.df),
        rows.count("df of error", |test| test.error_df),
        rows.number("F", Format::Decimals(2), |test| Some(test.f)),
        rows.probability("P", |test| Some(test.probability)),
        rows.number("Chi-square", Format::Decimals(2), |test| Some(test.ratio)),
        rows.probability("P by chi-square", |test| Some(test.chi_square)),
    ];
    let label = capital(&subjected.subject.response.label);
    let mut table = rows.table("tests", format!("{label}: tests of treatments"), columns);
    table.notes.push(
        "F is judged with the df of the units the treatment was applied to; chi-square is the likelihood ratio of the line beside all others and by itself rejects too often with few blocks.".to_owned(),
    );
    Some(table)
}

/// One line of the table of what varies.
struct Varies {
    term: String,
    sd: f64,
    error: Option<f64>,
    dispersion: f64,
}

/// Random terms, kept as a file.
pub fn variation(subjected: &Subjected) -> Table {
    let rows = rows(subjected, false, |_, model, _| {
        let mut lines: Vec<Varies> = model
            .fit
            .random
            .iter()
            .map(|random| Varies {
                term: random.name.clone(),
                sd: random.sd,
                error: random.sd_error,
                dispersion: model.dispersion,
            })
            .collect();
        if lines.is_empty() {
            lines.push(Varies {
                term: "none".to_owned(),
                sd: 0.0,
                error: None,
                dispersion: model.dispersion,
            });
        }
        lines
    });
    let columns = vec![
        rows.text("Random term", |_, line| line.term.clone()),
        rows.number("Standard deviation", Format::Decimals(3), |line| {
            Some(line.sd)
        }),
        rows.number("Its standard error", Format::Decimals(3), |line| line.error),
        rows.number("Pearson chi-square over df", Format::Decimals(2), |line| {
            Some(line.dispersion)
        }),
    ];
    let name = capital(&subjected.subject.response.label);
    let mut table = rows.table(
        "variation",
        format!("{name}: what varies beside the treatments"),
        columns,
    );
    table.file_only = true;
    table
}
