//! Results in another unit.

use caneplot_plugin::estimates::Estimates;

use crate::trial::{Unit, Vineyard};

/// The factor from one unit to another: without a vineyard's lengths, so that nothing is converted by
/// the spacing of another trial.
///
/// # Errors
/// Why there is none, in words.
pub fn factor(from: &str, to: &str) -> Result<f64, String> {
    if from == to {
        return Ok(1.0);
    }
    let parsed = |text: &str| Unit::parse(text).map_err(|error| error.to_string());
    between(&parsed(from)?, &parsed(to)?)
}

/// The same for units that are known.
///
/// # Errors
/// Why there is none, in words.
pub fn between(from: &Unit, to: &Unit) -> Result<f64, String> {
    from.factor_to(to, &Vineyard::default())
        .map_err(|error| error.to_string())
}

/// Results with every number times a factor.
#[must_use]
pub fn scaled(estimates: &Estimates, factor: f64, unit: &str) -> Estimates {
    let mut scaled = estimates.clone();
    unit.clone_into(&mut scaled.unit);
    for one in &mut scaled.treatments {
        one.value *= factor;
        for number in [&mut one.standard_error, &mut one.low, &mut one.high] {
            *number = number.map(|number| number * factor);
        }
    }
    for number in &mut scaled.covariance {
        *number *= factor * factor;
    }
    for one in &mut scaled.differences {
        for number in [
            &mut one.value,
            &mut one.standard_error,
            &mut one.low,
            &mut one.high,
        ] {
            *number *= factor;
        }
    }
    for range in &mut scaled.ranges {
        range.low *= factor;
        range.high *= factor;
    }
    scaled
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_convert_exactly_or_say_why_not() {
        // exact: the international pound is 0.453 592 37 kg
        assert!((factor("lb/vine", "kg/vine").unwrap() - 0.453_592_37).abs() < 1e-15);
        assert_eq!(factor("kg per kg", "kg per kg"), Ok(1.0));
        assert!(factor("t/ha", "kg/vine").is_err());
        assert!(factor("pH", "kg/vine").is_err());
    }
}
