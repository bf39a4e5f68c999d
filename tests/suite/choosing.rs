//! Trials that name no analyses, covariates, and dates of bud break, from the folder to the report.

use std::fs;

use serde_json::Value as Json;

use crate::support::{Scratch, said, section};

const HEAD: &str = "[trial]\ntitle = \"Choosing\"\nquestion = \"Do the levels differ?\"\n[design]\n\
    kind = \"randomised block\"\nblock = \"block\"\nplot = \"plot\"\n";
const NODES: &str = "[factors.nodes]\nlevels = [12, 24, 36]\ncontrol = 24\n";
const YIELD: &str =
    "[[data]]\nfile = \"data.csv\"\n[responses.yield]\ncolumn = \"kg\"\nunit = \"kg/vine\"\n";

/// Yields of four blocks, with the prunings of the winter before the trial.
const DATA: &str = "block,plot,nodes,kg,wood\n\
    1,1,12,2.1,0.41\n1,2,24,3.4,0.52\n1,3,36,4.0,0.47\n\
    2,4,24,3.1,0.44\n2,5,12,2.4,0.55\n2,6,36,3.7,0.39\n\
    3,7,36,4.4,0.61\n3,8,24,3.6,0.58\n3,9,12,2.0,0.43\n\
    4,10,12,2.2,0.49\n4,11,36,4.1,0.53\n4,12,24,3.0,0.40\n";

const COVARIATE: &str = "[covariates.wood_before]\ncolumn = \"wood\"\nis = \"pruning weight\"\n\
    unit = \"kg/vine\"\nlabel = \"Prunings before the trial\"\n";

fn trial(rest: &str, data: &str) -> Scratch {
    let scratch = Scratch::new();
    scratch.write("trial.toml", &format!("{HEAD}{NODES}{YIELD}{rest}"));
    scratch.write("data.csv", data);
    scratch
}

fn report(scratch: &Scratch) -> String {
    fs::read_to_string(scratch.report().join("report.md")).expect("a report")
}

/// Why an analysis of the findings was run, and why another was left out.
fn why<'a>(document: &'a Json, list: &str, name: &str) -> &'a str {
    let all = document[list].as_array().expect("a list").iter();
    let one = all.clone().find(|one| one["name"] == name);
    one.and_then(|one| one["why"].as_str())
        .unwrap_or_else(|| panic!("{name} is in {list} with its reason: {document:#}"))
}

#[test]
fn a_complete_trial_gets_the_classical_analysis_and_says_why() {
    let scratch = trial("", DATA);
    let findings = scratch.findings();
    let reason = "every treatment stands equally often in every block";
    assert!(why(&findings, "analyses", "anova").contains(reason));
    assert!(why(&findings, "left_out", "mixed").contains("trials with gaps or covariates"));
    let manifest = fs::read_to_string(scratch.report().join("manifest.json")).expect("a manifest");
    let manifest: Json = serde_json::from_str(&manifest).expect("JSON");
    assert!(why(&manifest, "plugins", "anova").contains(reason));
    assert!(why(&manifest, "left_out", "randomisation").contains("under [analyses]"));
    let report = report(&scratch);
    let (before, after) = report
        .split_once("## Analyses and why")
        .expect("the section");
    assert!(before.contains("## The trial") && after.contains("## Remarks on the data"));
    for line in [
        "- `anova` is run: ",
        "- `response` is run: the levels of Nodes are numbers.",
        "- `mixed` is left out: ",
        "- `ratios` is left out: the trial has no ratio.",
        "- `seasons` is left out: the trial has only one season.",
        "- `evenness` is left out: the trial has no records of single vines.",
    ] {
        assert!(after.contains(line), "{line}\n{after}");
    }
}

#[test]
fn a_missing_value_brings_the_mixed_model_instead() {
    let scratch = trial("", &DATA.replace("2,5,12,2.4,", "2,5,12,,"));
    let findings = scratch.findings();
    assert!(why(&findings, "analyses", "mixed").contains("values are missing (1 of 12 of Yield)"));
    assert!(why(&findings, "left_out", "anova").contains("values are missing"));
    section(&findings, "mixed", "yield");
}

#[test]
fn analyses_that_are_named_run_as_they_are_without_reasons() {
    let scratch = trial(
        "[analyses]\nanova = {}\n",
        &DATA.replace("2,5,12,2.4,", "2,5,12,,"),
    );
    let findings = scratch.findings();
    assert_eq!(findings["analyses"].as_array().expect("analyses").len(), 1);
    assert!(findings["analyses"][0]["why"].is_null() && findings["left_out"].is_null());
    assert!(!report(&scratch).contains("Analyses and why"));
}

#[test]
fn a_covariate_reaches_the_plugins_and_is_no_response() {
    let scratch = trial(COVARIATE, DATA);
    let findings = scratch.findings();
    let covariates = findings["trial"]["covariates"].as_array().expect("a list");
    assert_eq!(covariates.len(), 1);
    assert_eq!(covariates[0]["name"], "wood_before");
    assert_eq!(covariates[0]["unit"], "kg/vine");
    let responses = findings["trial"]["responses"].as_array().expect("a list");
    assert!(responses.iter().all(|one| one["name"] != "wood_before"));
    assert!(why(&findings, "analyses", "mixed").contains("Prunings before the trial"));
    let report = report(&scratch);
    assert!(
        report.contains(
            "not analysed themselves: Prunings before the trial (kg/vine, in 12 of 12 plots)."
        ),
        "{report}"
    );
    assert!(!report.contains("### Prunings before the trial"));
    let plots = fs::read_to_string(scratch.report().join("data/plots.csv")).expect("a table");
    assert!(
        plots.starts_with("block,plot,nodes,yield,wood_before\n"),
        "{plots}"
    );
    assert!(plots.contains("1,1,12,2.1,0.41\n"), "{plots}");
}

#[test]
fn a_covariate_that_changes_inside_a_plot_stops_the_run_at_both_lines() {
    let scratch = trial(COVARIATE, DATA);
    scratch.write("layout.csv", "plot,wood\n4,0.44\n5,0.56\n");
    scratch.change(
        "trial.toml",
        "[[data]]\n",
        "[[data]]\nfile = \"layout.csv\"\n[[data]]\n",
    );
    let output = scratch.run();
    let text = said(&output);
    assert_eq!(output.status.code(), Some(1), "{text}");
    assert!(
        text.contains(
            "'wood_before' is 0.56 and 0.55 in plot 5 (line 3 of layout.csv, line 6 of data.csv)"
        ),
        "{text}"
    );
}

#[test]
fn dates_of_bud_break_vine_by_vine_become_days_from_a_tenth_to_nine_tenths() {
    let scratch = Scratch::new();
    scratch.write(
        "trial.toml",
        &format!(
            "{HEAD}vine = \"vine\"\n{NODES}[[data]]\nfile = \"data.csv\"\n\
             [responses.bud_break]\ncolumn = \"date\"\nunit = \"day\"\n"
        ),
    );
    // Six vines a plot, two, three or four days apart, some of them a little late.
    let mut data = String::from("block,plot,vine,nodes,date\n");
    for block in 0..4 {
        for (at, nodes) in [12, 24, 36].into_iter().enumerate() {
            for vine in 0..6 {
                let day = 3 + block + at + vine * (2 + at) + (vine * (block + at)) % 3;
                data.push_str(&format!(
                    "{block},P{block}{at},{vine},{nodes},2022-04-{day:02}\n"
                ));
            }
        }
    }
    scratch.write("data.csv", &data);
    let findings = scratch.findings();
    let section = section(&findings, "evenness", "bud_break");
    let days: Vec<f64> = section["tables"]
        .as_array()
        .expect("tables")
        .iter()
        .flat_map(|table| table["columns"].as_array().expect("columns"))
        .find(|column| column["name"] == "10 % to 90 %")
        .expect("a column of the days from a tenth to nine tenths")["cells"]["values"]
        .as_array()
        .expect("values")
        .iter()
        .map(|value| value.as_f64().expect("a number"))
        .collect();
    // Twice as many days between vines, and between a tenth and nine tenths of them nearly so.
    assert_eq!(days.len(), 3);
    assert!(days[0] < days[1] && days[1] < days[2], "{days:?}");
    assert!((1.6..2.2).contains(&(days[2] / days[0])), "{days:?}");
    let checked = fs::read_to_string(scratch.report().join("data/vines.csv")).expect("a table");
    // 3 April is day 93 of 2022: 31 + 28 + 31 + 3.
    assert!(checked.contains("0,P00,0,12,93\n"), "{checked}");
    assert!(report(&scratch).contains("10 %"), "{}", report(&scratch));
}
