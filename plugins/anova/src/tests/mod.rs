//! Whole calls, built by hand, and what comes out of them.

mod designs;
mod edges;
mod render;
mod trial;
