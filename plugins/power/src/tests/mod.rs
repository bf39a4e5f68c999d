//! The plugin on plans made by hand.

mod earlier;
mod plans;

use caneplot_plugin::findings::{Cells, Findings, Table};
use caneplot_plugin::request::{Design, DesignKind, Factor, Level, Request, Role, TrialInfo};
use caneplot_plugin::{Analysis, Call, Refusal, validate};
use serde_json::{Value as Json, json};

use crate::Power;

/// A factor with numbered levels.
pub(super) fn factor(label: &str, role: Role, values: &[f64]) -> Factor {
    Factor {
        name: label.to_lowercase(),
        label: label.to_owned(),
        role,
        levels: values
            .iter()
            .map(|value| Level {
                name: value.to_string(),
                label: value.to_string(),
                value: Some(*value),
                ..Level::default()
            })
            .collect(),
        unit: None,
        control: None,
    }
}

pub(super) fn trial(kind: DesignKind, factors: Vec<Factor>, seasons: usize) -> TrialInfo {
    TrialInfo {
        title: "A plan".to_owned(),
        design: Design {
            kind,
            ..Design::default()
        },
        factors,
        seasons: (0..seasons).map(|one| format!("{}", 2027 + one)).collect(),
        ..TrialInfo::default()
    }
}

/// A randomised block plan of four numbers of nodes.
pub(super) fn nodes(seasons: usize) -> TrialInfo {
    let nodes = factor("Nodes left", Role::Treatment, &[12.0, 24.0, 36.0, 48.0]);
    trial(DesignKind::RandomisedBlock, vec![nodes], seasons)
}

/// What the plugin says with these options beside its defaults.
pub(super) fn said(trial: TrialInfo, more: Json) -> Result<Findings, Refusal> {
    let manifest: Json = serde_json::from_str(Power::MANIFEST).unwrap();
    let mut options = serde_json::Map::new();
    for option in manifest["options"].as_array().unwrap() {
        let name = option["name"].as_str().unwrap().to_owned();
        options.insert(name, option["default"].clone());
    }
    for (name, value) in more.as_object().unwrap() {
        assert!(options.contains_key(name), "{name}");
        options.insert(name.clone(), value.clone());
    }
    let call = Call {
        request: Request {
            analysis: "power".to_owned(),
            options: Json::Object(options),
            trial,
            seed: 5,
        },
        tables: Vec::new(),
    };
    let findings = Power.analyse(&call)?;
    validate::check(&findings).unwrap();
    Ok(findings)
}

pub(super) fn table<'a>(findings: &'a Findings, id: &str) -> &'a Table {
    let mut tables = findings.sections[0].tables.iter();
    tables.find(|table| table.id == id).unwrap()
}

pub(super) fn numbers(table: &Table, column: &str) -> Vec<Option<f64>> {
    let column = table.columns.iter().find(|one| one.name == column).unwrap();
    match &column.cells {
        Cells::Number { values, .. } => values.clone(),
        Cells::Count { values } => values.iter().map(|one| one.map(|one| one as f64)).collect(),
        _ => panic!("no numbers"),
    }
}

pub(super) fn words(findings: &Findings) -> String {
    let section = &findings.sections[0];
    let all = section.statements.iter().chain(&section.notes);
    let texts: Vec<&str> = all.map(|one| one.text.as_str()).collect();
    texts.join("\n")
}

pub(super) fn refused(trial: TrialInfo, more: Json) -> String {
    let refusal = said(trial, more).unwrap_err();
    format!("{} {}", refusal.message, refusal.hint.unwrap_or_default())
}

/// Options of a plan with spread given in the unit of the response.
pub(super) fn typed() -> Json {
    json!({ "blocks": 5, "vines": 4, "difference": "1", "between_plots": "0.5", "between_vines": "1",
            "within_seasons": "0.4", "vines_within_seasons": "0.2" })
}

/// Some options and others over them.
pub(super) fn with(mut options: Json, more: Json) -> Json {
    for (name, value) in more.as_object().unwrap() {
        options[name] = value.clone();
    }
    options
}
