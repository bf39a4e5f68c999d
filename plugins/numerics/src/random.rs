//! Random numbers that do not depend on how the work is shared out.
//!
//! Every replicate of a simulation has a stream of its own: the key of a ChaCha generator with eight
//! rounds (Bernstein 2008, *Workshop Record of SASC*) comes from the seed and the purpose, the stream
//! number is the replicate's. So replicate 17 draws the same numbers on one thread or on sixteen, and
//! two simulations of one seed do not share numbers unless they share a purpose. The transforms are
//! our own, because those of general-purpose crates may change from one version to the next:
//!
//! * whole numbers below n: the upper half of a product, rejecting the few values that would make
//!   some numbers likelier (Lemire 2019, *ACM Trans. Model. Comput. Simul.* 29:3);
//! * orders: exchanges from the end (Durstenfeld 1964, *Commun. ACM* 7:420);
//! * uniform numbers: 53 bits, in the middle of their cell, so that neither 0 nor 1 occurs;
//! * normal numbers: the quantile of a uniform number;
//! * many normal numbers: pairs from points inside the unit circle, which takes a fraction of the time
//!   (Marsaglia & Bray 1964, *SIAM Rev.* 6:260).

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

use crate::distribution::normal_quantile;

/// Bytes of a purpose that count.
const PURPOSE: usize = 24;

/// The streams of one simulation, a stream for each replicate.
#[derive(Debug, Clone)]
pub struct Streams {
    key: [u8; 32],
}

impl Streams {
    /// Streams from a seed and the purpose they serve; its first 24 bytes count.
    #[must_use]
    pub fn new(seed: u64, purpose: &str) -> Self {
        let mut key = [0; 32];
        key[..8].copy_from_slice(&seed.to_le_bytes());
        for (place, byte) in key[8..].iter_mut().zip(purpose.bytes().take(PURPOSE)) {
            *place = byte;
        }
        Self { key }
    }

    /// The stream of a replicate from its beginning.
    #[must_use]
    pub fn replicate(&self, number: u64) -> Stream {
        let mut generator = ChaCha8Rng::from_seed(self.key);
        generator.set_stream(number);
        Stream { generator }
    }
}

/// The random numbers of one replicate.
#[derive(Debug, Clone)]
pub struct Stream {
    generator: ChaCha8Rng,
}

impl Stream {
    /// A whole number from 0 to `n` − 1, all equally likely; 0 for `n` = 0.
    #[inline]
    pub fn below(&mut self, n: u32) -> u32 {
        let mut product = u64::from(self.generator.next_u32()) * u64::from(n);
        if (product as u32) < n {
            let least = n.wrapping_neg() % n.max(1);
            while (product as u32) < least {
                product = u64::from(self.generator.next_u32()) * u64::from(n);
            }
        }
        (product >> 32) as u32
    }

    /// A number above 0 and below 1.
    #[inline]
    pub fn uniform(&mut self) -> f64 {
        let bits = self.generator.next_u64() >> 11;
        (bits as f64 + 0.5) * const { 1.0 / (1_u64 << 53) as f64 }
    }

    /// A number of the standard normal distribution.
    #[inline]
    pub fn normal(&mut self) -> f64 {
        // The median stands in for a quantile that does not exist; a uniform number has one.
        normal_quantile(self.uniform()).unwrap_or(0.0)
    }

    /// Fills a list with numbers of the standard normal distribution; they are others than
    /// [`Stream::normal`] would draw, and come faster.
    pub fn fill_normal(&mut self, values: &mut [f64]) {
        for pair in values.chunks_mut(2) {
            let (first, second) = self.normal_pair();
            pair[0] = first;
            if let Some(place) = pair.get_mut(1) {
                *place = second;
            }
        }
    }

    #[inline]
    fn normal_pair(&mut self) -> (f64, f64) {
        loop {
            let (x, y) = (2.0 * self.uniform() - 1.0, 2.0 * self.uniform() - 1.0);
            let square = x * x + y * y;
            if square > 0.0 && square < 1.0 {
                let scale = (-2.0 * square.ln() / square).sqrt();
                return (x * scale, y * scale);
            }
        }
    }

    /// Puts the values in an order drawn from all orders, each equally likely.
    #[inline]
    pub fn shuffle<T>(&mut self, values: &mut [T]) {
        for last in (1..values.len()).rev() {
            values.swap(last, self.below(last as u32 + 1) as usize);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_replicate_draws_the_same_numbers_whatever_was_drawn_before() {
        let streams = Streams::new(7, "a test");
        let mut alone = streams.replicate(17);
        let wanted: Vec<u32> = (0..5).map(|_| alone.below(1000)).collect();
        for other in 0..17 {
            streams.replicate(other).uniform();
        }
        let mut again = streams.replicate(17);
        let found: Vec<u32> = (0..5).map(|_| again.below(1000)).collect();
        assert_eq!(found, wanted);
        let mut other = Streams::new(7, "another").replicate(17);
        assert_ne!(
            (0..5).map(|_| other.below(1000)).collect::<Vec<_>>(),
            wanted
        );
    }

    #[test]
    fn the_key_stream_is_the_published_one() {
        // ChaCha with eight rounds, key and stream number all zero: keystream 3e00ef2f895f40d6…
        // (Strombergson, Test Vectors for the Stream Cipher ChaCha, draft 2013, TC1).
        let mut stream = Streams::new(0, "").replicate(0);
        assert_eq!(stream.generator.next_u32(), 0x2fef_003e);
        assert_eq!(stream.generator.next_u32(), 0xd640_5f89);
    }

    #[test]
    fn every_order_of_four_is_equally_likely() {
        let streams = Streams::new(1, "orders");
        let mut counts = std::collections::BTreeMap::new();
        let draws = 48_000;
        for replicate in 0..draws {
            let mut order = [0, 1, 2, 3];
            streams.replicate(replicate).shuffle(&mut order);
            *counts.entry(order).or_insert(0_u32) += 1;
        }
        assert_eq!(counts.len(), 24);
        let wanted = draws as f64 / 24.0;
        let chi_square: f64 = counts
            .values()
            .map(|&count| (f64::from(count) - wanted).powi(2) / wanted)
            .sum();
        // The upper 0.1 % point of chi-square with 23 degrees of freedom is 49.7.
        assert!(chi_square < 49.7, "{chi_square}");
    }

    #[test]
    fn normal_numbers_have_mean_0_and_variance_1() {
        let mut stream = Streams::new(2, "normal").replicate(0);
        let draws: Vec<f64> = (0..40_000).map(|_| stream.normal()).collect();
        let mean = draws.iter().sum::<f64>() / 40_000.0;
        let square = draws.iter().map(|v| v * v).sum::<f64>() / 40_000.0;
        // Four standard errors: 4/200 and 4·√2/200.
        assert!(mean.abs() < 0.02, "{mean}");
        assert!((square - 1.0).abs() < 0.0283, "{square}");
    }

    #[test]
    fn many_normal_numbers_follow_the_normal_distribution() {
        let streams = Streams::new(4, "normals");
        let mut draws = Vec::new();
        for replicate in 0..8_000 {
            let mut own = [0.0; 5];
            streams.replicate(replicate).fill_normal(&mut own);
            draws.extend(own);
        }
        draws.sort_by(f64::total_cmp);
        // Kolmogorov's distance; beyond 1.95/√n with probability 0.001 (Smirnov 1948).
        let n = draws.len() as f64;
        let distance = draws
            .iter()
            .enumerate()
            .map(|(at, draw)| {
                let below = crate::distribution::normal_cdf(*draw);
                (below - at as f64 / n)
                    .abs()
                    .max((below - (at + 1) as f64 / n).abs())
            })
            .fold(0.0_f64, f64::max);
        assert!(distance < 1.95 / n.sqrt(), "{distance}");
    }

    #[test]
    fn numbers_below_n_stay_below_and_reach_all() {
        let mut stream = Streams::new(3, "below").replicate(0);
        let mut seen = [false; 7];
        for _ in 0..200 {
            seen[stream.below(7) as usize] = true;
        }
        assert_eq!(seen, [true; 7]);
        assert_eq!(stream.below(1), 0);
        assert_eq!(stream.below(0), 0);
    }
}
