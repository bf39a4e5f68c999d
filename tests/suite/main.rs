//! The program as its users meet it: demo trials, spoiled trials, reference data, plugins.

mod demo;
mod reference;
mod reproducible;
mod spoiled;
mod support;
