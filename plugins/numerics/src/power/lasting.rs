//! The power to find a difference that lasts beyond the seasons of a trial.
//!
//! Where treatments do better in one season and worse in another, the mean square of treatments
//! holds both the error of plots and treatments × seasons, and no single mean square is its error.
//! Cochran (1951, *Biometrics* 7:17) compares sums: F'' = (T + W)/(P + TS), with T the mean square of
//! treatments, P that of plots, TS of treatments × seasons, W within plots; its degrees of freedom
//! are those of Satterthwaite (1946, *Biometrics Bull.* 2:110). In a balanced trial the four are
//! independent (noncentral) chi-squares, which are drawn here instead of whole trials.

use super::{PowerError, Simulated};
use crate::distribution::f_upper;
use crate::random::{Stream, Streams};

/// Expected mean squares and degrees of freedom of a term in a trial of several seasons.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lasting {
    /// Sum of squares of the true effects, in the squared unit of the response.
    pub effects: f64,
    /// Expected mean square between plots.
    pub plots: f64,
    /// Expected mean square within plots.
    pub within: f64,
    /// What treatments × seasons add to the mean squares of treatments and of treatments × seasons:
    /// their variance times the values of a treatment in a season.
    pub by_season: f64,
    /// Degrees of freedom of the term, of plots, of the term × seasons, within plots.
    pub dfs: [usize; 4],
}

impl Lasting {
    /// Rejections at this level among so many trials drawn from a seed.
    ///
    /// # Errors
    /// [`PowerError::NoDraws`]; [`PowerError::NoError`] where a mean square has no degrees of freedom;
    /// [`PowerError::Variance`] where an expected mean square is negative or not a number,
    /// [`PowerError::NoVariance`] where one that tests is 0.
    pub fn simulated(&self, level: f64, seed: u64, draws: u64) -> Result<Simulated, PowerError> {
        if draws == 0 {
            return Err(PowerError::NoDraws);
        }
        let names = [
            "treatments",
            "plots",
            "treatments × seasons",
            "within plots",
        ];
        for (name, df) in names.iter().zip(self.dfs) {
            if df == 0 {
                return Err(PowerError::NoError((*name).to_owned()));
            }
        }
        for (name, variance) in [
            ("treatments", self.effects),
            ("plots", self.plots),
            ("within plots", self.within),
            ("treatments × seasons", self.by_season),
        ] {
            if !(0.0..f64::INFINITY).contains(&variance) {
                return Err(PowerError::Variance {
                    stratum: name.to_owned(),
                    variance,
                });
            }
        }
        if self.plots <= 0.0 {
            return Err(PowerError::NoVariance("plots".to_owned()));
        }
        let dfs = self.dfs.map(|df| df as f64);
        let streams = Streams::new(seed, "lasting power");
        let mut room = vec![0.0; self.dfs.into_iter().max().unwrap_or(1)];
        let mut rejected = 0;
        for trial in 0..draws {
            let mut stream = streams.replicate(trial);
            let mut mean_square = |at: usize, expected: f64, effects: f64| {
                let shift = if expected > 0.0 {
                    (effects / expected).sqrt()
                } else {
                    0.0
                };
                expected * chi_square(&mut stream, &mut room[..self.dfs[at]], shift) / dfs[at]
            };
            let term = mean_square(0, self.plots + self.by_season, self.effects);
            let plots = mean_square(1, self.plots, 0.0);
            let by_season = mean_square(2, self.within + self.by_season, 0.0);
            let within = mean_square(3, self.within, 0.0);
            let df = |a: f64, first: f64, b: f64, second: f64| {
                (a + b) * (a + b) / (a * a / first + b * b / second)
            };
            let above = df(term, dfs[0], within, dfs[3]);
            let below = df(plots, dfs[1], by_season, dfs[2]);
            let f = (term + within) / (plots + by_season);
            rejected += u64::from(f_upper(f, above, below)? <= level);
        }
        Ok(Simulated { rejected, draws })
    }
}

/// A chi-square of as many degrees of freedom as there is room, its first normal moved.
fn chi_square(stream: &mut Stream, room: &mut [f64], shift: f64) -> f64 {
    stream.fill_normal(room);
    if let Some(first) = room.first_mut() {
        *first += shift;
    }
    room.iter().map(|normal| normal * normal).sum()
}
