//! Trials built by hand, and findings as text: for the tests of plugins.

use std::fmt::Write;

use caneplot_plugin::findings::{Cells, Findings, Format, Section, Statement, Value};
use caneplot_plugin::request::{
    Basis, Design, DesignKind, Factor, Level, Quantity, Request, Response, Role, TrialInfo,
};
use caneplot_plugin::{Call, Data, Table};

/// A trial under construction.
#[derive(Debug, Clone)]
pub struct Made {
    /// The trial in words.
    pub trial: TrialInfo,
    /// The table of plots.
    pub plots: Table,
    /// The table of vines, where there is one.
    pub vines: Option<Table>,
    /// Options of the analysis.
    pub options: serde_json::Value,
}

impl Made {
    /// A trial whose design columns are those its table of plots has.
    #[must_use]
    pub fn new(kind: DesignKind, factors: Vec<Factor>, plots: Table) -> Self {
        let mut seasons: Vec<String> = match plots.texts("season") {
            Ok(values) => values.iter().flatten().cloned().collect(),
            Err(_) => Vec::new(),
        };
        seasons.sort();
        seasons.dedup();
        Self {
            trial: TrialInfo {
                title: "A trial".to_owned(),
                design: Design {
                    kind,
                    block: plots.has("block"),
                    row_column: plots.has("row"),
                    vine: false,
                    season: plots.has("season"),
                },
                factors,
                seasons,
                ..TrialInfo::default()
            },
            plots,
            vines: None,
            options: serde_json::json!({ "level": 0.95 }),
        }
    }

    /// Adds a response that stands in the table of plots.
    #[must_use]
    pub fn with(mut self, response: Response) -> Self {
        self.trial.responses.push(response);
        self
    }

    /// Adds the table of vines.
    #[must_use]
    pub fn vines(mut self, vines: Table) -> Self {
        self.vines = Some(vines);
        self.trial.design.vine = true;
        self
    }

    /// The call.
    #[must_use]
    pub fn call(&self) -> Call {
        Call {
            request: Request {
                analysis: "test".to_owned(),
                options: self.options.clone(),
                trial: self.trial.clone(),
                seed: 1,
            },
            tables: std::iter::once(&self.plots)
                .chain(&self.vines)
                .cloned()
                .collect(),
        }
    }
}

/// A table from its columns.
#[must_use]
pub fn table(name: &str, columns: Vec<(&str, Data)>) -> Table {
    let length = |data: &Data| match data {
        Data::Numbers(values) => values.len(),
        Data::Whole(values) => values.len(),
        Data::Flags(values) => values.len(),
        Data::Texts(values) => values.len(),
    };
    Table {
        name: name.to_owned(),
        rows: columns.first().map_or(0, |(_, data)| length(data)),
        columns: columns
            .into_iter()
            .map(|(name, data)| (name.to_owned(), data))
            .collect(),
    }
}

/// A column of words.
pub fn texts<S: ToString>(values: impl IntoIterator<Item = S>) -> Data {
    Data::Texts(
        values
            .into_iter()
            .map(|value| Some(value.to_string()))
            .collect(),
    )
}

/// A column of numbers without a gap.
pub fn numbers(values: impl IntoIterator<Item = f64>) -> Data {
    Data::Numbers(values.into_iter().map(Some).collect())
}

/// A factor applied to plots; levels that are all numbers make it a quantity.
#[must_use]
pub fn factor(name: &str, label: &str, levels: &[&str], control: Option<&str>) -> Factor {
    let numeric = levels.iter().all(|level| level.parse::<f64>().is_ok());
    Factor {
        name: name.to_owned(),
        label: label.to_owned(),
        role: Role::Treatment,
        levels: levels
            .iter()
            .map(|level| Level {
                name: (*level).to_owned(),
                label: (*level).to_owned(),
                value: level.parse().ok().filter(|_| numeric),
                ..Level::default()
            })
            .collect(),
        unit: numeric.then(|| "nodes/vine".to_owned()),
        control: control.map(str::to_owned),
    }
}

/// A response on living vines, not centred.
#[must_use]
pub fn response(name: &str, label: &str, unit: &str, quantity: Quantity) -> Response {
    Response {
        name: name.to_owned(),
        label: label.to_owned(),
        unit: unit.to_owned(),
        quantity,
        basis: Basis::LivingVine,
        offset_text: "0".to_owned(),
        decimals: 2,
        ..Response::default()
    }
}

fn number(value: f64, format: Format) -> String {
    match format {
        Format::Count => format!("{value:.0}"),
        Format::Decimals(decimals) => format!("{value:.*}", usize::from(decimals)),
        Format::Significant(digits) => {
            format!("{value:.*e}", usize::from(digits).saturating_sub(1))
        }
        Format::Probability if value < 0.001 => "< 0.001".to_owned(),
        Format::Probability => format!("{value:.3}"),
        Format::Percent(decimals) => format!("{:.*} %", usize::from(decimals), value * 100.0),
    }
}

/// A statement as a sentence.
#[must_use]
pub fn sentence(statement: &Statement) -> String {
    let written = |value: &Value| {
        let text = number(value.value, value.format);
        let text = match value.format {
            Format::Probability if text.starts_with('<') => format!("P {text}"),
            Format::Probability => format!("P = {text}"),
            _ => text,
        };
        match &value.unit {
            Some(unit) => format!("{text} {unit}"),
            None => text,
        }
    };
    let mut text = statement.text.clone();
    for (name, value) in &statement.values {
        text = text.replace(&format!("{{{name}}}"), &written(value));
    }
    text.replace("{{", "{").replace("}}", "}")
}

/// A cell of a column as text, empty where there is none.
#[must_use]
pub fn cell(cells: &Cells, row: usize) -> String {
    let text = match cells {
        Cells::Text { values } => values[row].clone(),
        Cells::Count { values } => values[row].map(|value| value.to_string()),
        Cells::Number { values, format } => values[row].map(|value| number(value, *format)),
        Cells::Probability { values } => values[row].map(|v| number(v, Format::Probability)),
        Cells::Lettered {
            values,
            letters,
            format,
        } => values[row].map(|value| format!("{} {}", number(value, *format), letters[row])),
    };
    text.unwrap_or_default()
}

/// Everything in findings as text, for an eye or a search.
#[must_use]
pub fn text(findings: &Findings) -> String {
    let mut out = String::new();
    for section in &findings.sections {
        section_text(section, &mut out);
    }
    out.push_str(&findings.methods.join("\n"));
    for reference in &findings.references {
        out.push_str(&format!("\n[{}] {}", reference.key, reference.text));
    }
    out
}

fn section_text(section: &Section, out: &mut String) {
    let mut line = |text: &str| {
        out.push_str(text);
        out.push('\n');
    };
    line(&format!("\n== {} [{}]", section.title, section.id));
    for statement in &section.statements {
        line(&format!("* {:?}: {}", statement.rank, sentence(statement)));
    }
    for table in &section.tables {
        line(&format!("\n[{}] {}", table.id, table.title));
        let mut row = String::new();
        for column in &table.columns {
            let unit = column.unit.as_deref().unwrap_or("");
            // Writing to a string does not fail.
            let _ = write!(row, "{} {unit} | ", column.name);
        }
        line(&row);
        for at in 0..table.columns.first().map_or(0, |column| column.cells.len()) {
            let cells: Vec<String> = table.columns.iter().map(|c| cell(&c.cells, at)).collect();
            line(&cells.join(" | "));
        }
        for note in &table.notes {
            line(&format!("    {note}"));
        }
    }
    for figure in &section.figures {
        line(&format!(
            "\nfigure {}: {}\n  alt: {}\n  foot: {:?} {:?}",
            figure.id, figure.caption, figure.alt, figure.foot, figure.series
        ));
    }
    for note in &section.notes {
        line(&format!("- {}", sentence(note)));
    }
}
