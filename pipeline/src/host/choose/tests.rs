//! What suits a trial, told from small tables.

use caneplot_plugin::request::{Design, Factor, Level};
use polars::prelude::Column;
use serde_json::json;

use super::super::options::tests::trial;
use super::*;
use crate::host::Plugin;

/// Four blocks of two treatments, one yield; `missing` rows have none.
fn plots(missing: &[usize]) -> DataFrame {
    let text = |name: &str, of: &dyn Fn(usize) -> String| {
        Column::new(name.into(), (0..8).map(of).collect::<Vec<String>>())
    };
    let values: Vec<Option<f64>> = (0..8)
        .map(|row| (!missing.contains(&row)).then_some(1.5))
        .collect();
    DataFrame::new(
        8,
        vec![
            text("block", &|row| format!("B{}", row / 2 + 1)),
            text("plot", &|row| format!("P{row}")),
            text("nodes", &|row| ["12", "24"][row % 2].to_owned()),
            Column::new("yield".into(), values),
        ],
    )
    .unwrap()
}

fn response(name: &str, quantity: Quantity) -> Response {
    Response {
        name: name.to_owned(),
        label: format!("The {name}"),
        quantity,
        ..Response::default()
    }
}

fn info() -> TrialInfo {
    let level = |name: &str| Level {
        name: name.to_owned(),
        ..Level::default()
    };
    TrialInfo {
        design: Design {
            block: true,
            ..Design::default()
        },
        factors: vec![Factor {
            name: "nodes".to_owned(),
            levels: vec![level("12"), level("24")],
            ..Factor::default()
        }],
        responses: vec![response("yield", Quantity::Yield)],
        ..TrialInfo::default()
    }
}

fn plugin(name: &str, origin: Origin, suits: serde_json::Value) -> Plugin {
    let manifest = json!({ "name": name, "version": "1", "purpose": "A test", "suits": suits });
    Plugin {
        name: name.to_owned(),
        path: name.into(),
        sha256: String::new(),
        origin,
        manifest: Manifest::read(&manifest.to_string()).unwrap(),
    }
}

/// Whether a shipped plugin with these flags is run, and why.
fn of(suits: serde_json::Value, info: &TrialInfo, plots: &DataFrame) -> (bool, String) {
    let found = Discovery {
        plugins: vec![plugin("one", Origin::Shipped, suits)],
        ..Discovery::default()
    };
    let (jobs, choices) = chosen(&trial(), info, plots, &found);
    assert_eq!(jobs.len(), usize::from(choices[0].runs));
    (choices[0].runs, choices[0].why.clone())
}

#[test]
fn a_complete_balanced_trial_gets_what_suits_it() {
    let (runs, why) = of(json!({ "complete": true }), &info(), &plots(&[]));
    assert!(
        runs && why.contains("stands equally often in every block"),
        "{why}"
    );
    let (runs, why) = of(json!({ "incomplete": true }), &info(), &plots(&[]));
    assert!(
        !runs && why.contains("it is for trials with gaps or covariates"),
        "{why}"
    );
}

#[test]
fn a_missing_value_turns_the_choice() {
    let gap = plots(&[3]);
    let (runs, why) = of(json!({ "incomplete": true }), &info(), &gap);
    assert!(
        runs && why.contains("values are missing (1 of 8 of The yield)"),
        "{why}"
    );
    assert!(!of(json!({ "complete": true }), &info(), &gap).0);
}

#[test]
fn a_season_nobody_recorded_is_no_gap_and_one_plot_without_a_value_is() {
    let seasons: Vec<String> = (0..8).map(|row| format!("202{}", row % 2)).collect();
    let with = |missing: &[usize]| {
        let mut frame = plots(missing);
        let twice: Vec<String> = (0..8).map(|row| format!("P{}", row / 2)).collect();
        let levels: Vec<&str> = (0..8).map(|row| ["12", "24"][row / 2 % 2]).collect();
        let blocks: Vec<&str> = (0..8).map(|row| ["B1", "B2"][row / 4]).collect();
        for (name, column) in [
            ("season", Column::new("season".into(), seasons.clone())),
            ("plot", Column::new("plot".into(), twice)),
            ("nodes", Column::new("nodes".into(), levels)),
            ("block", Column::new("block".into(), blocks)),
        ] {
            frame
                .with_column(column)
                .unwrap_or_else(|error| panic!("{name}: {error}"));
        }
        frame
    };
    let complete = |missing: &[usize]| of(json!({ "complete": true }), &info(), &with(missing));
    assert!(complete(&[]).0);
    assert!(complete(&[1, 3, 5, 7]).0, "{:?}", complete(&[1, 3, 5, 7]));
    let (runs, why) = complete(&[1, 3, 5, 7, 0]);
    assert!(!runs && why.contains("1 of 4 of The yield"), "{why}");
}

#[test]
fn a_plot_too_few_and_a_covariate_are_named() {
    let (runs, why) = of(
        json!({ "complete": true }),
        &info(),
        &plots(&[]).slice(0, 7),
    );
    assert!(
        !runs
            && why.contains(
                "treatments do not stand equally often in every block (24 on no plot in block B4, \
                 24 on 1 plot in block B1)"
            ),
        "{why}"
    );
    let mut info = info();
    info.covariates.push(response("before", Quantity::Other));
    let (runs, why) = of(json!({ "incomplete": true }), &info, &plots(&[]));
    assert!(runs && why.contains("the covariate The before"), "{why}");
}

#[test]
fn counts_and_parts_of_the_crop_are_looked_for() {
    let counted = json!({ "counted": true });
    assert!(!of(counted.clone(), &info(), &plots(&[])).0);
    let mut more = info();
    more.responses
        .push(response("clusters", Quantity::ClusterCount));
    assert!(
        !of(counted.clone(), &more, &plots(&[])).0,
        "a mean of unknown vines is no count"
    );
    let (runs, why) = of(json!({ "yield_parts": true }), &more, &plots(&[]));
    assert!(
        runs && why == "The clusters is recorded beside the crop",
        "{why}"
    );
    more.responses[1].on_vines = true;
    assert!(of(counted.clone(), &more, &plots(&[])).0);
    more.responses[1].on_vines = false;
    more.responses[1].basis = Basis::LivingVine;
    more.vineyard.vines_per_plot = Some(5);
    assert!(of(counted, &more, &plots(&[])).0);
    assert!(!of(json!({ "yield_parts": true }), &info(), &plots(&[])).0);
}

#[test]
fn nodes_left_beside_nodes_meant_are_looked_at() {
    let suits = || json!({ "nodes_meant": true });
    let mut info = info();
    assert!(of(suits(), &info, &plots(&[])).1.contains("no factor says"));
    for level in &mut info.factors[0].levels {
        level.value = level.name.parse().ok();
    }
    info.factors[0].unit = Some("nodes/vine".to_owned());
    let (runs, why) = of(suits(), &info, &plots(&[]));
    assert!(
        !runs && why.contains("nodes left on vines are not recorded"),
        "{why}"
    );
    info.responses.push(response("left", Quantity::NodesLeft));
    let (runs, why) = of(suits(), &info, &plots(&[]));
    assert!(runs && why.contains("recorded beside what"), "{why}");
}

#[test]
fn what_is_run_on_request_and_what_says_nothing() {
    let (runs, why) = of(json!({ "on_request": true }), &info(), &plots(&[]));
    assert!(!runs && why.contains("under [analyses]"), "{why}");
    assert!(of(json!({}), &info(), &plots(&[])).0);
}

#[test]
fn a_plugin_of_the_user_is_run_only_where_it_is_named() {
    let found = Discovery {
        plugins: vec![plugin("one", Origin::User, json!({}))],
        ..Discovery::default()
    };
    let (jobs, choices) = chosen(&trial(), &info(), &plots(&[]), &found);
    assert!(jobs.is_empty() && choices.is_empty());
}
