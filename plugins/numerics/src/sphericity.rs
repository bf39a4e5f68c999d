//! Whether measurements repeated on the same plots go together as tests within plots suppose, and by
//! how much the degrees of freedom of those tests are to be reduced.
//!
//! With n seasons, V is the error covariance of k = n − 1 orthonormal contrasts between seasons, on d
//! degrees of freedom. Tests within plots suppose V to be a multiple of the identity.
//!
//! - Greenhouse & Geisser (1959, *Psychometrika* 24:95): ε = (tr V)² / (k tr V²), between 1/k and 1;
//!   both degrees of freedom of F are multiplied by it.
//! - Huynh & Feldt (1976, *J. Educ. Stat.* 1:69) as put right by Lecoutre (1991, *J. Educ. Stat.*
//!   16:371) for plots under several treatments: ((d + 1) k ε − 2) / (k (d − k ε)), at most 1.
//! - Mauchly (1940, *Ann. Math. Stat.* 11:204): W = det V / (tr V / k)^k, judged by χ² with the second
//!   term of Box (1949, *Biometrika* 36:317).

use nalgebra::DMatrix;

use crate::distribution::chi_square_upper;

/// How far repeated measurements are from what tests within plots suppose.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sphericity {
    /// Factor of Greenhouse and Geisser.
    pub greenhouse_geisser: f64,
    /// Factor of Huynh and Feldt, at most 1.
    pub huynh_feldt: f64,
    /// Mauchly's test; `None` with fewer degrees of freedom of error than contrasts.
    pub mauchly: Option<Mauchly>,
}

/// Mauchly's test.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mauchly {
    /// W, from 0 to 1.
    pub w: f64,
    /// Probability of a W at most as large.
    pub p: f64,
}

/// From the residuals of the plots, one row a plot and one column a season, and the degrees of freedom
/// of each contrast's error. Only differences between seasons count, so rows may be centred.
///
/// `None` with fewer than three seasons (there is then nothing to suppose), rows of unequal length, no
/// degrees of freedom or residuals that do not vary.
#[must_use]
pub fn sphericity(residuals: &[Vec<f64>], df: usize) -> Option<Sphericity> {
    let seasons = residuals.first()?.len();
    if seasons < 3 || df == 0 || residuals.iter().any(|row| row.len() != seasons) {
        return None;
    }
    let k = seasons - 1;
    let contrasts = DMatrix::from_fn(residuals.len(), k, |plot, contrast| {
        helmert(&residuals[plot], contrast + 1)
    });
    let covariance = contrasts.transpose() * contrasts / df as f64;
    let trace = covariance.trace();
    let squares = covariance.norm_squared();
    if !(trace > 0.0 && squares.is_finite()) {
        return None;
    }
    let (kf, d) = (k as f64, df as f64);
    let greenhouse_geisser = (trace * trace / (kf * squares)).clamp(kf.recip(), 1.0);
    let corrected =
        ((d + 1.0) * kf * greenhouse_geisser - 2.0) / (kf * (d - kf * greenhouse_geisser));
    // With so few degrees of freedom that the divisor is not positive the correction has no meaning.
    let huynh_feldt = match d > kf * greenhouse_geisser {
        true => corrected.clamp(greenhouse_geisser, 1.0),
        false => 1.0,
    };
    let w = covariance.determinant() / (trace / kf).powi(k as i32);
    Some(Sphericity {
        greenhouse_geisser,
        huynh_feldt,
        mauchly: (df >= k && w > 0.0)
            .then(|| probability(w, k, d))
            .flatten()
            .map(|p| Mauchly { w, p }),
    })
}

/// Normalised Helmert contrast: the entry `at` against the mean of those before it.
fn helmert(row: &[f64], at: usize) -> f64 {
    let before: f64 = row[..at].iter().sum();
    let at_f = at as f64;
    (before - at_f * row[at]) / (at_f * (at_f + 1.0)).sqrt()
}

/// Box's second term has 2p³ + 6p² + 3p + 2, as his general expansion gives it with Bernoulli
/// polynomials in exact fractions; probabilities in circulation with + 5 in that place differ from
/// these by about 1e-6.
fn probability(w: f64, k: usize, d: f64) -> Option<f64> {
    let p = k as f64;
    let rho = 1.0 - (2.0 * p * p + p + 2.0) / (6.0 * p * d);
    let second =
        (p + 2.0) * (p - 1.0) * (p - 2.0) * (2.0 * p.powi(3) + 6.0 * p * p + 3.0 * p + 2.0)
            / (288.0 * (d * p * rho).powi(2));
    let statistic = -d * rho * w.ln();
    let df = p * (p + 1.0) / 2.0 - 1.0;
    let first = chi_square_upper(statistic, df).ok()?;
    let other = chi_square_upper(statistic, df + 4.0).ok()?;
    Some((first + second * (other - first)).clamp(0.0, 1.0))
}
