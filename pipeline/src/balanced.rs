//! Rules of balanced pruning as people write them: "20 + 10 per lb", "20 + 20 per 0.5 kg",
//! "44 per kg". What they give is in `caneplot_plugin::balanced`.

use caneplot_plugin::balanced::{Light, PruningRule};

use crate::trial::unit::Dimension;
use crate::trial::{Unit, Vineyard};

/// More nodes than a rule can mean for one unit of prunings.
const MOST_NODES: f64 = 1000.0;

/// A rule's line; what vines below one unit get is said beside it.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// As it is printed.
    pub words: String,
    /// Nodes for the first unit.
    pub first: f64,
    /// Nodes for each further unit.
    pub further: f64,
    /// Kilograms of a unit.
    pub unit_kg: f64,
    /// A constant ratio, which leaves small vines their share.
    pub is_ratio: bool,
}

/// Why a text is no rule.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum LineError {
    /// Occurs when no weight of prunings is named.
    #[error("'{0}' does not say per which weight of prunings")]
    NoWeight(String),
    /// Occurs when what stands for a number of nodes is none.
    #[error("'{0}' is not a number of nodes between 0 and 1000")]
    NoNodes(String),
    /// Occurs when the weight is none.
    #[error("'{0}' is not a weight of prunings")]
    NotAWeight(String),
}

impl LineError {
    /// What to do about it.
    #[must_use]
    pub fn help(&self) -> &'static str {
        match self {
            LineError::NotAWeight(_) => "write a weight in kg, g, lb or oz, as in \"0.5 kg\"",
            _ => {
                "write \"20 + 10 per lb\" (20 nodes for the first pound of prunings and 10 for each \
                 further one), \"20 + 20 per 0.5 kg\", or \"44 per kg\" for a constant ratio"
            }
        }
    }
}

impl Line {
    /// The line a text means.
    ///
    /// # Errors
    /// The text is no line of this form.
    pub fn parse(text: &str) -> Result<Self, LineError> {
        let words = text.split_whitespace().collect::<Vec<_>>().join(" ");
        let Some((nodes, weight)) = words.split_once(" per ") else {
            return Err(LineError::NoWeight(words));
        };
        let unit_kg = kilograms(weight)?;
        let (first, further) = match nodes.split_once('+') {
            Some((first, further)) => (number(first)?, number(further)?),
            None => (number(nodes)?, number(nodes)?),
        };
        Ok(Self {
            first,
            further,
            unit_kg,
            is_ratio: !nodes.contains('+'),
            words,
        })
    }

    /// The whole rule.
    #[must_use]
    pub fn rule(self, light: Light, least: Option<f64>, most: Option<f64>) -> PruningRule {
        PruningRule {
            words: self.words,
            first: self.first,
            further: self.further,
            unit_kg: self.unit_kg,
            light,
            least,
            most,
        }
    }
}

fn number(text: &str) -> Result<f64, LineError> {
    let fault = || LineError::NoNodes(text.trim().to_owned());
    let number: f64 = text.trim().parse().map_err(|_| fault())?;
    if (0.0..=MOST_NODES).contains(&number) {
        Ok(number)
    } else {
        Err(fault())
    }
}

/// The kilograms of a weight: "lb", "0.5 kg", "500 g".
///
/// # Errors
/// The text is no weight above zero.
pub fn kilograms(text: &str) -> Result<f64, LineError> {
    let fault = || LineError::NotAWeight(text.trim().to_owned());
    let text = text.trim();
    let end = text
        .find(|c: char| !(c.is_ascii_digit() || c == '.'))
        .unwrap_or(text.len());
    let (amount, unit) = text.split_at(end);
    let amount: f64 = if amount.is_empty() {
        1.0
    } else {
        amount.parse().map_err(|_| fault())?
    };
    let unit = Unit::parse(unit).map_err(|_| fault())?;
    let kilogram = Unit::parse("kg").map_err(|_| fault())?;
    let is_mass = unit.dimension() == Dimension::Mass;
    let factor = unit
        .factor_to(&kilogram, &Vineyard::default())
        .map_err(|_| fault())?;
    let weight = amount * factor;
    if is_mass && weight > 0.0 && weight.is_finite() {
        Ok(weight)
    } else {
        Err(fault())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_read_with_their_weights() {
        let line = Line::parse("20 + 10 per lb").unwrap();
        assert_eq!(
            (line.first, line.further, line.is_ratio),
            (20.0, 10.0, false)
        );
        // 1 lb (International Yard and Pound Agreement, 1959).
        assert!((line.unit_kg - 0.453_592_37).abs() < 1e-15);
        let line = Line::parse("20+20  per 0.5 kg").unwrap();
        assert_eq!(
            (line.unit_kg, line.words.as_str()),
            (0.5, "20+20 per 0.5 kg")
        );
        let ratio = Line::parse("44 per kg").unwrap();
        assert!(ratio.is_ratio && ratio.first == 44.0 && ratio.further == 44.0);
        assert!((kilograms("16 oz").unwrap() - 0.453_592_37).abs() < 1e-12);
        assert_eq!(kilograms("250 g").unwrap(), 0.25);
    }

    #[test]
    fn what_is_no_rule_is_said() {
        use LineError::{NoNodes, NoWeight, NotAWeight};
        assert!(matches!(Line::parse("20 + 10"), Err(NoWeight(_))));
        assert!(matches!(Line::parse("20 + ten per lb"), Err(NoNodes(_))));
        assert!(matches!(Line::parse("-20 + 10 per lb"), Err(NoNodes(_))));
        for weight in ["vine", "0 kg", "ton", "kg/vine", "3", "", "1.2.3 kg"] {
            let fault = Line::parse(&format!("20 + 10 per {weight} "));
            assert!(
                matches!(fault, Err(NotAWeight(_) | NoWeight(_))),
                "{weight}: {fault:?}"
            );
        }
    }
}
