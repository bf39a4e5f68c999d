//! The plugin from call to findings.

mod call;
mod output;
