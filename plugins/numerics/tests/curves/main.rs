//! Response curves.

#[path = "../common/mod.rs"]
mod common;
mod coverage;
mod parallel;
mod properties;
mod reference;
mod set;
