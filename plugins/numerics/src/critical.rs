//! Critical values of joint comparisons, computed once and used for every response.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;

use crate::dunnett::{Dunnett, Sides};
use crate::range::StudentizedRange;

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
