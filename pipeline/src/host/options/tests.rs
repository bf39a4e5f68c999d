//! Slips in the table of analyses, each at its place with the right name beside.

use std::sync::Arc;

use caneplot_plugin::request::Response;
use serde_json::json;

use super::super::Origin;
use super::*;
use crate::diagnostic::Source;
use crate::trial::{Design, Vineyard};

/// A trial file in which every name and value can be found by its text.
const FILE: &str = r#"
[analyses]
anova = { separation = "tukey", level = 0.01 }
anvoa = {}
other = { seperation = "tukey", level = 5, separation = "tuky", only = ["yeild"], draws = 1.5 }
"#;

fn span(written: &str) -> std::ops::Range<usize> {
    let start = FILE.find(written).unwrap();
    start..start + written.len()
}

fn analysis(name: &str, options: &[(&str, &str, Json)]) -> Analysis {
    let written = |text: &str, value: Json| Written {
        value,
        span: span(text),
    };
    let named = |text: &str| Written {
        value: text.to_owned(),
        span: span(text),
    };
    Analysis {
        name: named(name),
        options: options
            .iter()
            .map(|(option, text, value)| (named(option), written(text, value.clone())))
            .collect(),
    }
}

pub(in crate::host) fn trial() -> Trial {
    Trial {
        checks: Default::default(),
        folder: ".".into(),
        name: "test".to_owned(),
        source: Arc::new(Source {
            path: "trial.toml".into(),
            text: FILE.to_owned(),
        }),
        title: String::new(),
        question: String::new(),
        seasons: Vec::new(),
        seasons_span: None,
        about: Vec::new(),
        vineyard: Vineyard::default(),
        design: Design {
            kind: caneplot_plugin::request::DesignKind::default(),
            block: None,
            row: None,
            column: None,
            plot: Written {
                value: "plot".to_owned(),
                span: 0..0,
            },
            vine: None,
            season: None,
        },
        field: None,
        factors: Vec::new(),
        data: Vec::new(),
        responses: Vec::new(),
        covariates: Vec::new(),
        ratios: Vec::new(),
        status: None,
        analyses: None,
        seed: 9,
        prices: None,
        rerun: None,
    }
}

fn info() -> TrialInfo {
    TrialInfo {
        responses: ["yield", "brix"]
            .map(|name| Response {
                name: name.to_owned(),
                ..Response::default()
            })
            .into(),
        ..TrialInfo::default()
    }
}

fn plugin(name: &str, origin: Origin, needs: Json) -> Plugin {
    let manifest = json!({
        "name": name, "version": "1", "purpose": "A test", "needs": needs,
        "options": [
            { "name": "separation", "help": "The rule", "type": "choice", "of": ["lsd", "tukey"],
              "default": "lsd" },
            { "name": "level", "help": "The level", "type": "number", "min": 0, "max": 1,
              "default": 0.05 },
            { "name": "draws", "help": "How many", "type": "integer", "default": null },
            { "name": "only", "help": "Which", "type": "responses", "default": null },
        ],
    });
    Plugin {
        name: name.to_owned(),
        path: name.into(),
        sha256: String::new(),
        origin,
        manifest: Manifest::read(&manifest.to_string()).unwrap(),
    }
}

fn found() -> Discovery {
    let mut found = Discovery {
        plugins: vec![
            plugin("anova", Origin::Shipped, json!({ "response": true })),
            plugin("other", Origin::User, json!({})),
            plugin("ratios", Origin::Shipped, json!({ "ratio": true })),
        ],
        ..Discovery::default()
    };
    found.refuse(PluginError::NotTrusted {
        plugin: "analyses".to_owned(),
        path: "/x".into(),
    });
    found
}

fn mistakes(analyses: Vec<Analysis>) -> Vec<String> {
    jobs(&analyses, &trial(), &info(), &found())
        .unwrap_err()
        .iter()
        .map(ToString::to_string)
        .collect()
}

#[test]
fn options_are_completed_by_the_defaults() {
    let written = [
        ("separation", "\"tukey\"", json!("tukey")),
        ("level", "0.01", json!(0.01)),
    ];
    let found = found();
    let jobs = jobs(&[analysis("anova", &written)], &trial(), &info(), &found).unwrap();
    assert_eq!(jobs.len(), 1);
    assert_eq!(jobs[0].request.seed, 9);
    assert_eq!(
        jobs[0].request.options,
        json!({ "separation": "tukey", "level": 0.01, "draws": null, "only": null })
    );
}

#[test]
fn a_misspelt_name_is_shown_with_the_nearest() {
    assert_eq!(
        mistakes(vec![analysis("anvoa", &[])]),
        [
            "error: there is no analysis 'anvoa'\n   --> trial.toml:4:1\n  4 | anvoa = {}\n    | ^^^^^\n  \
          do: write 'anova'; there are anova, other, ratios\n"
        ]
    );
}

#[test]
fn a_refused_plugin_tells_why() {
    let told = mistakes(vec![analysis("analyses", &[])]);
    assert!(told[0].contains("has never been trusted"), "{told:?}");
}

#[test]
fn an_analysis_whose_needs_are_not_met_is_a_mistake_where_it_is_named() {
    // The trial file of this test has no line for it: any place will do.
    let mut ratios = analysis("other", &[]);
    ratios.name.value = "ratios".to_owned();
    let told = mistakes(vec![ratios]);
    assert!(
        told[0].starts_with(
            "error: 'ratios' cannot be run: the trial has no ratio\n   --> trial.toml:5:1"
        ),
        "{told:?}"
    );
}

#[test]
fn every_slip_in_the_options_is_found_at_once() {
    let told = mistakes(vec![analysis(
        "other",
        &[
            ("seperation", "\"tukey\", level = 5", json!("tukey")),
            ("level", "5, sep", json!(5)),
            ("separation", "\"tuky\"", json!("tuky")),
            ("only", "[\"yeild\"]", json!(["yeild"])),
            ("draws", "1.5", json!(1.5)),
        ],
    )]);
    for (told, expected) in told.iter().zip([
        [
            "error: 'other' has no option 'seperation'\n",
            "trial.toml:5:11",
            "do: write 'separation'; it has separation, level, draws, only",
        ],
        [
            "error: the option 'level' of 'other' must be a number from 0 to 1, not 5\n",
            "trial.toml:5:41",
            "do: The level",
        ],
        [
            "error: the option 'separation' of 'other' must be one of lsd, tukey, not \"tuky\"\n",
            "trial.toml:5:57",
            "do: write \"tukey\"; The rule",
        ],
        [
            "error: the option 'only' of 'other' names 'yeild', which is not a response of this trial\n",
            "trial.toml:5:72",
            "do: write \"yield\"; there are yield, brix",
        ],
        [
            "error: the option 'draws' of 'other' must be a whole number, not 1.5\n",
            "trial.toml:5:91",
            "do: How many",
        ],
    ]) {
        for part in expected {
            assert!(told.contains(part), "{told}");
        }
    }
    assert_eq!(told.len(), 5);
}
