//! What cannot be analysed, and what is said.

use caneplot_plugin::request::{DesignKind, Role};
use serde_json::json;

use super::trial::Trial;
use super::{missing_blocks, never_says, oats, perennial, says, sentences, shown};

#[test]
fn missing_plots_are_named() {
    let mut values = missing_blocks().column("yield_kg").clone();
    values[2].clear();
    let findings = missing_blocks().with("yield_kg", values).findings();
    says(
        &findings,
        "1 of 26 plot records have no value (plot 3 of block B1)",
    );
}

#[test]
fn a_block_with_one_plot_is_listed() {
    let trial = missing_blocks();
    let first = trial.column("block")[0].clone();
    let inside: Vec<usize> = (1..26)
        .filter(|&row| trial.column("block")[row] == first)
        .collect();
    let findings = trial.without_rows(&inside).findings();
    says(&findings, "Block B1 has a single plot with a value");
}

#[test]
fn one_season_is_no_repetition() {
    let trial = perennial("perennial.csv");
    let others: Vec<usize> = (0..120)
        .filter(|&row| trial.column("season")[row] != "2018")
        .collect();
    let findings = trial.without_rows(&others).findings();
    shown("one season", &findings);
    never_says(&findings, "season of");
    assert!(
        findings.sections[0]
            .tables
            .iter()
            .all(|table| table.id != "structures")
    );
}

#[test]
fn a_fit_without_a_certificate_shows_no_p() {
    // Two plots of two treatments in three seasons: an unstructured covariance has no maximum.
    let trial = perennial("perennial.csv").option("structure", json!("unstructured"));
    let kept = ["B1", "B2"];
    let gone: Vec<usize> = (0..120)
        .filter(|&row| {
            !kept.contains(&trial.column("block")[row].as_str())
                || !["P1_minimal", "P2_short_spur"]
                    .contains(&trial.column("treatment")[row].as_str())
        })
        .collect();
    let findings = trial.without_rows(&gone).findings();
    shown("no certificate", &findings);
    let section = &findings.sections[0];
    assert!(section.tables.is_empty() && section.figures.is_empty());
    says(&findings, "is not analysed");
    assert!(!sentences(&findings).iter().any(|one| one.contains("P =")));
}

#[test]
fn a_plot_with_two_values_in_a_season_is_refused() {
    let trial = perennial("perennial.csv");
    let mut seasons = trial.column("season").clone();
    seasons[1] = seasons[0].clone();
    says(&trial.with("season", seasons).findings(), "has two values");
}

#[test]
fn a_plot_with_two_treatments_is_refused() {
    let doubled = missing_blocks().with("plot", vec!["1".to_owned(); 26]);
    let refusal = doubled.analysed().unwrap_err();
    assert!(
        refusal.message.contains("two sets of treatments"),
        "{refusal}"
    );
}

#[test]
fn a_response_without_a_value_and_one_without_error_are_refused() {
    let empty = missing_blocks().with("yield_kg", vec![String::new(); 26]);
    says(&empty.findings(), "has no value at all");
    let base = missing_blocks();
    let same: Vec<String> = base
        .column("treatment")
        .iter()
        .map(|level| level[1..].to_owned())
        .collect();
    says(
        &base.with("yield_kg", same).findings(),
        "the values leave no error",
    );
}

#[test]
fn undeclared_levels_blocks_and_names_are_refused() {
    let mut unknown = missing_blocks();
    unknown.factors[0].levels.pop();
    let refusal = unknown.analysed().unwrap_err();
    assert!(refusal.message.contains("is not a level"), "{refusal}");
    let mut without = oats();
    without.columns.retain(|(name, _)| name != "block");
    let refusal = without.analysed().unwrap_err();
    assert!(refusal.message.contains("no blocks"), "{refusal}");
    let wrong = missing_blocks().option("responses", json!(["weight"]));
    let refusal = wrong.analysed().unwrap_err();
    assert!(
        refusal.message.contains("no response 'weight'"),
        "{refusal}"
    );
    let wrong = missing_blocks().option("structure", json!("wavy"));
    assert!(wrong.analysed().is_err());
    let none = Trial::made(DesignKind::RandomisedBlock, missing_blocks().columns)
        .response("yield_kg", "Yield", "kg/vine", "3.5");
    let refusal = none.analysed().unwrap_err();
    assert!(refusal.message.contains("no treatment factor"), "{refusal}");
}

#[test]
fn a_factor_without_its_role_is_refused() {
    let mut trial = oats();
    trial.factors[0].role = Role::SubPlot;
    says(
        &trial.findings(),
        "no factor is declared to be applied to whole plots",
    );
}

#[test]
fn a_structure_over_one_season_is_said_to_be_without_use() {
    let trial = missing_blocks();
    never_says(&trial.findings(), "without use");
    says(
        &trial
            .option("structure", json!("autoregressive"))
            .findings(),
        "structure = \"autoregressive\" is without use here",
    );
}

#[test]
fn a_value_that_all_plots_share_has_its_unit() {
    let trial = missing_blocks().with("yield_kg", vec!["3.5".to_owned(); 26]);
    says(
        &trial.findings(),
        "is the same in every plot (3.50 kg/vine): there is no variation",
    );
}

/// The plots of six blocks in which every level of the treatment stands in blocks of its own.
fn whole_blocks(cover: bool) -> Trial {
    let blocks = ["A", "B", "C", "D", "E", "F"];
    let (mut block, mut treatment, mut other, mut values) = (vec![], vec![], vec![], vec![]);
    for (at, name) in blocks.iter().enumerate() {
        for plot in 0..3 {
            let level = match cover {
                true => plot,
                false => at % 3,
            };
            block.push((*name).to_owned());
            treatment.push(["12", "24", "36"][level].to_owned());
            other.push(["grass", "bare", "bare"][level].to_owned());
            values.push(format!("{}", 3.0 + 0.1 * ((7 * at + 5 * plot) % 11) as f64));
        }
    }
    let columns = [
        ("block", block),
        ("nodes", treatment),
        ("cover", other),
        ("yield_kg", values),
    ];
    let columns = columns.map(|(name, values)| (name.to_owned(), values));
    let trial = Trial::made(DesignKind::RandomisedBlock, columns.into())
        .numbered()
        .factor("nodes", "Nodes left", Role::Treatment, &[])
        .response("yield_kg", "Yield", "kg/vine", "3.5");
    match cover {
        true => trial.factor("cover", "Cover", Role::Treatment, &[]),
        false => trial,
    }
}

#[test]
fn a_factor_that_goes_with_the_blocks_is_said_to() {
    says(
        &whole_blocks(false).findings(),
        "No block holds two levels of nodes left, so they are compared as whole blocks",
    );
    never_says(&whole_blocks(true).findings(), "No block holds");
}

#[test]
fn factors_that_always_go_together_are_named() {
    says(
        &whole_blocks(true).findings(),
        "Cover and nodes left always go together (each level of nodes left has one level of cover only)",
    );
    never_says(&oats().findings(), "always go together");
}
