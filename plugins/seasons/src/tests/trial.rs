//! Trials built by hand and read from the reference data of the numerics.

use std::path::Path;

use caneplot_plugin::findings::{Cells, Section, Table};
use caneplot_plugin::request::{DesignKind, Quantity};
use caneplot_plugin::{Analysis, Data, Findings, Refusal, validate};
use caneplot_readings::testing::{Made, factor, numbers, response, table, texts};
use serde_json::{Value, json};

use crate::Seasons;

/// Options as the program hands them over, with some of them changed.
pub(super) fn options(changed: &[(&str, Value)]) -> Value {
    let mut all =
        json!({ "level": 0.05, "margin": null, "primary": null, "began": null, "responses": null });
    for (name, value) in changed {
        all[*name] = value.clone();
    }
    all
}

pub(super) fn refused(made: &Made) -> Result<Findings, Refusal> {
    Seasons.analyse(&made.call())
}

/// The findings, which must keep the rules of findings.
pub(super) fn findings(made: &Made) -> Findings {
    let findings = refused(made).unwrap();
    validate::check(&findings).unwrap();
    findings
}

pub(super) fn section<'a>(findings: &'a Findings, id: &str) -> &'a Section {
    let mut sections = findings.sections.iter();
    sections.find(|section| section.id == id).unwrap()
}

pub(super) fn table_of<'a>(section: &'a Section, id: &str) -> &'a Table {
    section.tables.iter().find(|table| table.id == id).unwrap()
}

/// The numbers of a column.
pub(super) fn column(table: &Table, name: &str) -> Vec<f64> {
    let found = table.columns.iter().find(|column| column.name == name);
    match &found.unwrap_or_else(|| panic!("no column {name}")).cells {
        Cells::Number { values, .. } | Cells::Probability { values } => values
            .iter()
            .map(|value| value.unwrap_or(f64::NAN))
            .collect(),
        Cells::Count { values } => values
            .iter()
            .map(|value| value.map_or(f64::NAN, |value| value as f64))
            .collect(),
        other => panic!("{name} holds {other:?}"),
    }
}

/// The row of a column of words that reads so.
pub(super) fn row(table: &Table, words: &str) -> usize {
    let Cells::Text { values } = &table.columns[0].cells else {
        panic!("no words in front")
    };
    let found = values
        .iter()
        .position(|value| value.as_deref() == Some(words));
    found.unwrap_or_else(|| panic!("no row {words} in {values:?}"))
}

pub(super) const NODES: [&str; 3] = ["12", "24", "48"];

/// Five blocks of three numbers of nodes: value(block, treatment, season).
pub(super) fn nodes(seasons: &[&str], value: impl Fn(usize, usize, usize) -> Option<f64>) -> Made {
    with_brix(seasons, value, |_, _, _| None)
}

/// The same with a second response.
pub(super) fn with_brix(
    seasons: &[&str],
    crop: impl Fn(usize, usize, usize) -> Option<f64>,
    brix: impl Fn(usize, usize, usize) -> Option<f64>,
) -> Made {
    let mut names: [Vec<String>; 4] = Default::default();
    let (mut crops, mut sugars) = (Vec::new(), Vec::new());
    for block in 0..5 {
        for (treatment, level) in NODES.iter().enumerate() {
            for (at, season) in seasons.iter().enumerate() {
                let cells = [
                    format!("B{block}"),
                    level.to_string(),
                    season.to_string(),
                    level.to_string(),
                ];
                for (column, cell) in names.iter_mut().zip(cells) {
                    column.push(cell);
                }
                crops.push(crop(block, treatment, at));
                sugars.push(brix(block, treatment, at));
            }
        }
    }
    let [block, plot, season, level] = names;
    let has_brix = sugars.iter().any(Option::is_some);
    let mut columns = vec![
        ("block", texts(block)),
        ("plot", texts(plot)),
        ("season", texts(season)),
        ("nodes", texts(level)),
        ("yield", Data::Numbers(crops)),
    ];
    if has_brix {
        columns.push(("brix", Data::Numbers(sugars)));
    }
    let nodes = factor("nodes", "Nodes left", &NODES, Some("24"));
    let mut made = Made::new(
        DesignKind::RandomisedBlock,
        vec![nodes],
        table("plots", columns),
    )
    .with(response("yield", "Yield", "kg/vine", Quantity::Yield));
    if has_brix {
        made = made.with(response("brix", "Brix", "°Brix", Quantity::SolubleSolids));
    }
    made.options = options(&[]);
    made
}

/// A share that is the plot's own, between −1 and 1, fixed by block, treatment and season.
pub(super) fn chance(block: usize, treatment: usize, season: usize) -> f64 {
    let at = (block * 7 + treatment * 5 + season * 3 + block * treatment * 2 + block * season) % 13;
    (at as f64 - 6.0) / 6.0
}

/// A simulated perennial trial of the reference data: 5 blocks × 4 prunings × 6 years.
pub(super) fn perennial() -> Made {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../numerics/tests/reference/data/sim_perennial_ar1.csv");
    let text = std::fs::read_to_string(path).unwrap();
    let rows: Vec<Vec<&str>> = text
        .lines()
        .skip(1)
        .map(|line| line.split(',').collect())
        .collect();
    let column = |at: usize| texts(rows.iter().map(|row| row[at]));
    let mut levels: Vec<&str> = rows.iter().map(|row| row[1]).collect();
    levels.sort_unstable();
    levels.dedup();
    let plots = table(
        "plots",
        vec![
            ("block", column(0)),
            ("pruning", column(1)),
            ("plot", column(2)),
            ("season", column(3)),
            (
                "yield",
                numbers(rows.iter().map(|row| row[4].parse().unwrap())),
            ),
        ],
    );
    let pruning = factor("pruning", "Pruning", &levels, Some(levels[0]));
    let mut made = Made::new(DesignKind::RandomisedBlock, vec![pruning], plots).with(response(
        "yield",
        "Yield",
        "kg/vine",
        Quantity::Yield,
    ));
    made.options = options(&[]);
    made
}
