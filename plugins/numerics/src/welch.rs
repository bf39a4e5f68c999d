//! Equality of means where groups vary unequally, each with a variance of its own.
//!
//! With weights wᵢ = nᵢ/sᵢ² and W = Σ wᵢ, Welch (1951, *Biometrika* 38:330) compares
//! Σ wᵢ(ȳᵢ − ȳ)²/(k−1) / (1 + 2(k−2)Λ/(k²−1)), where Λ = Σ (1 − wᵢ/W)²/(nᵢ−1), with F on k−1 and
//! (k²−1)/(3Λ) degrees of freedom.
//!
//! Refused: fewer than two groups, groups with fewer than two values, and groups that do not vary.

use crate::distribution::{DistributionError, f_upper};
use crate::sum::{Sum, mean, squares_about_mean};

/// Welch's F.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Welch {
    /// Variance ratio.
    pub f: f64,
    /// Degrees of freedom between groups.
    pub df_between: f64,
    /// Approximate degrees of freedom within groups.
    pub df_within: f64,
    /// Probability of a larger F where the means are equal.
    pub p: f64,
}

/// Why groups with variances of their own cannot be compared.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum WelchError {
    /// Occurs when there are fewer than two groups.
    #[error("means are compared between groups; there is only {0}")]
    Groups(usize),
    /// Occurs when a group has fewer than two values.
    #[error("group {0} (counted from 0) has fewer than two values, so it has no variance")]
    Single(usize),
    /// Occurs when the values of a group are equal or not finite.
    #[error("group {0} (counted from 0) has no variance above zero to weigh it by")]
    NoVariance(usize),
    /// Occurs when F has no probability.
    #[error(transparent)]
    Distribution(#[from] DistributionError),
}

/// Welch's test of equal means.
///
/// # Errors
/// See [`WelchError`].
pub fn welch(groups: &[&[f64]]) -> Result<Welch, WelchError> {
    if groups.len() < 2 {
        return Err(WelchError::Groups(groups.len()));
    }
    let mut weighed = Vec::with_capacity(groups.len());
    for (place, values) in groups.iter().enumerate() {
        let (Some(centre), true) = (mean(values), values.len() > 1) else {
            return Err(WelchError::Single(place));
        };
        let free = (values.len() - 1) as f64;
        let weight = values.len() as f64 * free / squares_about_mean(values);
        if !(weight > 0.0 && weight.is_finite()) {
            return Err(WelchError::NoVariance(place));
        }
        weighed.push((weight, centre, free));
    }
    let total = weighed.iter().map(|one| one.0).collect::<Sum>().total();
    let middle = weighed
        .iter()
        .map(|one| one.0 * one.1)
        .collect::<Sum>()
        .total()
        / total;
    let between = weighed
        .iter()
        .map(|one| one.0 * (one.1 - middle).powi(2))
        .collect::<Sum>()
        .total();
    let lambda = weighed
        .iter()
        .map(|one| (1.0 - one.0 / total).powi(2) / one.2)
        .collect::<Sum>()
        .total();
    let count = groups.len() as f64;
    let last = count * count - 1.0;
    let df_between = count - 1.0;
    let df_within = last / (3.0 * lambda);
    let f = between / df_between / (1.0 + 2.0 * (count - 2.0) * lambda / last);
    Ok(Welch {
        f,
        df_between,
        df_within,
        p: f_upper(f, df_between, df_within)?,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn groups_without_a_variance_are_named() {
        assert_eq!(welch(&[&[1.0, 2.0]]), Err(WelchError::Groups(1)));
        assert_eq!(welch(&[&[1.0, 2.0], &[3.0]]), Err(WelchError::Single(1)));
        let flat: [&[f64]; 2] = [&[2.0, 2.0], &[1.0, 3.0]];
        assert_eq!(welch(&flat), Err(WelchError::NoVariance(0)));
    }
}
