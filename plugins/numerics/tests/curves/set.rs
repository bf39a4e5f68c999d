//! The sets that curves are fitted to, and how agreement is counted.

use caneplot_numerics::cells::Cells;
use caneplot_numerics::curves::{Estimate, Fit, Levels, LevelsError, Units};
use caneplot_numerics::distribution::t_critical;
use serde_json::Value;

use crate::common::{digits, json, rows};

/// Yields less this number are what the curves are fitted to.
pub const OFFSET: f64 = 5.0;

pub struct Set {
    pub values: Vec<f64>,
    pub amounts: Vec<f64>,
    pub blocks: Vec<usize>,
}

pub fn plateau_data(removed: &[(String, String)]) -> Set {
    let mut set = Set {
        values: Vec::new(),
        amounts: Vec::new(),
        blocks: Vec::new(),
    };
    for row in rows("curves/sim_plateau.csv") {
        let place = (row.text("block").to_owned(), row.text("buds").to_owned());
        if removed.contains(&place) {
            continue;
        }
        set.values.push(row.number("yield_kg") - OFFSET);
        set.amounts.push(row.number("buds"));
        set.blocks.push(place.0[1..].parse::<usize>().unwrap() - 1);
    }
    set
}

pub fn removed() -> Vec<(String, String)> {
    let words = |value: &Value| value.as_str().unwrap().to_owned();
    json("curves/gaps.json")["gaps"]["removed"]
        .as_array()
        .unwrap()
        .iter()
        .map(|pair| (words(&pair[0]), words(&pair[1])))
        .collect()
}

impl Set {
    pub fn levels(&self, blocks: bool) -> Levels {
        self.try_levels(blocks).unwrap()
    }

    pub fn try_levels(&self, blocks: bool) -> Result<Levels, LevelsError> {
        let count = self.values.len();
        let levels = codes(&self.amounts);
        let eliminated: Vec<Cells> = blocks
            .then(|| Cells::crossing(count, [self.blocks.as_slice()]))
            .into_iter()
            .collect();
        Levels::new(Units {
            values: &self.values,
            amounts: &self.amounts,
            eliminated: &eliminated,
            alike: &Cells::crossing(count, [levels.as_slice()]),
        })
    }
}

pub fn codes(amounts: &[f64]) -> Vec<usize> {
    let mut sorted = amounts.to_vec();
    sorted.sort_by(f64::total_cmp);
    sorted.dedup();
    amounts
        .iter()
        .map(|amount| sorted.iter().position(|level| level == amount).unwrap())
        .collect()
}

pub fn number(value: &Value) -> f64 {
    value.as_str().unwrap().parse().unwrap()
}

/// Asserts the number of right digits and returns it.
pub fn right(what: &str, got: f64, want: f64, least: f64) {
    let found = digits(got, want);
    println!("{what}: {found:.1} digits");
    assert!(found >= least, "{what}: {got} instead of {want}");
}

pub fn allowance(levels: &Levels, fit: &Fit) -> f64 {
    let error = levels.residual(fit);
    let t = t_critical(0.05, error.df as f64).unwrap();
    t * t * error.mean_square.unwrap()
}

pub fn height(estimate: Estimate) -> f64 {
    OFFSET + estimate.value
}
