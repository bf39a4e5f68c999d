//! Trials that cannot be analysed, or hardly: each analysis says what is wrong, where, and what to do,
//! and the rest of the report is there.
//!
//! A trial here holds many responses, each spoilt in a way of its own, so that one run shows what
//! every analysis makes of all of them. [`complete`] looks at what every report keeps to.

mod field;
mod outcome;

use field::{At, Field, typed};
use outcome::{Outcome, complete, refused_before, sentences};

const BLOCKS: [&str; 4] = ["B1", "B2", "B3", "B4"];
const LEVELS: [&str; 3] = ["12", "24", "36"];

/// Every analysis; fewer arrangements than usual, since their number is not what is looked at.
const ALL: &str = "anova = {}\nmixed = {}\nresponse = {}\ncounts = {}\nratios = {}\ncomponents = {}\n\
    evenness = {}\nseasons = {}\nrandomisation = { arrangements = 199 }\n";

/// Every analysis of plot values of one season.
const ONE_SEASON: &str = "anova = {}\nmixed = {}\nresponse = {}\ncounts = {}\nratios = {}\n\
    components = {}\nrandomisation = { arrangements = 199 }\n";
