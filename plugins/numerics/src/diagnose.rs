//! Two looks at the residuals: are they normal, and do groups vary alike.
//!
//! Shapiro & Wilk's W with Royston's approximation of its weights and its P for 3 to 5000 values
//! (Royston 1995, *Appl. Stat.* 44:547, algorithm AS R94; exact for three values). Brown & Forsythe's
//! test of equal variances: a one-way F on the distances from the group medians (1974, *J. Am. Stat.
//! Assoc.* 69:364).
//!
//! Refused: too few or too many values, values all equal, groups without distances to compare. The
//! residuals of a small trial are not independent, so both P are a guide and no verdict.

use crate::distribution::{DistributionError, f_upper, normal_cdf, normal_quantile};
use crate::sum::{Sum, mean, squares_about_mean};

/// A statistic with its probability.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Normality {
    /// W, from 0 to 1; near 1 for values that look normal.
    pub w: f64,
    /// Probability of a smaller W from normal values.
    pub p: f64,
}

/// Brown & Forsythe's F.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EqualVariances {
    /// F of the distances from the medians.
    pub f: f64,
    /// Degrees of freedom between groups.
    pub df_between: f64,
    /// Degrees of freedom within groups.
    pub df_within: f64,
    /// Probability of a larger F where variances are equal.
    pub p: f64,
}

/// Why residuals cannot be judged.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum DiagnoseError {
    /// Occurs when there are fewer than 3 or more than 5000 values.
    #[error("the test of normality takes 3 to 5000 values; there are {0}")]
    Number(usize),
    /// Occurs when all values are the same.
    #[error("all values are equal, so their distribution cannot be judged")]
    Constant,
    /// Occurs when a value is not a finite number.
    #[error("value {0} (counted from 0) is not a finite number")]
    NotFinite(usize),
    /// Occurs when there are fewer than two groups.
    #[error("variances are compared between groups; there is only {0}")]
    Groups(usize),
    /// Occurs when a group has fewer than two values.
    #[error(
        "group {0} (counted from 0) has fewer than two values, which do not show how it varies"
    )]
    Single(usize),
    /// Occurs when every group has two values: both lie equally far from their median.
    #[error(
        "every group has two values, which always lie equally far from their median, so variances cannot be compared"
    )]
    Pairs,
    /// Occurs when inside every group all values lie equally far from the median.
    #[error(
        "inside every group all values lie equally far from the median, so variances cannot be compared"
    )]
    NoDistances,
    /// Occurs when a distribution refuses its arguments.
    #[error(transparent)]
    Distribution(#[from] DistributionError),
}

/// Shapiro & Wilk's test.
///
/// # Errors
/// See [`DiagnoseError`].
pub fn shapiro_wilk(values: &[f64]) -> Result<Normality, DiagnoseError> {
    let n = values.len();
    if !(3..=5000).contains(&n) {
        return Err(DiagnoseError::Number(n));
    }
    if let Some(place) = values.iter().position(|v| !v.is_finite()) {
        return Err(DiagnoseError::NotFinite(place));
    }
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let range = sorted[n - 1] - sorted[0];
    if range <= 0.0 {
        return Err(DiagnoseError::Constant);
    }
    // Scaled by the range, so that neither tiny nor huge units overflow a square.
    let scaled: Vec<f64> = sorted.iter().map(|v| (v - sorted[0]) / range).collect();
    let weights = royston_weights(n)?;
    let pairs = weights.iter().enumerate();
    let contrast = pairs
        .map(|(i, a)| a * (scaled[n - 1 - i] - scaled[i]))
        .collect::<Sum>()
        .total();
    let length = 2.0 * weights.iter().map(|a| a * a).collect::<Sum>().total();
    let root = (length * squares_about_mean(&scaled)).sqrt();
    // 1 − W as a product, because W is often within 10⁻⁴ of 1.
    let short = ((root - contrast) * (root + contrast) / (root * root)).max(0.0);
    Ok(Normality {
        w: 1.0 - short,
        p: royston_probability(n, short),
    })
}

/// Weights of the upper half of the order statistics, largest first.
fn royston_weights(n: usize) -> Result<Vec<f64>, DiagnoseError> {
    if n == 3 {
        return Ok(vec![std::f64::consts::FRAC_1_SQRT_2]);
    }
    let size = n as f64;
    let scores: Vec<f64> = (1..=n / 2)
        .map(|i| normal_quantile((i as f64 - 0.375) / (size + 0.25)).map(|z| -z))
        .collect::<Result<_, _>>()?;
    let squares = 2.0 * scores.iter().map(|m| m * m).collect::<Sum>().total();
    let small = size.sqrt().recip();
    let correction = |c: [f64; 5]| small * polynomial(&c, small);
    let mut weights = vec![
        scores[0] / squares.sqrt()
            + correction([0.221_157, -0.147_981, -2.071_19, 4.434_685, -2.706_056]),
    ];
    if n > 5 {
        weights.push(
            scores[1] / squares.sqrt()
                + correction([0.042_981, -0.293_762, -1.752_461, 5.682_633, -3.582_633]),
        );
    }
    let set = weights.len();
    let used: f64 = weights.iter().map(|a| a * a).sum();
    let left: f64 = scores[..set].iter().map(|m| m * m).sum();
    let scale = ((squares - 2.0 * left) / (1.0 - 2.0 * used)).sqrt();
    weights.extend(scores[set..].iter().map(|m| m / scale));
    Ok(weights)
}

/// P for 1 − W = `short`.
fn royston_probability(n: usize, short: f64) -> f64 {
    let size = n as f64;
    if n == 3 {
        let angle = (1.0 - short).sqrt().asin() - 0.75_f64.sqrt().asin();
        return (6.0 / std::f64::consts::PI * angle).clamp(0.0, 1.0);
    }
    if short <= 0.0 {
        return 1.0;
    }
    let log = short.ln();
    let (value, centre, spread) = if n <= 11 {
        let limit = -2.273 + 0.459 * size;
        if log >= limit {
            return 0.0;
        }
        (
            -(limit - log).ln(),
            polynomial(&[0.544, -0.399_78, 0.025_054, -6.714e-4], size),
            polynomial(&[1.382_2, -0.778_57, 0.062_767, -0.002_032_2], size),
        )
    } else {
        let x = size.ln();
        (
            log,
            polynomial(&[-1.586_1, -0.310_82, -0.083_751, 0.003_891_5], x),
            polynomial(&[-0.480_3, -0.082_676, 0.003_030_2], x),
        )
    };
    normal_cdf(-(value - centre) / spread.exp())
}

/// c_0 + c_1 x + c_2 x² + …
fn polynomial(c: &[f64], x: f64) -> f64 {
    c.iter().rev().fold(0.0, |total, c| total * x + c)
}

/// Brown & Forsythe's test of equal variances.
///
/// # Errors
/// See [`DiagnoseError`].
pub fn brown_forsythe(groups: &[&[f64]]) -> Result<EqualVariances, DiagnoseError> {
    if groups.len() < 2 {
        return Err(DiagnoseError::Groups(groups.len()));
    }
    if let Some(place) = groups.iter().position(|g| g.len() < 2) {
        return Err(DiagnoseError::Single(place));
    }
    let values = groups.iter().flat_map(|g| g.iter());
    if let Some(place) = values.clone().position(|v| !v.is_finite()) {
        return Err(DiagnoseError::NotFinite(place));
    }
    if groups.iter().all(|g| g.len() == 2) {
        return Err(DiagnoseError::Pairs);
    }
    let distances: Vec<Vec<f64>> = groups.iter().map(|g| median_distances(g)).collect();
    let within: f64 = distances.iter().map(|d| squares_about_mean(d)).sum();
    let all: Vec<f64> = distances.concat();
    let scale: f64 = all.iter().map(|d| d * d).sum();
    // Distances that are equal on paper differ by the rounding of their decimals.
    if within <= scale * 1e-28 {
        return Err(DiagnoseError::NoDistances);
    }
    let centre = mean(&all).unwrap_or(0.0);
    let between: Sum = distances
        .iter()
        .map(|d| d.len() as f64 * (mean(d).unwrap_or(0.0) - centre).powi(2))
        .collect();
    let df_between = (groups.len() - 1) as f64;
    let df_within = (all.len() - groups.len()) as f64;
    let f = (between.total() / df_between) / (within / df_within);
    Ok(EqualVariances {
        f,
        df_between,
        df_within,
        p: f_upper(f, df_between, df_within)?,
    })
}

/// Distance of each value from the median.
fn median_distances(values: &[f64]) -> Vec<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let half = sorted.len() / 2;
    let median = if sorted.len() % 2 == 1 {
        sorted[half]
    } else {
        0.5 * (sorted[half - 1] + sorted[half])
    };
    values.iter().map(|v| (v - median).abs()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn degenerate_residuals_are_errors_with_a_reason() {
        assert_eq!(shapiro_wilk(&[1.0, 2.0]), Err(DiagnoseError::Number(2)));
        assert_eq!(shapiro_wilk(&[0.3; 8]), Err(DiagnoseError::Constant));
        assert_eq!(
            shapiro_wilk(&[1.0, f64::NAN, 2.0]),
            Err(DiagnoseError::NotFinite(1))
        );
        let pairs: [&[f64]; 2] = [&[1.0, 4.0], &[2.0, 9.0]];
        assert_eq!(brown_forsythe(&pairs), Err(DiagnoseError::Pairs));
        let flat: [&[f64]; 2] = [&[1.1, 1.1, 1.1], &[0.3, 0.3]];
        assert_eq!(brown_forsythe(&flat), Err(DiagnoseError::NoDistances));
        let single: [&[f64]; 2] = [&[1.0, 2.0, 4.0], &[2.0]];
        assert_eq!(brown_forsythe(&single), Err(DiagnoseError::Single(1)));
        assert_eq!(brown_forsythe(&single[..1]), Err(DiagnoseError::Groups(1)));
    }

    #[test]
    fn three_evenly_spaced_values_are_as_normal_as_can_be() {
        let found = shapiro_wilk(&[1.0, 2.0, 3.0]).unwrap();
        assert!((found.w - 1.0).abs() < 1e-15 && (found.p - 1.0).abs() < 1e-6);
    }
}
