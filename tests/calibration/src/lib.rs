//! Calibration by simulation: how often the tests of `caneplot-numerics` reject where there is nothing
//! to find, and how often its intervals hold the truth.
//!
//! Results at 10,000 trials a figure are in `README.md` beside this crate; its tests repeat a few of them
//! with 400 trials, so that a broken error term is seen.

pub mod curve;
pub mod family;
pub mod loss;
pub mod means;
pub mod null;
pub mod odds;
pub mod plan;
pub mod ratio;
pub mod season;
pub mod shuffle;
pub mod table;
pub mod tally;
