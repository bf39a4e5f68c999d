//! Calls built by hand, for tests.

use std::collections::BTreeMap;

use caneplot_plugin::findings::{Cells, Findings, Section, Statement};
use caneplot_plugin::request::{
    Basis, Design, DesignKind, Factor, Level, Quantity, Request, Response, Role, TrialInfo,
};
use caneplot_plugin::{Call, Data, Refusal, Table, validate};
use serde_json::json;

/// A small generator for invented counts (Marsaglia 2003, xorshift).
pub struct Random(pub u64);

impl Random {
    /// Uniform between 0 and 1.
    pub fn unit(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        ((self.0 >> 11) as f64 + 0.5) / (1_u64 << 53) as f64
    }

    /// Successes out of `total` with this chance.
    pub fn binomial(&mut self, total: i64, chance: f64) -> i64 {
        (0..total).filter(|_| self.unit() < chance).count() as i64
    }

    /// Roughly normal: the sum of twelve uniforms.
    pub fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.unit()).sum::<f64>() - 6.0
    }
}

/// A treatment factor.
pub fn factor(name: &str, levels: &[&str], control: Option<&str>, role: Role) -> Factor {
    Factor {
        name: name.to_owned(),
        label: name.to_owned(),
        role,
        levels: levels
            .iter()
            .map(|level| Level {
                name: (*level).to_owned(),
                label: (*level).to_owned(),
                value: level.parse().ok(),
                ..Level::default()
            })
            .collect(),
        unit: levels[0]
            .parse::<f64>()
            .is_ok()
            .then(|| "nodes/vine".to_owned()),
        control: control.map(str::to_owned),
    }
}

/// A count out of a count: columns `x__count` and `x__of`.
pub fn share(name: &str, quantity: Quantity) -> Response {
    Response {
        name: name.to_owned(),
        label: name.replace('_', " "),
        unit: "%".to_owned(),
        quantity,
        counts: Some((format!("{name}__count"), format!("{name}__of"))),
        ..Response::default()
    }
}

/// A count of a plot or vine.
pub fn rate(name: &str, quantity: Quantity, basis: Basis) -> Response {
    Response {
        name: name.to_owned(),
        label: name.to_owned(),
        unit: "clusters/vine".to_owned(),
        quantity,
        basis,
        ..Response::default()
    }
}

/// One row of a table: words by column, then numbers and whole numbers by column.
#[derive(Default, Clone)]
pub struct Row {
    words: BTreeMap<String, String>,
    numbers: BTreeMap<String, f64>,
    whole: BTreeMap<String, i64>,
}

impl Row {
    /// Words.
    pub fn word(mut self, column: &str, word: impl ToString) -> Self {
        self.words.insert(column.to_owned(), word.to_string());
        self
    }

    /// A number.
    pub fn number(mut self, column: &str, value: f64) -> Self {
        self.numbers.insert(column.to_owned(), value);
        self
    }

    /// A whole number.
    pub fn whole(mut self, column: &str, value: i64) -> Self {
        self.whole.insert(column.to_owned(), value);
        self
    }

    /// A count and its total.
    pub fn pair(self, name: &str, count: i64, of: i64) -> Self {
        self.whole(&format!("{name}__count"), count)
            .whole(&format!("{name}__of"), of)
    }

    /// Without these columns.
    pub fn without(mut self, columns: &[&str]) -> Self {
        for column in columns {
            self.numbers.remove(*column);
            self.whole.remove(*column);
        }
        self
    }
}

fn table(name: &str, rows: &[Row]) -> Table {
    let mut columns: BTreeMap<String, Data> = BTreeMap::new();
    for row in rows {
        for column in row.words.keys() {
            let values = rows
                .iter()
                .map(|row| row.words.get(column).cloned())
                .collect();
            columns.insert(column.clone(), Data::Texts(values));
        }
        for column in row.numbers.keys() {
            let values = rows
                .iter()
                .map(|row| row.numbers.get(column).copied())
                .collect();
            columns.insert(column.clone(), Data::Numbers(values));
        }
        for column in row.whole.keys() {
            let values = rows
                .iter()
                .map(|row| row.whole.get(column).copied())
                .collect();
            columns.insert(column.clone(), Data::Whole(values));
        }
    }
    Table {
        name: name.to_owned(),
        rows: rows.len(),
        columns: columns.into_iter().collect(),
    }
}

/// A trial to be analysed.
pub struct Bench {
    /// The trial.
    pub trial: TrialInfo,
    /// Rows of the table of plots.
    pub plots: Vec<Row>,
    /// Rows of the table of vines.
    pub vines: Vec<Row>,
    /// Options that differ from the defaults.
    pub options: Vec<(&'static str, serde_json::Value)>,
}

impl Bench {
    /// Randomised blocks.
    pub fn blocks(factors: Vec<Factor>, responses: Vec<Response>, plots: Vec<Row>) -> Self {
        let has = |column: &str| plots.iter().any(|row| row.words.contains_key(column));
        Self {
            trial: TrialInfo {
                design: Design {
                    kind: DesignKind::RandomisedBlock,
                    block: has("block"),
                    season: has("season"),
                    ..Design::default()
                },
                factors,
                responses,
                seasons: Vec::new(),
                ..TrialInfo::default()
            },
            plots,
            vines: Vec::new(),
            options: Vec::new(),
        }
    }

    /// The call.
    pub fn call(&self) -> Call {
        let mut options =
            json!({"level": 0.05, "family": "choose", "responses": null, "apparent": false});
        for (name, value) in &self.options {
            options[*name] = value.clone();
        }
        let mut tables = vec![table("plots", &self.plots)];
        if !self.vines.is_empty() {
            tables.push(table("vines", &self.vines));
        }
        let mut trial = self.trial.clone();
        if trial.design.season && trial.seasons.is_empty() {
            let mut seasons: Vec<String> = self
                .plots
                .iter()
                .filter_map(|row| row.words.get("season").cloned())
                .collect();
            seasons.sort();
            seasons.dedup();
            trial.seasons = seasons;
        }
        Call {
            request: Request {
                analysis: "counts".to_owned(),
                options,
                trial,
                seed: 1,
            },
            tables,
        }
    }

    /// The findings, checked by the rules of the contract.
    pub fn findings(&self) -> Result<Findings, Refusal> {
        let findings = crate::analysis::findings(&self.call())?;
        validate::check(&findings).unwrap();
        Ok(findings)
    }

    /// The only section.
    pub fn section(&self) -> Section {
        let mut findings = self.findings().unwrap();
        assert_eq!(findings.sections.len(), 1);
        findings.sections.remove(0)
    }
}

/// Sentences with their numbers put in, for reading in a test.
pub fn text(statements: &[Statement]) -> String {
    let mut lines = Vec::new();
    for statement in statements {
        let mut line = statement.text.clone();
        for (name, value) in &statement.values {
            line = line.replace(&format!("{{{name}}}"), &format!("{:.4}", value.value));
        }
        lines.push(line);
    }
    lines.join("\n")
}

/// A column of numbers of a table.
pub fn numbers(section: &Section, table: &str, column: &str) -> Vec<f64> {
    let table = section
        .tables
        .iter()
        .find(|other| other.id == table)
        .unwrap();
    let column = table
        .columns
        .iter()
        .find(|other| other.name == column)
        .unwrap();
    match &column.cells {
        Cells::Number { values, .. } | Cells::Probability { values } => values
            .iter()
            .map(|value| value.unwrap_or(f64::NAN))
            .collect(),
        Cells::Count { values } => values
            .iter()
            .map(|value| value.unwrap_or(-1) as f64)
            .collect(),
        _ => panic!("no numbers in {}", column.name),
    }
}
