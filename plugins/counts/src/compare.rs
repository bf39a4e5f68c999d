//! Levels compared: with the control by Dunnett's method, in pairs by Holm's, with the same standard
//! errors as the means have.

use caneplot_numerics::counts::CountError;
use caneplot_numerics::distribution::t_two_sided;
use caneplot_numerics::dunnett::{Dunnett, Sides};
use caneplot_numerics::separation::holm;

use crate::levels::Source;
use crate::terms::level_weights;

/// Pairs are listed for at most so many levels without a control.
const MOST_LEVELS_IN_PAIRS: usize = 6;
/// How far a correlation may be from a product of two factors for Dunnett's method to be used.
const PRODUCT_TOLERANCE: f64 = 0.05;

/// Two levels compared.
#[derive(Debug, Clone, PartialEq)]
pub struct Comparison {
    /// The dimension.
    pub dimension: usize,
    /// The level.
    pub level: usize,
    /// The level it is compared with.
    pub against: usize,
    /// Odds ratio or rate ratio.
    pub ratio: f64,
    /// Lower end of its interval.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// P, adjusted.
    pub probability: f64,
    /// Name of the adjustment.
    pub adjusted: Adjusted,
}

/// How comparisons of one family are adjusted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Adjusted {
    /// Dunnett.
    Dunnett,
    /// Holm, intervals by Bonferroni.
    Holm,
}

impl Source<'_> {
    /// Comparisons of the levels of a factor.
    ///
    /// # Errors
    /// Where the engine refuses one.
    pub fn comparisons(&self, dimension: usize) -> Result<Vec<Comparison>, CountError> {
        let described = &self.frame.dimensions[dimension];
        let size = described.size();
        let pairs: Vec<(usize, usize)> = match described.control {
            Some(control) => (0..size)
                .filter(|level| *level != control)
                .map(|level| (level, control))
                .collect(),
            None if described.values.is_none() && size <= MOST_LEVELS_IN_PAIRS => (0..size)
                .flat_map(|against| (against + 1..size).map(move |level| (level, against)))
                .collect(),
            None => return Ok(Vec::new()),
        };
        let df = self.df(&[dimension]);
        let weights: Vec<Vec<f64>> = pairs
            .iter()
            .map(|(level, against)| {
                let mut weights = vec![0.0; size];
                weights[*level] = 1.0;
                weights[*against] = -1.0;
                level_weights(self.frame, dimension, &weights)
            })
            .collect();
        let estimates: Vec<_> = weights
            .iter()
            .map(|w| self.estimate(w, &[dimension]))
            .collect::<Result<_, _>>()?;
        let t: Vec<f64> = estimates
            .iter()
            .map(|e| e.value / e.standard_error)
            .collect();
        let dunnett = match described.control {
            Some(_) => self.dunnett(&weights, df)?,
            None => None,
        };
        let wrong = |_| CountError::Contrast;
        let (probabilities, critical, adjusted) = match dunnett {
            Some(dunnett) => {
                let of = |t: &f64| dunnett.upper(t.abs()).map_err(wrong);
                let probabilities = t.iter().map(of).collect::<Result<Vec<_>, _>>()?;
                let critical = dunnett.quantile(self.level).map_err(wrong)?;
                (probabilities, critical, Adjusted::Dunnett)
            }
            None => {
                let of = |t: &f64| t_two_sided(*t, df).map_err(wrong);
                let alone = t.iter().map(of).collect::<Result<Vec<_>, _>>()?;
                let adjusted = holm(&alone).map_err(|_| CountError::Contrast)?;
                (
                    adjusted,
                    self.critical(df, pairs.len() as f64)?,
                    Adjusted::Holm,
                )
            }
        };
        let rows = pairs.iter().zip(&estimates).zip(probabilities);
        Ok(rows
            .map(|(((level, against), estimate), probability)| Comparison {
                dimension,
                level: *level,
                against: *against,
                ratio: estimate.value.exp(),
                low: (estimate.value - critical * estimate.standard_error).exp(),
                high: (estimate.value + critical * estimate.standard_error).exp(),
                probability,
                adjusted,
            })
            .collect())
    }

    /// Dunnett's distribution for comparisons with one control; `None` where their correlations are
    /// not near enough to products of one factor each. A factor on all variances changes no correlation.
    fn dunnett(&self, weights: &[Vec<f64>], df: f64) -> Result<Option<Dunnett>, CountError> {
        let size = weights.len();
        let mut covariance = vec![vec![0.0; size]; size];
        for (a, left) in weights.iter().enumerate() {
            for (b, right) in weights.iter().enumerate() {
                covariance[a][b] = self.model.fit.covariance(left, right)?;
            }
        }
        // The control's own variance is what two comparisons share.
        let shared: Vec<f64> = (0..size)
            .flat_map(|a| (0..a).map(move |b| (a, b)))
            .map(|(a, b)| covariance[a][b])
            .collect();
        if shared.is_empty() {
            return Ok(Dunnett::new(&[0.5], df, Sides::Both).ok());
        }
        let control = shared.iter().sum::<f64>() / shared.len() as f64;
        if control <= 0.0 {
            return Ok(None);
        }
        let factors: Vec<f64> = (0..size)
            .map(|a| (control / covariance[a][a]).sqrt())
            .collect();
        let off = (0..size)
            .flat_map(|a| (0..a).map(move |b| (a, b)))
            .any(|(a, b)| {
                let correlation = covariance[a][b] / (covariance[a][a] * covariance[b][b]).sqrt();
                (correlation - factors[a] * factors[b]).abs() > PRODUCT_TOLERANCE
            });
        if off {
            return Ok(None);
        }
        Ok(Dunnett::new(&factors, df, Sides::Both).ok())
    }
}
