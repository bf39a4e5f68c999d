//! The program as its users meet it: demo trials, spoiled trials, reference data, plugins.

#![allow(
    clippy::expect_used,
    clippy::print_stdout,
    clippy::unwrap_used,
    reason = "a helper of a test fails the test"
)]

mod bulletin;
mod choosing;
mod comparing;
mod damaged;
mod demo;
mod dirty;
mod field;
mod formats;
mod journal;
mod money;
mod plan;
mod plugins;
mod reference;
mod refusals;
mod reproducible;
mod several;
mod severity;
mod size;
mod spoiled;
mod support;
mod workbooks;
