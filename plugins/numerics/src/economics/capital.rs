//! Money at different times.
//!
//! A sum K paid now is, over n years at interest i, the same as K · i(1+i)ⁿ/((1+i)ⁿ−1) at the end of
//! each year (capital recovery; Park 2013, *Contemporary Engineering Economics*, Pearson); without
//! interest K/n. The value now of a row of yearly sums is Σ Cₜ/(1+i)ᵗ.
//!
//! Refused: interest below 0 or not finite, years that are not above 0.

/// Why a sum cannot be brought to another time.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum CapitalError {
    /// Occurs when interest is negative or not a number.
    #[error("interest of {0} a year (1 being 100 %) cannot be reckoned with")]
    Interest(f64),
    /// Occurs when there are no years to spread over.
    #[error("{0} years are none to spread a sum over")]
    Years(f64),
}

/// Share of a sum paid now that is to be borne at the end of each year of its life.
///
/// ```
/// # use caneplot_numerics::economics::capital::recovery;
/// assert_eq!(recovery(0.0, 20.0), Ok(0.05));
/// ```
///
/// # Errors
/// [`CapitalError`] for impossible interest or years.
pub fn recovery(interest: f64, years: f64) -> Result<f64, CapitalError> {
    if !(years > 0.0 && years.is_finite()) {
        return Err(CapitalError::Years(years));
    }
    if !(interest >= 0.0 && interest.is_finite()) {
        return Err(CapitalError::Interest(interest));
    }
    if interest == 0.0 {
        return Ok(1.0 / years);
    }
    // i / (1 − (1+i)⁻ⁿ), so that small interest loses no digits.
    Ok(interest / -(-years * interest.ln_1p()).exp_m1())
}

/// Value now of sums at the end of year 0 (now), 1, 2, ….
///
/// # Errors
/// [`CapitalError::Interest`].
pub fn present_value(interest: f64, sums: &[f64]) -> Result<f64, CapitalError> {
    if !(interest >= 0.0 && interest.is_finite()) {
        return Err(CapitalError::Interest(interest));
    }
    // Horner's rule from the last year back.
    Ok(sums
        .iter()
        .rev()
        .fold(0.0, |later, sum| sum + later / (1.0 + interest)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn six_per_cent_over_twenty_years() {
        // 0.06 · 1.06²⁰ / (1.06²⁰ − 1), as in every table of compound interest: 0.0871846.
        let share = recovery(0.06, 20.0).unwrap();
        assert!((share - 0.087_184_6).abs() < 5e-8, "{share}");
        assert!((4000.0 * share - 348.74).abs() < 5e-3);
    }

    #[test]
    fn what_is_recovered_is_worth_what_was_paid() {
        let share = recovery(0.045, 12.0).unwrap();
        let mut sums = vec![-1000.0];
        sums.extend([1000.0 * share; 12]);
        assert!(present_value(0.045, &sums).unwrap().abs() < 1e-9);
    }

    #[test]
    fn small_interest_is_nearly_none() {
        let share = recovery(1e-12, 20.0).unwrap();
        assert!((share - 0.05).abs() < 1e-12);
        assert_eq!(present_value(0.0, &[-3.0, 1.0, 1.0]), Ok(-1.0));
    }

    #[test]
    fn impossible_terms_are_refused() {
        assert_eq!(recovery(-0.1, 5.0), Err(CapitalError::Interest(-0.1)));
        assert_eq!(recovery(0.1, 0.0), Err(CapitalError::Years(0.0)));
        assert!(present_value(f64::NAN, &[1.0]).is_err());
    }
}
