//! Trials of nodes left, built from factors that are known.

use caneplot_plugin::findings::Cells;
use caneplot_plugin::request::{DesignKind, Quantity};
use caneplot_plugin::{Analysis, Data, Findings, Refusal, validate};
use caneplot_readings::testing::{Made, factor, numbers, response, table, texts};

use crate::Components;

/// Shoots per node, clusters per shoot and kilograms per cluster of each treatment; 12, 24 and 48
/// nodes.
pub(super) const NODES: [f64; 3] = [12.0, 24.0, 48.0];
pub(super) const SHOOTS: [f64; 3] = [1.1, 1.0, 0.88];
pub(super) const CLUSTERS: [f64; 3] = [1.7, 1.6, 1.3];
pub(super) const WEIGHT: [f64; 3] = [0.150, 0.140, 0.135];

/// Four blocks, with a little that is the plot's own.
pub(super) fn nodes(seasons: &[&str]) -> Made {
    spread(seasons, 0.01)
}

/// Four blocks; `size` times −6 to 6 in logarithms is the plot's own share in every factor.
pub(super) fn spread(seasons: &[&str], size: f64) -> Made {
    let mut names: [Vec<String>; 4] = Default::default();
    let mut amounts: [Vec<f64>; 4] = Default::default();
    for block in 0..4 {
        for treatment in 0..3 {
            for (year, season) in seasons.iter().enumerate() {
                let texts = [
                    format!("B{}", block + 1),
                    format!("{}", treatment + 1),
                    (*season).to_owned(),
                    format!("{}", NODES[treatment]),
                ];
                for (column, value) in names.iter_mut().zip(texts) {
                    column.push(value);
                }
                // A fixed pattern of plot effects, different for every factor.
                let own = |step: usize| {
                    let at = (block * 7 + treatment * 5 + year * 3 + step * 11) % 13;
                    (at as f64 - 6.0) * size
                };
                let good = [1.0, 1.2][year % 2];
                let nodes = NODES[treatment];
                let shoots = nodes * SHOOTS[treatment] * own(1).exp();
                let clusters = shoots * CLUSTERS[treatment] * good * own(2).exp();
                let crop = clusters * WEIGHT[treatment] * own(3).exp();
                for (column, value) in amounts.iter_mut().zip([nodes, shoots, clusters, crop]) {
                    column.push(value);
                }
            }
        }
    }
    let [block, plot, season, level] = names;
    let [nodes, shoots, clusters, crop] = amounts;
    let mut columns = vec![
        ("block", texts(block)),
        ("plot", texts(plot)),
        ("nodes", texts(level)),
        ("left", numbers(nodes)),
        ("shoots", numbers(shoots)),
        ("clusters", numbers(clusters)),
        ("yield", numbers(crop)),
    ];
    if seasons.len() > 1 {
        columns.push(("season", texts(season)));
    }
    let factor = factor("nodes", "Nodes left", &["12", "24", "48"], Some("24"));
    Made::new(
        DesignKind::RandomisedBlock,
        vec![factor],
        table("plots", columns),
    )
    .with(response("yield", "Yield", "kg/vine", Quantity::Yield))
    .with(response(
        "left",
        "Nodes left",
        "nodes/vine",
        Quantity::NodesLeft,
    ))
    .with(response(
        "shoots",
        "Shoots",
        "shoots/vine",
        Quantity::ShootCount,
    ))
    .with(response(
        "clusters",
        "Clusters",
        "clusters/vine",
        Quantity::ClusterCount,
    ))
}

pub(super) fn analysed(made: &Made) -> Result<Findings, Refusal> {
    let findings = Components.analyse(&made.call())?;
    validate::check(&findings).unwrap();
    Ok(findings)
}

/// Puts values in a column of the table of plots, new or not.
pub(super) fn put(made: &mut Made, name: &str, values: Vec<Option<f64>>) {
    made.plots.columns.retain(|(column, _)| column != name);
    made.plots
        .columns
        .push((name.to_owned(), Data::Numbers(values)));
}

/// The values of a column of the table of plots.
pub(super) fn values(made: &Made, name: &str) -> Vec<Option<f64>> {
    made.plots.numbers(name).unwrap().to_vec()
}

/// A column of the first section's table of parts.
pub(super) fn column(findings: &Findings, table: &str, name: &str) -> Vec<f64> {
    let tables = &findings.sections[0].tables;
    let table = tables.iter().find(|found| found.id == table).unwrap();
    let column = table.columns.iter().find(|column| column.name == name);
    match &column.unwrap().cells {
        Cells::Number { values, .. } => values.iter().map(|value| value.unwrap()).collect(),
        other => panic!("{name} holds {other:?}"),
    }
}
