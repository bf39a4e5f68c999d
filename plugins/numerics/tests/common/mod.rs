//! Reading reference files and counting right digits.
#![allow(dead_code, reason = "each test file uses the part it needs")]
#![allow(
    clippy::unwrap_used,
    clippy::print_stdout,
    reason = "helpers of tests: a missing reference must stop the test"
)]

use std::path::PathBuf;

/// Path of a reference file.
pub fn reference(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("tests/reference")
        .join(name)
}

/// A reference file as JSON.
pub fn json(name: &str) -> serde_json::Value {
    serde_json::from_str(&std::fs::read_to_string(reference(name)).unwrap()).unwrap()
}

/// A row of a reference table.
pub struct Row {
    header: Vec<String>,
    cells: Vec<String>,
}

impl Row {
    /// A cell as text.
    pub fn text(&self, column: &str) -> &str {
        let place = self.header.iter().position(|name| name == column).unwrap();
        &self.cells[place]
    }

    /// A cell as a number; "inf" is infinity.
    pub fn number(&self, column: &str) -> f64 {
        self.text(column).parse().unwrap()
    }
}

/// The rows of a reference table; cells may be quoted.
pub fn rows(name: &str) -> Vec<Row> {
    let text = std::fs::read_to_string(reference(name)).unwrap();
    let mut lines = text.lines().map(cells);
    let header = lines.next().unwrap();
    lines
        .map(|cells| Row {
            header: header.clone(),
            cells,
        })
        .collect()
}

fn cells(line: &str) -> Vec<String> {
    let (mut out, mut quoted) = (vec![String::new()], false);
    for letter in line.chars() {
        match letter {
            '"' => quoted = !quoted,
            ',' if !quoted => out.push(String::new()),
            other => out.last_mut().unwrap().push(other),
        }
    }
    out
}

/// Number of right significant digits, at most 16.
pub fn digits(got: f64, want: f64) -> f64 {
    if got == want {
        return 16.0;
    }
    if !got.is_finite() {
        return 0.0;
    }
    (-((got - want) / want).abs().log10()).clamp(0.0, 16.0)
}

/// Smallest, tenth percentile and median of right digits, printed.
pub fn summary(what: &str, mut counts: Vec<f64>) -> (f64, f64, f64) {
    counts.sort_by(f64::total_cmp);
    let at = |share: f64| counts[((counts.len() - 1) as f64 * share) as usize];
    let found = (counts[0], at(0.1), at(0.5));
    println!(
        "{what}: {} values, right digits at least {:.2}, 10 % {:.2}, median {:.2}",
        counts.len(),
        found.0,
        found.1,
        found.2
    );
    found
}
