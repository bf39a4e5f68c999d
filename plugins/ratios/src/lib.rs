//! Balance ratios: what a treatment cropped per unit of what it grew, with an interval, beside the
//! published range of its canopy.
//!
//! `plots` reads the table, `treatments` says for whom, `estimate` computes, `others` computes other
//! intervals, `logs` compares the plots' ratios on the log scale, `ranges` and `verdict` hold the
//! published ranges against the intervals, and `words`, `log_words`, `beside`, `notes`, `tables`,
//! `other_tables` and `figure` write.

mod beside;
mod estimate;
mod figure;
mod layout;
mod log_words;
mod logs;
mod methods;
mod notes;
mod other_tables;
mod others;
mod plots;
mod ranges;
mod report;
mod results;
mod tables;
#[cfg(test)]
mod tests;
mod treatments;
mod verdict;
mod words;

use caneplot_plugin::findings::{FINDINGS_SCHEMA, Rank, Section};
use caneplot_plugin::request::Ratio;
use caneplot_plugin::{Analysis, Call, Findings, Refusal};
use serde::Deserialize;

use crate::plots::{Plots, Why};
use crate::report::{Report, inside};

/// The analysis.
struct Ratios;

/// Options as the manifest declares them.
#[derive(Debug, Clone, Copy, Deserialize)]
#[serde(deny_unknown_fields)]
struct Options {
    /// Confidence of the intervals.
    level: f64,
    /// Resamples of the blocks drawn where they are too many to be counted; 0 for none at all.
    bootstrap: u64,
}

impl Analysis for Ratios {
    const MANIFEST: &'static str = concat!(
        r#"{
  "name": "ratios",
  "version": ""#,
        env!("CARGO_PKG_VERSION"),
        r#"",
  "purpose": "Balance ratios of each treatment with Fieller's intervals, beside published ranges",
  "options": [
    {
      "name": "level",
      "help": "confidence of the intervals",
      "type": "number",
      "min": 0.5,
      "max": 0.999,
      "default": 0.95
    },
    {
      "name": "bootstrap",
      "help": "resamples of the blocks, drawn where there are more than eight blocks and counted in full where there are fewer; 0 for none",
      "type": "integer",
      "min": 0,
      "max": 100000,
      "default": 2000
    }
  ],
  "needs": { "ratio": true },
  "uses_vines": false,
  "place": { "chapter": 40 },
  "gives": [
    "ratios by treatment and season",
    "published ranges",
    "tests and comparisons of the plots' ratios on the log scale",
    "figures"
  ],
  "citations": [
    "Fieller 1954",
    "Efron 1987",
    "Kliewer & Dokoozlian 2005",
    "Clingeleffer & Krake 1992"
  ]
}"#
    );

    fn analyse(&self, call: &Call) -> Result<Findings, Refusal> {
        let options: Options = call.options()?;
        let level = options.level;
        if !(0.5..=0.999).contains(&level) {
            return Err(
                Refusal::new(format!("a confidence level of {level} is not possible"))
                    .hint("write level = 0.95, or another number from 0.5 to 0.999"),
            );
        }
        let (mut reports, mut empty) = (Vec::new(), Vec::new());
        for ratio in &call.request.trial.ratios {
            match Report::new(call, ratio, options)? {
                Some(report) => reports.push(report),
                None => empty.push(ratio),
            }
        }
        let (methods, references) = methods::methods(&reports);
        let mut sections: Vec<Section> = reports.iter().map(section).collect();
        for ratio in empty {
            sections.push(empty_section(call, ratio)?);
        }
        Ok(Findings {
            schema: FINDINGS_SCHEMA,
            sections,
            methods,
            references,
        })
    }
}

fn section(report: &Report<'_>) -> Section {
    Section {
        id: section_id(&report.ratio.name),
        title: report.ratio.label.clone(),
        response: None,
        statements: words::statements(report),
        tables: tables::tables(report),
        figures: figure::figures(report),
        notes: notes::notes(report),
        estimates: results::results(report),
    }
}

/// The section of a ratio that no plot has both values for, with the reason.
fn empty_section(call: &Call, ratio: &Ratio) -> Result<Section, Refusal> {
    let trial = &call.request.trial;
    let label = |name: &str| plots::response(trial, name).map(|found| inside(&found.label));
    let left_out = Plots::of(call, ratio)?.left_out;
    let not_positive = left_out
        .iter()
        .filter(|record| record.why == Why::NotPositive);
    let text = match (&ratio.per, not_positive.count()) {
        (Some(per), 0) => format!(
            "There is no ratio: no plot has both {} and {} in the same season. Add the records if \
             they exist, or leave the ratio out of trial.toml.",
            label(&ratio.of)?,
            label(per)?
        ),
        (Some(per), count) if count == left_out.len() => format!(
            "There is no ratio: {} is not above zero in any plot, and nothing can be divided by \
             zero. Check its column, or leave the ratio out of trial.toml.",
            label(per)?
        ),
        (Some(per), _) => format!(
            "There is no ratio: where {} was recorded, {} is missing or not above zero. Check both \
             columns, or leave the ratio out of trial.toml.",
            label(&ratio.of)?,
            label(per)?
        ),
        (None, _) => format!(
            "There is no ratio: {} has no value. Add the records if they exist.",
            label(&ratio.of)?
        ),
    };
    Ok(Section {
        id: section_id(&ratio.name),
        title: ratio.label.clone(),
        statements: vec![words::Sentence::default().text(&text).finish(Rank::Result)],
        ..Section::default()
    })
}

/// A ratio's name with nothing in it that a file name must not have.
fn section_id(name: &str) -> String {
    let plain = |c: char| match c.to_ascii_lowercase() {
        c if c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_' => c,
        _ => '-',
    };
    name.chars().map(plain).collect()
}

caneplot_plugin::export_plugin!(Ratios);
