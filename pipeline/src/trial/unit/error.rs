//! What can be wrong with a unit or a length, and what to do about it.

use super::names;

/// Why a unit cannot be read or converted.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum UnitError {
    /// Occurs when the text is no unit we know.
    #[error("'{written}' is not a unit that is known here")]
    Unknown {
        /// As written.
        written: String,
        /// The nearest unit.
        nearest: Option<String>,
    },
    /// Occurs when the text means different units in different places.
    #[error("'{written}' can mean {first} or {second}")]
    Ambiguous {
        /// As written.
        written: String,
        /// One meaning, as it should be written.
        first: &'static str,
        /// Another.
        second: &'static str,
    },
    /// Occurs when the two units measure different things.
    #[error("{from} cannot become {to}: {why}")]
    Different {
        /// From.
        from: String,
        /// To.
        to: String,
        /// What each measures.
        why: String,
    },
    /// Occurs when the geometry lacks what the conversion goes through.
    #[error("{from} can become {to} only through {missing}, which [vineyard] does not give")]
    Geometry {
        /// From.
        from: String,
        /// To.
        to: String,
        /// The key of `[vineyard]` that is missing.
        missing: &'static str,
    },
    /// Occurs when a length has no unit.
    #[error("'{written}' is a length without a unit")]
    Bare {
        /// As written.
        written: String,
    },
    /// Occurs when a text is no length.
    #[error("'{written}' is not a length")]
    NoLength {
        /// As written.
        written: String,
    },
    /// Occurs when a length is zero or negative.
    #[error("a length of '{written}' is impossible here: it must be above zero")]
    NotPositive {
        /// As written.
        written: String,
    },
}

impl UnitError {
    /// What to do about it.
    #[must_use]
    pub fn help(&self) -> String {
        match self {
            UnitError::Unknown {
                nearest: Some(nearest),
                ..
            } => format!("write \"{nearest}\" if that is meant"),
            UnitError::Unknown { nearest: None, .. } => {
                format!("units are written like {}", names::EXAMPLES)
            }
            UnitError::Ambiguous { first, second, .. } => {
                format!("write \"{first}\" or \"{second}\"")
            }
            UnitError::Different { to, .. } => {
                format!("use a unit that measures the same, or a column recorded in {to}")
            }
            UnitError::Geometry { missing, .. } => match *missing {
                "vines_per_plot" => "add vines_per_plot = 5, say, to [vineyard]".to_owned(),
                key => format!("add {key} = \"2.4 m\", say, to [vineyard]"),
            },
            UnitError::Bare { written } => {
                format!("write \"{written} m\" or \"{written} ft\"")
            }
            UnitError::NoLength { .. } | UnitError::NotPositive { .. } => {
                "write a number and a unit, as in \"2.4 m\" or \"8 ft\"".to_owned()
            }
        }
    }
}
