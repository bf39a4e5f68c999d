//! Trials that cannot be analysed, or hardly: each analysis says what is wrong, where, and what to do,
//! and the rest of the report is there.
//!
//! A trial here holds many responses, each spoilt in a way of its own, so that one run shows what
//! every analysis makes of all of them. `outcome::complete` looks at what every report keeps to.

mod field;
mod layouts;
mod outcome;
mod values;

use field::{At, Field, typed};

const BLOCKS: [&str; 4] = ["B1", "B2", "B3", "B4"];
const LEVELS: [&str; 3] = ["12", "24", "36"];

/// Every analysis; fewer arrangements than usual, since their number is not what is looked at.
const ALL: &str = "anova = {}\nmixed = {}\nresponse = {}\ncounts = {}\nratios = {}\ncomponents = {}\n\
    evenness = {}\nseasons = {}\nrandomisation = { arrangements = 199 }\n";

/// Whether a record is of the block and level named.
fn is(at: &At, block: usize, level: &str) -> bool {
    at.block == block && at.levels[0] == level
}

/// A value in some blocks this season and in the others the next: no plot has every season.
fn by_turns(at: &At, value: String) -> String {
    if (at.block + at.season).is_multiple_of(2) {
        value
    } else {
        String::new()
    }
}

/// A whole number of clusters that follows the amount.
fn clusters(at: &At) -> String {
    format!("{:.0}", 1.4 * at.amount() + 3.0 * at.noise.abs())
}

/// Crop, prunings, clusters, bud break and Brix in which nothing is wrong, for trials whose layout is.
fn usual(field: Field) -> Field {
    field
        .usual()
        .response("clusters", "unit = \"clusters/vine\"", clusters)
        .response("brix", "unit = \"Brix\"", |at| {
            typed(22.0 - at.amount() / 40.0 + 0.5 * at.noise)
        })
        .count(
            "bud_break",
            ("broken", |at| {
                at.amount() as u32 - 1 - (at.noise.abs() * 2.0).min(4.0) as u32
            }),
            ("left", |at| at.amount() as u32),
        )
}
