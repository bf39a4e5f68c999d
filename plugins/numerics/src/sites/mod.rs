//! One difference seen at several sites: what holds over sites like these, and how much it differs
//! from site to site.
//!
//! Site i gives yᵢ with standard error sᵢ; yᵢ ~ N(μ, sᵢ² + τ²). τ² comes by restricted maximum
//! likelihood (see `between`); then with weights wᵢ = 1/(sᵢ² + τ²), W = Σ wᵢ:
//!
//! * μ̂ = Σ wᵢyᵢ / W;
//! * its standard error is √(q/W), q = Σ wᵢ(yᵢ − μ̂)²/(k−1), with t on k − 1 degrees of freedom
//!   (Hartung & Knapp 2001, *Stat. Med.* 20:3875; Sidik & Jonkman 2002, *Stat. Med.* 21:3153);
//!   q below 1 is raised to 1, because few sites that happen to agree would promise too much
//!   (Röver, Knapp & Friede 2015, *BMC Med. Res. Methodol.* 15:99);
//! * Q = Σ (yᵢ − ȳ)²/sᵢ² about the mean ȳ with weights 1/sᵢ², chi-square on k − 1 degrees of freedom
//!   where all sites share one difference (Cochran 1954, *Biometrics* 10:101), and the share of the
//!   variation that is not sampling, I² = 1 − (k−1)/Q, not below 0 (Higgins & Thompson 2002, *Stat.
//!   Med.* 21:1539);
//! * a new site's own difference is expected in μ̂ ± t(k−2)·√(τ² + q/W) (Higgins, Thompson &
//!   Spiegelhalter 2009, *J. R. Stat. Soc. A* 172:137; with the standard error above after Partlett &
//!   Riley 2017, *Stat. Med.* 36:301). Two sites give no such range.
//!
//! The sᵢ are taken as known, which trials with few error degrees of freedom do not quite allow.
//!
//! Refused: fewer than two sites, standard errors that are not above zero.

mod between;
mod moved;
mod reported;

use crate::distribution::{DistributionError, chi_square_upper, t_critical, t_two_sided};
use crate::sum::Sum;

pub use between::between;
pub use moved::{Measured, Moved, moved};
pub use reported::{Reported, difference_error};

/// A difference at one site.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Site {
    /// The difference.
    pub value: f64,
    /// Its standard error.
    pub standard_error: f64,
}

/// Why sites cannot be put together.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum SitesError {
    /// Occurs when there are fewer than two sites.
    #[error("sites are put together where there are at least two; there is {0}")]
    Few(usize),
    /// Occurs when a value or a standard error is not a number, or an error is not above zero.
    #[error("site {0} (counted from 0) has no standard error above zero to weigh it by")]
    NoError(usize),
    /// Occurs when a least significant difference, a coefficient of variation or a number of plots
    /// that was reported is not above zero.
    #[error("{0} is no size of an error")]
    Reported(f64),
    /// Occurs when there is no quantile or probability.
    #[error(transparent)]
    Distribution(#[from] DistributionError),
}

/// A difference over sites.
#[derive(Debug, Clone, PartialEq)]
pub struct Summary {
    /// The difference on average over sites like these.
    pub value: f64,
    /// Its standard error, never below the one that takes τ² as known.
    pub standard_error: f64,
    /// q: the scatter of the sites over what their errors and τ² let expect; below 1 it was not used.
    pub scatter: f64,
    /// Degrees of freedom: sites less one.
    pub df: f64,
    /// Lower end of the interval.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// P of no difference on average, two-sided.
    pub p: f64,
    /// Variance of the difference between sites, τ².
    pub between: f64,
    /// Q of the sites' disagreement.
    pub q: f64,
    /// P of a larger Q where all sites share one difference.
    pub q_p: f64,
    /// Share of the variation between sites that sampling does not explain, from 0 to 1.
    pub share: f64,
    /// Where the difference of one more site like these would be expected; none for two sites.
    pub expected: Option<(f64, f64)>,
    /// Share of each site in the average; they add to 1.
    pub weights: Vec<f64>,
}

/// The difference over sites with intervals of confidence 1 − `alpha`.
///
/// # Errors
/// See [`SitesError`].
pub fn summary(sites: &[Site], alpha: f64) -> Result<Summary, SitesError> {
    checked(sites)?;
    let between = between(sites)?;
    let df = sites.len() as f64 - 1.0;
    let weighed = Weighed::of(sites, between);
    let scatter = weighed.squares(sites) / df;
    let standard_error = (scatter.max(1.0) / weighed.total).sqrt();
    let value = weighed.mean;
    let reach = t_critical(alpha, df)? * standard_error;
    let q = Weighed::of(sites, 0.0).squares(sites);
    let expected = match sites.len() {
        0..=2 => None,
        _ => {
            let reach = t_critical(alpha, df - 1.0)? * between.sqrt().hypot(standard_error);
            Some((value - reach, value + reach))
        }
    };
    Ok(Summary {
        value,
        standard_error,
        scatter,
        df,
        low: value - reach,
        high: value + reach,
        p: t_two_sided(value / standard_error, df)?,
        between,
        q,
        q_p: chi_square_upper(q, df)?,
        share: if q > df { 1.0 - df / q } else { 0.0 },
        expected,
        weights: weighed.each.iter().map(|one| one / weighed.total).collect(),
    })
}

fn checked(sites: &[Site]) -> Result<(), SitesError> {
    if sites.len() < 2 {
        return Err(SitesError::Few(sites.len()));
    }
    let wrong = |site: &Site| {
        let weight = 1.0 / (site.standard_error * site.standard_error);
        !(site.value.is_finite() && site.standard_error > 0.0 && weight.is_finite() && weight > 0.0)
    };
    match sites.iter().position(wrong) {
        Some(place) => Err(SitesError::NoError(place)),
        None => Ok(()),
    }
}

/// Sites with their weights for a given τ².
struct Weighed {
    each: Vec<f64>,
    total: f64,
    mean: f64,
}

impl Weighed {
    fn of(sites: &[Site], between: f64) -> Self {
        let weight = |site: &Site| 1.0 / (site.standard_error.powi(2) + between);
        let each: Vec<f64> = sites.iter().map(weight).collect();
        let total = each.iter().copied().collect::<Sum>().total();
        // About the first value, so that differences far from 0 lose no digits.
        let first = sites[0].value;
        let products = each.iter().zip(sites).map(|(w, s)| w * (s.value - first));
        let mean = first + products.collect::<Sum>().total() / total;
        Self { each, total, mean }
    }

    /// Σ wᵢ(yᵢ − μ̂)².
    fn squares(&self, sites: &[Site]) -> f64 {
        let squares = self.each.iter().zip(sites);
        squares
            .map(|(w, s)| w * (s.value - self.mean).powi(2))
            .collect::<Sum>()
            .total()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn site(value: f64, standard_error: f64) -> Site {
        Site {
            value,
            standard_error,
        }
    }

    #[test]
    fn what_cannot_be_put_together_is_refused() {
        assert_eq!(summary(&[site(1.0, 1.0)], 0.05), Err(SitesError::Few(1)));
        let flat = [site(1.0, 1.0), site(2.0, 0.0)];
        assert_eq!(summary(&flat, 0.05), Err(SitesError::NoError(1)));
        let none = [site(f64::NAN, 1.0), site(2.0, 1.0)];
        assert_eq!(summary(&none, 0.05), Err(SitesError::NoError(0)));
    }

    #[test]
    fn equal_errors_have_a_closed_form() {
        // With equal s the weights are equal: τ² is the variance of the values less s², and √(q/W)
        // the standard error of their plain mean. Values 1, 2, 3, 6: mean 3, variance 14/3.
        let sites = [
            site(1.0, 0.5),
            site(2.0, 0.5),
            site(3.0, 0.5),
            site(6.0, 0.5),
        ];
        let found = summary(&sites, 0.05).unwrap();
        assert!((found.between - (14.0 / 3.0 - 0.25)).abs() < 1e-12);
        assert!((found.value - 3.0).abs() < 1e-14);
        assert!((found.standard_error - (14.0_f64 / 12.0).sqrt()).abs() < 1e-12);
        assert!((found.scatter - 1.0).abs() < 1e-12);
        assert!((found.q - 56.0).abs() < 1e-12);
        assert!((found.share - (1.0 - 3.0 / 56.0)).abs() < 1e-14);
    }

    #[test]
    fn sites_that_happen_to_agree_promise_no_more_than_their_errors() {
        let sites = [site(1.0, 0.5), site(1.0, 0.5)];
        let found = summary(&sites, 0.05).unwrap();
        assert_eq!((found.between, found.scatter, found.share), (0.0, 0.0, 0.0));
        assert!((found.standard_error - 0.125_f64.sqrt()).abs() < 1e-15);
        assert_eq!(found.expected, None);
    }
}
