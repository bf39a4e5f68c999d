//! What a manifest must keep beyond its types, and whether a value fits an option.

use serde_json::Value as Json;

use crate::manifest::{Manifest, OptionKind};

/// Whether a name can be a plugin's or an option's: `[a-z][a-z0-9_]*`.
#[must_use]
pub fn is_name(name: &str) -> bool {
    name.starts_with(|c: char| c.is_ascii_lowercase())
        && name
            .chars()
            .all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_')
}

impl Manifest {
    /// Reads a manifest and checks it.
    ///
    /// # Errors
    /// A sentence: not JSON, a member unknown or missing, or a fault found by [`Manifest::check`].
    pub fn read(json: &str) -> Result<Self, String> {
        let manifest: Self = serde_json::from_str(json).map_err(|error| error.to_string())?;
        manifest.check()?;
        Ok(manifest)
    }

    /// Checks names, ranges and defaults.
    ///
    /// # Errors
    /// A sentence about the first fault.
    pub fn check(&self) -> Result<(), String> {
        if !is_name(&self.name) {
            return Err(format!(
                "the name '{}' is not a small letter followed by a-z, 0-9 and _",
                self.name
            ));
        }
        for (what, text) in [("version", &self.version), ("purpose", &self.purpose)] {
            if text.trim().is_empty() || text.contains('\n') {
                return Err(format!("the {what} is not one line of text"));
            }
        }
        for (index, option) in self.options.iter().enumerate() {
            let name = &option.name;
            if !is_name(name) {
                return Err(format!(
                    "the option '{name}' is not a small letter followed by a-z, 0-9 and _"
                ));
            }
            if self.options[..index]
                .iter()
                .any(|other| other.name == *name)
            {
                return Err(format!("the option '{name}' stands twice"));
            }
            option
                .kind
                .check()
                .map_err(|fault| format!("the option '{name}' {fault}"))?;
            if !option.default.is_null() {
                option.kind.fits(&option.default).map_err(|wanted| {
                    format!("the default of the option '{name}' is not {wanted}")
                })?;
            }
        }
        Ok(())
    }
}

impl OptionKind {
    fn check(&self) -> Result<(), &'static str> {
        match self {
            OptionKind::Number {
                min: Some(min),
                max: Some(max),
            } if min > max => Err("has a smallest value above its largest"),
            OptionKind::Integer {
                min: Some(min),
                max: Some(max),
            } if min > max => Err("has a smallest value above its largest"),
            OptionKind::Choice { of } if of.is_empty() => Err("has no words to choose from"),
            _ => Ok(()),
        }
    }

    /// Whether a value is of this kind and in its range.
    ///
    /// # Errors
    /// What is wanted instead, as [`OptionKind::wanted`] says it.
    pub fn fits(&self, value: &Json) -> Result<(), String> {
        let fits = match self {
            OptionKind::Number { min, max } => value.as_f64().is_some_and(|number| {
                min.is_none_or(|min| number >= min) && max.is_none_or(|max| number <= max)
            }),
            OptionKind::Integer { min, max } => value.as_i64().is_some_and(|number| {
                min.is_none_or(|min| number >= min) && max.is_none_or(|max| number <= max)
            }),
            OptionKind::Boolean => value.is_boolean(),
            OptionKind::Choice { of } => value
                .as_str()
                .is_some_and(|word| of.iter().any(|known| known == word)),
            OptionKind::Text => value.is_string(),
            OptionKind::Responses => value
                .as_array()
                .is_some_and(|names| names.iter().all(Json::is_string)),
        };
        if fits { Ok(()) } else { Err(self.wanted()) }
    }

    /// What a value must be, in words: "a number from 0 to 1", "one of lsd, tukey".
    #[must_use]
    pub fn wanted(&self) -> String {
        match self {
            OptionKind::Number { min, max } => format!("a number{}", range(*min, *max)),
            OptionKind::Integer { min, max } => format!("a whole number{}", range(*min, *max)),
            OptionKind::Boolean => "true or false".to_owned(),
            OptionKind::Choice { of } => format!("one of {}", of.join(", ")),
            OptionKind::Text => "a text".to_owned(),
            OptionKind::Responses => "a list of names of responses".to_owned(),
        }
    }
}

fn range<T: std::fmt::Display>(min: Option<T>, max: Option<T>) -> String {
    match (min, max) {
        (Some(min), Some(max)) => format!(" from {min} to {max}"),
        (Some(min), None) => format!(" of at least {min}"),
        (None, Some(max)) => format!(" of at most {max}"),
        (None, None) => String::new(),
    }
}
