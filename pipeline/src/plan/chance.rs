//! The random numbers of a layout, the same on every machine.
//!
//! ChaCha with eight rounds (Bernstein 2008, *Workshop Record of SASC*), keyed by the seed and a
//! purpose; every try of a layout has a stream of its own. Whole numbers below n come from the upper
//! half of a product, with the few values rejected that would make some numbers likelier (Lemire
//! 2019, *ACM Trans. Model. Comput. Simul.* 29:3); orders from exchanges from the end (Durstenfeld
//! 1964, *Commun. ACM* 7:420).

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

/// What the numbers are for: part of the key, so that nothing else drawn with the same seed shares
/// them.
const PURPOSE: &[u8; 24] = b"the layout of the plots.";

/// Random whole numbers of one try.
#[derive(Debug, Clone)]
pub struct Chance(ChaCha8Rng);

impl Chance {
    /// The numbers of a seed and try.
    #[must_use]
    pub fn new(seed: u64, attempt: u64) -> Self {
        let mut key = [0; 32];
        key[..8].copy_from_slice(&seed.to_le_bytes());
        key[8..].copy_from_slice(PURPOSE);
        let mut generator = ChaCha8Rng::from_seed(key);
        generator.set_stream(attempt);
        Self(generator)
    }

    /// A whole number from 0 to `n` − 1, all equally likely; 0 for `n` = 0.
    pub fn below(&mut self, n: usize) -> usize {
        // No design has 2³² of anything.
        let n = u32::try_from(n).unwrap_or(u32::MAX);
        let mut product = u64::from(self.0.next_u32()) * u64::from(n);
        if (product as u32) < n {
            let least = n.wrapping_neg() % n.max(1);
            while (product as u32) < least {
                product = u64::from(self.0.next_u32()) * u64::from(n);
            }
        }
        (product >> 32) as usize
    }

    /// Puts items in an order drawn from all orders, each equally likely.
    pub fn shuffle<T>(&mut self, items: &mut [T]) {
        for last in (1..items.len()).rev() {
            let other = self.below(last + 1);
            items.swap(last, other);
        }
    }

    /// The numbers 0 to `n` − 1 in a random order.
    pub fn order(&mut self, n: usize) -> Vec<usize> {
        let mut order: Vec<usize> = (0..n).collect();
        self.shuffle(&mut order);
        order
    }
}
