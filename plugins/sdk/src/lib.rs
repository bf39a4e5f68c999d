//! The contract between caneplot and its analysis plugins.

mod builders;
pub mod call;
pub mod findings;
pub mod manifest;
pub mod request;

pub use call::{Analysis, Call, Data, Refusal, Table};
pub use findings::Findings;
pub use manifest::Manifest;
pub use request::Request;
