//! Calls built from columns of text.

use std::path::Path;

use caneplot_plugin::request::{
    Design, DesignKind, Factor, Level, Quantity, Request, Response, Role, TrialInfo,
};
use caneplot_plugin::{Analysis, Call, Data, Findings, Refusal, Table, validate};
use serde_json::json;

use crate::Anova;

/// Columns of text under their names.
#[derive(Clone, Default)]
pub(super) struct Columns(pub Vec<(String, Vec<String>)>);

impl Columns {
    /// A reference data set of the numerics.
    pub fn reference(name: &str) -> Self {
        let path = Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("../numerics/tests/reference/data")
            .join(name);
        let text = std::fs::read_to_string(path).unwrap();
        let mut lines = text.lines();
        let split = |line: &str| {
            line.split(',')
                .map(|cell| cell.trim_matches('"').to_owned())
                .collect::<Vec<_>>()
        };
        let mut columns: Vec<(String, Vec<String>)> = split(lines.next().unwrap())
            .into_iter()
            .map(|name| (name, Vec::new()))
            .collect();
        for line in lines {
            for (column, cell) in columns.iter_mut().zip(split(line)) {
                column.1.push(cell);
            }
        }
        Self(columns)
    }

    pub fn get(&self, name: &str) -> &Vec<String> {
        &self.0.iter().find(|(column, _)| column == name).unwrap().1
    }

    pub fn with(mut self, name: &str, values: Vec<String>) -> Self {
        self.0.push((name.to_owned(), values));
        self
    }

    pub fn renamed(mut self, from: &str, to: &str) -> Self {
        self.0
            .iter_mut()
            .find(|(column, _)| column == from)
            .unwrap()
            .0 = to.to_owned();
        self
    }

    /// A new column that joins others.
    pub fn joined(self, name: &str, parts: &[&str]) -> Self {
        let rows = self.0[0].1.len();
        let values = (0..rows)
            .map(|row| {
                parts
                    .iter()
                    .map(|part| self.get(part)[row].as_str())
                    .collect::<Vec<_>>()
                    .join("-")
            })
            .collect();
        self.with(name, values)
    }

    pub fn without_row(mut self, row: usize) -> Self {
        for (_, values) in &mut self.0 {
            values.remove(row);
        }
        self
    }

    /// The table, with the responses centred on their offsets.
    pub fn table(&self, name: &str, responses: &[Response]) -> Table {
        let columns = self
            .0
            .iter()
            .map(|(column, values)| {
                let response = responses.iter().find(|response| &response.name == column);
                let data = match response {
                    None => Data::Texts(values.iter().cloned().map(Some).collect()),
                    Some(response) => {
                        let centred = |text: &String| {
                            (!text.is_empty()).then(|| centred(text, &response.offset_text))
                        };
                        Data::Numbers(values.iter().map(centred).collect())
                    }
                };
                (column.clone(), data)
            })
            .collect();
        Table {
            name: name.to_owned(),
            rows: self.0[0].1.len(),
            columns,
        }
    }
}

/// Exact difference of two decimals.
fn centred(text: &str, offset: &str) -> f64 {
    let scaled = |text: &str| {
        let (whole, part) = text.split_once('.').unwrap_or((text, ""));
        format!("{whole}{part:0<9}").parse::<i128>().unwrap()
    };
    format!("{}e-9", scaled(text) - scaled(offset))
        .parse()
        .unwrap()
}

pub(super) fn response(name: &str, label: &str, unit: &str, offset: &str) -> Response {
    Response {
        name: name.to_owned(),
        label: label.to_owned(),
        unit: unit.to_owned(),
        offset: offset.parse().unwrap(),
        offset_text: offset.to_owned(),
        decimals: 2,
        quantity: Quantity::Other,
        ..Response::default()
    }
}

pub(super) fn factor(name: &str, label: &str, role: Role, levels: &[&str]) -> Factor {
    let numeric = levels.iter().all(|level| level.parse::<f64>().is_ok());
    Factor {
        name: name.to_owned(),
        label: label.to_owned(),
        role,
        levels: levels
            .iter()
            .map(|level| Level {
                name: (*level).to_owned(),
                label: (*level).to_owned(),
                value: level.parse().ok().filter(|_| numeric),
                ..Level::default()
            })
            .collect(),
        unit: None,
        control: None,
    }
}

pub(super) struct Trial {
    pub kind: DesignKind,
    pub factors: Vec<Factor>,
    pub responses: Vec<Response>,
    pub seasons: Vec<String>,
    pub plots: Columns,
    pub vines: Option<Columns>,
    pub options: serde_json::Value,
}

impl Trial {
    pub fn new(
        kind: DesignKind,
        factors: Vec<Factor>,
        responses: Vec<Response>,
        plots: Columns,
    ) -> Self {
        let mut seasons: Vec<String> = plots
            .0
            .iter()
            .find(|(name, _)| name == "season")
            .map_or_else(Vec::new, |(_, values)| values.clone());
        seasons.sort();
        seasons.dedup();
        Self {
            kind,
            factors,
            responses,
            seasons,
            plots,
            vines: None,
            options: json!({"separation": "tukey", "level": 0.05, "block_season": "pooled", "scale": "choose", "responses": null}),
        }
    }

    pub fn call(&self) -> Call {
        let has = |name: &str| self.plots.0.iter().any(|(column, _)| column == name);
        let mut tables = vec![self.plots.table("plots", &self.responses)];
        tables.extend(
            self.vines
                .iter()
                .map(|vines| vines.table("vines", &self.responses)),
        );
        Call {
            request: Request {
                analysis: "anova".to_owned(),
                options: self.options.clone(),
                trial: TrialInfo {
                    title: "A trial".to_owned(),
                    design: Design {
                        kind: self.kind,
                        block: has("block"),
                        row_column: has("row"),
                        vine: self.vines.is_some(),
                        season: has("season"),
                    },
                    factors: self.factors.clone(),
                    seasons: self.seasons.clone(),
                    responses: self.responses.clone(),
                    ..TrialInfo::default()
                },
                seed: 1,
            },
            tables,
        }
    }

    /// The findings, which must keep the rules of findings.
    pub fn findings(&self) -> Findings {
        let findings = self.refused().unwrap();
        validate::check(&findings).unwrap();
        findings
    }

    pub fn refused(&self) -> Result<Findings, Refusal> {
        Anova.analyse(&self.call())
    }
}
