//! The jobs that `compare.py` times beside general-purpose libraries.
//!
//! Reads one job a line from standard input, runs it and answers with one line of JSON: the seconds
//! it took, and what it found, so that the script can see that both sides did the same work. With
//! `NAME data` it answers with the values of the job instead. Nothing is timed but the work itself.

mod blocks;
mod oats;
mod shuffles;
mod split;
mod trial;

use std::io::{BufRead, Write};
use std::time::Instant;

use serde_json::{Value, json};

/// A reason why a job could not be run, for the reader of the script.
type Failure = Box<dyn std::error::Error>;

fn main() -> Result<(), Failure> {
    let mut out = std::io::stdout().lock();
    for line in std::io::stdin().lock().lines() {
        let answer = answer(line?.trim())?;
        writeln!(out, "{answer}")?;
        out.flush()?;
    }
    Ok(())
}

fn answer(job: &str) -> Result<Value, Failure> {
    match job {
        "blocks data" => blocks::data(),
        "blocks" => timed(blocks::prepared()?, blocks::Job::run),
        "oats data" => oats::data(),
        "oats" => timed(oats::prepared()?, oats::Job::run),
        "shuffles data" => shuffles::data(),
        "shuffles" => timed(shuffles::prepared()?, shuffles::Job::run),
        "split data" => split::data(),
        "split strata" => timed(split::prepared()?, split::Job::strata),
        "split restricted" => timed(split::prepared()?, split::Job::restricted),
        "split search" => timed(split::prepared()?, split::Job::search),
        other => Err(format!("there is no job '{other}'").into()),
    }
}

/// The seconds a job takes and what it finds.
fn timed<J>(job: J, run: impl Fn(&J) -> Result<Value, Failure>) -> Result<Value, Failure> {
    let start = Instant::now();
    let found = run(&job)?;
    let seconds = start.elapsed().as_secs_f64();
    Ok(json!({ "seconds": seconds, "found": found }))
}
