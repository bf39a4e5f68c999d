//! The contract between caneplot and its analysis plugins.
//!
//! A plugin is a `cdylib` with a unit struct that has the trait [`Analysis`] and one line
//! [`export_plugin!`]. It gets tables and a request and returns [`Findings`]; it prints nothing,
//! draws nothing and opens no file. `README.md` in this crate shows how to add one.

pub mod abi;
pub mod balanced;
mod builders;
pub mod call;
pub mod estimates;
pub mod export;
pub mod findings;
mod import;
pub mod manifest;
pub mod manifest_check;
pub mod prices;
pub mod request;
pub mod sentence;
pub mod validate;
pub mod words;

pub use call::{Analysis, Call, Data, Refusal, Table};
pub use export::{note, progress, warn};
pub use findings::Findings;
pub use import::table_from_arrow;
pub use manifest::Manifest;
pub use request::Request;
