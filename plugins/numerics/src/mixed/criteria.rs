//! Criteria by which covariance structures with the same fixed part are compared.
//!
//! With k variance parameters and n − p values left after p fixed effects:
//! AIC = −2ℓ + 2k (Akaike 1974, *IEEE Trans. Autom. Control* 19:716), AICc = AIC +
//! 2k(k+1)/(n−p−k−1) (Hurvich & Tsai 1989, *Biometrika* 76:297, with n − p as restricted likelihood
//! asks for), BIC = −2ℓ + k log(n−p) (Schwarz 1978, *Ann. Stat.* 6:461). A variance at zero counts
//! as a parameter.

use super::{Candidate, Fit};

/// Criteria of one fit; smaller is better.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Criteria {
    /// Number of variance parameters.
    pub parameters: usize,
    /// −2 log restricted likelihood.
    pub deviance: f64,
    /// Akaike's criterion.
    pub aic: f64,
    /// The same corrected for few values; `None` where there are too few for it.
    pub aicc: Option<f64>,
    /// Schwarz's criterion.
    pub bic: f64,
}

impl Fit {
    /// The criteria of this fit.
    #[must_use]
    pub fn criteria(&self) -> Criteria {
        Criteria::of(
            self.theta.len(),
            self.deviance,
            self.values - self.beta.len(),
        )
    }
}

impl Candidate {
    /// The criteria of this maximum.
    #[must_use]
    pub fn criteria(&self) -> Criteria {
        Criteria::of(self.theta.len(), self.deviance, self.values - self.effects)
    }
}

impl Criteria {
    fn of(parameters: usize, deviance: f64, left: usize) -> Self {
        let (k, left) = (parameters as f64, left as f64);
        let aic = deviance + 2.0 * k;
        Self {
            parameters,
            deviance,
            aic,
            aicc: (left - k - 1.0 > 0.0).then(|| aic + 2.0 * k * (k + 1.0) / (left - k - 1.0)),
            bic: deviance + k * left.ln(),
        }
    }
}
