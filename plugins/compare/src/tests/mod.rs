//! The plugin on results made by hand.

mod answers;

use caneplot_plugin::findings::{Cells, Findings, Table};
use caneplot_plugin::request::{Request, TrialInfo};
use caneplot_plugin::{Analysis, Call, Refusal, validate};
use serde_json::{Value as Json, json};

use crate::Compare;

/// A report's results: means 3, 4 and 5 plus `effect` on the last, with errors of differences.
pub(super) fn report(name: &str, effect: f64, error: f64) -> Json {
    json!({ "name": name, "source": { "report": {
        "at": [0, 1, 2],
        "estimates": {
            "name": "yield", "label": "Yield", "unit": "kg/vine", "factors": ["nodes"], "level": 0.95,
            "format": { "decimals": 2 }, "df": 12.0,
            "treatments": [
                { "levels": ["12"], "plots": 5, "value": 3.0, "standard_error": error / 2_f64.sqrt() },
                { "levels": ["24"], "plots": 5, "value": 4.0, "standard_error": error / 2_f64.sqrt() },
                { "levels": ["36"], "plots": 5, "value": 5.0 + effect, "standard_error": error / 2_f64.sqrt() },
            ],
            "differences": [
                { "of": 0, "against": 1, "value": -1.0, "standard_error": error, "df": 12.0, "low": -2.0, "high": 0.0 },
                { "of": 2, "against": 1, "value": 1.0 + effect, "standard_error": error, "df": 12.0, "low": 0.0, "high": 2.0 },
            ],
        },
    } } })
}

/// A published table with the same means.
pub(super) fn published(error: Json, more: Json) -> Json {
    let mut table =
        json!({ "means": [3.0, 4.0, 5.0], "error": error, "df": null, "plots": null, "mean": 4.0 });
    for (key, value) in more.as_object().unwrap() {
        table[key] = value.clone();
    }
    json!({ "name": "the published table", "source": { "published": table } })
}

/// The findings about these trials.
pub(super) fn said(trials: Vec<Json>) -> Result<Findings, Refusal> {
    let asked = json!({ "questions": [{
        "id": "yield", "title": "Yield", "name": "yield", "label": "Yield", "unit": "kg/vine",
        "format": { "decimals": 2 }, "kind": "mean",
        "treatments": ["12 nodes/vine", "24 nodes/vine", "36 nodes/vine"], "control": 1,
        "trials": trials,
    }] });
    let call = Call {
        request: Request {
            analysis: "compare".to_owned(),
            options: json!({ "asked": asked.to_string(), "level": 0.05 }),
            trial: TrialInfo::default(),
            seed: 1,
        },
        tables: Vec::new(),
    };
    let findings = Compare.analyse(&call)?;
    validate::check(&findings).unwrap();
    Ok(findings)
}

pub(super) fn table<'a>(findings: &'a Findings, id: &str) -> Option<&'a Table> {
    findings.sections[0]
        .tables
        .iter()
        .find(|table| table.id == id)
}

pub(super) fn numbers(table: &Table, column: &str) -> Vec<Option<f64>> {
    let column = table.columns.iter().find(|one| one.name == column).unwrap();
    match &column.cells {
        Cells::Number { values, .. } | Cells::Probability { values } => values.clone(),
        _ => panic!("no numbers"),
    }
}

pub(super) fn words(findings: &Findings) -> String {
    let section = &findings.sections[0];
    let all = section.statements.iter().chain(&section.notes);
    let texts: Vec<&str> = all.map(|one| one.text.as_str()).collect();
    texts.join("\n")
}
