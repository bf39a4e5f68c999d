//! Plots in words: the one place that builds them.

/// A plot with the places that tell it from others of its name: "plot 3 of block B1".
///
/// A place that the name of the plot begins with is not said again: plot "B1/12" needs no block B1.
#[must_use]
pub fn plot<'a>(name: &str, places: impl Iterator<Item = (&'a str, &'a str)>) -> String {
    let places: Vec<String> = places
        .filter(|(_, value)| !begins_with(name, value))
        .map(|(place, value)| format!("{place} {value}"))
        .collect();
    if places.is_empty() {
        format!("plot {name}")
    } else {
        format!("plot {name} of {}", places.join(", "))
    }
}

/// Whether a name is a place, a mark that parts words, and something more.
fn begins_with(name: &str, place: &str) -> bool {
    let rest = name.strip_prefix(place).filter(|_| !place.is_empty());
    let mut rest = rest.unwrap_or_default().chars();
    rest.next().is_some_and(|mark| !mark.is_alphanumeric()) && rest.any(char::is_alphanumeric)
}

#[cfg(test)]
mod tests {
    use super::plot;

    #[test]
    fn a_block_that_the_name_begins_with_is_said_once() {
        let in_block = |name, block| plot(name, [("block", block)].into_iter());
        assert_eq!(in_block("B1/12", "B1"), "plot B1/12");
        assert_eq!(in_block("2-8", "2"), "plot 2-8");
        assert_eq!(in_block("B1_P1", "B1"), "plot B1_P1");
        for (name, block) in [
            ("12", "1"),
            ("B12", "B1"),
            ("1", "1"),
            ("8-2", "2"),
            ("B1.", "B1"),
        ] {
            assert_eq!(
                in_block(name, block),
                format!("plot {name} of block {block}")
            );
        }
    }

    #[test]
    fn places_that_are_not_in_the_name_stay() {
        let places = [("row", "R1"), ("column", "2")];
        assert_eq!(plot("R1/2", places.into_iter()), "plot R1/2 of column 2");
        assert_eq!(plot("7", [].into_iter()), "plot 7");
    }
}
