//! Whole calls, built by hand, and what comes out of them.

mod dates;
mod edges;
mod spread;
mod trial;
