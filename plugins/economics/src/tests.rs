//! Whole calls, built by hand, and what comes out of them.

mod call;
mod money;
mod words;
