//! Resampling of blocks, and the corrected percentile interval of what is made of them.
//!
//! A resample takes as many blocks as there are, with replacement, each with its plots; so plots that
//! share a block stay together (Davison & Hinkley 1997, *Bootstrap Methods and their Application*).
//! With n blocks there are nⁿ resamples but only C(2n−1, n) different ones: few blocks are counted in
//! full, each with the number of ways it can come about, and nothing is random. More are drawn.
//!
//! The interval is the percentile one corrected for bias and acceleration (Efron 1987, *J. Am. Stat.
//! Assoc.* 82:171): the points are the quantiles at Φ(z₀ + (z₀ + z)/(1 − a(z₀ + z))), with z₀ from the
//! share of resamples below the estimate (half of those equal to it counted as below) and a from
//! leaving out one block at a time. With few blocks it is too narrow, because resamples of n blocks
//! vary (n−1)/n times as much as the estimate does and tails of nⁿ values are short; say so below
//! [`FEW`] blocks.
//!
//! Refused: fewer than three blocks, a statistic that is not finite.

use crate::distribution::{DistributionError, normal_cdf, normal_quantile};
use crate::random::Streams;
use crate::sum::{Sum, mean};

/// Below so many blocks a resampled interval is to be read with a warning: the first number of
/// [`HELD`] at which it holds within two per cent of what it says.
pub const FEW: usize = 24;

/// Blocks, and in how many per cent of 10,000 simulated trials a 95 % interval of a ratio of two means
/// held the ratio (the workspace's crate `caneplot-calibration`, part `ratio`, whole per cents).
pub const HELD: [(usize, u32); 6] = [(4, 80), (6, 86), (8, 88), (12, 91), (16, 92), (24, 93)];

/// The entries of [`HELD`] nearest to a number of blocks: its own, or those on both sides.
#[must_use]
pub fn held_near(blocks: usize) -> Vec<(usize, u32)> {
    let below = HELD.iter().rev().find(|(of, _)| *of <= blocks);
    let above = HELD.iter().find(|(of, _)| *of >= blocks);
    let mut found: Vec<(usize, u32)> = below.into_iter().chain(above).copied().collect();
    found.dedup();
    found
}

/// Up to so many different resamples all are counted: that is up to eight blocks.
pub const MOST_COUNTED: u64 = 10_000;

/// Why there is no resampled interval.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum BootstrapError {
    /// Occurs when there are too few blocks to resample.
    #[error("{0} blocks are too few to be resampled; three are needed at least")]
    TooFew(usize),
    /// Occurs when no resample is to be drawn and there are too many to be counted.
    #[error("no resample was asked for")]
    NoDraws,
    /// Occurs when a resample gives no finite value.
    #[error("a resample has no finite value")]
    NotFinite,
    /// Occurs when every resample lies on one side of the estimate.
    #[error("every resample lies on one side of the estimate")]
    OneSided,
}

impl From<DistributionError> for BootstrapError {
    fn from(_: DistributionError) -> Self {
        BootstrapError::OneSided
    }
}

/// The distribution of a statistic over resamples.
#[derive(Debug, Clone, PartialEq)]
pub struct Resamples {
    /// Value from all blocks, each once.
    pub estimate: f64,
    /// All resamples are there, none was drawn.
    pub counted: bool,
    /// Number of blocks.
    pub blocks: usize,
    /// Values in order, with the number of resamples up to and including each.
    values: Vec<(f64, u64)>,
    /// Values with one block left out.
    without: Vec<f64>,
}

impl Resamples {
    /// Resamples `blocks` blocks; `statistic` gets how often each is taken.
    ///
    /// # Errors
    /// [`BootstrapError`] for fewer than three blocks, values that are not finite, and no draws where
    /// counting is too much.
    pub fn new(
        blocks: usize,
        streams: &Streams,
        draws: u64,
        statistic: impl Fn(&[u32]) -> f64,
    ) -> Result<Self, BootstrapError> {
        if blocks < 3 {
            return Err(BootstrapError::TooFew(blocks));
        }
        let once = vec![1; blocks];
        let estimate = statistic(&once);
        let without: Vec<f64> = (0..blocks)
            .map(|left_out| {
                let mut counts = once.clone();
                counts[left_out] = 0;
                statistic(&counts)
            })
            .collect();
        let counted = different(blocks) <= MOST_COUNTED;
        let mut values = Vec::new();
        if counted {
            let mut counts = vec![0; blocks];
            every(&mut counts, 0, blocks as u32, &mut |counts| {
                values.push((statistic(counts), ways(counts)));
            });
        } else if draws == 0 {
            return Err(BootstrapError::NoDraws);
        } else {
            let mut counts = vec![0_u32; blocks];
            for replicate in 0..draws {
                let mut stream = streams.replicate(replicate);
                counts.fill(0);
                for _ in 0..blocks {
                    counts[stream.below(blocks as u32) as usize] += 1;
                }
                values.push((statistic(&counts), 1));
            }
        }
        let all = || values.iter().map(|(value, _)| value).chain(&without);
        if !estimate.is_finite() || all().any(|value| !value.is_finite()) {
            return Err(BootstrapError::NotFinite);
        }
        values.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut up_to = 0;
        for (_, ways) in &mut values {
            up_to += *ways;
            *ways = up_to;
        }
        Ok(Self {
            estimate,
            counted,
            blocks,
            values,
            without,
        })
    }

    /// Number of resamples, the same ones counted as often as they come about.
    #[must_use]
    pub fn number(&self) -> u64 {
        self.values.last().map_or(0, |(_, up_to)| *up_to)
    }

    /// Mean over the resamples.
    #[must_use]
    pub fn mean(&self) -> f64 {
        self.estimate + self.moment(|d| d)
    }

    /// Standard deviation over the resamples (divided by their number).
    #[must_use]
    pub fn standard_deviation(&self) -> f64 {
        let about = self.moment(|d| d);
        self.moment(|d| (d - about) * (d - about)).sqrt()
    }

    /// Mean of a function of the distance from the estimate.
    fn moment(&self, of: impl Fn(f64) -> f64) -> f64 {
        let mut before = 0;
        let mut sum = Sum::default();
        for (value, up_to) in &self.values {
            sum.add_product((up_to - before) as f64, of(value - self.estimate));
            before = *up_to;
        }
        sum.total() / before as f64
    }

    /// The point below which a share `p` of the resamples lies, interpolated between the two nearest
    /// in order: at place (N − 1)p counted from 0.
    #[must_use]
    pub fn quantile(&self, p: f64) -> f64 {
        let last = self.number() - 1;
        let place = last as f64 * p.clamp(0.0, 1.0);
        let at = (place.floor() as u64).min(last);
        let low = self.in_order(at);
        let high = self.in_order((at + 1).min(last));
        low + (place - at as f64) * (high - low)
    }

    /// The resample at a place in order.
    fn in_order(&self, place: u64) -> f64 {
        let at = self.values.partition_point(|(_, up_to)| *up_to <= place);
        self.values[at.min(self.values.len() - 1)].0
    }

    /// The percentile interval corrected for bias and acceleration, with a confidence of 0.95, say.
    ///
    /// # Errors
    /// [`BootstrapError::OneSided`] where all resamples lie on one side of the estimate.
    pub fn interval(&self, confidence: f64) -> Result<(f64, f64), BootstrapError> {
        // Values that are the estimate but for rounding are equal to it.
        let largest = self.values.iter().map(|(value, _)| value.abs());
        let slack = (1e-12 * largest.fold(0.0, f64::max)).max(f64::MIN_POSITIVE);
        let before = |at: usize| if at == 0 { 0 } else { self.values[at - 1].1 };
        let below = |limit: f64| self.values.partition_point(|(value, _)| *value < limit);
        let (below, not_above) = (
            before(below(self.estimate - slack)),
            before(below(self.estimate + slack)),
        );
        let share = (below as f64 + not_above as f64) / 2.0 / self.number() as f64;
        if share <= 0.0 || share >= 1.0 {
            return Err(BootstrapError::OneSided);
        }
        let bias = normal_quantile(share)?;
        let acceleration = self.acceleration();
        let tail = (1.0 - confidence) / 2.0;
        let point = |z: f64| {
            let reach = bias + z;
            let stretched = reach / (1.0 - acceleration * reach);
            self.quantile(normal_cdf(bias + stretched))
        };
        let z = normal_quantile(1.0 - tail)?;
        Ok((point(-z), point(z)))
    }

    /// A sixth of the skewness of the values with one block left out; 0 where they are all equal.
    fn acceleration(&self) -> f64 {
        let Some(middle) = mean(&self.without) else {
            return 0.0;
        };
        let power = |k: i32| {
            self.without
                .iter()
                .map(|v| (middle - v).powi(k))
                .sum::<f64>()
        };
        let (squares, cubes) = (power(2), power(3));
        if squares > 0.0 {
            cubes / (6.0 * squares.powf(1.5))
        } else {
            0.0
        }
    }
}

/// Number of different resamples of n blocks, C(2n−1, n).
fn different(blocks: usize) -> u64 {
    let n = blocks as u64;
    (1..=n).fold(1_u64, |found, k| {
        // C(n−1+k, k) from C(n−1+k−1, k−1): the product is divisible.
        found.saturating_mul(n - 1 + k) / k
    })
}

/// In how many orders a resample can be drawn: n!/Π k!.
fn ways(counts: &[u32]) -> u64 {
    let (mut taken, mut found) = (0_u64, 1_u64);
    for &count in counts {
        for k in 1..=u64::from(count) {
            taken += 1;
            found = found * taken / k;
        }
    }
    found
}

/// Visits every way to take `left` blocks from those at `at` and after.
fn every(counts: &mut [u32], at: usize, left: u32, visit: &mut impl FnMut(&[u32])) {
    if at + 1 == counts.len() {
        counts[at] = left;
        visit(counts);
        return;
    }
    for taken in 0..=left {
        counts[at] = taken;
        every(counts, at + 1, left - taken, visit);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_measured_is_found_on_both_sides() {
        assert_eq!(held_near(3), [(4, 80)]);
        assert_eq!(held_near(4), [(4, 80)]);
        assert_eq!(held_near(5), [(4, 80), (6, 86)]);
        assert_eq!(held_near(40), [(24, 93)]);
        let first = HELD.iter().find(|(_, held)| held + 2 >= 95);
        assert_eq!(first.map(|(blocks, _)| *blocks), Some(FEW));
    }

    #[test]
    fn all_resamples_of_n_blocks_are_n_to_the_n() {
        let streams = Streams::new(1, "blocks");
        for blocks in 3..=8 {
            let found = Resamples::new(blocks, &streams, 0, |counts| {
                counts
                    .iter()
                    .zip(1..)
                    .map(|(&c, x)| f64::from(c) * f64::from(x))
                    .sum()
            })
            .unwrap();
            assert!(found.counted);
            assert_eq!(found.number(), (blocks as u64).pow(blocks as u32));
        }
        assert_eq!(different(5), 126);
        assert_eq!(ways(&[2, 0, 3]), 10);
    }

    #[test]
    fn a_symmetric_mean_has_a_symmetric_interval() {
        let streams = Streams::new(1, "blocks");
        let values = [-2.0, -1.0, 0.0, 1.0, 2.0];
        let mean = |counts: &[u32]| {
            values
                .iter()
                .zip(counts)
                .map(|(v, &c)| v * f64::from(c))
                .sum::<f64>()
                / counts.iter().sum::<u32>() as f64
        };
        let found = Resamples::new(5, &streams, 0, mean).unwrap();
        let (low, high) = found.interval(0.95).unwrap();
        assert!((low + high).abs() < 1e-12, "{low} {high}");
        // Without bias and acceleration it is the percentile interval; the variance of the mean of
        // five draws from five values is 2/5.
        assert!((low - found.quantile(0.025)).abs() < 1e-12);
        assert!((found.standard_deviation() - 0.4_f64.sqrt()).abs() < 1e-12);
        assert!(found.mean().abs() < 1e-15);
    }

    #[test]
    fn drawn_resamples_come_near_to_counted_ones() {
        // Eight blocks are counted; the same values drawn must agree within sampling error.
        let values = [3.0, 5.0, 1.0, 8.0, 4.0, 4.5, 2.0, 6.0];
        let mean = |counts: &[u32]| {
            values
                .iter()
                .zip(counts)
                .map(|(v, &c)| v * f64::from(c))
                .sum::<f64>()
                / 8.0
        };
        let streams = Streams::new(4, "blocks");
        let counted = Resamples::new(8, &streams, 0, mean).unwrap();
        let twice: Vec<f64> = values.iter().chain(&values).copied().collect();
        let drawn = Resamples::new(16, &streams, 4_000, |counts| {
            twice
                .iter()
                .zip(counts)
                .map(|(v, &c)| v * f64::from(c))
                .sum::<f64>()
                / 16.0
        })
        .unwrap();
        assert!(counted.counted && !drawn.counted);
        assert_eq!(drawn.number(), 4_000);
        // Sixteen blocks with the same values vary 1/√2 as much; 4 standard errors of an SD of 4000.
        let wanted = counted.standard_deviation() / 2.0_f64.sqrt();
        assert!((drawn.standard_deviation() / wanted - 1.0).abs() < 4.0 / 8000.0_f64.sqrt());
        assert_eq!(
            Resamples::new(16, &streams, 0, |_| 0.0),
            Err(BootstrapError::NoDraws)
        );
    }

    #[test]
    fn two_blocks_and_values_that_are_not_numbers_are_refused() {
        let streams = Streams::new(1, "blocks");
        assert_eq!(
            Resamples::new(2, &streams, 10, |_| 1.0),
            Err(BootstrapError::TooFew(2))
        );
        assert_eq!(
            Resamples::new(3, &streams, 10, |counts| 1.0 / f64::from(counts[0])),
            Err(BootstrapError::NotFinite)
        );
    }

    #[test]
    fn equal_values_give_a_point() {
        let streams = Streams::new(1, "blocks");
        let found = Resamples::new(4, &streams, 0, |_| 2.5).unwrap();
        assert_eq!(found.interval(0.95), Ok((2.5, 2.5)));
    }
}
