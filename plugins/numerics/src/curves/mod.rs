//! Curves over the levels of a numeric factor, with blocks and other design terms eliminated and the
//! trial's own error.
//!
//! [`Levels`] reduces the units of a trial to level means; [`Levels::fit`] puts a curve of a
//! [`Shape`] through them; [`compare`](compare::compare) chooses between shapes;
//! [`plateau`] and [`asymptotic`] give the set of joins and rates, [`Levels::turn`] the optimum of a
//! quadratic, [`parallel`] says whether several curves run alike.

pub mod asymptotic;
pub(crate) mod basis;
pub mod compare;
mod fit;
mod levels;
mod optimum;
pub mod parallel;
mod parameters;
pub mod plateau;
pub(crate) mod root;
mod shape;

pub use fit::{Fit, FitError};
pub use levels::{Estimate, Levels, LevelsError, Units};
pub use optimum::Turn;
pub use shape::{Curve, Shape};
