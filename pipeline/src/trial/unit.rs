//! Units: what a number measures, per what, and the exact factor to another unit.
//!
//! A unit is a dimension (a mass, a count of clusters …) over a basis (a vine, a length of canopy,
//! an area of ground …). Two units of one dimension convert by exact factors; two bases convert
//! through the geometry of the vineyard, and where that lacks a length the error names it.
//!
//! `unit/atoms.rs` holds the words and sizes, `unit/names.rs` reads them, `unit/length.rs` reads lengths such as "2.4 m",
//! `unit/quotient.rs` finds the unit of a ratio.

use std::fmt;

use super::Vineyard;

mod atoms;
mod error;
mod length;
mod names;
mod quotient;

pub use error::UnitError;
pub use length::Length;
pub use quotient::Quotient;

/// What a unit measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Dimension {
    /// A mass; factors are to the gram.
    Mass,
    /// A length; factors are to the millimetre.
    Length,
    /// An area; factors are to the square centimetre.
    Area,
    /// A volume; factors are to the millilitre.
    Volume,
    /// A time; factors are to the minute.
    Time,
    /// Things counted, named in the plural ("clusters"); empty where the unit does not say which.
    Count(&'static str),
    /// A share; factors are to the per cent.
    Fraction,
    /// Soluble solids in degrees Brix.
    SolubleSolids,
    /// pH.
    Ph,
    /// A temperature in degrees, of which no two scales are multiples of each other.
    Temperature(Degrees),
    /// A score or an index without a unit.
    Plain,
}

/// Scales of temperature.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Degrees {
    /// Celsius.
    Celsius,
    /// Fahrenheit.
    Fahrenheit,
}

/// What a unit is reckoned per.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Per {
    /// Nothing: a size or a concentration by itself.
    Nothing,
    /// A vine.
    Vine,
    /// A plot.
    Plot,
    /// A length of canopy (fruiting wire); factors are to the millimetre.
    Canopy,
    /// An area of ground; factors are to the square centimetre.
    Ground,
    /// A mass; factors are to the gram.
    Mass,
    /// A volume; factors are to the millilitre.
    Volume,
    /// A thing counted, named in the plural.
    Thing(&'static str),
}

/// A unit of measurement.
#[derive(Debug, Clone, PartialEq)]
pub struct Unit {
    dimension: Dimension,
    per: Per,
    /// One of the unit above the line in its dimension's base unit.
    above: f64,
    /// One of the unit below the line in its basis' base unit.
    below: f64,
    printed: String,
}

impl Unit {
    /// The unit a text means: "kg/vine", "US ton/acre", "Brix".
    ///
    /// # Errors
    /// The text is no unit, or one that means two things ("ton").
    pub fn parse(text: &str) -> Result<Self, UnitError> {
        names::parse(text)
    }

    /// Per cent.
    #[must_use]
    pub fn percent() -> Self {
        Self {
            dimension: Dimension::Fraction,
            per: Per::Nothing,
            above: 1.0,
            below: 1.0,
            printed: "%".to_owned(),
        }
    }

    /// What it measures.
    #[must_use]
    pub fn dimension(&self) -> Dimension {
        self.dimension
    }

    /// Per what.
    #[must_use]
    pub fn per(&self) -> Per {
        self.per
    }

    /// Whether it is reckoned per vine.
    #[must_use]
    pub fn is_per_vine(&self) -> bool {
        self.per == Per::Vine
    }

    /// Whether it is the day, which numbers days of a year or from a start.
    #[must_use]
    pub fn is_day(&self) -> bool {
        self.dimension == Dimension::Time && self.per == Per::Nothing && self.printed == "day"
    }

    /// Whether a sum over vines means something: masses, counts, areas and minutes a vine or a plot
    /// do; a concentration, a percentage or a berry's weight does not.
    #[must_use]
    pub fn is_extensive(&self) -> bool {
        matches!(self.per, Per::Vine | Per::Plot)
            || (self.per == Per::Nothing && matches!(self.dimension, Dimension::Count(_)))
    }

    /// Factor that turns a number in this unit into one in `other`.
    ///
    /// # Errors
    /// The units measure different things, or the vineyard lacks the length the way leads through.
    pub fn factor_to(&self, other: &Unit, vineyard: &Vineyard) -> Result<f64, UnitError> {
        if !same_dimension(self.dimension, other.dimension) {
            return Err(self.different(other));
        }
        let (mut above, mut below) = (self.above * other.below, self.below * other.above);
        if self.per != other.per {
            above *= self.per_vine(other, self.per, vineyard)?;
            below *= self.per_vine(other, other.per, vineyard)?;
        }
        Ok(above / below)
    }

    /// How much of the basis `per` belongs to one vine, in the basis' base unit.
    fn per_vine(&self, other: &Unit, per: Per, vineyard: &Vineyard) -> Result<f64, UnitError> {
        let given = |length: Option<f64>, missing: &'static str| {
            length.ok_or_else(|| UnitError::Geometry {
                from: self.to_string(),
                to: other.to_string(),
                missing,
            })
        };
        match per {
            Per::Vine => Ok(1.0),
            Per::Plot => {
                let vines = given(vineyard.vines_per_plot.map(f64::from), "vines_per_plot")?;
                Ok(1.0 / vines)
            }
            Per::Canopy => Ok(1000.0 * given(vineyard.canopy_per_vine_m, "canopy_per_vine")?),
            Per::Ground => Ok(10_000.0
                * given(vineyard.row_spacing_m, "row_spacing")?
                * given(vineyard.vine_spacing_m, "vine_spacing")?),
            Per::Nothing | Per::Mass | Per::Volume | Per::Thing(_) => Err(self.different(other)),
        }
    }

    fn different(&self, other: &Unit) -> UnitError {
        UnitError::Different {
            from: self.to_string(),
            to: other.to_string(),
            why: format!(
                "the first is {}, the second {}",
                self.measured(),
                other.measured()
            ),
        }
    }

    /// What the unit measures, in words: "a mass per vine".
    #[must_use]
    pub fn measured(&self) -> String {
        let what = match self.dimension {
            Dimension::Mass => "a mass".to_owned(),
            Dimension::Length => "a length".to_owned(),
            Dimension::Area => "an area".to_owned(),
            Dimension::Volume => "a volume".to_owned(),
            Dimension::Time => "a time".to_owned(),
            Dimension::Count("") => "a count".to_owned(),
            Dimension::Count(things) => format!("a count of {things}"),
            Dimension::Fraction => "a share".to_owned(),
            Dimension::SolubleSolids => "soluble solids".to_owned(),
            Dimension::Ph => "a pH".to_owned(),
            Dimension::Temperature(Degrees::Celsius) => "a temperature in Celsius".to_owned(),
            Dimension::Temperature(Degrees::Fahrenheit) => "a temperature in Fahrenheit".to_owned(),
            Dimension::Plain => "a plain number".to_owned(),
        };
        match self.per {
            Per::Nothing => what,
            Per::Vine => format!("{what} per vine"),
            Per::Plot => format!("{what} per plot"),
            Per::Canopy => format!("{what} per length of canopy"),
            Per::Ground => format!("{what} per area of ground"),
            Per::Mass => format!("{what} per mass"),
            Per::Volume => format!("{what} per volume"),
            Per::Thing(things) => format!("{what} per {}", names::singular(things)),
        }
    }
}

impl fmt::Display for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.printed)
    }
}

impl std::str::FromStr for Unit {
    type Err = UnitError;

    fn from_str(text: &str) -> Result<Self, UnitError> {
        Self::parse(text)
    }
}

/// Whether two dimensions are one; a count that does not say of what fits any count.
fn same_dimension(one: Dimension, other: Dimension) -> bool {
    match (one, other) {
        (Dimension::Count(a), Dimension::Count(b)) => a == b || a.is_empty() || b.is_empty(),
        _ => one == other,
    }
}

#[cfg(test)]
mod tests;
