//! Errors of several responses, the estimates they judge, and tests against them.

use crate::distribution::{DistributionError, t_critical};

use super::ContrastError;

/// An estimate of all responses together.
#[derive(Debug, Clone, PartialEq)]
pub struct Estimate {
    /// Mean or difference of each response.
    pub values: Vec<f64>,
    /// Variances on the diagonal, covariances beside it.
    pub products: Vec<Vec<f64>>,
    /// Degrees of freedom of each response's variance.
    pub df: Vec<f64>,
}

impl Estimate {
    /// Standard error of a response.
    #[must_use]
    pub fn standard_error(&self, response: usize) -> f64 {
        self.products[response][response].max(0.0).sqrt()
    }

    /// Half the width of the interval of a response at a confidence such as 0.95.
    ///
    /// # Errors
    /// Where the confidence is not between 0 and 1.
    pub fn half_width(&self, response: usize, confidence: f64) -> Result<f64, DistributionError> {
        Ok(t_critical(1.0 - confidence, self.df[response])? * self.standard_error(response))
    }
}

/// The F test of all treatments of a table for one response.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Test {
    /// Variance ratio.
    pub f: f64,
    /// Degrees of freedom of the treatments.
    pub df: usize,
    /// Degrees of freedom of the error.
    pub error_df: f64,
    /// Probability of an F at least as large.
    pub p: f64,
}

/// Errors of several responses on the same plots.
#[derive(Debug, Clone)]
pub struct Errors {
    pub(super) responses: Vec<Vec<f64>>,
    /// By stratum: degrees of freedom and mean products; one entry for a least-squares fit.
    pub(super) strata: Vec<(usize, Vec<Vec<f64>>)>,
}

impl Errors {
    /// Degrees of freedom for error, one a stratum.
    #[must_use]
    pub fn df(&self) -> Vec<usize> {
        self.strata.iter().map(|(df, _)| *df).collect()
    }

    /// The same weights on every response; each stratum enters with its share.
    pub(super) fn estimate(
        &self,
        weights: &[f64],
        shares: &[f64],
    ) -> Result<Estimate, ContrastError> {
        let values: Vec<f64> = self
            .responses
            .iter()
            .map(|values| crate::sum::dot(weights, values))
            .collect();
        let count = values.len();
        let mut products = vec![vec![0.0; count]; count];
        let mut spread = vec![0.0; count];
        for ((df, mean_products), &share) in self.strata.iter().zip(shares) {
            if share == 0.0 {
                continue;
            }
            if *df == 0 {
                return Err(ContrastError::NoError);
            }
            for (a, row) in products.iter_mut().enumerate() {
                for (b, product) in row.iter_mut().enumerate() {
                    *product += share * mean_products[a][b];
                }
                spread[a] += (share * mean_products[a][a]).powi(2) / *df as f64;
            }
        }
        let only = {
            let mut entering = self.strata.iter().zip(shares).filter(|(_, s)| **s != 0.0);
            match (entering.next(), entering.next()) {
                (Some(((df, _), _)), None) => Some(*df as f64),
                _ => None,
            }
        };
        let fewest = self
            .strata
            .iter()
            .zip(shares)
            .filter(|(_, share)| **share != 0.0)
            .map(|((df, _), _)| *df as f64)
            .fold(f64::INFINITY, f64::min);
        let df = (0..count)
            .map(|a| match only {
                Some(df) => df,
                None if spread[a] > 0.0 => products[a][a].powi(2) / spread[a],
                None => fewest,
            })
            .collect();
        Ok(Estimate {
            values,
            products,
            df,
        })
    }
}

/// Takes away mean squares, with their products, that are rounding of equal values and no variation.
pub(super) fn settle(strata: &mut [(usize, Vec<Vec<f64>>)], responses: &[&[f64]]) {
    for (response, values) in responses.iter().enumerate() {
        let largest = values
            .iter()
            .fold(0.0_f64, |most, value| most.max(value.abs()));
        let noise = values.len() as f64 * (8.0 * f64::EPSILON * largest).powi(2);
        for (df, products) in strata.iter_mut() {
            if products[response][response] * *df as f64 <= noise {
                for row in products.iter_mut() {
                    row[response] = 0.0;
                }
                products[response].fill(0.0);
            }
        }
    }
}
