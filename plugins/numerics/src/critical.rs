//! Critical values of joint comparisons, computed once and used for every response.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;

use crate::dunnett::{Dunnett, Sides};
use crate::range::StudentizedRange;

/// Distance of the places that are kept, in log df.
const STEP: f64 = 0.1;
/// Places on either side.
const SIDE: i64 = 3;
/// Below these degrees of freedom the curve is too steep to be read between places.
const LEAST: f64 = 4.0;

/// Replicates of the control, of the others, and the bits of the degrees of freedom.
type Control = (usize, Vec<usize>, u64);

/// Critical values made so far, all at the level of the options.
#[derive(Default)]
pub struct Critical {
    ranges: RefCell<BTreeMap<(usize, u64), f64>>,
    controls: RefCell<BTreeMap<Control, (Rc<Dunnett>, f64)>>,
}

impl Critical {
    /// Of the studentized range of so many means; `None` where it does not exist.
    #[must_use]
    pub fn range(&self, means: usize, df: f64, level: f64) -> Option<f64> {
        let key = (means, df.to_bits());
        if let Some(&known) = self.ranges.borrow().get(&key) {
            return Some(known);
        }
        let value = StudentizedRange::new(means, df)
            .ok()?
            .quantile(level)
            .ok()?;
        self.ranges.borrow_mut().insert(key, value);
        Some(value)
    }

    /// Of the studentized range at degrees of freedom that need not be whole, as off balance, where
    /// every pair of means has its own.
    ///
    /// As a function of 1/df the critical value is so smooth that a polynomial through six places 0.1
    /// apart in log df gives it to better than eight digits; the places are computed once. Whole
    /// numbers, which balanced sets have, and very small ones are computed as they are.
    #[must_use]
    pub fn range_between(&self, means: usize, df: f64, level: f64) -> Option<f64> {
        let whole = df.round();
        if (df - whole).abs() <= 1e-9 * df {
            return self.range(means, whole, level);
        }
        if df < LEAST {
            return self.range(means, df, level);
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
            sum += weight * self.range(means, place(own), level)?;
        }
        Some(sum)
    }

    /// Of the comparisons with a control, with their distribution; `None` where it does not exist.
    ///
    /// `control` and `others` are replicates, `level` the joint probability of error.
    #[must_use]
    pub fn control(
        &self,
        control: usize,
        others: &[usize],
        df: f64,
        level: f64,
    ) -> Option<(Rc<Dunnett>, f64)> {
        let key = (control, others.to_vec(), df.to_bits());
        if let Some((dunnett, value)) = self.controls.borrow().get(&key) {
            return Some((Rc::clone(dunnett), *value));
        }
        let dunnett = Rc::new(Dunnett::for_replicates(control, others, df, Sides::Both).ok()?);
        let value = dunnett.quantile(level).ok()?;
        self.controls
            .borrow_mut()
            .insert(key, (Rc::clone(&dunnett), value));
        Some((dunnett, value))
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test may stop")]
mod tests {
    use super::*;

    #[test]
    fn values_between_places_keep_eight_digits() {
        let kept = Critical::default();
        for means in [2, 5, 8] {
            for df in [4.05, 6.2, 13.7, 16.31, 44.4, 171.3] {
                let got = kept.range_between(means, df, 0.05).unwrap();
                let want = kept.range(means, df, 0.05).unwrap();
                assert!(
                    (got - want).abs() < 1e-8 * want,
                    "{means} {df}: {got} {want}"
                );
            }
        }
    }
}
