//! Reference data as decimal text, centred exactly.
#![allow(dead_code, missing_docs, clippy::unwrap_used)]

use std::path::PathBuf;

use caneplot_numerics::strata::Classifier;
use serde_json::Value as Json;

pub fn reference(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("tests/reference")
        .join(name)
}

pub fn json(name: &str) -> Json {
    serde_json::from_str(&std::fs::read_to_string(reference(name)).unwrap()).unwrap()
}

/// A number that the reference file keeps as text or as a number.
pub fn number(value: &Json) -> f64 {
    match value {
        Json::String(text) => text.parse().unwrap(),
        other => other.as_f64().unwrap(),
    }
}

pub struct Csv {
    header: Vec<String>,
    rows: Vec<Vec<String>>,
}

impl Csv {
    pub fn read(name: &str) -> Self {
        let text = std::fs::read_to_string(reference("data").join(name)).unwrap();
        let mut lines = text.lines().map(|line| {
            line.split(',')
                .map(|cell| cell.trim_matches('"').to_owned())
                .collect::<Vec<_>>()
        });
        let header = lines.next().unwrap();
        Self {
            header,
            rows: lines.collect(),
        }
    }

    pub fn texts(&self, column: &str) -> Vec<String> {
        let at = self.header.iter().position(|name| name == column).unwrap();
        self.rows.iter().map(|row| row[at].clone()).collect()
    }

    pub fn classifier(&self, column: &str) -> Classifier {
        Classifier::from_texts(column, &self.texts(column), &[])
    }

    /// Several columns as one name for each row.
    pub fn joined(&self, columns: &[&str]) -> Classifier {
        let parts: Vec<Vec<String>> = columns.iter().map(|column| self.texts(column)).collect();
        let names: Vec<String> = (0..self.rows.len())
            .map(|row| {
                parts
                    .iter()
                    .map(|part| part[row].as_str())
                    .collect::<Vec<_>>()
                    .join(".")
            })
            .collect();
        Classifier::from_texts("plot", &names, &[])
    }

    /// The column centred on its first value in decimals, and that value.
    pub fn centred(&self, column: &str) -> (f64, Vec<f64>) {
        let texts = self.texts(column);
        let decimals = texts
            .iter()
            .map(|text| text.split_once('.').map_or(0, |(_, part)| part.len()))
            .max()
            .unwrap();
        let scaled: Vec<i128> = texts.iter().map(|text| scaled(text, decimals)).collect();
        let values = scaled
            .iter()
            .map(|value| {
                format!("{}e-{decimals}", value - scaled[0])
                    .parse()
                    .unwrap()
            })
            .collect();
        (texts[0].parse().unwrap(), values)
    }
}

fn scaled(text: &str, decimals: usize) -> i128 {
    let (whole, part) = text.split_once('.').unwrap_or((text, ""));
    format!("{whole}{part:0<decimals$}").parse().unwrap()
}

/// Digits of agreement.
pub fn digits(found: f64, wanted: f64) -> f64 {
    if found == wanted {
        return 17.0;
    }
    -((found - wanted).abs() / wanted.abs()).log10()
}
