//! The arithmetic of what a treatment is worth.
//!
//! `budget` sets gains against losses, `capital` spreads what is paid once over the years it serves,
//! `even` finds where a gain turns into a loss, `marginal` follows net benefits as costs rise,
//! `chances` draws how sure all that is. Sums have no currency here and areas no unit.

pub mod budget;
pub mod capital;
pub mod chances;
pub mod even;
pub mod marginal;
