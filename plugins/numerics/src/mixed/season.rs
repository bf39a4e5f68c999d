//! How the errors of one plot go together over seasons, with first and second derivatives.
//!
//! With variances v_a of the seasons and a correlation c(a,b) the covariance is √(v_a v_b) c(a,b):
//! c = ρ for compound symmetry, ρ^|t_a − t_b| with the true distance in time for a first-order
//! autoregression (Diggle 1988, *Biometrics* 44:959). One common variance with compound symmetry is
//! written as two components, plots and seasons within plots, so that the first may be zero; the
//! unstructured form has one parameter for each pair of seasons (Jennrich & Schluchter 1986,
//! *Biometrics* 42:805).

use nalgebra::DMatrix;

/// Forms of the covariance over seasons on one plot.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Structure {
    /// One variance, no correlation.
    Independent,
    /// One variance, every pair of seasons equally correlated.
    Symmetric,
    /// One variance, correlation ρ to the power of the distance in time.
    Autoregressive,
    /// A variance for each season, no correlation.
    UnequalIndependent,
    /// A variance for each season, every pair equally correlated.
    UnequalSymmetric,
    /// A variance for each season, correlation ρ to the power of the distance in time.
    UnequalAutoregressive,
    /// A variance for each season and a covariance for each pair.
    Unstructured,
}

impl Structure {
    /// All forms, simple ones first.
    pub const ALL: [Self; 7] = [
        Self::Independent,
        Self::Symmetric,
        Self::Autoregressive,
        Self::UnequalIndependent,
        Self::UnequalSymmetric,
        Self::UnequalAutoregressive,
        Self::Unstructured,
    ];

    /// Whether seasons of one plot are correlated.
    #[must_use]
    pub fn correlated(self) -> bool {
        !matches!(self, Self::Independent | Self::UnequalIndependent)
    }

    /// Whether each season has its own variance.
    #[must_use]
    pub fn unequal(self) -> bool {
        matches!(
            self,
            Self::UnequalIndependent
                | Self::UnequalSymmetric
                | Self::UnequalAutoregressive
                | Self::Unstructured
        )
    }

    /// Whether the covariance is a linear function of its parameters.
    #[must_use]
    pub fn linear(self) -> bool {
        !matches!(
            self,
            Self::Autoregressive | Self::UnequalSymmetric | Self::UnequalAutoregressive
        )
    }

    /// Whether it is a first-order autoregression, so that distances in time count.
    #[must_use]
    pub fn autoregressive(self) -> bool {
        matches!(self, Self::Autoregressive | Self::UnequalAutoregressive)
    }

    /// Its parameters for so many seasons, in the order [`Structure::covariance`] takes them.
    #[must_use]
    pub fn parameters(self, seasons: usize) -> Vec<Parameter> {
        let each = || (0..seasons).map(Parameter::Season);
        match self {
            Self::Independent => vec![Parameter::Error],
            Self::Symmetric => vec![Parameter::Plot, Parameter::Error],
            Self::Autoregressive => vec![Parameter::Error, Parameter::Correlation],
            Self::UnequalIndependent => each().collect(),
            Self::UnequalSymmetric | Self::UnequalAutoregressive => {
                each().chain([Parameter::Correlation]).collect()
            }
            Self::Unstructured => pairs(seasons)
                .map(|(first, second)| match first == second {
                    true => Parameter::Season(first),
                    false => Parameter::Covariance(first, second),
                })
                .collect(),
        }
    }

    /// Covariance over the seasons at these parameters with its derivatives.
    ///
    /// `None` where a correlation is outside (−1, 1) or a negative one meets a distance that is not
    /// a whole number.
    pub(crate) fn covariance(self, theta: &[f64], times: &[f64]) -> Option<Covariance> {
        let seasons = times.len();
        let unit = |a: usize, b: usize| {
            DMatrix::from_fn(seasons, seasons, |i, j| {
                f64::from((i, j) == (a, b) || (i, j) == (b, a))
            })
        };
        let linear = |first: Vec<DMatrix<f64>>| {
            let mut value = DMatrix::zeros(seasons, seasons);
            for (matrix, weight) in first.iter().zip(theta) {
                value += matrix * *weight;
            }
            Covariance {
                value,
                first,
                second: Vec::new(),
            }
        };
        match self {
            Self::Independent => Some(linear(vec![DMatrix::identity(seasons, seasons)])),
            Self::Symmetric => Some(linear(vec![
                DMatrix::from_element(seasons, seasons, 1.0),
                DMatrix::identity(seasons, seasons),
            ])),
            Self::UnequalIndependent => Some(linear((0..seasons).map(|at| unit(at, at)).collect())),
            Self::Unstructured => Some(linear(pairs(seasons).map(|(a, b)| unit(a, b)).collect())),
            Self::Autoregressive => {
                let powers = Powers::of(theta[1], |a, b| (times[a] - times[b]).abs(), seasons)?;
                Some(Covariance {
                    value: &powers.value * theta[0],
                    second: vec![
                        (0, 1, powers.slope.clone()),
                        (1, 1, &powers.bend * theta[0]),
                    ],
                    first: vec![powers.value, powers.slope * theta[0]],
                })
            }
            Self::UnequalSymmetric => {
                unequal(theta, Powers::of(theta[seasons], |_, _| 1.0, seasons)?)
            }
            Self::UnequalAutoregressive => unequal(
                theta,
                Powers::of(theta[seasons], |a, b| (times[a] - times[b]).abs(), seasons)?,
            ),
        }
    }
}

/// What a parameter of the error means.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Parameter {
    /// Variance of the random term with this index.
    Random(usize),
    /// Variance of plots, common to all their seasons.
    Plot,
    /// Variance of the error.
    Error,
    /// Variance of the error in the season with this index.
    Season(usize),
    /// Covariance of the errors of two seasons.
    Covariance(usize, usize),
    /// Correlation of seasons one unit of time (or any time) apart.
    Correlation,
    /// Variance of the errors in the group of plots with this index, over that in the first group.
    Spread(usize),
}

impl Parameter {
    /// Whether it is a variance that may be zero.
    #[must_use]
    pub fn may_be_zero(self) -> bool {
        matches!(self, Self::Random(_) | Self::Plot)
    }
}

/// A covariance matrix over seasons with its derivatives by the parameters.
pub(crate) struct Covariance {
    pub(crate) value: DMatrix<f64>,
    pub(crate) first: Vec<DMatrix<f64>>,
    /// Second derivatives that are not zero, by pairs of parameters with the smaller index first.
    pub(crate) second: Vec<(usize, usize, DMatrix<f64>)>,
}

/// Pairs of seasons in the order of the unstructured parameters.
pub(crate) fn pairs(seasons: usize) -> impl Iterator<Item = (usize, usize)> {
    (0..seasons).flat_map(move |first| (first..seasons).map(move |second| (first, second)))
}

/// ρ to a matrix of powers with the first two derivatives by ρ.
struct Powers {
    value: DMatrix<f64>,
    slope: DMatrix<f64>,
    bend: DMatrix<f64>,
}

impl Powers {
    fn of(rho: f64, distance: impl Fn(usize, usize) -> f64, seasons: usize) -> Option<Self> {
        if !(rho > -1.0 && rho < 1.0) {
            return None;
        }
        let apart = DMatrix::from_fn(
            seasons,
            seasons,
            |a, b| if a == b { 0.0 } else { distance(a, b) },
        );
        if rho <= 0.0 && apart.iter().any(|power| power.fract() != 0.0) {
            return None;
        }
        // A factor of zero in front must win over a negative power of ρ = 0.
        let term = |factor: f64, power: f64| match factor == 0.0 {
            true => 0.0,
            false if power.fract() == 0.0 => factor * rho.powi(power as i32),
            false => factor * rho.powf(power),
        };
        Some(Self {
            value: apart.map(|h| term(1.0, h)),
            slope: apart.map(|h| term(h, h - 1.0)),
            bend: apart.map(|h| term(h * (h - 1.0), h - 2.0)),
        })
    }
}

/// Covariances √(v_a v_b) c(a,b): parameters are the variances and then ρ.
fn unequal(theta: &[f64], powers: Powers) -> Option<Covariance> {
    let seasons = powers.value.nrows();
    let variances = &theta[..seasons];
    if variances.iter().any(|variance| *variance <= 0.0) {
        return None;
    }
    let scaled = |correlation: &DMatrix<f64>| {
        DMatrix::from_fn(seasons, seasons, |a, b| {
            (variances[a] * variances[b]).sqrt() * correlation[(a, b)]
        })
    };
    // Derivative of √(v_a v_b) by v_k, over itself.
    let share = |a: usize, b: usize, k: usize| {
        (f64::from(a == k) + f64::from(b == k)) / (2.0 * variances[k])
    };
    let by_variance = |of: &DMatrix<f64>, k: usize| {
        DMatrix::from_fn(seasons, seasons, |a, b| of[(a, b)] * share(a, b, k))
    };
    let value = scaled(&powers.value);
    let slope = scaled(&powers.slope);
    let mut first: Vec<DMatrix<f64>> = (0..seasons).map(|k| by_variance(&value, k)).collect();
    let mut second = Vec::new();
    for (k, l) in pairs(seasons) {
        let matrix = DMatrix::from_fn(seasons, seasons, |a, b| {
            let power = (f64::from(a == k) + f64::from(b == k)) / 2.0;
            value[(a, b)]
                * match k == l {
                    true => power * (power - 1.0) / (variances[k] * variances[k]),
                    false => share(a, b, k) * share(a, b, l),
                }
        });
        second.push((k, l, matrix));
    }
    for k in 0..seasons {
        second.push((k, seasons, by_variance(&slope, k)));
    }
    second.push((seasons, seasons, scaled(&powers.bend)));
    first.push(slope);
    Some(Covariance {
        value,
        first,
        second,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn derivatives_agree_with_differences() {
        let times = [2016.0, 2017.0, 2019.0];
        for structure in Structure::ALL {
            let count = structure.parameters(3).len();
            let theta: Vec<f64> = match structure {
                Structure::Autoregressive => vec![1.3, 0.4],
                _ => (0..count).map(|at| 0.5 + 0.07 * at as f64).collect(),
            };
            let here = structure.covariance(&theta, &times).unwrap();
            let step = 1e-5;
            for at in 0..count {
                let moved = |by: f64| {
                    let mut other = theta.clone();
                    other[at] += by;
                    structure.covariance(&other, &times).unwrap()
                };
                let (up, down) = (moved(step), moved(-step));
                let slope = (&up.value - &down.value) / (2.0 * step);
                assert!((slope - &here.first[at]).amax() < 1e-8, "{structure:?}");
                for other in 0..count {
                    let bend = (&up.first[other] - &down.first[other]) / (2.0 * step);
                    let key = (at.min(other), at.max(other));
                    let known = here
                        .second
                        .iter()
                        .find(|(a, b, _)| (*a, *b) == key)
                        .map_or(DMatrix::zeros(3, 3), |(_, _, matrix)| matrix.clone());
                    assert!((bend - known).amax() < 1e-7, "{structure:?} {key:?}");
                }
            }
        }
    }
}
