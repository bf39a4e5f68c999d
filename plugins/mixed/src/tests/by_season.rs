//! Sources that differ from season to season, against the analysis of variance in strata.

use caneplot_plugin::findings::Findings;
use caneplot_plugin::request::{DesignKind, Role};
use serde_json::json;

use super::trial::{Noise, Trial};
use super::{near, never_says, numbers, perennial, says, shown, table};

/// Standard deviations of the sources of a split plot over seasons.
struct Sizes {
    block_season: f64,
    whole_season: f64,
}

/// 5 blocks, 3 prunings on whole plots, 3 nodes on sub plots, 4 seasons, nothing missing.
fn split(sizes: &Sizes) -> Trial {
    let mut noise = Noise(11);
    let names = ["block", "plot", "pruning", "nodes", "season", "crop"];
    let mut columns: Vec<(String, Vec<String>)> = names
        .iter()
        .map(|name| ((*name).to_owned(), Vec::new()))
        .collect();
    for block in 0..5 {
        let of_block = noise.normal();
        let in_season: Vec<f64> = (0..4)
            .map(|_| sizes.block_season * noise.normal())
            .collect();
        for pruning in 0..3 {
            let of_whole = 0.8 * noise.normal();
            let whole: Vec<f64> = (0..4)
                .map(|_| sizes.whole_season * noise.normal())
                .collect();
            for nodes in 0..3 {
                let of_plot = 0.7 * noise.normal();
                for season in 0..4 {
                    let value = 10.0
                        + of_block
                        + in_season[season]
                        + of_whole
                        + whole[season]
                        + of_plot
                        + 0.5 * noise.normal()
                        + 0.6 * f64::from(nodes);
                    let row = [
                        format!("B{block}"),
                        format!("{}", pruning * 3 + nodes),
                        ["canes", "spurs", "minimal"][pruning as usize].to_owned(),
                        ["12", "24", "36"][nodes as usize].to_owned(),
                        format!("{}", 2021 + season),
                        format!("{value:.3}"),
                    ];
                    for (column, cell) in columns.iter_mut().zip(row) {
                        column.1.push(cell);
                    }
                }
            }
        }
    }
    Trial::made(DesignKind::SplitPlot, columns)
        .factor("pruning", "Pruning", Role::WholePlot, &[])
        .factor("nodes", "Nodes", Role::SubPlot, &[])
        .response("crop", "Crop", "kg/vine", "10")
        .option("structure", json!("equal correlation"))
}

fn same_as_the_strata(findings: &Findings) {
    says(
        findings,
        "every F here and its degrees of freedom were compared",
    );
}

#[test]
fn whole_plots_in_seasons_have_their_own_stratum() {
    let findings = split(&Sizes {
        block_season: 0.0,
        whole_season: 0.9,
    })
    .option("block_seasons", json!("pool"))
    .findings();
    shown("whole plots × seasons", &findings);
    same_as_the_strata(&findings);
    says(&findings, "whatever their size");
    // Pruning × season: 2·3 degrees of freedom against whole plots × seasons, 4·2·3 + 4·3 pooled.
    let terms = table(&findings, "tests");
    near(numbers(terms, "df of the error")[4], 36.0);
    assert!(
        table(&findings, "components")
            .columns
            .iter()
            .all(|column| column.name != "Remark")
    );
}

#[test]
fn blocks_in_seasons_have_theirs_where_the_data_ask_for_it() {
    let both = Sizes {
        block_season: 1.0,
        whole_season: 0.9,
    };
    let findings = split(&both).findings();
    shown("blocks × seasons", &findings);
    same_as_the_strata(&findings);
    says(&findings, "Blocks went their own way");
    let terms = table(&findings, "tests");
    // Seasons against blocks × seasons, pruning × season against whole plots × seasons.
    near(numbers(terms, "df of the error")[3], 12.0);
    near(numbers(terms, "df of the error")[4], 24.0);
    let never = split(&both)
        .option("block_seasons", json!("pool"))
        .findings();
    never_says(&never, "Blocks went");
    near(numbers(table(&never, "tests"), "df of the error")[3], 36.0);
    let quiet = split(&Sizes {
        block_season: 0.0,
        whole_season: 0.9,
    })
    .findings();
    says(&quiet, "Blocks gave no sign of going their own way");
}

#[test]
fn blocks_in_seasons_are_kept_where_asked_for() {
    let findings = perennial("perennial.csv")
        .option("structure", json!("equal correlation"))
        .option("block_seasons", json!("keep"))
        .findings();
    shown("blocks kept apart", &findings);
    // Either the same as with a stratum of their own, or at zero and said.
    let sentences = super::sentences(&findings);
    assert!(
        sentences
            .iter()
            .any(|one| one.contains("were compared") || one.contains("at zero")),
        "{sentences:#?}"
    );
    says(&findings, "kept apart, as asked for");
}

#[test]
fn a_source_that_cannot_be_told_apart_is_left_out_and_said() {
    // One sub plot in every whole plot and season, in turn.
    let trial = split(&Sizes {
        block_season: 0.0,
        whole_season: 0.5,
    });
    let gone: Vec<usize> = (0..trial.column("nodes").len())
        .filter(|&row| {
            let cell = |name: &str, from: usize| trial.column(name)[row][from..].parse::<usize>();
            let turn = cell("season", 3).unwrap() + cell("block", 1).unwrap();
            cell("nodes", 0).unwrap() / 12 - 1 != turn % 3
        })
        .collect();
    let findings = trial.without_rows(&gone).findings();
    shown("one sub plot", &findings);
    says(&findings, "Whole plots × seasons cannot be told apart");
}
