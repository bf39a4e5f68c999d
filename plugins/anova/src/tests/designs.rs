//! Trials of every design, read as their owner would read them.

use caneplot_plugin::findings::Rank;
use caneplot_plugin::request::{DesignKind, Quantity, Role};

use super::trial::{Columns, Trial, factor, response};
use caneplot_readings::testing::{cell, sentence, text};

pub(super) fn oats() -> Trial {
    let plots = Columns::reference("nlme_Oats.csv")
        .renamed("Block", "block")
        .renamed("Variety", "variety")
        .joined("plot", &["variety", "nitro"]);
    let mut nitro = factor(
        "nitro",
        "Nitrogen",
        Role::SubPlot,
        &["0.0", "0.2", "0.4", "0.6"],
    );
    nitro.unit = Some("cwt/acre".to_owned());
    Trial::new(
        DesignKind::SplitPlot,
        vec![
            factor(
                "variety",
                "Variety",
                Role::WholePlot,
                &["Golden Rain", "Marvellous", "Victory"],
            ),
            nitro,
        ],
        vec![response("yield", "Yield", "quarter lb/plot", "100")],
        plots,
    )
}

pub(super) fn kiwishade() -> Trial {
    let vines = Columns::reference("DAAG_kiwishade.csv");
    let count = vines.get("yield").len();
    let vines = vines.with(
        "vine",
        (0..count).map(|row| (row % 4 + 1).to_string()).collect(),
    );
    // The plots table: means of four vines each.
    let mut plots = Columns(
        ["block", "shade", "plot", "yield"]
            .map(|name| (name.to_owned(), Vec::new()))
            .to_vec(),
    );
    for first in (0..count).step_by(4) {
        let total: f64 = vines.get("yield")[first..first + 4]
            .iter()
            .map(|v| v.parse::<f64>().unwrap())
            .sum();
        for (name, values) in &mut plots.0 {
            values.push(match name.as_str() {
                "yield" => format!("{:.6}", total / 4.0),
                other => vines.get(other)[first].clone(),
            });
        }
    }
    let mut shade = factor(
        "shade",
        "Shading",
        Role::Treatment,
        &["none", "Aug2Dec", "Dec2Feb", "Feb2May"],
    );
    shade.control = Some("none".to_owned());
    let mut crop = response("yield", "Yield", "kg/vine", "96.5");
    crop.on_vines = true;
    let mut trial = Trial::new(DesignKind::RandomisedBlock, vec![shade], vec![crop], plots);
    trial.vines = Some(vines);
    trial
}

/// Four node numbers in five blocks over three seasons, invented: yield rises and levels off, soluble
/// solids fall.
pub(super) fn nodes(interaction: bool) -> Trial {
    let levels = ["12", "24", "36", "48"];
    let mut columns = ["block", "plot", "season", "nodes", "yield", "brix"]
        .map(|name| (name.to_owned(), Vec::new()))
        .to_vec();
    let mut state = 7_u64;
    let mut chance = || {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        ((state >> 33) as f64 / f64::from(1_u32 << 31)) - 0.5
    };
    for block in 0..5 {
        for (at, level) in levels.iter().enumerate() {
            let plot = chance() * 0.5;
            for season in 0..3_usize {
                let steep = if interaction && season > 0 { 0.2 } else { 1.0 };
                let crop = 3.0
                    + [0.0, 1.3, 2.0, 2.3][at] * steep
                    + 0.2 * f64::from(block)
                    + 0.4 * season as f64
                    + plot
                    + chance() * 0.6;
                let brix = 23.0 - 0.4 * at as f64 + chance() * 0.8;
                for (name, values) in &mut columns {
                    values.push(match name.as_str() {
                        "block" => format!("B{}", block + 1),
                        "plot" => format!("{}", at + 1),
                        "season" => format!("{}", 2021 + season),
                        "nodes" => (*level).to_owned(),
                        "yield" => format!("{crop:.2}"),
                        _ => format!("{brix:.1}"),
                    });
                }
            }
        }
    }
    let mut nodes = factor("nodes", "Nodes per vine", Role::Treatment, &levels);
    nodes.unit = Some("nodes/vine".to_owned());
    nodes.control = Some("24".to_owned());
    let mut crop = response("yield", "Yield", "kg/vine", "4");
    crop.quantity = Quantity::Yield;
    let mut brix = response("brix", "Soluble solids", "°Brix", "22");
    brix.quantity = Quantity::SolubleSolids;
    brix.decimals = 1;
    Trial::new(
        DesignKind::RandomisedBlock,
        vec![nodes],
        vec![crop, brix],
        Columns(columns),
    )
}

fn row_of(findings: &caneplot_plugin::Findings, table: &str, source: &str) -> Vec<String> {
    let table = findings.sections[0]
        .tables
        .iter()
        .find(|found| found.id == table)
        .unwrap();
    let row = (0..table.columns[0].cells.len())
        .find(|&row| cell(&table.columns[0].cells, row) == source)
        .unwrap_or_else(|| panic!("no row '{source}' in {table:?}"));
    table
        .columns
        .iter()
        .map(|column| cell(&column.cells, row))
        .collect()
}

#[test]
fn a_split_plot_tests_each_factor_in_its_own_stratum() {
    // Yates 1935, exact values in numerics/tests/reference.
    let findings = oats().findings();
    println!("{}", text(&findings));
    assert_eq!(
        row_of(&findings, "anova", "Variety"),
        ["Variety", "2", "1786", "893", "1.49", "0.272"]
    );
    assert_eq!(
        row_of(&findings, "anova", "Nitrogen")[4..],
        ["37.69", "< 0.001"]
    );
    assert_eq!(
        row_of(&findings, "differences", "two levels of variety"),
        ["two levels of variety", "7.08", "10", "15.77"]
    );
    assert_eq!(
        row_of(&findings, "differences", "two levels of nitrogen")[1..3],
        ["4.44", "45"]
    );
    assert_eq!(
        row_of(&findings, "trend-nitro", "Nitrogen, linear")[3],
        "110.32"
    );
    let headline = &findings.sections[0].statements[0];
    assert_eq!(headline.rank, Rank::Headline);
    assert!(
        sentence(headline)
            .starts_with("Yield rose from 79.4 quarter lb/plot at 0.0 cwt/acre to 123.4"),
        "{}",
        sentence(headline)
    );
}

#[test]
fn vines_do_not_count_as_replicates() {
    let findings = kiwishade().findings();
    println!("{}", text(&findings));
    // F = 22.21 on 3 and 6 df; 34.61 is what vines taken for replicates would give.
    assert_eq!(
        row_of(&findings, "anova", "Shading")[1..],
        ["3", "1394.5", "464.8", "22.21", "0.001"]
    );
    assert_eq!(
        row_of(&findings, "anova", "Residual (between plots within blocks)")
            .first()
            .map(String::as_str),
        Some("Residual (between plots within blocks)")
    );
    let headline = sentence(&findings.sections[0].statements[0]);
    assert!(
        headline.starts_with(
            "Yield was lower with Dec2Feb than with the control, none: by 10.3 kg/vine"
        ),
        "{headline}"
    );
}

#[test]
fn node_numbers_over_seasons_read_as_a_curve() {
    let findings = nodes(false).findings();
    println!("{}", text(&findings));
    let headline = sentence(&findings.sections[0].statements[0]);
    assert!(
        headline.starts_with("Averaged over 3 seasons, yield rose from "),
        "{headline}"
    );
    assert!(headline.contains("at 12 nodes/vine to "), "{headline}");
    // Letters over amounts are kept out of the report's text.
    let lettered = |table: &caneplot_plugin::findings::Table| {
        table.columns.iter().any(|column| {
            matches!(
                column.cells,
                caneplot_plugin::findings::Cells::Lettered { .. }
            )
        })
    };
    for table in &findings.sections[0].tables {
        assert!(!lettered(table) || table.file_only, "{}", table.id);
    }
    assert!(
        findings
            .sections
            .iter()
            .any(|section| section.id == "trade-off")
    );
    assert!(findings.sections[0].figures.len() <= 3);
}

#[test]
fn an_effect_that_changes_with_the_season_is_told_season_by_season() {
    let findings = nodes(true).findings();
    println!("{}", text(&findings));
    let headline = sentence(&findings.sections[0].statements[0]);
    assert!(headline.contains("changed with the season"), "{headline}");
    assert!(
        headline.contains("in 2021") && headline.contains("in 2023"),
        "{headline}"
    );
    let notes: Vec<String> = findings.sections[0].notes.iter().map(sentence).collect();
    assert!(
        notes
            .iter()
            .any(|note| note.contains("should not be quoted alone"))
    );
}

#[test]
fn a_strip_plot_has_three_errors() {
    let plots = Columns::reference("sim_stripplot.csv").joined("plot", &["prune", "soil"]);
    let trial = Trial::new(
        DesignKind::StripPlot,
        vec![
            factor(
                "prune",
                "Pruning",
                Role::RowStrip,
                &["A1", "A2", "A3", "A4"],
            ),
            factor("soil", "Soil care", Role::CrossStrip, &["S1", "S2", "S3"]),
        ],
        vec![response("yield", "Yield", "kg/vine", "10")],
        plots,
    );
    let findings = trial.findings();
    println!("{}", text(&findings));
    assert_eq!(row_of(&findings, "anova", "Pruning")[4], "20.69");
    assert_eq!(row_of(&findings, "anova", "Soil care")[4], "24.17");
    assert_eq!(
        row_of(&findings, "anova", "Pruning × Soil care")[4..],
        ["2.75", "0.035"]
    );
    // The interaction is clear: simple comparisons stand in the report.
    let table = findings.sections[0]
        .tables
        .iter()
        .find(|table| table.id == "means-prune-soil")
        .unwrap();
    assert!(!table.file_only);
    let headline = sentence(&findings.sections[0].statements[0]);
    assert!(
        headline.starts_with("The effect of soil care on yield depended on pruning"),
        "{headline}"
    );
}

#[test]
fn a_split_split_plot_has_its_kinds_of_difference() {
    let plots = Columns::reference("sim_splitsplit.csv")
        .joined("plot", &["irrigation", "buds", "thinning"]);
    let mut buds = factor("buds", "Buds", Role::SubPlot, &["20", "40", "60"]);
    buds.unit = Some("buds/vine".to_owned());
    let trial = Trial::new(
        DesignKind::SplitSplitPlot,
        vec![
            factor("irrigation", "Irrigation", Role::WholePlot, &["I1", "I2"]),
            buds,
            factor("thinning", "Thinning", Role::SubSubPlot, &["C1", "C2"]),
        ],
        vec![response("yield", "Yield", "kg/vine", "9")],
        plots,
    );
    let findings = trial.findings();
    println!("{}", text(&findings));
    assert_eq!(
        row_of(&findings, "anova", "Irrigation")[4..],
        ["177.86", "< 0.001"]
    );
    let notes: Vec<String> = findings.sections[0].notes.iter().map(sentence).collect();
    assert!(notes.iter().any(|note| note.starts_with("The variance component of whole plots came out negative")), "{notes:?}");
}

#[test]
fn a_latin_square_takes_out_rows_and_columns() {
    let plots = Columns::reference("datasets_OrchardSprays.csv")
        .renamed("rowpos", "row")
        .renamed("colpos", "column")
        .joined("plot", &["row", "column"]);
    let levels = ["A", "B", "C", "D", "E", "F", "G", "H"];
    let trial = Trial::new(
        DesignKind::LatinSquare,
        vec![factor("treatment", "Treatment", Role::Treatment, &levels)],
        vec![response("decrease", "Decrease", "cells", "45")],
        plots,
    );
    let findings = trial.findings();
    println!("{}", text(&findings));
    assert_eq!(row_of(&findings, "anova", "Treatment")[4], "21.07");
    let notes: Vec<String> = findings.sections[0].notes.iter().map(sentence).collect();
    assert!(
        notes
            .iter()
            .any(|note| note.contains("non-additivity F = 6.16, P = 0.017")),
        "{notes:?}"
    );
}

#[test]
fn blocks_by_seasons_on_a_line_of_their_own() {
    let plots = Columns::reference("sim_perennial_ar1.csv").renamed("year", "season");
    let levels = ["P1_minimal", "P2_short_spur", "P3_long_spur", "P4_cane"];
    let present = plots.get("treatment").clone();
    let levels: Vec<&str> = levels
        .into_iter()
        .filter(|level| present.iter().any(|name| name == level))
        .collect();
    let mut names: Vec<String> = present.clone();
    names.sort();
    names.dedup();
    let names: Vec<&str> = names.iter().map(String::as_str).collect();
    assert!(!levels.is_empty());
    let mut trial = Trial::new(
        DesignKind::RandomisedBlock,
        vec![factor("treatment", "Pruning", Role::Treatment, &names)],
        vec![response("yield_kg", "Yield", "kg/vine", "4")],
        plots,
    );
    let pooled = trial.findings();
    assert_eq!(
        row_of(&pooled, "anova", "Residual (between seasons within plots)")[1],
        "80"
    );
    trial.options["block_season"] = serde_json::json!("separate");
    let findings = trial.findings();
    println!("{}", text(&findings));
    // Published programs give W = 0.0222, a factor of 0.519 and P = 0.699 with this factor.
    let said: Vec<String> = findings.sections[0]
        .statements
        .iter()
        .map(sentence)
        .collect();
    let notes: Vec<String> = findings.sections[0].notes.iter().map(sentence).collect();
    let all = [said, notes].concat().join("\n");
    assert!(all.contains("(Mauchly's W = 0.022, P < 0.001)"), "{all}");
    assert!(
        all.contains("factor 0.519): P = 0.699 for pruning × season; no verdict"),
        "{all}"
    );
    assert_eq!(
        row_of(&findings, "anova", "Residual (blocks by seasons)")[1],
        "20"
    );
    assert_eq!(
        row_of(
            &findings,
            "anova",
            "Residual (between seasons within plots)"
        )[1],
        "60"
    );
    let headline = sentence(&findings.sections[0].statements[0]);
    assert!(
        headline.starts_with("No clear difference in yield between levels of pruning (P = 0.059)"),
        "{headline}"
    );
}

/// Eight treatments in six blocks, invented.
pub(super) fn eight_treatments() -> Trial {
    let names = ["A", "B", "C", "D", "E", "F", "G", "H"];
    let mut columns = ["block", "plot", "treatment", "y"]
        .map(|name| (name.to_owned(), Vec::new()))
        .to_vec();
    for block in 0..6_usize {
        for (at, name) in names.iter().enumerate() {
            let value = 5.0
                + 0.4 * at as f64
                + 0.3 * block as f64
                + ((block * 31 + at * 17) % 13) as f64 / 10.0;
            for (column, values) in &mut columns {
                values.push(match column.as_str() {
                    "block" => format!("B{block}"),
                    "y" => format!("{value:.2}"),
                    _ => (*name).to_owned(),
                });
            }
        }
    }
    Trial::new(
        DesignKind::RandomisedBlock,
        vec![factor("treatment", "Treatment", Role::Treatment, &names)],
        vec![response("y", "Yield", "kg/vine", "5")],
        Columns(columns),
    )
}
