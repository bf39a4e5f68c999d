//! The plugin from call to findings, each call built by hand.

mod call;
mod intervals;
mod judging;
mod output;
mod published;
