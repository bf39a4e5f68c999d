//! Building a call and reading findings.

use caneplot_plugin::findings::{Cells, Section, Statement, Table as Shown};
use caneplot_plugin::request::{
    Design, DesignKind, Factor, Level, Request, Response, Role, TrialInfo,
};
use caneplot_plugin::{Analysis, Call, Data, Findings, Table, validate};

use crate::Randomisation;

/// A factor of the levels named.
pub(super) fn factor(name: &str, role: Role, levels: &[&str]) -> Factor {
    Factor {
        name: name.to_owned(),
        label: name.to_owned(),
        role,
        levels: levels
            .iter()
            .map(|name| Level {
                name: (*name).to_owned(),
                label: (*name).to_owned(),
                ..Level::default()
            })
            .collect(),
        ..Factor::default()
    }
}

/// A call from text columns and responses, one entry a plot and season.
pub(super) fn call(
    kind: DesignKind,
    factors: Vec<Factor>,
    texts: &[(&str, Vec<String>)],
    responses: &[(&str, Vec<Option<f64>>)],
) -> Call {
    let rows = texts[0].1.len();
    let has = |name: &str| texts.iter().any(|(column, _)| *column == name);
    let mut columns: Vec<(String, Data)> = texts
        .iter()
        .map(|(name, values)| {
            let cells = values.iter().cloned().map(Some).collect();
            ((*name).to_owned(), Data::Texts(cells))
        })
        .collect();
    columns.extend(
        responses
            .iter()
            .map(|(name, values)| ((*name).to_owned(), Data::Numbers(values.clone()))),
    );
    let mut seasons: Vec<String> = texts
        .iter()
        .find(|(name, _)| *name == "season")
        .map_or_else(Vec::new, |(_, values)| values.clone());
    seasons.sort();
    seasons.dedup();
    Call {
        request: Request {
            analysis: "randomisation".to_owned(),
            options: serde_json::json!({
                "arrangements": 999, "terms": "treatments", "level": 0.05, "responses": null
            }),
            trial: TrialInfo {
                design: Design {
                    kind,
                    block: has("block"),
                    row_column: has("row"),
                    vine: false,
                    season: has("season"),
                },
                factors,
                seasons,
                responses: responses
                    .iter()
                    .map(|(name, _)| Response {
                        name: (*name).to_owned(),
                        label: (*name).to_owned(),
                        ..Response::default()
                    })
                    .collect(),
                ..TrialInfo::default()
            },
            seed: 1,
        },
        tables: vec![Table {
            name: "plots".to_owned(),
            rows,
            columns,
        }],
    }
}

/// The findings, valid ones.
pub(super) fn findings(call: &Call) -> Findings {
    let findings = Randomisation.analyse(call).unwrap();
    validate::check(&findings).unwrap();
    findings
}

/// The one section.
pub(super) fn section(call: &Call) -> Section {
    let mut findings = findings(call);
    assert_eq!(findings.sections.len(), 1);
    findings.sections.remove(0)
}

/// The cells of a column of words.
pub(super) fn words(table: &Shown, column: &str) -> Vec<String> {
    let column = table.columns.iter().find(|c| c.name == column).unwrap();
    let Cells::Text { values } = &column.cells else {
        panic!("{} holds no words", column.name);
    };
    values.iter().map(|value| value.clone().unwrap()).collect()
}

/// The cells of a column of probabilities.
pub(super) fn probabilities(table: &Shown, column: &str) -> Vec<f64> {
    let column = table.columns.iter().find(|c| c.name == column).unwrap();
    let Cells::Probability { values } = &column.cells else {
        panic!("{} holds no probabilities", column.name);
    };
    values.iter().map(|value| value.unwrap()).collect()
}

/// Statements as a reader would see them, numbers with four decimals.
pub(super) fn said(statements: &[Statement]) -> String {
    let plain = |statement: &Statement| {
        let mut text = statement.text.clone();
        for (name, value) in &statement.values {
            text = text.replace(&format!("{{{name}}}"), &format!("{:.4}", value.value));
        }
        text
    };
    statements.iter().map(plain).collect::<Vec<_>>().join("\n")
}
