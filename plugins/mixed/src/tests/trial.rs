//! Calls made from the reference data sets.

use std::path::Path;

use caneplot_plugin::request::{
    Design, DesignKind, Factor, Level, Request, Response, Role, TrialInfo,
};
use caneplot_plugin::{Analysis, Call, Data, Findings, Refusal, Table, validate};
use serde_json::{Value as Json, json};

use crate::Mixed;

/// A trial under construction.
pub(super) struct Trial {
    pub kind: DesignKind,
    pub factors: Vec<Factor>,
    pub responses: Vec<Response>,
    pub covariates: Vec<Response>,
    pub columns: Vec<(String, Vec<String>)>,
    pub options: Json,
    /// Whether columns `field_…` are places of plots.
    pub field: bool,
}

impl Trial {
    /// A data set of the numerics.
    pub fn read(kind: DesignKind, file: &str) -> Self {
        let path = Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("../numerics/tests/reference/mixed")
            .join(file);
        let text = std::fs::read_to_string(path).unwrap();
        let split = |line: &str| -> Vec<String> {
            line.split(',')
                .map(|cell| cell.trim_matches('"').to_owned())
                .collect()
        };
        let mut lines = text.lines();
        let mut columns: Vec<(String, Vec<String>)> = split(lines.next().unwrap())
            .into_iter()
            .map(|name| (name, Vec::new()))
            .collect();
        for line in lines {
            for (column, cell) in columns.iter_mut().zip(split(line)) {
                column.1.push(cell);
            }
        }
        Self::made(kind, columns)
    }

    /// A trial of these columns, with every option at its default.
    pub fn made(kind: DesignKind, columns: Vec<(String, Vec<String>)>) -> Self {
        let manifest: Json = serde_json::from_str(Mixed::MANIFEST).unwrap();
        let mut options = json!({});
        for option in manifest["options"].as_array().unwrap() {
            options[option["name"].as_str().unwrap()] = option["default"].clone();
        }
        Self {
            kind,
            factors: Vec::new(),
            responses: Vec::new(),
            covariates: Vec::new(),
            columns,
            options,
            field: false,
        }
    }

    pub fn column(&self, name: &str) -> &Vec<String> {
        &self
            .columns
            .iter()
            .find(|(column, _)| column == name)
            .unwrap()
            .1
    }

    pub fn with(mut self, name: &str, values: Vec<String>) -> Self {
        self.columns.retain(|(column, _)| column != name);
        self.columns.push((name.to_owned(), values));
        self
    }

    pub fn rename(mut self, from: &str, to: &str) -> Self {
        let values = self.column(from).clone();
        self.columns.retain(|(column, _)| column != from);
        self.with(to, values)
    }

    pub fn without_rows(mut self, gone: &[usize]) -> Self {
        for (_, values) in &mut self.columns {
            let mut row = 0;
            values.retain(|_| {
                row += 1;
                !gone.contains(&(row - 1))
            });
        }
        self
    }

    /// Plots numbered in order.
    pub fn numbered(self) -> Self {
        let rows = self.columns[0].1.len();
        self.with("plot", (1..=rows).map(|row| row.to_string()).collect())
    }

    pub fn factor(mut self, name: &str, label: &str, role: Role, levels: &[&str]) -> Self {
        let mut found: Vec<String> = levels.iter().map(|level| (*level).to_owned()).collect();
        if found.is_empty() {
            found = self.column(name).clone();
            found.sort();
            found.dedup();
        }
        let numeric = found.iter().all(|level| level.parse::<f64>().is_ok());
        self.factors.push(Factor {
            name: name.to_owned(),
            label: label.to_owned(),
            role,
            levels: found
                .iter()
                .map(|level| Level {
                    name: level.clone(),
                    label: level.clone(),
                    value: level.parse().ok().filter(|_| numeric),
                    ..Level::default()
                })
                .collect(),
            ..Factor::default()
        });
        self
    }

    pub fn response(mut self, name: &str, label: &str, unit: &str, offset: &str) -> Self {
        self.responses.push(Response {
            name: name.to_owned(),
            label: label.to_owned(),
            unit: unit.to_owned(),
            offset: offset.parse().unwrap(),
            offset_text: offset.to_owned(),
            decimals: 2,
            ..Response::default()
        });
        self
    }

    /// A covariate of the trial itself; an empty text is a plot that lacks it.
    pub fn covariate(mut self, name: &str, label: &str, unit: &str, values: Vec<String>) -> Self {
        self = self.response(name, label, unit, "0").with(name, values);
        self.covariates.extend(self.responses.pop());
        self
    }

    pub fn option(mut self, name: &str, value: Json) -> Self {
        self.options[name] = value;
        self
    }

    pub fn call(&self) -> Call {
        let has = |name: &str| self.columns.iter().any(|(column, _)| column == name);
        let columns = self
            .columns
            .iter()
            .map(|(column, values)| {
                let known = self
                    .responses
                    .iter()
                    .chain(&self.covariates)
                    .find(|response| &response.name == column);
                let data = match known {
                    None if column.starts_with("field_") => {
                        Data::Numbers(values.iter().map(|text| text.parse().ok()).collect())
                    }
                    None => Data::Texts(values.iter().cloned().map(Some).collect()),
                    Some(response) => Data::Numbers(
                        values
                            .iter()
                            .map(|text| text.parse::<f64>().ok().map(|v| v - response.offset))
                            .collect(),
                    ),
                };
                (column.clone(), data)
            })
            .collect();
        let mut seasons = match has("season") {
            true => self.column("season").clone(),
            false => Vec::new(),
        };
        seasons.sort();
        seasons.dedup();
        Call {
            request: Request {
                analysis: "mixed".to_owned(),
                options: self.options.clone(),
                trial: TrialInfo {
                    title: "A trial".to_owned(),
                    design: Design {
                        kind: self.kind,
                        block: has("block"),
                        row_column: has("row"),
                        vine: false,
                        season: has("season"),
                    },
                    factors: self.factors.clone(),
                    seasons,
                    responses: self.responses.clone(),
                    covariates: self.covariates.clone(),
                    field: self.field.then(caneplot_plugin::request::Field::default),
                    ..TrialInfo::default()
                },
                seed: 1,
            },
            tables: vec![Table {
                name: "plots".to_owned(),
                rows: self.columns[0].1.len(),
                columns,
            }],
        }
    }

    pub fn analysed(&self) -> Result<Findings, Refusal> {
        Mixed.analyse(&self.call())
    }

    /// The findings, which must keep the rules of findings.
    pub fn findings(&self) -> Findings {
        let findings = self.analysed().unwrap();
        validate::check(&findings).unwrap();
        findings
    }
}

/// A small generator of its own, so that trials are the same everywhere.
pub(super) struct Noise(pub u64);

impl Noise {
    fn uniform(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Sum of twelve uniforms less six: near enough to normal.
    pub fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.uniform()).sum::<f64>() - 6.0
    }
}
