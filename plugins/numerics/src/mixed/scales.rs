//! The scale each variance parameter is searched on.

use super::matrices::Prepared;
use super::season::Parameter;

/// Longest step on the log and atanh scales.
const LONGEST: f64 = 1.5;

/// The scale a parameter is searched on.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Scale {
    Own,
    FromZero,
    Log,
    Atanh,
}

impl Scale {
    /// First and second derivative of the parameter by its searched value.
    pub(crate) fn bends(self, theta: f64) -> (f64, f64) {
        match self {
            Scale::Own | Scale::FromZero => (1.0, 0.0),
            Scale::Log => (theta, theta),
            Scale::Atanh => {
                let slope = 1.0 - theta * theta;
                (slope, -2.0 * theta * slope)
            }
        }
    }

    pub(crate) fn moved(self, theta: f64, by: f64) -> f64 {
        match self {
            Scale::Own => theta + by,
            Scale::FromZero => (theta + by).max(0.0),
            Scale::Log => theta * by.clamp(-LONGEST, LONGEST).exp(),
            Scale::Atanh => (theta.atanh() + by.clamp(-LONGEST, LONGEST)).tanh(),
        }
    }
}

impl Prepared {
    /// The scale of each parameter.
    pub(crate) fn scales(&self, negative: bool) -> Vec<Scale> {
        let unstructured = self
            .parameters
            .iter()
            .any(|parameter| matches!(parameter, Parameter::Covariance(..)));
        self.parameters
            .iter()
            .map(|parameter| match parameter {
                Parameter::Random(_) | Parameter::Plot if negative => Scale::Own,
                Parameter::Random(_) | Parameter::Plot => Scale::FromZero,
                Parameter::Covariance(..) => Scale::Own,
                Parameter::Season(_) if unstructured => Scale::Own,
                Parameter::Season(_) | Parameter::Error | Parameter::Spread(_) => Scale::Log,
                Parameter::Correlation => Scale::Atanh,
            })
            .collect()
    }
}
