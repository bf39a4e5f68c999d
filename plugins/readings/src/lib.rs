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
pub use treatments::{Treatments, sets};

use caneplot_numerics::contrasts::ContrastError;
use caneplot_plugin::Refusal;

/// Why plots cannot be compared, with what to do about it.
#[must_use]
pub fn refusal(error: &ContrastError) -> Refusal {
    let refusal = Refusal::new(error.to_string());
    match error {
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
