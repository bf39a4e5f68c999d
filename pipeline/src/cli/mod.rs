//! The command line: one file a command.

pub mod plugins;
pub mod worker;
