//! Critical values of the studentized range, kept for all responses.
//!
//! Off balance every pair of means has degrees of freedom of its own, and a critical value costs a
//! double integral. As a function of 1/df it is so smooth that a polynomial through six places, 0.1
//! apart in log df, gives it to better than eight digits, so those are computed once and shared. Whole numbers of degrees of
//! freedom, which balanced sets have, and very small ones are computed as they are.

use std::cell::RefCell;
use std::collections::BTreeMap;

use caneplot_numerics::range::StudentizedRange;

/// Distance of the places in log df.
const STEP: f64 = 0.1;
/// Places on either side.
const SIDE: i64 = 3;
/// Below these degrees of freedom the curve is too steep.
const LEAST: f64 = 4.0;

/// Critical values found so far for one level.
#[derive(Debug, Default)]
pub(crate) struct Criticals {
    exact: RefCell<BTreeMap<(usize, u64), Option<f64>>>,
}

impl Criticals {
    /// The studentized range exceeded with probability `level` among so many means, over √2: on the
    /// scale of a t.
    pub fn of(&self, means: usize, df: f64, level: f64) -> Option<f64> {
        let whole = df.round();
        if (df - whole).abs() <= 1e-9 * df {
            return self.exact(means, whole, level);
        }
        if df < LEAST {
            return self.exact(means, df, level);
        }
        let place = |at: i64| (at as f64 * STEP).exp();
        let first = (df.ln() / STEP).floor() as i64 - SIDE + 1;
        let mut sum = 0.0;
        for own in first..first + 2 * SIDE {
            let weight: f64 = (first..first + 2 * SIDE)
                .filter(|&other| other != own)
                .map(|other| {
                    (df.recip() - place(other).recip())
                        / (place(own).recip() - place(other).recip())
                })
                .product();
            sum += weight * self.exact(means, place(own), level)?;
        }
        Some(sum)
    }

    fn exact(&self, means: usize, df: f64, level: f64) -> Option<f64> {
        let key = (means, df.to_bits());
        if let Some(known) = self.exact.borrow().get(&key) {
            return *known;
        }
        let found = StudentizedRange::new(means, df)
            .and_then(|range| range.quantile(level))
            .ok()
            .map(|q| q / std::f64::consts::SQRT_2);
        self.exact.borrow_mut().insert(key, found);
        found
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_between_places_keep_eight_digits() {
        let kept = Criticals::default();
        for means in [2, 5, 8] {
            for df in [4.05, 6.2, 13.7, 16.31, 44.4, 171.3] {
                let got = kept.of(means, df, 0.05).unwrap();
                let want = kept.exact(means, df, 0.05).unwrap();
                assert!(
                    (got - want).abs() < 1e-8 * want,
                    "{means} {df}: {got} {want}"
                );
            }
        }
    }
}
