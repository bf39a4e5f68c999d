//! Whole calls, built by hand, and what comes out of them.

mod edges;
mod parts;
mod trial;
