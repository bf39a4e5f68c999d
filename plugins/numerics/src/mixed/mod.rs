//! Linear models with several sources of error, fitted by restricted maximum likelihood.
//!
//! y = Xβ + Σ Z_k u_k + e: fixed effects β (the cells of the treatments and seasons, covariates),
//! random terms u_k with variance θ_k (blocks, rows, columns, whole plots …) and an error e whose
//! values on one plot may be correlated over seasons. The steps are files in the order they run:
//! [`season`] (covariances over seasons), [`problem`], `error` (groups of plots with variances of their
//! own), `matrices` (the problem taken apart into blocks),
//! `deviance` (−2 log restricted likelihood, Patterson & Thompson 1971, *Biometrika* 58:545),
//! `derivatives` (score and information), `start`, [`optimise`], [`converge`], [`assemble`] (the
//! fit), `freed` (the same with variances free to be negative, as tests need them), then what is asked of it: [`kenward_roger`], [`satterthwaite`], [`criteria`],
//! [`influence`]. [`grid`] makes the fixed part from the cells of the design.
//!
//! The criterion is −2ℓ = (n−p) log 2π + log|V| + log|X'V⁻¹X| + y'Py, without the constant log|X'X|:
//! compare it only between fits with the same X.

pub mod assemble;
pub mod candidate;
pub mod converge;
pub mod criteria;
mod derivatives;
mod deviance;
mod error;
mod freed;
pub mod grid;
pub mod influence;
pub mod kenward_roger;
mod matrices;
pub mod optimise;
pub mod problem;
mod products;
pub mod satterthwaite;
mod scales;
pub mod season;
mod start;

pub use assemble::Fit;
pub use candidate::Candidate;

pub use freed::{freed, linear};
pub use optimise::{Settings, candidate, candidate_near, fit, refit};
pub use problem::{Problem, RandomTerm, Residual};
pub use season::Structure;

/// Why a model gives no answer.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum MixedError {
    /// Occurs when there are no more values than fixed effects.
    #[error("{values} values cannot carry {effects} means and slopes and leave an error")]
    TooFew {
        /// Number of values.
        values: usize,
        /// Number of fixed effects.
        effects: usize,
    },
    /// Occurs when columns of the fixed part depend on each other.
    #[error("fixed effect {column} (counted from 0) is a combination of those before it")]
    Aliased {
        /// The column.
        column: usize,
    },
    /// Occurs when the parts of a problem have different lengths.
    #[error("{what} has {got} entries for {wanted} values")]
    Length {
        /// The part.
        what: String,
        /// Its length.
        got: usize,
        /// The number of values.
        wanted: usize,
    },
    /// Occurs when a value or a covariate is not a number.
    #[error("a value is not a number")]
    NotANumber,
    /// Occurs when the values are all the same or reproduced without error by the fixed effects.
    #[error("the values leave no error: the means reproduce them exactly")]
    NoError,
    /// Occurs when the data cannot tell two sources of error apart.
    #[error("the data cannot tell {0} apart from the other sources of variation")]
    NotIdentified(String),
    /// Occurs when a plot has two values in a season.
    #[error("a plot has two values in one season")]
    Twice,
    /// Occurs when a plot belongs to two groups of error variance.
    #[error("a plot belongs to two groups of error variance")]
    TwoGroups,
    /// Occurs when the search for the best components ends without a certificate.
    #[error("the fit did not converge: {0}")]
    NotConverged(String),
    /// Occurs when a hypothesis is empty or its rows depend on each other.
    #[error("the hypothesis has no or dependent rows")]
    Hypothesis,
    /// Occurs when a distribution refuses its arguments.
    #[error(transparent)]
    Distribution(#[from] crate::distribution::DistributionError),
}
