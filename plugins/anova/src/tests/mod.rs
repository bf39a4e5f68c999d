//! Whole calls, built by hand, and what comes out of them.

mod designs;
mod edges;
mod estimates;
mod factorial;
mod scale;
mod trial;
