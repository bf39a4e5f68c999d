//! One split plot by restricted maximum likelihood with the tests of its three terms (Kenward &
//! Roger 1997): the oats of Yates (1935), 6 blocks of 3 varieties and 4 amounts of manure.

use caneplot_numerics::mixed::grid::Grid;
use caneplot_numerics::mixed::kenward_roger::{self, Order};
use caneplot_numerics::mixed::{self, Problem, RandomTerm, Residual, Settings};
use serde_json::{Value, json};

use crate::Failure;

/// Yates (1935), *Suppl. J. R. Stat. Soc.* 2:181, in quarter pounds: for each block the varieties
/// Victory, Golden Rain and Marvellous at 0, 0.2, 0.4 and 0.6 hundredweight an acre.
const YIELDS: [f64; 72] = [
    111.0, 130.0, 157.0, 174.0, 117.0, 114.0, 161.0, 141.0, 105.0, 140.0, 118.0, 156.0, 61.0, 91.0,
    97.0, 100.0, 70.0, 108.0, 126.0, 149.0, 96.0, 124.0, 121.0, 144.0, 68.0, 64.0, 112.0, 86.0,
    60.0, 102.0, 89.0, 96.0, 89.0, 129.0, 132.0, 124.0, 74.0, 89.0, 81.0, 122.0, 64.0, 103.0,
    132.0, 133.0, 70.0, 89.0, 104.0, 117.0, 62.0, 90.0, 100.0, 116.0, 80.0, 82.0, 94.0, 126.0,
    63.0, 70.0, 109.0, 99.0, 53.0, 74.0, 118.0, 113.0, 89.0, 82.0, 86.0, 104.0, 97.0, 99.0, 119.0,
    121.0,
];

/// The problem before it is taken apart: what a plugin has in hand.
pub struct Job {
    problem: Problem,
    grid: Grid,
}

pub fn data() -> Result<Value, Failure> {
    Ok(json!({ "blocks": 6, "whole": 3, "sub": 4, "values": YIELDS.to_vec() }))
}

/// A split plot of values as a mixed model, blocks and whole plots random.
pub fn problem(values: &[f64], whole: usize, sub: usize) -> (Problem, Grid) {
    let codes = |of: &dyn Fn(usize) -> usize| -> Vec<usize> { (0..values.len()).map(of).collect() };
    let (first, second) = (codes(&|u| u / sub % whole), codes(&|u| u % sub));
    let grid = Grid::new(&[whole, sub], &[&first, &second], 0);
    let term = |name: &str, codes| RandomTerm {
        name: name.to_owned(),
        codes,
    };
    let problem = Problem {
        values: values.to_vec(),
        fixed: grid.fixed(&[&first, &second], &[]),
        random: vec![
            term("block", codes(&|u| u / (whole * sub))),
            term("whole plot", codes(&|u| u / sub)),
        ],
        residual: Residual::independent(values.len()),
    };
    (problem, grid)
}

pub fn prepared() -> Result<Job, Failure> {
    // Centred as the loader does, on a decimal.
    let centred: Vec<f64> = YIELDS.iter().map(|value| value - YIELDS[0]).collect();
    let (problem, grid) = problem(&centred, 3, 4);
    Ok(Job { problem, grid })
}

impl Job {
    pub fn run(&self) -> Result<Value, Failure> {
        let fit = mixed::fit(&self.problem, Settings::default())?;
        let adjusted = kenward_roger::adjusted_covariance(&fit, Order::First);
        let mut tests = Vec::new();
        for term in [vec![0], vec![1], vec![0, 1]] {
            let rows = self.grid.hypothesis(&term, &[]).ok_or("an empty cell")?;
            let test = kenward_roger::test(&fit, &adjusted, &rows)?;
            tests.push(json!({ "f": test.f, "df": test.denominator_df, "p": test.p }));
        }
        Ok(json!({ "variances": fit.theta, "tests": tests }))
    }
}
