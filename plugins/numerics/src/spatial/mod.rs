//! What is left of the field in a trial: do plots that lie near each other have values that blocks
//! and treatments do not explain?
//!
//! * [`neighbours`] says which plots lie beside each other in the row and across rows.
//! * [`Ground`] is what a plot's value rests on beside its place: its treatments, its blocks (or rows
//!   and columns of a square) and the larger units of its design.
//! * [`Surface`] adds vineyard row and position to that as covariates and tests them; larger units are
//!   random then, so that a slope is judged against the right error.
//! * [`patches`] compares residuals of neighbours: Moran's I (Moran 1950, *Biometrika* 37:17) and the
//!   correlation of neighbours, with a test by exchange of residuals inside blocks.

mod ground;
mod neighbours;
mod patches;
mod surface;

pub use ground::Ground;
pub use neighbours::{Direction, Pair, Place, neighbours};
pub use patches::{Likeness, patches};
pub use surface::{Covariate, Surface};

/// Why the look has no answer.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SpatialError {
    /// Occurs when treatments and blocks leave fewer than three residual degrees of freedom.
    #[error(
        "treatments and blocks leave {df} degrees of freedom between plots, too few to look at"
    )]
    TooFew {
        /// Degrees of freedom.
        df: usize,
    },
    /// Occurs when treatments and blocks reproduce the values exactly.
    #[error("treatments and blocks reproduce the values exactly, so nothing is left to look at")]
    NoError,
    /// Occurs when the fit with the larger units of the design fails.
    #[error(transparent)]
    Mixed(#[from] crate::mixed::MixedError),
}
