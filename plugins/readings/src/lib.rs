//! From a request to plots with their values: what analyses of plot values share.
//!
//! [`Register`] lists the plots of a trial and says which plot and season each row of a table belongs
//! to; [`Occasion`] gathers values over all seasons and season by season; [`Treatments`] says which
//! treatments are compared with which control, in words. It is a library between the contract of
//! plugins and the numerics, not a plugin.

pub mod design;
pub mod names;
mod occasions;
mod register;
pub mod sheets;
#[cfg(any(test, feature = "testing"))]
pub mod testing;
mod treatments;

pub use occasions::{Occasion, occasions};
pub use register::Register;
pub use treatments::{Treatments, sets, together};

use caneplot_numerics::contrasts::ContrastError;
use caneplot_numerics::design::DesignError;
use caneplot_plugin::Refusal;

/// Why plots cannot be compared, with what to do about it.
#[must_use]
pub fn refusal(error: &ContrastError) -> Refusal {
    let refusal = Refusal::new(error.to_string());
    match error {
        ContrastError::Design(DesignError::OneLevel { .. }) => {
            refusal.hint("leave the factor out of trial.toml or add the data of its other levels")
        }
        ContrastError::Design(_) => refusal
            .hint("compare the data with the layout of the trial and with [design] in trial.toml"),
        ContrastError::Incomplete { .. } => refusal
            .hint("fill in the values if they exist, or leave out the block or season concerned"),
        ContrastError::EmptyCombination(_) | ContrastError::NotConnected => {
            refusal.hint("leave out the levels concerned, or compare them in a trial of their own")
        }
        ContrastError::NoError => {
            refusal.hint("without replicates no difference can be told from chance")
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_factor_with_one_level_has_a_hint_of_its_own() {
        let one = DesignError::OneLevel {
            factor: "Pruning".to_owned(),
            level: "cane".to_owned(),
        };
        let hint = refusal(&ContrastError::Design(one)).hint.unwrap();
        assert!(hint.contains("add the data of its other levels"), "{hint}");
    }
}
