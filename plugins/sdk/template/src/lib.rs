//! How far the plots of each response are spread: a small plugin to begin from.

use caneplot_plugin::findings::{FINDINGS_SCHEMA, Findings, Format, Section, Statement};
use caneplot_plugin::{Analysis, Call, Refusal, export_plugin};

struct Spread;

#[derive(serde::Deserialize)]
struct Options {
    decimals: u8,
}

impl Analysis for Spread {
    const MANIFEST: &'static str = include_str!("../manifest.json");

    fn analyse(&self, call: &Call) -> Result<Findings, Refusal> {
        let options: Options = call.options()?;
        let plots = call.table("plots")?;
        let mut statements = Vec::new();
        for response in &call.request.trial.responses {
            // `None` is a plot without a record. Numbers are centred: a mean must add
            // `response.offset`, a spread need not.
            let values: Vec<f64> = plots
                .numbers(&response.name)?
                .iter()
                .flatten()
                .copied()
                .collect();
            let spread = standard_deviation(&values).ok_or_else(|| {
                Refusal::new(format!(
                    "{} was recorded on fewer than two plots",
                    response.label
                ))
                .column(&response.name)
                .hint("record it on more plots, or leave this analysis out")
            })?;
            let text = format!(
                "{} has a standard deviation of {{sd}} over {{n}} plots.",
                response.label
            );
            statements.push(
                Statement::new(text)
                    .with_unit(
                        "sd",
                        spread,
                        Format::Decimals(options.decimals),
                        &response.unit,
                    )
                    .with("n", values.len() as f64, Format::Count),
            );
        }
        Ok(Findings {
            schema: FINDINGS_SCHEMA,
            sections: vec![Section {
                id: "spread".into(),
                title: "Spread of the plots".into(),
                statements,
                ..Section::default()
            }],
            methods: Vec::new(),
            references: Vec::new(),
        })
    }
}

/// Standard deviation over n - 1; `None` for fewer than two values.
fn standard_deviation(values: &[f64]) -> Option<f64> {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let squares: f64 = values.iter().map(|value| (value - mean).powi(2)).sum();
    (values.len() > 1).then(|| (squares / (n - 1.0)).sqrt())
}

export_plugin!(Spread);
