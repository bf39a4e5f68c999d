//! Which season a record belongs to.
//!
//! A record cut or counted in winter lies between two harvests. The prunings of that winter grew in
//! the season before it; the nodes left in it set the season after it. Which of the two a file's
//! season label names is said once, in the trial file (`winter`), and here it becomes a season.

use caneplot_plugin::request::Quantity;

use crate::trial::Winter;

/// The harvest that a record of a file with winters belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Belongs {
    /// The harvest its label names: what is measured in the season itself.
    #[default]
    Label,
    /// The harvest before the winter: prunings, canes.
    Before,
    /// The harvest after the winter: nodes left, buds that survived or broke.
    After,
}

/// The harvest a quantity belongs to; `None` where its nature does not say. Crop, fruit and foliage
/// are never records of winter, so that a sheet with crop and prunings side by side keeps the crop
/// in its season.
#[must_use]
pub fn belongs(quantity: Quantity) -> Option<Belongs> {
    Some(match quantity {
        Quantity::NodesLeft | Quantity::BudSurvival | Quantity::BudBreak => Belongs::After,
        Quantity::PruningWeight | Quantity::CaneCount => Belongs::Before,
        Quantity::Labour | Quantity::Other => return None,
        Quantity::Yield
        | Quantity::ClusterCount
        | Quantity::BerryWeight
        | Quantity::BerryCount
        | Quantity::SolubleSolids
        | Quantity::Ph
        | Quantity::TitratableAcidity
        | Quantity::ShootCount
        | Quantity::LeafArea => Belongs::Label,
    })
}

/// Whether a quantity is recorded in winter by its nature, so that its season label can be read
/// two ways.
#[must_use]
pub fn is_dormant(quantity: Quantity) -> bool {
    matches!(
        quantity,
        Quantity::PruningWeight | Quantity::CaneCount | Quantity::NodesLeft | Quantity::BudSurvival
    )
}

/// Seasons from the label in the file to the season the record belongs to.
#[must_use]
pub fn shift(winter: Option<Winter>, belongs: Belongs) -> i64 {
    match (winter, belongs) {
        (None, _) | (_, Belongs::Label) => 0,
        (Some(Winter::AfterHarvest), Belongs::Before) => 0,
        (Some(Winter::AfterHarvest), Belongs::After) => 1,
        (Some(Winter::BeforeHarvest), Belongs::Before) => -1,
        (Some(Winter::BeforeHarvest), Belongs::After) => 0,
    }
}

/// A season label some seasons later: "2021" and 1 give "2022", "2021/22" gives "2022/23". `None`
/// where the label is neither a whole number (with words before it) nor two years that follow each
/// other.
#[must_use]
pub fn moved(label: &str, seasons: i64) -> Option<String> {
    if seasons == 0 {
        return Some(label.to_owned());
    }
    let (head, last) = split_number(label)?;
    let Some(separator) = head.strip_suffix(['/', '-', '\u{2013}']) else {
        let words = !head.contains(|letter: char| letter.is_ascii_digit());
        return words.then(|| Some(format!("{head}{}", later(last, seasons)?)))?;
    };
    let (words, first) = split_number(separator)?;
    let follows = later(first, 1)?;
    if words.contains(|letter: char| letter.is_ascii_digit()) || !follows.ends_with(last) {
        return None;
    }
    let between = &head[separator.len()..];
    let second = later(&follows, seasons)?;
    let second = &second[second.len().saturating_sub(last.len())..];
    Some(format!(
        "{words}{}{between}{second}",
        later(first, seasons)?
    ))
}

/// The text before a number at the end, and the number's digits.
fn split_number(text: &str) -> Option<(&str, &str)> {
    let head = text.trim_end_matches(|letter: char| letter.is_ascii_digit());
    (head.len() < text.len()).then(|| text.split_at(head.len()))
}

fn later(digits: &str, seasons: i64) -> Option<String> {
    let number: i64 = digits.parse().ok()?;
    let moved = number.checked_add(seasons).filter(|number| *number >= 0)?;
    Some(format!("{moved:0width$}", width = digits.len()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_winter_named_either_way_is_the_same_season() {
        // Winter 2021/22: "2021" where the label means the harvest before, "2022" the one after.
        for quantity in [
            Quantity::PruningWeight,
            Quantity::NodesLeft,
            Quantity::CaneCount,
        ] {
            let belongs = belongs(quantity).unwrap();
            assert_eq!(
                moved("2021", shift(Some(Winter::AfterHarvest), belongs)),
                moved("2022", shift(Some(Winter::BeforeHarvest), belongs)),
            );
        }
        let prunings = shift(Some(Winter::BeforeHarvest), Belongs::Before);
        assert_eq!(moved("2022", prunings).as_deref(), Some("2021"));
    }

    #[test]
    fn labels_of_one_or_two_years_move_and_others_do_not() {
        assert_eq!(moved("2021/22", 1).as_deref(), Some("2022/23"));
        assert_eq!(moved("2099-2100", -1).as_deref(), Some("2098-2099"));
        assert_eq!(moved("1998/99", 1).as_deref(), Some("1999/00"));
        for label in ["first", "2021/25", "B2/9", "3.5"] {
            assert_eq!(moved(label, 1), None, "{label}");
        }
        assert_eq!(moved("year 09", 1).as_deref(), Some("year 10"));
    }
}
