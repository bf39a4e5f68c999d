//! Normal values from numbered streams, the same on every machine.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

/// Standard normal values from one stream (Box & Muller 1958).
pub struct Normal {
    source: ChaCha8Rng,
}

impl Normal {
    /// The stream of this number.
    pub fn stream(number: u64) -> Self {
        let mut source = ChaCha8Rng::seed_from_u64(20_241_125);
        source.set_stream(number);
        Self { source }
    }

    /// The next value.
    pub fn draw(&mut self) -> f64 {
        let mut uniform = || ((self.source.next_u64() >> 11) as f64 + 0.5) / (1_u64 << 53) as f64;
        let (a, b) = (uniform(), uniform());
        (-2.0 * a.ln()).sqrt() * (std::f64::consts::TAU * b).cos()
    }
}
