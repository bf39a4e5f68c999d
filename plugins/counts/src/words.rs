//! The words for what is counted.

use caneplot_plugin::request::{Quantity, Response};

/// How to speak of a count.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Words {
    /// What is counted, plural: "clusters"; for a count out of a total what the total counts.
    pub items: String,
    /// Past tense of what those in the count did: "broke".
    pub did: Option<&'static str>,
    /// Heading of the count: "Broken".
    pub counted: String,
    /// Heading of the total: "Nodes".
    pub total: String,
}

impl Words {
    /// The words for a response.
    #[must_use]
    pub fn of(response: &Response) -> Self {
        let set = |items: &str, did, counted: &str, total: &str| Self {
            items: items.to_owned(),
            did,
            counted: counted.to_owned(),
            total: total.to_owned(),
        };
        if response.is_of_the_stand() {
            return set("vines", Some("were lost"), "Lost", "Planted");
        }
        match response.quantity {
            Quantity::BudBreak => set("nodes", Some("broke"), "Broken", "Nodes"),
            Quantity::BudSurvival => set("buds", Some("survived"), "Alive", "Buds"),
            Quantity::ClusterCount => set("clusters", None, "Clusters", "Vines"),
            Quantity::ShootCount => set("shoots", None, "Shoots", "Vines"),
            Quantity::CaneCount => set("canes", None, "Canes", "Vines"),
            _ => set(&response.label.to_lowercase(), None, "Counted", "Of"),
        }
    }
}

/// Names joined as in a sentence: "a", "a and b", "a, b and c".
#[must_use]
pub fn listed<S: AsRef<str>>(names: &[S]) -> String {
    match names {
        [] => String::new(),
        [one] => one.as_ref().to_owned(),
        [first @ .., last] => {
            let first: Vec<&str> = first.iter().map(AsRef::as_ref).collect();
            format!("{} and {}", first.join(", "), last.as_ref())
        }
    }
}

/// At most `most` names, then how many more there are.
#[must_use]
pub fn some_of(names: &[String], most: usize) -> String {
    if names.len() <= most {
        return listed(names);
    }
    let more = names.len() - most;
    format!("{} and {more} more", names[..most].join(", "))
}

/// Text that may hold braces as the literal text of a statement.
#[must_use]
pub fn literal(text: &str) -> String {
    text.replace('{', "{{").replace('}', "}}")
}

/// Text with a capital first letter.
#[must_use]
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters
        .next()
        .map(|first| first.to_uppercase().chain(letters).collect())
        .unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_join_as_in_a_sentence() {
        assert_eq!(listed(&["a"]), "a");
        assert_eq!(listed(&["a", "b", "c"]), "a, b and c");
        let names: Vec<String> = (1..=5).map(|n| n.to_string()).collect();
        assert_eq!(some_of(&names, 3), "1, 2, 3 and 2 more");
        assert_eq!(capital("bud break"), "Bud break");
        assert_eq!(literal("a{b}"), "a{{b}}");
    }
}
