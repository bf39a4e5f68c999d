//! Whole calls, built by hand, and what comes out of them.

mod edges;
mod render;
mod results;
mod strata;
mod trial;
