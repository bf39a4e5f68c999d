//! Building a call and reading findings.

use caneplot_plugin::findings::{Cells, Section, Statement, Table as Shown};
use caneplot_plugin::request::{
    Canopy, Design, DesignKind, Factor, Index, Level, Ratio, Request, Response, Role, TrialInfo,
};
use caneplot_plugin::{Analysis, Call, Data, Findings, Table};

use crate::Ratios;

/// A ratio of yield to pruning weight in kg/kg.
pub fn yield_to_pruning() -> Ratio {
    Ratio {
        name: "yield_to_pruning".to_owned(),
        label: "Yield to pruning weight".to_owned(),
        of: "yield".to_owned(),
        per: Some("pruning_weight".to_owned()),
        per_length: None,
        scale: 1.0,
        unit: "kg/kg".to_owned(),
        index: Some(Index::YieldToPruningWeight),
    }
}

/// A factor of the levels named.
pub fn factor(name: &str, role: Role, levels: &[&str]) -> Factor {
    let level = |name: &&str| Level {
        name: (*name).to_owned(),
        label: (*name).to_owned(),
        ..Level::default()
    };
    Factor {
        name: name.to_owned(),
        label: name.to_owned(),
        role,
        levels: levels.iter().map(level).collect(),
        ..Factor::default()
    }
}

/// A single factor whose levels make canopies.
pub fn systems(levels: &[(&str, Option<Canopy>)]) -> Factor {
    let names: Vec<&str> = levels.iter().map(|(name, _)| *name).collect();
    let mut made = factor("system", Role::Treatment, &names);
    for (level, (_, canopy)) in made.levels.iter_mut().zip(levels) {
        level.canopy = *canopy;
    }
    made
}

/// One row of the table of plots: text columns and the values above and below the line.
pub struct Row<'a>(pub &'a [&'a str], pub Option<f64>, pub Option<f64>);

/// A call for yield over prunings with the text columns named.
pub fn call(kind: DesignKind, factors: Vec<Factor>, names: &[&str], rows: &[Row<'_>]) -> Call {
    let mut columns: Vec<(String, Data)> = names
        .iter()
        .enumerate()
        .map(|(at, name)| {
            let cells = rows.iter().map(|row| Some(row.0[at].to_owned())).collect();
            ((*name).to_owned(), Data::Texts(cells))
        })
        .collect();
    columns.push((
        "yield".to_owned(),
        Data::Numbers(rows.iter().map(|row| row.1).collect()),
    ));
    columns.push((
        "pruning_weight".to_owned(),
        Data::Numbers(rows.iter().map(|row| row.2).collect()),
    ));
    let response = |name: &str, label: &str| Response {
        name: name.to_owned(),
        label: label.to_owned(),
        unit: "kg/vine".to_owned(),
        ..Response::default()
    };
    let mut seasons: Vec<String> = names
        .iter()
        .position(|name| *name == "season")
        .map(|at| rows.iter().map(|row| row.0[at].to_owned()).collect())
        .unwrap_or_default();
    seasons.sort();
    seasons.dedup();
    Call {
        request: Request {
            analysis: "ratios".to_owned(),
            options: serde_json::json!({ "level": 0.95 }),
            trial: TrialInfo {
                design: Design {
                    kind,
                    block: names.contains(&"block"),
                    row_column: names.contains(&"row"),
                    vine: false,
                    season: names.contains(&"season"),
                },
                factors,
                seasons,
                responses: vec![
                    response("yield", "Yield"),
                    response("pruning_weight", "Pruning weight"),
                ],
                ratios: vec![yield_to_pruning()],
                ..TrialInfo::default()
            },
            seed: 1,
        },
        tables: vec![Table {
            name: "plots".to_owned(),
            rows: rows.len(),
            columns,
        }],
    }
}

/// The findings, valid ones.
pub fn findings(call: &Call) -> Findings {
    let findings = Ratios.analyse(call).unwrap();
    caneplot_plugin::validate::check(&findings).unwrap();
    findings
}

/// The one section.
pub fn section(call: &Call) -> Section {
    let mut findings = findings(call);
    assert_eq!(findings.sections.len(), 1);
    findings.sections.remove(0)
}

/// A table by its id.
pub fn table<'a>(section: &'a Section, id: &str) -> &'a Shown {
    section.tables.iter().find(|t| t.id == id).unwrap()
}

/// The number in a column of the row whose cells begin with `label` in any text column.
pub fn number(table: &Shown, label: &str, column: &str) -> Option<f64> {
    let cells = &table
        .columns
        .iter()
        .find(|c| c.name == column)
        .unwrap()
        .cells;
    match cells {
        Cells::Number { values, .. } => values[row_of(table, label)],
        Cells::Count { values } => values[row_of(table, label)].map(|v| v as f64),
        _ => panic!("{column} holds no numbers"),
    }
}

/// The words in a column of a row.
pub fn words(table: &Shown, label: &str, column: &str) -> String {
    let cells = &table
        .columns
        .iter()
        .find(|c| c.name == column)
        .unwrap()
        .cells;
    let Cells::Text { values } = cells else {
        panic!("{column} holds no words");
    };
    values[row_of(table, label)].clone().unwrap()
}

fn row_of(table: &Shown, label: &str) -> usize {
    let column = table
        .columns
        .iter()
        .find(|c| c.name == "Treatment")
        .unwrap();
    let Cells::Text { values } = &column.cells else {
        panic!("treatments are words");
    };
    values
        .iter()
        .position(|v| v.as_deref() == Some(label))
        .unwrap()
}

/// A statement as a reader would see it, numbers with three decimals.
pub fn plain(statement: &Statement) -> String {
    let mut text = statement.text.clone();
    for (name, value) in &statement.values {
        let unit = value
            .unit
            .as_ref()
            .map_or(String::new(), |unit| format!(" {unit}"));
        let number = format!("{:.3}{unit}", value.value);
        text = text.replace(&format!("{{{name}}}"), &number);
    }
    text
}

/// All statements as a reader would see them.
pub fn said(section: &Section) -> String {
    section
        .statements
        .iter()
        .map(plain)
        .collect::<Vec<_>>()
        .join("\n")
}

/// All notes as a reader would see them.
pub fn noted(section: &Section) -> String {
    section
        .notes
        .iter()
        .map(plain)
        .collect::<Vec<_>>()
        .join("\n")
}
