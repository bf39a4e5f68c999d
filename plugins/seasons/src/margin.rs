//! Margins of equivalence as they are written: "yield 10 %; brix 0.5".

use caneplot_plugin::request::Response;
use caneplot_plugin::{Refusal, words};

/// How far from the control is still equivalent.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Margin {
    /// A share of the control's mean: 0.1 for 10 %.
    Share(f64),
    /// So many units of the response.
    Amount(f64),
}

impl Margin {
    /// The margin in units, given the control's mean; `None` for a share of a mean that is not above
    /// zero.
    pub fn amount(self, control: f64) -> Option<f64> {
        match self {
            Margin::Share(share) => (control > 0.0).then_some(share * control),
            Margin::Amount(amount) => Some(amount),
        }
    }
}

/// Reads margins: a name and a number each, with "%" or the unit of the response behind it.
pub(crate) fn read(text: &str, known: &[Response]) -> Result<Vec<(String, Margin)>, Refusal> {
    let mut margins: Vec<(String, Margin)> = Vec::new();
    for part in text
        .split(';')
        .map(str::trim)
        .filter(|part| !part.is_empty())
    {
        let (name, margin) = one(part, known)?;
        if margins.iter().any(|(other, _)| *other == name) {
            return Err(wrong(part, &format!("'{name}' has a margin already")));
        }
        margins.push((name, margin));
    }
    if margins.is_empty() {
        return Err(wrong(text, "there is no margin in it"));
    }
    Ok(margins)
}

fn one(part: &str, known: &[Response]) -> Result<(String, Margin), Refusal> {
    let (name, rest) = part
        .split_once(|c: char| c.is_whitespace() || c == '=' || c == ':')
        .ok_or_else(|| wrong(part, "it is not a name of a response and a number"))?;
    let Some(response) = known.iter().find(|response| response.name == name) else {
        let names: Vec<&str> = known
            .iter()
            .map(|response| response.name.as_str())
            .collect();
        return Err(wrong(
            part,
            &format!(
                "'{name}' is not a response of this trial; there are {}",
                words::list(&names)
            ),
        ));
    };
    let rest = rest.trim_start_matches(|c: char| c.is_whitespace() || c == '=' || c == ':');
    let end = rest
        .find(|c: char| !(c.is_ascii_digit() || c == '.'))
        .unwrap_or(rest.len());
    let (number, unit) = (&rest[..end], rest[end..].trim());
    let value: f64 = number
        .parse()
        .ok()
        .filter(|value: &f64| *value > 0.0 && value.is_finite())
        .ok_or_else(|| {
            wrong(
                part,
                "a margin is a number above zero with a decimal point, such as 0.5",
            )
        })?;
    // A percentage of counts is itself in per cent, so "%" alone would say two things.
    let margin = if unit.is_empty() {
        Margin::Amount(value)
    } else if unit == "%" && response.unit == "%" {
        return Err(wrong(
            part,
            "this response is a percentage, so that '%' may mean points or a share of the control: write the bare number for points",
        ));
    } else if unit == "%" && value < 100.0 {
        Margin::Share(value / 100.0)
    } else if unit == "%" {
        return Err(wrong(part, "a margin of 100 % or more rules nothing out"));
    } else if unit == response.unit || unit == response.unit.trim_start_matches('°') {
        Margin::Amount(value)
    } else {
        return Err(wrong(
            part,
            &format!(
                "'{unit}' is not the unit of '{name}': write \"{name} {number} %\", or the number in {}",
                if response.unit.is_empty() {
                    "its unit"
                } else {
                    &response.unit
                }
            ),
        ));
    };
    Ok((response.name.clone(), margin))
}

fn wrong(part: &str, why: &str) -> Refusal {
    Refusal::new(format!("the margin \"{part}\" is not understood: {why}"))
        .hint("write, for example, margin = \"yield 10 %; brix 0.5\" for the analysis 'seasons'")
}
