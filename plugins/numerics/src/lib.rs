//! The statistics of caneplot: pure functions on slices of numbers.
//!
//! No file is read here, nothing is printed, and nothing returns NaN: what cannot be computed is an
//! error with a sentence. Each module opens with its formula, where it comes from, and what it
//! refuses.

mod averages;
mod balance;
pub mod bootstrap;
pub mod cells;
pub mod components;
pub mod contrasts;
pub mod counts;
pub mod critical;
pub mod curves;
pub mod deletion;
pub mod design;
pub mod diagnose;
pub mod discovery;
pub mod distribution;
pub mod dunnett;
pub mod economics;
pub mod equivalence;
pub mod error_products;
pub mod evenness;
pub mod fieller;
pub mod kinds;
mod lookup;
pub mod means;
pub mod mixed;
pub mod names;
pub mod nonadditivity;
pub mod noncentral;
pub mod orthogonal;
pub mod polynomial;
pub mod power;
pub mod precision;
mod quadrature;
pub mod random;
pub mod randomise;
pub mod range;
mod root;
pub mod separation;
pub mod sites;
pub mod spatial;
mod special;
pub mod sphericity;
pub mod stability;
pub mod strata;
pub mod sum;
pub mod together;
pub mod transform;
pub mod trend;
pub mod variance;
pub mod welch;
