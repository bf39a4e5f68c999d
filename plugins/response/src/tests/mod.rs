//! Whole calls, built by hand, and what comes out of them.

mod render;
mod show;
mod trial;
