//! Error mean squares and products of several responses in the strata of a design, and the variances
//! and covariances they give for a mean over some of the plots.
//!
//! Model: fixed classifications (blocks, or rows and columns, and the treatments) plus random ones
//! (whole plots, strips), coarsest first, plus a residual. Each stratum's sums of squares and products
//! are what its classification takes out of the residuals of all before it (method 3 of Henderson
//! 1953, *Biometrics* 9:226); each has a known expectation in the components of variance, so the
//! variance of any mean is a combination of the mean products of the strata. In balanced data this is
//! the classical analysis: for a mean over r blocks of one sub-plot treatment it is
//! [E_a + (b−1) E_b]/(r b). Degrees of freedom of a combination: Satterthwaite (1946, *Biometrics
//! Bull.* 2:110), one for each response. A component may be negative, as in the analysis of variance.
//!
//! Refused: no degrees of freedom for error in the residual or in a stratum, columns of unequal
//! length, values that are not finite.

use crate::sum::{Sum, dot};

/// Why there is no estimate of error.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum ErrorProductsError {
    /// Occurs when classifications leave nothing over: one plot of each treatment, say.
    #[error("no degrees of freedom are left for error")]
    NoResidual,
    /// Occurs when a random classification has no degrees of freedom of its own, such as whole plots
    /// in a single block.
    #[error(
        "the plots of stratum {0} (counted from 0) have no degrees of freedom of their own for error"
    )]
    NoStratum(usize),
    /// Occurs when columns differ in length or there is no response.
    #[error("the columns of one table differ in length")]
    Length,
    /// Occurs when a value is not a finite number.
    #[error("a value is not a finite number")]
    NotFinite,
}

/// What a classification takes out beyond those before it.
#[derive(Debug, Clone)]
struct Stratum {
    df: f64,
    /// Mean squares and products of the responses.
    products: Vec<Vec<f64>>,
    /// Weight of each random component in the expectation of these mean products.
    expectation: Vec<f64>,
}

/// Error mean squares and products of each stratum, coarsest first, the residual last.
#[derive(Debug, Clone)]
pub struct ErrorProducts {
    strata: Vec<Stratum>,
    random: Vec<Vec<usize>>,
}

/// Variances and covariances of the means of all responses over the same plots.
#[derive(Debug, Clone, PartialEq)]
pub struct MeanVariance {
    /// Variances on the diagonal, covariances beside it.
    pub products: Vec<Vec<f64>>,
    /// Degrees of freedom of each response's variance.
    pub df: Vec<f64>,
}

impl ErrorProducts {
    /// From responses, fixed classifications and random ones, each a column with one entry a plot.
    ///
    /// # Errors
    /// See [`ErrorProductsError`].
    pub fn new(
        responses: &[&[f64]],
        fixed: &[Vec<usize>],
        random: &[Vec<usize>],
    ) -> Result<Self, ErrorProductsError> {
        let plots = responses.first().ok_or(ErrorProductsError::Length)?.len();
        let codes = fixed.iter().chain(random);
        if responses.iter().any(|r| r.len() != plots) || codes.clone().any(|c| c.len() != plots) {
            return Err(ErrorProductsError::Length);
        }
        if responses.iter().any(|r| r.iter().any(|v| !v.is_finite())) {
            return Err(ErrorProductsError::NotFinite);
        }
        let mut basis = Basis::new(plots);
        for codes in fixed {
            basis.add(codes);
        }
        let mut strata = Vec::new();
        for (number, codes) in random.iter().enumerate() {
            let before = basis.vectors.len();
            basis.add(codes);
            let added = &basis.vectors[before..];
            if added.is_empty() {
                return Err(ErrorProductsError::NoStratum(number));
            }
            strata.push(stratum(added, responses, random));
        }
        let df = plots - basis.vectors.len();
        if df == 0 {
            return Err(ErrorProductsError::NoResidual);
        }
        let left: Vec<Vec<f64>> = responses.iter().map(|r| basis.residual(r)).collect();
        strata.push(Stratum {
            df: df as f64,
            products: table(&left, |a, b| dot(a, b) / df as f64),
            expectation: vec![0.0; random.len()],
        });
        Ok(Self {
            strata,
            random: random.to_vec(),
        })
    }

    /// Number of strata, the residual included.
    #[must_use]
    pub fn strata(&self) -> usize {
        self.strata.len()
    }

    /// Degrees of freedom of a stratum, coarsest first.
    #[must_use]
    pub fn df(&self, stratum: usize) -> f64 {
        self.strata[stratum].df
    }

    /// Mean squares and products of a stratum, coarsest first.
    #[must_use]
    pub fn mean_products(&self, stratum: usize) -> &[Vec<f64>] {
        &self.strata[stratum].products
    }

    /// Variances and covariances of the means over the plots listed; `None` for no plot.
    #[must_use]
    pub fn of_mean(&self, plots: &[usize]) -> Option<MeanVariance> {
        if plots.is_empty() {
            return None;
        }
        let shares = self.shares(plots);
        let found = self.combined(&shares);
        if possible(&found.products) {
            return Some(found);
        }
        // A share below zero (strips and imbalance have them) has taken more than there was: without
        // it the variance is larger, never smaller.
        let positive: Vec<f64> = shares.iter().map(|share| share.max(0.0)).collect();
        Some(self.combined(&positive))
    }

    /// The mean products of the strata, each times its share.
    fn combined(&self, shares: &[f64]) -> MeanVariance {
        let responses = self.strata[0].products.len();
        let parts = || self.strata.iter().zip(shares);
        let total = |i: usize, j: usize| {
            let terms = parts().map(|(s, share)| share * s.products[i][j]);
            terms.collect::<Sum>().total()
        };
        let df = |i: usize| {
            let spread: f64 = parts()
                .map(|(s, share)| (share * s.products[i][i]).powi(2) / s.df)
                .sum();
            if spread > 0.0 {
                total(i, i).powi(2) / spread
            } else {
                self.strata[self.strata.len() - 1].df
            }
        };
        MeanVariance {
            products: (0..responses)
                .map(|i| (0..responses).map(|j| total(i, j)).collect())
                .collect(),
            df: (0..responses).map(df).collect(),
        }
    }

    /// How much of each stratum's mean products the variance of a mean over `plots` takes.
    fn shares(&self, plots: &[usize]) -> Vec<f64> {
        let n = plots.len() as f64;
        let mut shares = Vec::with_capacity(self.strata.len());
        for (k, codes) in self.random.iter().enumerate() {
            let mut counts = std::collections::BTreeMap::<usize, f64>::new();
            for &plot in plots {
                *counts.entry(codes[plot]).or_default() += 1.0;
            }
            let wanted: f64 = counts.values().map(|c| (c / n).powi(2)).sum();
            let given: f64 = self
                .strata
                .iter()
                .zip(&shares)
                .map(|(s, x)| s.expectation[k] * x)
                .sum();
            shares.push((wanted - given) / self.strata[k].expectation[k]);
        }
        let used: f64 = shares.iter().sum();
        shares.push(1.0 / n - used);
        // A share of rounding size is none.
        for share in &mut shares {
            if share.abs() < 1e-12 / n {
                *share = 0.0;
            }
        }
        shares
    }
}

/// Whether variances are above zero, or all nothing, and allow their covariances.
fn possible(products: &[Vec<f64>]) -> bool {
    (0..products.len()).all(|i| {
        (0..=i).all(|j| {
            let limit = products[i][i] * products[j][j];
            products[i][i] >= 0.0 && products[i][j].powi(2) <= limit * (1.0 + 1e-9)
        })
    })
}

fn stratum(added: &[Vec<f64>], responses: &[&[f64]], random: &[Vec<usize>]) -> Stratum {
    let df = added.len() as f64;
    let parts: Vec<Vec<f64>> = responses
        .iter()
        .map(|r| added.iter().map(|v| dot(v, r)).collect())
        .collect();
    // Σ over the units of a classification of the squared length of their indicator in this stratum.
    let weight = |codes: &Vec<usize>| {
        let units = codes.iter().max().map_or(0, |m| m + 1);
        let lengths = added.iter().map(|vector| {
            let mut sums = vec![0.0; units];
            for (code, value) in codes.iter().zip(vector) {
                sums[*code] += value;
            }
            sums.iter().map(|s| s * s).sum::<f64>()
        });
        lengths.sum::<f64>() / df
    };
    Stratum {
        df,
        products: table(&parts, |a, b| dot(a, b) / df),
        expectation: random.iter().map(weight).collect(),
    }
}

fn table(columns: &[Vec<f64>], product: impl Fn(&[f64], &[f64]) -> f64) -> Vec<Vec<f64>> {
    columns
        .iter()
        .map(|a| columns.iter().map(|b| product(a, b)).collect())
        .collect()
}

/// Orthonormal vectors that span the classifications added so far, the general mean first.
#[derive(Debug)]
struct Basis {
    vectors: Vec<Vec<f64>>,
}

/// A class is taken for a combination of earlier ones where less than this share of it is left.
const RANK: f64 = 1e-7;

impl Basis {
    fn new(plots: usize) -> Self {
        let vectors = if plots == 0 {
            Vec::new()
        } else {
            vec![vec![(plots as f64).sqrt().recip(); plots]]
        };
        Self { vectors }
    }

    /// Adds the classes of a classification that are not already spanned.
    fn add(&mut self, codes: &[usize]) {
        let classes = codes.iter().max().map_or(0, |m| m + 1);
        for class in 0..classes {
            let indicator: Vec<f64> = codes
                .iter()
                .map(|code| f64::from(u8::from(*code == class)))
                .collect();
            let size = indicator.iter().sum::<f64>().sqrt();
            if size == 0.0 {
                continue;
            }
            let mut left = self.residual(&indicator);
            let length = dot(&left, &left).sqrt();
            if length > RANK * size {
                for value in &mut left {
                    *value /= length;
                }
                self.vectors.push(left);
            }
        }
    }

    /// What is left of a column; projected twice, so that the rest is orthogonal to rounding.
    fn residual(&self, column: &[f64]) -> Vec<f64> {
        let mut left = column.to_vec();
        for _ in 0..2 {
            for vector in &self.vectors {
                let share = dot(vector, &left);
                for (value, v) in left.iter_mut().zip(vector) {
                    *value -= share * v;
                }
            }
        }
        left
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_plot_of_each_treatment_leaves_no_error() {
        let y = [3.0, 4.0, 7.0];
        let alone = ErrorProducts::new(&[&y], &[vec![0, 1, 2]], &[]);
        assert_eq!(alone.map(|_| ()), Err(ErrorProductsError::NoResidual));
    }

    #[test]
    fn whole_plots_of_one_block_have_no_error_of_their_own() {
        let y = [3.0, 4.0, 7.0, 5.0, 3.5, 4.5];
        let fixed = [vec![0, 0, 0, 1, 1, 1]];
        let found = ErrorProducts::new(&[&y], &fixed, &[vec![0, 0, 0, 1, 1, 1]]);
        assert_eq!(found.map(|_| ()), Err(ErrorProductsError::NoStratum(0)));
    }

    #[test]
    fn a_completely_randomised_trial_pools_within_treatments() {
        // Within squares 2 + 8 and products 2 + 4 on 2 degrees of freedom.
        let (y, w) = ([1.0, 3.0, 4.0, 8.0], [2.0, 4.0, 1.0, 3.0]);
        let errors = ErrorProducts::new(&[&y, &w], &[vec![0, 0, 1, 1]], &[]).unwrap();
        let mean = errors.of_mean(&[2, 3]).unwrap();
        assert!((mean.products[0][0] - 2.5).abs() < 1e-14);
        assert!((mean.products[0][1] - 1.5).abs() < 1e-14);
        assert!((mean.df[1] - 2.0).abs() < 1e-12);
        assert_eq!(errors.of_mean(&[]), None);
    }
}
