//! Randomisation tests: how often the design's own lottery would have made a term look as large.
//!
//! Under the hypothesis that no treatment did anything, every plot would have given the same value
//! whatever it was allotted, so every arrangement the design could have drawn is as good as the one
//! it drew (Fisher 1935, *The Design of Experiments*; Edgington & Onghena 2007, *Randomization
//! Tests*). P is the share of arrangements whose F is at least the trial's. All of them are counted
//! where there are at most [`MOST_COUNTED`]; else n are drawn and P = (1 + those as large)/(1 + n),
//! the trial's own being one of them, so that P is never 0 and the test keeps its level (Phipson &
//! Smyth 2010, *Stat. Appl. Genet. Mol. Biol.* 9:39).
//!
//! What is exchanged is what was randomised ([`Moves`]): never a single season, a sub plot out of its
//! whole plot or a plot out of its block. The F of a term is that of its own stratum. Seasons are not
//! randomised and have no such test.
//!
//! Refused: terms without an F, rows and columns that are not a full grid.

mod arrangements;
mod moves;
mod run;
mod scheme;
mod statistic;

pub use arrangements::{Arrangements, MOST_COUNTED};
pub use moves::Moves;
pub use run::{Randomised, Settings, randomised};
