//! What the generators of the demo trials share: a seeded stream of normal numbers and a table
//! that is written as CSV.

pub mod fill;
pub mod fill_workbooks;
pub mod truth;

use std::fmt::Write as _;
use std::path::Path;

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

/// Random numbers that are the same on every machine.
#[derive(Debug)]
pub struct Stream(ChaCha8Rng);

impl Stream {
    /// The stream of a seed.
    #[must_use]
    pub fn new(seed: u64) -> Self {
        Self(ChaCha8Rng::seed_from_u64(seed))
    }

    /// Uniform between 0 and 1, never either.
    pub fn uniform(&mut self) -> f64 {
        ((self.0.next_u64() >> 11) as f64 + 0.5) / (1u64 << 53) as f64
    }

    /// Normal with mean 0 and this standard deviation (Box and Muller 1958).
    pub fn normal(&mut self, deviation: f64) -> f64 {
        let (u, v) = (self.uniform(), self.uniform());
        deviation * (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
    }

    /// How many of `trials` succeed, each with this probability.
    pub fn successes(&mut self, trials: u32, probability: f64) -> u32 {
        (0..trials).filter(|_| self.uniform() < probability).count() as u32
    }

    /// A random order of the items (Fisher and Yates 1938).
    pub fn shuffled<T: Clone>(&mut self, items: &[T]) -> Vec<T> {
        let mut items = items.to_vec();
        for last in (1..items.len()).rev() {
            let other = (self.uniform() * (last + 1) as f64) as usize;
            items.swap(last, other);
        }
        items
    }
}

/// A CSV file in the making.
#[derive(Debug)]
pub struct Csv(String);

impl Csv {
    /// A file with its header.
    #[must_use]
    pub fn new(header: &str) -> Self {
        Self(format!("{header}\n"))
    }

    /// Adds a line.
    pub fn line(&mut self, fields: std::fmt::Arguments<'_>) {
        let _ = writeln!(self.0, "{fields}");
    }

    /// Writes the file.
    ///
    /// # Errors
    /// What the system says.
    pub fn write(&self, folder: &Path, name: &str) -> std::io::Result<()> {
        std::fs::write(folder.join(name), &self.0)
    }
}

/// The folder named on the command line, where a generator writes.
///
/// # Errors
/// A sentence where there is none.
pub fn folder_argument() -> Result<std::path::PathBuf, String> {
    std::env::args()
        .nth(1)
        .map(Into::into)
        .ok_or_else(|| "say the folder the trial's files are written to".to_owned())
}
