//! The plugin from call to findings, each call built by hand.

mod call;
mod intervals;
mod judging;
mod logs;
mod others;
mod output;
mod published;
