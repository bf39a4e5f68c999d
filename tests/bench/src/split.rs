//! Ten thousand simulated split plots of 4 blocks, 3 whole plots and 4 sub plots, each drawn value by
//! value and analysed for the power of its three tests.
//!
//! * `strata`: each term against the mean square of its stratum.
//! * `restricted`: restricted likelihood and Kenward & Roger's tests in closed form.
//! * `search`: the same by the general search of a mixed model, which does not know that the design
//!   is balanced.

use caneplot_numerics::design::Design;
use caneplot_numerics::mixed::kenward_roger::{self, Order};
use caneplot_numerics::mixed::{self, Settings as Search};
use caneplot_numerics::power::{
    Analysis, Plan, Settings, Simulated, by_noncentral_f, by_simulation, simulated,
};
use serde_json::{Value, json};

use crate::Failure;
use crate::oats::problem;
use crate::trial::split_plot;

const BLOCKS: usize = 4;
const WHOLE: usize = 3;
const SUB: usize = 4;
/// Of blocks, whole plots and sub plots.
const VARIANCES: [f64; 3] = [0.5, 0.3, 1.0];
const SETTINGS: Settings = Settings {
    seed: 20_261_125,
    draws: 10_000,
    threads: 2,
    level: 0.05,
};

/// The design and what its plots are expected to yield.
pub struct Job {
    design: Design,
    expected: Vec<f64>,
}

fn expected() -> Vec<f64> {
    (0..BLOCKS * WHOLE * SUB)
        .map(|u| {
            let (training, pruning) = (u / SUB % WHOLE, u % SUB);
            0.7 * training as f64 + 0.3 * pruning as f64
        })
        .collect()
}

pub fn data() -> Result<Value, Failure> {
    let job = prepared()?;
    let exact: Vec<f64> = by_noncentral_f(job.plan(), SETTINGS.level)?
        .iter()
        .map(|term| term.power)
        .collect();
    Ok(json!({
        "blocks": BLOCKS, "whole": WHOLE, "sub": SUB, "draws": SETTINGS.draws,
        "expected": job.expected, "variances": VARIANCES.to_vec(), "exact": exact,
    }))
}

pub fn prepared() -> Result<Job, Failure> {
    Ok(Job {
        design: split_plot(BLOCKS, WHOLE, SUB).design()?,
        expected: expected(),
    })
}

fn shown(found: Vec<Simulated>) -> Result<Value, Failure> {
    let power: Vec<f64> = found.iter().map(Simulated::power).collect();
    let error: Vec<f64> = found.iter().map(Simulated::standard_error).collect();
    Ok(json!({ "power": power, "error": error }))
}

impl Job {
    fn plan(&self) -> Plan<'_> {
        Plan {
            layout: &self.design.layout,
            expected: &self.expected,
            variances: &VARIANCES,
        }
    }

    pub fn strata(&self) -> Result<Value, Failure> {
        shown(by_simulation(self.plan(), Analysis::Strata, SETTINGS)?)
    }

    pub fn restricted(&self) -> Result<Value, Failure> {
        shown(by_simulation(self.plan(), Analysis::Restricted, SETTINGS)?)
    }

    pub fn search(&self) -> Result<Value, Failure> {
        shown(simulated(self.plan(), SETTINGS, || {
            let (mut ready, grid) = problem(&self.expected, WHOLE, SUB);
            let rows: Vec<_> = [vec![0], vec![1], vec![0, 1]]
                .iter()
                .map(|term| grid.hypothesis(term, &[]))
                .collect();
            move |values: &[f64], rejected: &mut [u64]| {
                ready.values.copy_from_slice(values);
                // A trial without a fit rejects nothing.
                let Ok(fit) = mixed::fit(&ready, Search::default()) else {
                    return;
                };
                let adjusted = kenward_roger::adjusted_covariance(&fit, Order::First);
                for (count, rows) in rejected.iter_mut().zip(&rows) {
                    let test = rows
                        .as_ref()
                        .and_then(|rows| kenward_roger::test(&fit, &adjusted, rows).ok());
                    *count += u64::from(test.is_some_and(|test| test.p <= SETTINGS.level));
                }
            }
        })?)
    }
}
