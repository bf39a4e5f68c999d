//! Whole calls, built by hand, and the table that comes out.

use caneplot_plugin::estimates::{Estimates, Handed, Kind, PublishedRange, Test, Treatment};
use caneplot_plugin::findings::{Format, Rank, Section};
use caneplot_plugin::manifest::Manifest;
use caneplot_plugin::request::{Canopy, Index, Quantity, Ratio, Request, TrialInfo, Vineyard};
use caneplot_plugin::{Analysis, Call, validate};
use caneplot_readings::testing::{cell, factor, response, sentence};
use serde_json::json;

use crate::Scorecard;

fn estimates(
    name: &str,
    unit: &str,
    kind: Kind,
    values: [(f64, f64, f64); 2],
    p: f64,
) -> Estimates {
    Estimates {
        name: name.to_owned(),
        label: name.to_owned(),
        unit: unit.to_owned(),
        kind,
        factors: vec!["system".to_owned()],
        season: None,
        level: 0.95,
        format: match kind {
            Kind::Share => Format::Percent(0),
            _ => Format::Decimals(1),
        },
        treatments: ["VSP", "GDC"]
            .iter()
            .zip(values)
            .map(|(level, (value, low, high))| Treatment {
                levels: vec![(*level).to_owned()],
                plots: 4,
                value,
                standard_error: None,
                low: Some(low),
                high: Some(high),
            })
            .collect(),
        covariance: Vec::new(),
        df: None,
        differences: Vec::new(),
        test: Some(Test {
            p,
            ..Test::default()
        }),
        seasons_test: None,
        interaction_test: None,
        ranges: Vec::new(),
    }
}

fn handed(estimates: Estimates) -> Handed {
    Handed {
        analysis: "anova".to_owned(),
        voice: Some(20),
        section: estimates.name.clone(),
        estimates,
    }
}

fn call() -> Call {
    let mut system = factor("system", "Training system", &["VSP", "GDC"], Some("VSP"));
    system.levels[0].canopy = Some(Canopy::Single);
    system.levels[1].canopy = Some(Canopy::Divided);
    let crop = estimates(
        "yield",
        "t/ha",
        Kind::Mean,
        [(8.3, 7.0, 9.6), (14.6, 13.0, 16.0)],
        0.001,
    );
    let season = |name: &str, a: f64, b: f64| Estimates {
        season: Some(name.to_owned()),
        test: None,
        ..estimates(
            "yield",
            "t/ha",
            Kind::Mean,
            [(a, a - 1.0, a + 1.0), (b, b - 1.0, b + 1.0)],
            0.5,
        )
    };
    let mut balance = estimates(
        "load",
        "kg/kg",
        Kind::Ratio,
        [(4.9, 4.5, 5.4), (7.0, 4.8, 9.0)],
        0.5,
    );
    balance.test = None;
    let range = |low: f64, at: usize| PublishedRange {
        low,
        high: 10.0,
        applies_to: "trellised".to_owned(),
        source: "a-source".to_owned(),
        treatments: vec![at],
    };
    balance.ranges = vec![range(4.0, 0), range(5.0, 1)];
    let buds = estimates(
        "live_buds",
        "",
        Kind::Share,
        [(0.9, 0.85, 0.93), (0.88, 0.82, 0.92)],
        0.4,
    );
    Call {
        request: Request {
            analysis: "scorecard".to_owned(),
            options: json!({ "factor": null }),
            seed: 1,
            trial: TrialInfo {
                factors: vec![system],
                seasons: vec!["2021".to_owned(), "2022".to_owned()],
                responses: vec![
                    response("yield", "Yield", "t/ha", Quantity::Yield),
                    response("live_buds", "Live buds", "%", Quantity::BudSurvival),
                ],
                ratios: vec![Ratio {
                    name: "load".to_owned(),
                    label: "Yield to pruning weight".to_owned(),
                    of: "yield".to_owned(),
                    per: Some("prunings".to_owned()),
                    per_length: None,
                    scale: 1.0,
                    unit: "kg/kg".to_owned(),
                    index: Some(Index::YieldToPruningWeight),
                }],
                vineyard: Vineyard {
                    row_spacing_m: Some(2.4384),
                    ..Vineyard::default()
                },
                estimates: [
                    crop,
                    season("2021", 6.0, 15.0),
                    season("2022", 10.6, 14.2),
                    balance,
                    buds,
                ]
                .into_iter()
                .map(handed)
                .collect(),
                ..TrialInfo::default()
            },
        },
        tables: Vec::new(),
    }
}

fn section(call: &Call) -> Section {
    let findings = Scorecard.analyse(call).unwrap();
    validate::check(&findings).unwrap();
    findings.sections.into_iter().next().unwrap()
}

/// Cells of a row by its question, the answers of the systems and the last column.
fn row(section: &Section, asked: &str) -> Vec<String> {
    let table = &section.tables[0];
    let rows = table.columns[0].cells.len();
    let at = (0..rows)
        .find(|&row| cell(&table.columns[0].cells, row) == asked)
        .unwrap();
    table.columns[1..]
        .iter()
        .map(|column| cell(&column.cells, at))
        .collect()
}

#[test]
fn the_manifest_is_in_order() {
    let manifest = Manifest::read(Scorecard::MANIFEST).unwrap();
    manifest.check().unwrap();
    assert!(manifest.uses_estimates && manifest.suits.systems);
}

#[test]
fn every_question_has_its_answer_with_an_interval_or_says_that_there_is_none() {
    let section = section(&call());
    assert_eq!(
        row(&section, "Crop"),
        [
            "Yield (t/ha)",
            "8.3 (7.0 to 9.6)",
            "14.6 (13.0 to 16.0)",
            "clear"
        ]
    );
    assert_eq!(
        row(&section, "Steadiness of the crop"),
        [
            "Yield (t/ha)",
            "6.0 to 10.6 in 2 seasons",
            "14.2 to 15.0 in 2 seasons",
            ""
        ]
    );
    assert_eq!(
        row(&section, "Balance of the vine"),
        [
            "Yield to pruning weight (kg/kg)",
            "4.9 (4.5 to 5.4); inside 4.0–10.0",
            "7.0 (4.8 to 9.0); across an edge of 5.0–10.0",
            ""
        ]
    );
    assert_eq!(
        row(&section, "Buds alive after winter")[1],
        "90 % (85 % to 93 %)"
    );
    assert_eq!(row(&section, "Buds alive after winter")[3], "not clear");
    for asked in [
        "Ripeness",
        "Evenness of ripening",
        "Spring frost",
        "Work",
        "Water",
    ] {
        assert_eq!(
            row(&section, asked)[1],
            "not measured in this trial",
            "{asked}"
        );
    }
    assert_eq!(
        row(&section, "Cost of setting it up")[1],
        "not declared for this trial"
    );
    assert_eq!(row(&section, "Canopy")[1..3], ["single", "divided"]);
    assert_eq!(row(&section, "Row spacing")[1], "2.44 m (8.0 ft)");
}

#[test]
fn it_says_what_is_open_and_never_ranks() {
    let section = section(&call());
    let said: Vec<String> = section.statements.iter().map(sentence).collect();
    assert_eq!(section.statements[0].rank, Rank::Headline);
    assert!(
        said[0].contains("it has nothing on ripeness, evenness of ripening, spring frost"),
        "{said:?}"
    );
    assert!(
        said.iter()
            .any(|one| one == "Systems differ clearly in yield."),
        "{said:?}"
    );
    assert!(
        said.iter()
            .any(|one| one == "No clear difference was found in live buds."),
        "{said:?}"
    );
    let notes: Vec<String> = section.notes.iter().map(sentence).collect();
    assert!(
        notes
            .iter()
            .any(|note| note.starts_with("There is no total and no rank")),
        "{notes:?}"
    );
}

#[test]
fn a_change_with_the_season_comes_before_a_mean_difference() {
    let mut call = call();
    call.request.trial.estimates[0].estimates.seasons_test = Some(Test {
        p: 0.01,
        ..Test::default()
    });
    assert_eq!(row(&section(&call), "Crop")[3], "changes with the season");
}

#[test]
fn only_trials_of_systems_have_one_unless_it_is_named() {
    let mut call = call();
    for level in &mut call.request.trial.factors[0].levels {
        level.canopy = None;
    }
    let refusal = Scorecard.analyse(&call).unwrap_err();
    assert!(refusal.message.contains("training systems"), "{refusal}");
    assert!(refusal.hint.unwrap().contains("declare canopies"));
    call.request.options = json!({ "factor": "system" });
    assert_eq!(
        row(&section(&call), "Canopy")[1],
        "not declared for this trial"
    );
    call.request.options = json!({ "factor": "sistem" });
    assert!(
        Scorecard
            .analyse(&call)
            .unwrap_err()
            .hint
            .unwrap()
            .contains("system")
    );
}
