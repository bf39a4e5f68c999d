//! Criteria by which covariance structures with the same fixed part are compared.
//!
//! With k variance parameters and n − p values left after p fixed effects:
//! AIC = −2ℓ + 2k (Akaike 1974, *IEEE Trans. Autom. Control* 19:716), AICc = AIC +
//! 2k(k+1)/(n−p−k−1) (Hurvich & Tsai 1989, *Biometrika* 76:297, with n − p as restricted likelihood
//! asks for), BIC = −2ℓ + k log(n−p) (Schwarz 1978, *Ann. Stat.* 6:461). A variance at zero counts
//! as a parameter.

use super::Fit;

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
        let k = self.theta.len() as f64;
        let left = (self.values - self.beta.len()) as f64;
        let aic = self.deviance + 2.0 * k;
        Criteria {
            parameters: self.theta.len(),
            deviance: self.deviance,
            aic,
            aicc: (left - k - 1.0 > 0.0).then(|| aic + 2.0 * k * (k + 1.0) / (left - k - 1.0)),
            bic: self.deviance + k * left.ln(),
        }
    }
}
