//! placeholder

/// A unit of measurement.
#[derive(Debug, Clone, PartialEq)]
pub struct Unit;
