//! Calls built from columns of text.

use caneplot_plugin::findings::Statement;
use caneplot_plugin::request::{
    Design, DesignKind, Factor, Level, Quantity, Request, Response, Role, TrialInfo,
};
use caneplot_plugin::{Analysis, Call, Data, Findings, Refusal, Table, validate};
use serde_json::{Value, json};

/// Columns of text under their names.
pub(super) type Columns = Vec<(String, Vec<String>)>;

/// A trial as its owner would declare it.
pub(super) struct Trial {
    pub info: TrialInfo,
    pub plots: Columns,
    pub options: Value,
}

pub(super) fn crop(offset: f64) -> Response {
    Response {
        name: "yield".to_owned(),
        label: "Yield".to_owned(),
        unit: "kg/vine".to_owned(),
        quantity: Quantity::Yield,
        offset,
        offset_text: offset.to_string(),
        decimals: 2,
        ..Response::default()
    }
}

pub(super) fn factor(name: &str, label: &str, role: Role, levels: &[&str]) -> Factor {
    Factor {
        name: name.to_owned(),
        label: label.to_owned(),
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
        unit: None,
        control: None,
    }
}

pub(super) fn nodes(levels: &[&str]) -> Factor {
    Factor {
        unit: Some("nodes/vine".to_owned()),
        ..factor("nodes", "Nodes left", Role::Treatment, levels)
    }
}

impl Trial {
    pub fn new(kind: DesignKind, factors: Vec<Factor>, plots: Columns) -> Self {
        let column = |name: &str| plots.iter().find(|(column, _)| column == name);
        let mut seasons = column("season").map_or_else(Vec::new, |(_, values)| values.clone());
        seasons.sort();
        seasons.dedup();
        Self {
            info: TrialInfo {
                title: "A trial".to_owned(),
                design: Design {
                    kind,
                    block: column("block").is_some(),
                    row_column: column("row").is_some(),
                    vine: false,
                    season: column("season").is_some(),
                },
                factors,
                seasons,
                responses: vec![crop(5.0)],
                ..TrialInfo::default()
            },
            plots,
            options: json!({
                "shapes": "all", "level": 0.05, "responses": null, "price": null,
                "cost_per_node": null, "cost_basis": null, "money": null
            }),
        }
    }

    pub fn set(&mut self, name: &str, value: Value) {
        self.options[name] = value;
    }

    pub fn column(&mut self, name: &str) -> &mut Vec<String> {
        let found = self.plots.iter_mut().find(|(column, _)| column == name);
        &mut found.unwrap().1
    }

    /// Empties the values of the response in these rows.
    pub fn empty(&mut self, rows: impl Fn(&dyn Fn(&str) -> String) -> bool) {
        let count = self.plots[0].1.len();
        for row in 0..count {
            let plots = self.plots.clone();
            let cell = |name: &str| {
                let column = plots.iter().find(|(column, _)| column == name);
                column.unwrap().1[row].clone()
            };
            if rows(&cell) {
                self.column("yield")[row].clear();
            }
        }
    }

    pub fn call(&self) -> Call {
        let columns = self
            .plots
            .iter()
            .map(|(name, values)| {
                let response = self
                    .info
                    .responses
                    .iter()
                    .find(|response| &response.name == name);
                let data = match response {
                    Some(response) => Data::Numbers(
                        values
                            .iter()
                            .map(|text| text.parse().ok().map(|v: f64| v - response.offset))
                            .collect(),
                    ),
                    None => Data::Texts(values.iter().cloned().map(Some).collect()),
                };
                (name.clone(), data)
            })
            .collect();
        Call {
            request: Request {
                analysis: "response".to_owned(),
                options: self.options.clone(),
                trial: self.info.clone(),
                seed: 1,
            },
            tables: vec![Table {
                name: "plots".to_owned(),
                rows: self.plots[0].1.len(),
                columns,
            }],
        }
    }

    pub fn refused(&self) -> Result<Findings, Refusal> {
        crate::Response.analyse(&self.call())
    }

    /// The findings, which must keep the rules of findings.
    pub fn findings(&self) -> Findings {
        let findings = self.refused().unwrap();
        validate::check(&findings).unwrap();
        let headlines = |statements: &[Statement]| {
            let rank = caneplot_plugin::findings::Rank::Headline;
            statements.iter().filter(|it| it.rank == rank).count()
        };
        for section in &findings.sections {
            assert!(headlines(&section.statements) <= 1);
        }
        findings
    }
}

/// Columns from rows of cells.
pub(super) fn columns(names: &[&str], rows: Vec<Vec<String>>) -> Columns {
    names
        .iter()
        .enumerate()
        .map(|(at, name)| {
            let cells = rows.iter().map(|row| row[at].clone()).collect();
            ((*name).to_owned(), cells)
        })
        .collect()
}

/// Numbers from -0.5 to 0.5, the same on every machine.
pub(super) struct Chance(pub u64);

impl Chance {
    pub fn next(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) as f64 / f64::from(1_u32 << 31)) - 0.5
    }
}

/// The simulated reference set: eight bud numbers in four blocks.
pub(super) fn buds() -> Trial {
    let text = include_str!("../../../numerics/tests/reference/curves/sim_plateau.csv");
    let rows: Vec<Vec<String>> = text
        .lines()
        .skip(1)
        .map(|line| line.split(',').map(str::to_owned).collect::<Vec<_>>())
        .map(|cells| {
            vec![
                cells[0].clone(),
                cells[1].clone(),
                cells[1].clone(),
                cells[2].clone(),
            ]
        })
        .collect();
    let levels = ["10", "20", "30", "40", "50", "60", "75", "90"];
    Trial::new(
        DesignKind::RandomisedBlock,
        vec![nodes(&levels)],
        columns(&["block", "plot", "nodes", "yield"], rows),
    )
}

/// Five node numbers in five blocks over four seasons on the same vines: yield straight in nodes in
/// the first season, no gain beyond 36 in the later ones, as published trials found.
pub(super) fn perennial() -> Trial {
    let levels = ["24", "36", "48", "60", "72"];
    let mut chance = Chance(11);
    let mut rows = Vec::new();
    for block in 0..5 {
        for level in levels {
            let x: f64 = level.parse().unwrap();
            let plot = 0.3 * chance.next();
            for season in 0..4 {
                let curve = if season == 0 {
                    0.07 * x
                } else {
                    0.11 * x.min(36.0)
                };
                let crop = 2.0
                    + curve
                    + 0.3 * f64::from(block)
                    + 0.2 * f64::from(season)
                    + plot
                    + 0.5 * chance.next();
                rows.push(vec![
                    format!("B{}", block + 1),
                    level.to_owned(),
                    (2021 + season).to_string(),
                    level.to_owned(),
                    format!("{crop:.2}"),
                ]);
            }
        }
    }
    Trial::new(
        DesignKind::RandomisedBlock,
        vec![nodes(&levels)],
        columns(&["block", "plot", "season", "nodes", "yield"], rows),
    )
}

/// Two training systems as whole plots, five node numbers as sub plots, four blocks; the systems'
/// curves differ in height only, or also in steepness.
pub(super) fn split(parallel: bool) -> Trial {
    let levels = ["12", "24", "36", "48", "60"];
    let mut chance = Chance(5);
    let mut rows = Vec::new();
    for block in 0..4 {
        for (at, system) in ["cordon", "cane"].into_iter().enumerate() {
            let whole = 1.5 * chance.next();
            for level in levels {
                let x: f64 = level.parse().unwrap();
                let steep = if parallel || at == 0 { 0.06 } else { 0.005 };
                let crop = 3.0 + at as f64 + steep * x + whole + 0.6 * chance.next();
                rows.push(vec![
                    format!("B{}", block + 1),
                    format!("{system}{level}"),
                    system.to_owned(),
                    level.to_owned(),
                    format!("{crop:.2}"),
                ]);
            }
        }
    }
    Trial::new(
        DesignKind::SplitPlot,
        vec![
            factor("training", "Training", Role::WholePlot, &["cordon", "cane"]),
            Factor {
                role: Role::SubPlot,
                ..nodes(&levels)
            },
        ],
        columns(&["block", "plot", "training", "nodes", "yield"], rows),
    )
}
