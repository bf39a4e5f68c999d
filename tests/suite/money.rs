//! Prices beside a trial: what treatments are worth, from the folder to the report.

use std::fs;

use serde_json::Value as Json;

use crate::support::{Scratch, said};

/// The findings of an analysis of a report.
fn found<'a>(document: &'a Json, name: &str) -> &'a Json {
    let mut all = document["analyses"].as_array().expect("a list").iter();
    let one = all.find(|one| one["name"] == name);
    one.unwrap_or_else(|| panic!("{name} is in the report"))
}

/// The results for programs of a name over all seasons, by level.
fn values(document: &Json, analysis: &str, name: &str) -> Vec<(String, f64)> {
    let sections = found(document, analysis)["findings"]["sections"].as_array();
    let estimates = sections
        .expect("sections")
        .iter()
        .flat_map(|section| section["estimates"].as_array().into_iter().flatten());
    let one = estimates
        .clone()
        .find(|one| one["name"] == name && one.get("season").is_none())
        .unwrap_or_else(|| panic!("{analysis} has results of {name}"));
    let treatments = one["treatments"].as_array().expect("treatments");
    treatments
        .iter()
        .map(|one| {
            let level = one["levels"][0].as_str().expect("a level").to_owned();
            (level, one["value"].as_f64().expect("a number"))
        })
        .collect()
}

#[test]
fn what_a_system_is_worth_rests_on_the_means_of_the_report_and_the_declared_prices() {
    let scratch = Scratch::demo("training-system");
    // Money by hand needs one price and no bounds.
    scratch.write(
        "prices.toml",
        "[money]\ncurrency = \"USD\"\nyear = 2025\nsource = \"a test\"\narea = \"ha\"\n\
         [crop]\nprice = 1000\nper = \"tonne\"\nharvest = 200\n\
         [labour]\nwage = 12\n[work.pruning]\nmeasured = \"labour\"\n",
    );
    let findings = scratch.findings();
    let crop = values(&findings, "anova", "yield");
    let labour = values(&findings, "anova", "labour");
    let money = values(&findings, "economics", "net_benefit");
    // 8 by 6 feet: 10 000 / (48 · 0.3048²) vines a hectare; minutes at 12 an hour are 0.2 each.
    let vines = 10_000.0 / (48.0 * 0.3048 * 0.3048);
    for ((level, money), ((_, crop), (_, minutes))) in money.iter().zip(crop.iter().zip(&labour)) {
        let want = crop * 800.0 - minutes * vines * 0.2;
        assert!(
            (money - want).abs() < 1e-6,
            "{level}: {money} is not {want}"
        );
    }
    let card = &found(&findings, "scorecard")["findings"]["sections"][0];
    assert_eq!(card["id"], "systems-system");
    let manifest = fs::read_to_string(scratch.report().join("manifest.json")).expect("a manifest");
    assert!(manifest.contains("prices.toml"), "{manifest}");
}

#[test]
fn a_mistake_in_prices_is_an_error_at_its_line() {
    let scratch = Scratch::demo("node-number");
    scratch.change("prices.toml", "wage =", "wages =");
    let output = scratch.run();
    assert!(!output.status.success());
    let said = said(&output);
    assert!(said.contains("prices.toml:"), "{said}");
    assert!(
        said.contains("'wages'") && said.contains("write wage"),
        "{said}"
    );
}

#[test]
fn without_prices_nothing_is_said_about_money() {
    let scratch = Scratch::demo("node-number");
    fs::remove_file(scratch.trial().join("prices.toml")).expect("removed");
    let output = scratch.run();
    assert!(!output.status.success());
    assert!(
        said(&output).contains(
            "the trial has no prices (prices.toml beside trial.toml), and none are made up"
        ),
        "{}",
        said(&output)
    );
    let text = scratch.read("trial.toml");
    let (before, _) = text.split_once("[analyses]").expect("the table");
    scratch.write("trial.toml", before);
    let findings = scratch.findings();
    let left = findings["left_out"].as_array().expect("a list");
    let mut left = left.iter();
    let one = left
        .find(|one| one["name"] == "economics")
        .expect("left out");
    assert!(
        one["why"].as_str().expect("words").contains("no prices"),
        "{one}"
    );
}
