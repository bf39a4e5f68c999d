//! caneplot: a trial folder goes in; a checked data set, the findings of loadable analysis plugins,
//! figures and a report come out.

pub mod check;
pub mod cli;
pub mod decimal;
pub mod derive;
pub mod diagnostic;
pub mod draw;
pub mod host;
pub mod load;
pub mod trial;
pub mod write;
