//! Ten thousand simulated split plots of 4 blocks, 3 whole plots and 4 sub plots, each analysed.

use serde_json::{Value, json};

use crate::Failure;

pub struct Job;

pub fn data() -> Result<Value, Failure> {
    Ok(json!({}))
}

pub fn prepared() -> Result<Job, Failure> {
    Ok(Job)
}

impl Job {
    pub fn strata(&self) -> Result<Value, Failure> {
        Err("not yet".into())
    }
    pub fn restricted(&self) -> Result<Value, Failure> {
        Err("not yet".into())
    }
    pub fn search(&self) -> Result<Value, Failure> {
        Err("not yet".into())
    }
}
