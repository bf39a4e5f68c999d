//! Trials of three treatments in four blocks with several vines a plot.

use caneplot_plugin::findings::{Cells, Section};
use caneplot_plugin::request::{DesignKind, Quantity};
use caneplot_plugin::{Analysis, Data, Findings, Refusal, validate};
use caneplot_readings::testing::{Made, factor, numbers, response, table, texts};
use serde_json::json;

use crate::Evenness;

pub(super) const TREATMENTS: [&str; 3] = ["cane", "spur", "hedge"];

/// A trial whose vine `vine` of the plot `treatment` of `block` in `season` has the value given; the
/// control is the cane-pruned treatment.
pub(super) fn trial(
    vines: usize,
    seasons: &[&str],
    value: impl Fn(usize, usize, usize, usize) -> Option<f64>,
) -> Made {
    let (mut plots, mut rows): ([Vec<String>; 4], [Vec<String>; 5]) = Default::default();
    let mut values = Vec::new();
    for block in 0..4 {
        for (treatment, level) in TREATMENTS.iter().enumerate() {
            for (year, season) in seasons.iter().enumerate() {
                let key = [
                    format!("B{}", block + 1),
                    format!("{}", treatment + 1),
                    (*level).to_owned(),
                    (*season).to_owned(),
                ];
                for (column, name) in plots.iter_mut().zip(&key) {
                    column.push(name.clone());
                }
                for vine in 0..vines {
                    for (column, name) in rows.iter_mut().zip(&key) {
                        column.push(name.clone());
                    }
                    rows[4].push((vine + 1).to_string());
                    values.push(value(block, treatment, year, vine));
                }
            }
        }
    }
    let design = |[block, plot, level, season]: [Vec<String>; 4]| {
        let mut columns = vec![
            ("block", texts(block)),
            ("plot", texts(plot)),
            ("pruning", texts(level)),
        ];
        if seasons.len() > 1 {
            columns.push(("season", texts(season)));
        }
        columns
    };
    let count = plots[0].len();
    let mut columns = design(plots);
    columns.push(("brix", numbers(vec![0.0; count])));
    let [block, plot, level, season, vine] = rows;
    let mut of_vines = design([block, plot, level, season]);
    of_vines.push(("vine", texts(vine)));
    of_vines.push(("brix", Data::Numbers(values)));
    let pruning = factor("pruning", "Pruning", &TREATMENTS, Some("cane"));
    let mut brix = response("brix", "Brix", "°Brix", Quantity::SolubleSolids);
    brix.on_vines = true;
    brix.offset = 22.0;
    brix.offset_text = "22".to_owned();
    let mut made = Made::new(
        DesignKind::RandomisedBlock,
        vec![pruning],
        table("plots", columns),
    )
    .with(brix)
    .vines(table("vines", of_vines));
    made.options = json!({ "level": 0.95, "responses": null });
    made
}

/// Five vines a plot about the middle of it, in units of their spread.
pub(super) const PATTERN: [f64; 5] = [-1.25, -0.5, 0.0, 0.25, 1.5];

/// What a plot has of its own, in logarithms of its spread.
pub(super) fn own(block: usize, treatment: usize, year: usize) -> f64 {
    ((block * 7 + treatment * 5 + year * 3) % 11) as f64 / 20.0 - 0.25
}

/// Spreads of the three treatments with a share of the plot's own, `size` times [`own`].
pub(super) fn spreads(seasons: &[&str], of: [f64; 3], size: f64) -> Made {
    trial(5, seasons, move |block, treatment, year, vine| {
        let level = block as f64 * 0.5 - treatment as f64 * 0.25;
        let spread = of[treatment] * (size * own(block, treatment, year)).exp();
        Some(level + spread * PATTERN[vine])
    })
}

pub(super) fn analysed(made: &Made) -> Result<Findings, Refusal> {
    let findings = Evenness.analyse(&made.call())?;
    validate::check(&findings).unwrap();
    Ok(findings)
}

/// A column of numbers of a table of the section; empty cells are left out.
pub(super) fn column(section: &Section, table: &str, name: &str) -> Vec<f64> {
    let table = section
        .tables
        .iter()
        .find(|found| found.id == table)
        .unwrap();
    let column = table
        .columns
        .iter()
        .find(|column| column.name == name)
        .unwrap();
    match &column.cells {
        Cells::Number { values, .. } | Cells::Probability { values } => {
            values.iter().flatten().copied().collect()
        }
        Cells::Count { values } => values.iter().flatten().map(|value| *value as f64).collect(),
        other => panic!("{name} holds {other:?}"),
    }
}
