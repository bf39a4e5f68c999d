//! The unit of a ratio of two responses.

use super::names::singular;
use super::{Dimension, Per, Unit, UnitError};
use crate::trial::Vineyard;

/// The unit of a ratio and the factor to it.
#[derive(Debug, Clone, PartialEq)]
pub struct Quotient {
    /// As it prints: "kg/kg", "g", "m²/kg".
    pub unit: String,
    /// Turns (number in the unit above)/(number in the unit below) into `unit`.
    pub scale: f64,
}

impl Unit {
    /// The unit of a number in this unit over one in `below`: the trade's own where there is one
    /// (kg/kg, g a cluster, m²/kg), else both units in words.
    ///
    /// # Errors
    /// The two have different bases and the vineyard lacks the length between them.
    pub fn over(&self, below: &Unit, vineyard: &Vineyard) -> Result<Quotient, UnitError> {
        let Some(bases) = self.common_basis(below, vineyard)? else {
            return Ok(Quotient {
                unit: format!("{self} per {below}"),
                scale: 1.0,
            });
        };
        // Above and below without their basis, in base units.
        let whole = bases * (self.above * below.below) / (self.below * below.above);
        let quotient = |unit: String, one: f64| Quotient {
            unit,
            scale: whole / one,
        };
        Ok(match (self.dimension, below.dimension) {
            (Dimension::Mass, Dimension::Mass) => {
                let (upper, lower) = (self.upper_text(), below.upper_text());
                if upper == lower && upper != "t" && upper != "US ton" {
                    quotient(format!("{upper}/{lower}"), 1.0)
                } else {
                    quotient("kg/kg".to_owned(), 1.0)
                }
            }
            (Dimension::Mass, Dimension::Count(_)) => quotient("g".to_owned(), 1.0),
            (Dimension::Area, Dimension::Mass) => quotient("m²/kg".to_owned(), 10.0),
            (Dimension::Area, Dimension::Count(_)) => quotient("cm²".to_owned(), 1.0),
            (Dimension::Count(above), Dimension::Count(things)) => {
                quotient(counts(above, things), 1.0)
            }
            (Dimension::Count(things), Dimension::Mass) => {
                let things = if things.is_empty() { "count" } else { things };
                quotient(format!("{things}/kg"), 1e-3)
            }
            (Dimension::Time, Dimension::Mass) => quotient("min/kg".to_owned(), 1e-3),
            _ => Quotient {
                unit: format!("{self} per {below}"),
                scale: 1.0,
            },
        })
    }

    /// The same as [`Unit::over`], in the unit wished for.
    ///
    /// # Errors
    /// As there, or the ratio cannot be had in that unit.
    pub fn over_in(
        &self,
        below: &Unit,
        wished: &Unit,
        vineyard: &Vineyard,
    ) -> Result<Quotient, UnitError> {
        let refused = || UnitError::Different {
            from: format!("{self} over {below}"),
            to: wished.to_string(),
            why: "the ratio measures something else".to_owned(),
        };
        let Some(bases) = self.common_basis(below, vineyard)? else {
            return Err(refused());
        };
        let per = match below.dimension {
            Dimension::Mass => Per::Mass,
            Dimension::Volume => Per::Volume,
            Dimension::Area => Per::Ground,
            Dimension::Length => Per::Canopy,
            Dimension::Count(things) => Per::Thing(things),
            _ => return Err(refused()),
        };
        let share = self.dimension == below.dimension
            && matches!(wished.dimension, Dimension::Plain | Dimension::Fraction)
            && wished.per == Per::Nothing;
        let fits = super::same_dimension(self.dimension, wished.dimension)
            && (wished.per == per
                || (matches!(per, Per::Thing(_)) && wished.per == Per::Nothing)
                || matches!((per, wished.per), (Per::Thing(""), Per::Thing(_))));
        let whole = bases * (self.above * below.below) / (self.below * below.above);
        let one = match (share, fits) {
            (true, _) if wished.dimension == Dimension::Plain => 1.0,
            // A share is held in per cent.
            (true, _) => wished.above / 100.0,
            (false, true) => wished.above / wished.below,
            (false, false) => return Err(refused()),
        };
        Ok(Quotient {
            unit: wished.to_string(),
            scale: whole / one,
        })
    }

    /// Factor that brings a number in this unit to the basis of `below`, in base units; `None` where
    /// their bases have nothing to do with each other.
    fn common_basis(&self, below: &Unit, vineyard: &Vineyard) -> Result<Option<f64>, UnitError> {
        if self.per == below.per {
            return Ok(Some(1.0));
        }
        // A count without a basis stands for a vine's, as does anything a field sheet counts.
        let basis = |unit: &Unit| match (unit.per, unit.dimension) {
            (Per::Nothing, Dimension::Count(_)) => Per::Vine,
            (per, _) => per,
        };
        let (mine, theirs) = (basis(self), basis(below));
        if mine == theirs {
            return Ok(Some(1.0));
        }
        let through = |per: Per| matches!(per, Per::Vine | Per::Plot | Per::Canopy | Per::Ground);
        if !through(mine) || !through(theirs) {
            return Ok(None);
        }
        let from = self.per_vine(below, mine, vineyard)?;
        let to = self.per_vine(below, theirs, vineyard)?;
        Ok(Some(from / to))
    }

    /// What stands above the line.
    fn upper_text(&self) -> &str {
        self.printed.split('/').next().unwrap_or(&self.printed)
    }
}

/// "clusters/shoot", or "count/count" where nothing says what was counted.
fn counts(above: &'static str, below: &'static str) -> String {
    let upper = if above.is_empty() { "count" } else { above };
    let lower = if below.is_empty() {
        "count"
    } else {
        singular(below)
    };
    format!("{upper}/{lower}")
}
