//! Ten thousand shuffles of the treatments inside 6 blocks of 8, with F of each.

use caneplot_numerics::design::{Design, Sheet};
use caneplot_numerics::random::Streams;
use caneplot_numerics::randomise::{Settings, randomised};
use caneplot_numerics::variance::Variance;
use serde_json::{Value, json};

use crate::Failure;
use crate::trial::randomised_block;

const BLOCKS: usize = 6;
const TREATMENTS: usize = 8;
const DRAWS: u64 = 10_000;

/// The design with one analysed response.
pub struct Job {
    sheet: Sheet,
    design: Design,
    variance: Variance,
}

fn values() -> Vec<f64> {
    let mut stream = Streams::new(20_261_125, "bench, shuffles").replicate(0);
    (0..BLOCKS * TREATMENTS)
        .map(|u| 0.15 * (u % TREATMENTS) as f64 + (u / TREATMENTS) as f64 + stream.normal())
        .collect()
}

pub fn data() -> Result<Value, Failure> {
    Ok(json!({ "blocks": BLOCKS, "treatments": TREATMENTS, "draws": DRAWS, "values": values() }))
}

pub fn prepared() -> Result<Job, Failure> {
    let sheet = randomised_block(BLOCKS, TREATMENTS);
    let design = sheet.design()?;
    let variance = design.layout.analyse(&values());
    Ok(Job {
        sheet,
        design,
        variance,
    })
}

impl Job {
    pub fn run(&self) -> Result<Value, Failure> {
        let settings = Settings {
            seed: 1,
            draws: DRAWS,
            threads: 1,
        };
        let found = randomised(&self.sheet, &self.design, &[0], &[&self.variance], settings);
        let test = found[0][0].ok_or("no test")?;
        Ok(json!({ "p": test.p, "error": test.standard_error() }))
    }
}
