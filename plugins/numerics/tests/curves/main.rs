//! Response curves.

#![allow(
    clippy::unwrap_used,
    clippy::print_stdout,
    reason = "a reference that is missing must stop the test, and digits are printed to be read"
)]

#[path = "../common/mod.rs"]
mod common;
mod coverage;
mod parallel;
mod profile;
mod properties;
mod reference;
mod set;
