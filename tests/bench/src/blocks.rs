//! A thousand responses of one trial in 6 blocks of 8 treatments: the analysis of variance with its
//! P, the P of all 28 differences among all pairs, and the letters at 0.05.

use caneplot_numerics::design::Design;
use caneplot_numerics::means::MeanPlan;
use caneplot_numerics::random::Streams;
use caneplot_numerics::range::StudentizedRange;
use caneplot_numerics::separation::{Difference, letters};
use serde_json::{Value, json};

use crate::Failure;
use crate::trial::randomised_block;

const BLOCKS: usize = 6;
const TREATMENTS: usize = 8;
const RESPONSES: u64 = 1000;
const LEVEL: f64 = 0.05;
/// Responses whose results are handed back to be compared.
const SHOWN: usize = 20;

/// The design and the values: what is there before an analysis starts.
pub struct Job {
    design: Design,
    responses: Vec<Vec<f64>>,
}

/// Responses with effects of treatments from none to large.
fn responses() -> Vec<Vec<f64>> {
    let streams = Streams::new(20_261_125, "bench, blocks");
    (0..RESPONSES)
        .map(|number| {
            let mut stream = streams.replicate(number);
            let size = 2.0 * stream.uniform();
            let blocks: Vec<f64> = (0..BLOCKS).map(|_| stream.normal()).collect();
            let effects: Vec<f64> = (0..TREATMENTS).map(|_| size * stream.normal()).collect();
            (0..BLOCKS * TREATMENTS)
                .map(|u| blocks[u / TREATMENTS] + effects[u % TREATMENTS] + stream.normal())
                .collect()
        })
        .collect()
}

pub fn data() -> Result<Value, Failure> {
    Ok(json!({ "blocks": BLOCKS, "treatments": TREATMENTS, "responses": responses() }))
}

pub fn prepared() -> Result<Job, Failure> {
    Ok(Job {
        design: randomised_block(BLOCKS, TREATMENTS).design()?,
        responses: responses(),
    })
}

impl Job {
    pub fn run(&self) -> Result<Value, Failure> {
        let layout = &self.design.layout;
        let plan: MeanPlan = layout.mean_plan(&self.design.treatments);
        let df = layout.strata()[self.design.plots].residual_df as f64;
        let range = StudentizedRange::for_many(TREATMENTS, df)?;
        let mut shown = Vec::new();
        for values in &self.responses {
            let variance = layout.analyse(values);
            let table = layout.mean_table(&plan, values, &variance);
            let mut p = [1.0; TREATMENTS * TREATMENTS];
            for (kind, precision) in plan.kinds.iter().zip(&table.of_difference) {
                let precision = precision.ok_or("no error")?;
                for &(first, second) in &kind.pairs {
                    let difference = Difference {
                        value: table.means[first] - table.means[second],
                        standard_error: precision.standard_error(),
                        df: precision.df,
                    };
                    let found = difference.among_all_pairs(&range)?;
                    p[first * TREATMENTS + second] = found;
                    p[second * TREATMENTS + first] = found;
                }
            }
            let letters = letters(&table.means, |i, j| p[i * TREATMENTS + j] <= LEVEL)?;
            if shown.len() < SHOWN {
                let line = variance.lines[0];
                shown.push(
                    json!({ "f": line.f, "p": line.p, "pairs": p.to_vec(), "letters": letters }),
                );
            }
        }
        Ok(shown.into())
    }
}
