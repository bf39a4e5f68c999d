//! Lengths with their unit, as the geometry of a vineyard is written: "2.4 m", "8 ft".

use super::{Dimension, Per, Unit, UnitError};

/// A length and the unit it was written in.
#[derive(Debug, Clone, PartialEq)]
pub struct Length {
    /// In metres.
    pub metres: f64,
    /// The unit as it prints: "m", "ft".
    pub written_in: String,
}

impl Length {
    /// The length a text means.
    ///
    /// # Errors
    /// The text is no number with a unit of length behind it, or not above zero.
    pub fn parse(text: &str) -> Result<Self, UnitError> {
        let written = text.trim();
        let end = written
            .find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | '-' | '+')))
            .unwrap_or(written.len());
        let (number, unit) = written.split_at(end);
        let Ok(number) = number.parse::<f64>() else {
            return Err(UnitError::NoLength {
                written: written.to_owned(),
            });
        };
        if unit.trim().is_empty() {
            return Err(UnitError::Bare {
                written: written.to_owned(),
            });
        }
        let unit = Unit::parse(unit)?;
        if unit.dimension != Dimension::Length || unit.per != Per::Nothing {
            return Err(UnitError::NoLength {
                written: written.to_owned(),
            });
        }
        if number <= 0.0 {
            return Err(UnitError::NotPositive {
                written: written.to_owned(),
            });
        }
        Ok(Self {
            metres: number * unit.above / 1000.0,
            written_in: unit.printed,
        })
    }
}
