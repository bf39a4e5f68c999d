//! Spread from an earlier report.

use caneplot_plugin::findings::{Column, Format, Section, Table};
use caneplot_plugin::request::TrialInfo;
use serde_json::{Value as Json, json};

use super::{nodes, numbers, refused, said, table, with, words};

fn report(trial: &TrialInfo, tables: Vec<Table>) -> String {
    let section = Section {
        id: "yield".to_owned(),
        title: "Yield".to_owned(),
        response: Some("yield".to_owned()),
        tables,
        ..Section::default()
    };
    json!({ "trial": trial, "analysis": "anova", "section": section }).to_string()
}

/// Four seasons of five blocks with means of 3 and 5.
fn anova(plots: f64, within: f64, crossed: f64) -> Vec<Table> {
    let lines = [
        ("Blocks", 4, Some(2.0)),
        ("Between plots within blocks", 0, None),
        ("Nodes left", 3, Some(9.0)),
        ("Residual (between plots within blocks)", 12, Some(plots)),
        ("Between seasons within plots", 0, None),
        ("Season", 3, Some(5.0)),
        ("Nodes left × Season", 9, Some(crossed)),
        ("Residual (between seasons within plots)", 48, Some(within)),
        ("Total", 79, None),
    ];
    let columns = vec![
        Column::text("Source of variation", lines.iter().map(|line| line.0)),
        Column::count(
            "df",
            lines
                .iter()
                .map(|line| (line.1 > 0).then_some(line.1))
                .collect(),
        ),
        Column::number(
            "Mean square",
            lines.iter().map(|line| line.2).collect(),
            Format::Significant(4),
        ),
    ];
    let means = vec![
        Column::text("Nodes left", ["12", "24"]),
        Column::number(
            "All seasons",
            vec![Some(3.0), Some(5.0)],
            Format::Decimals(1),
        ),
    ];
    vec![
        Table {
            id: "anova".to_owned(),
            columns,
            ..Table::default()
        },
        Table {
            id: "means-nodes".to_owned(),
            columns: means,
            ..Table::default()
        },
    ]
}

fn asked(text: String, more: Json) -> Json {
    with(
        json!({ "blocks": 5, "vines": 4, "difference": "10 %", "earlier": text, "draws": 100 }),
        more,
    )
}

fn deviations(findings: &caneplot_plugin::Findings) -> Vec<f64> {
    let parts = numbers(table(findings, "parts"), "Standard deviation");
    parts.into_iter().flatten().collect()
}

#[test]
fn mean_squares_give_the_parts() {
    let text = report(&nodes(4), anova(0.52, 0.12, 0.22));
    let findings = said(nodes(2), asked(text, json!({}))).unwrap();
    // (0.52 − 0.12)/4 of plots, 0.12 of seasons, (0.22 − 0.12)/5 of treatments by seasons.
    let found = deviations(&findings);
    for (found, wanted) in found.iter().zip([0.1_f64, 0.12, 0.02]) {
        assert!((found * found - wanted).abs() < 1e-12, "{found}");
    }
    assert_eq!(found.len(), 3);
    // A tenth of the mean of 4.
    let headline = &findings.sections[0].statements[0];
    assert!((headline.values["a"].value - 0.4).abs() < 1e-12);
    assert!(words(&findings).contains("in the earlier trial"));
}

#[test]
fn a_negative_part_counts_as_nothing_and_is_said() {
    let text = report(&nodes(4), anova(0.1, 0.12, 0.22));
    let findings = said(nodes(2), asked(text, json!({}))).unwrap();
    assert!(words(&findings).contains("below 0"));
}

#[test]
fn vines_are_told_apart_where_the_earlier_trial_says_how_many_there_were() {
    let mut trial = nodes(4);
    trial.vineyard.vines_per_plot = Some(5);
    let text = report(&trial, anova(0.52, 0.12, 0.22));
    let findings = said(nodes(2), asked(text, json!({ "between_vines": "0.5" }))).unwrap();
    // 0.1 less 0.25/5.
    let found = deviations(&findings)[0];
    assert!((found * found - 0.05).abs() < 1e-12);
    let text = report(&nodes(4), anova(0.52, 0.12, 0.22));
    let findings = said(nodes(2), asked(text, json!({ "between_vines": "0.5" }))).unwrap();
    assert!(words(&findings).contains("counted twice"));
}

fn components(lines: &[(&str, Option<f64>, Option<f64>)]) -> Vec<Table> {
    vec![Table {
        id: "components".to_owned(),
        columns: vec![
            Column::text("Source", lines.iter().map(|line| line.0)),
            Column::number(
                "Variance",
                lines.iter().map(|line| line.1).collect(),
                Format::Significant(4),
            ),
            Column::number(
                "Correlation",
                lines.iter().map(|line| line.2).collect(),
                Format::Decimals(3),
            ),
        ],
        ..Table::default()
    }]
}

#[test]
fn components_with_a_falling_correlation_count_by_its_average() {
    let text = report(
        &nodes(3),
        components(&[
            ("blocks", Some(0.3), None),
            ("a plot in a season (error)", Some(0.2), None),
            ("seasons of a plot one apart", None, Some(0.5)),
        ]),
    );
    let findings = said(nodes(2), asked(text, json!({ "mean": 4.0 }))).unwrap();
    // Pairs of three seasons: two one apart, one two apart: (0.5 + 0.5 + 0.25)/3.
    let average = 1.25 / 3.0;
    let found = deviations(&findings);
    assert!((found[0].powi(2) - 0.2 * average).abs() < 1e-12);
    assert!((found[1].powi(2) - 0.2 * (1.0 - average)).abs() < 1e-12);
}

#[test]
fn reports_that_say_nothing_of_spread_are_refused() {
    let more = || json!({ "mean": 4.0 });
    let nothing = report(&nodes(3), Vec::new());
    assert!(refused(nodes(2), asked(nothing, more())).contains("neither"));
    let other = report(
        &nodes(3),
        components(&[("a plot in 2021 (error)", Some(0.2), None)]),
    );
    assert!(refused(nodes(2), asked(other, more())).contains("not of a kind"));
    assert!(refused(nodes(2), asked("{".to_owned(), more())).contains("cannot be read"));
}
