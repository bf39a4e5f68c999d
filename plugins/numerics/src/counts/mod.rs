//! Generalised linear mixed models for counts: bud break, survival, clusters, shoots.
//!
//! η = offset + Xβ + Σ_g σ_g Z_g u_g with u standard normal; the count given η is binomial, Poisson
//! or negative binomial ([`Family`]). The likelihood of (β, σ) is the integral over u, approximated
//! by Laplace's method (Tierney & Kadane 1986, *J. Am. Stat. Assoc.* 81:82; Breslow & Clayton 1993,
//! *J. Am. Stat. Assoc.* 88:9) or, with one grouping factor, by adaptive Gauss–Hermite quadrature
//! (Pinheiro & Bates 1995, *J. Comput. Graph. Stat.* 4:12). Without a random term it is exact.
//!
//! Standard errors are those of the joint observed information of β, σ and the shape, with
//! analytic second derivatives: finite differences of a profile lose digits where the inner mode is
//! not exact.
//!
//! Refused: counts that are not whole or above their total, totals of 0, columns that are not
//! independent, sets in which all counts are 0 or all reach their total, fits that run away because
//! a treatment has only zeros or only full counts ([`CountError::Separated`]; fit those penalised),
//! fits that do not converge.

mod curvature;
mod family;
mod fit;
mod inference;
mod laplace;
mod linear;
mod mode;
mod optimise;
mod penalty;
mod products;
mod quadrature;
mod strata;

pub use family::Family;
pub use fit::{Fit, Integration, RandomEffect, fit};
pub use inference::{ContrastTest, Estimate, LikelihoodRatio, likelihood_ratio};
pub use linear::independent_columns;
pub use optimise::Certificate;
pub use strata::{Grouping, containment_df};

/// Predictors beyond this size mean a probability within 3·10⁻⁷ of 0 or 1: the fit runs away.
pub const LARGEST_LOGIT: f64 = 15.0;

/// Fewest points of quadrature: with fewer, the derivatives that are themselves taken by quadrature
/// are not those of the approximated likelihood.
pub const FEWEST_POINTS: usize = 9;

/// Why there is no fit.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum CountError {
    /// Occurs when the columns handed over differ in length or there is none.
    #[error("{what} has {found} entries where there are {rows} counts")]
    Length {
        /// Which column.
        what: String,
        /// Its length.
        found: usize,
        /// The number of counts.
        rows: usize,
    },
    /// Occurs when a count is negative, not whole or not a number.
    #[error("count {row} (from 0) is {value}: a count is a whole number from 0 up")]
    NotACount {
        /// Place of the count.
        row: usize,
        /// Its value.
        value: f64,
    },
    /// Occurs when a total is 0 or less, not whole, or below its count.
    #[error("count {row} (from 0) is {count} out of {total}, which is not possible")]
    Total {
        /// Place of the count.
        row: usize,
        /// The count.
        count: f64,
        /// The total.
        total: f64,
    },
    /// Occurs when an offset or a column of the design is not finite.
    #[error("{0} holds a number that is not finite")]
    NotFinite(String),
    /// Occurs when there are fewer counts than coefficients.
    #[error("{counts} counts cannot determine {coefficients} coefficients")]
    TooFew {
        /// Number of counts.
        counts: usize,
        /// Number of coefficients.
        coefficients: usize,
    },
    /// Occurs when a column of the design follows from those before it, as with an empty cell.
    #[error("column {0} (from 0) of the design follows from the columns before it")]
    Dependent(usize),
    /// Occurs when every count is 0.
    #[error("every count is 0: there is nothing to compare")]
    AllZero,
    /// Occurs when every count equals its total.
    #[error("every count equals its total: there is nothing to compare")]
    AllFull,
    /// Occurs when a coefficient runs away: some treatment has only zeros or only full counts.
    #[error(
        "the estimates run away to infinity: at least one treatment has a count of 0, or its whole total, everywhere"
    )]
    Separated,
    /// Occurs when the negative binomial needs no extra variance: θ grows without end.
    #[error(
        "the counts vary no more than Poisson counts: the negative binomial has no finite shape"
    )]
    NoExtraVariance,
    /// Occurs when the search for the maximum does not end at one.
    #[error(
        "the fit did not converge: after {iterations} steps the largest slope is {slope:.1e} standard errors"
    )]
    NotConverged {
        /// Steps taken.
        iterations: usize,
        /// Largest gradient in units of the standard error of its parameter.
        slope: f64,
    },
    /// Occurs when quadrature is asked for with no or several random terms, or with fewer than
    /// [`FEWEST_POINTS`] points.
    #[error("quadrature needs exactly one random term and at least {FEWEST_POINTS} points")]
    Quadrature,
    /// Occurs when a penalised fit is asked for with the negative binomial.
    #[error("penalised fits exist for binomial and Poisson counts only")]
    PenaltyFamily,
    /// Occurs when a comparison is not between the coefficients of the fit or is empty.
    #[error("the comparison does not fit the coefficients of the model")]
    Contrast,
}

/// A random term: which unit of a grouping (block, plot) each count belongs to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RandomTerm {
    /// In words: "block".
    pub name: String,
    /// Unit of each count, from 0.
    pub codes: Vec<usize>,
}

impl RandomTerm {
    fn units(&self) -> usize {
        self.codes.iter().max().map_or(0, |most| most + 1)
    }
}

/// Counts with the design they are to be explained by. Build with [`Counts::new`] and the methods
/// that follow it.
#[derive(Debug, Clone, PartialEq)]
pub struct Counts {
    pub(super) family: Family,
    pub(super) counts: Vec<f64>,
    pub(super) totals: Vec<f64>,
    pub(super) offset: Vec<f64>,
    /// Columns of the fixed part.
    pub(super) fixed: Vec<Vec<f64>>,
    pub(super) random: Vec<RandomTerm>,
    pub(super) constants: Vec<f64>,
    pub(super) penalised: bool,
}

impl Counts {
    /// Counts, each out of its total where the family is binomial (`totals` is not read otherwise),
    /// with the columns of the fixed part.
    ///
    /// # Errors
    /// For lengths that differ, counts that are not whole, impossible totals, too few counts,
    /// dependent columns, and sets without any variation between 0 and the total.
    pub fn new(
        family: Family,
        counts: &[f64],
        totals: &[f64],
        fixed: &[Vec<f64>],
    ) -> Result<Self, CountError> {
        let rows = counts.len();
        for (at, column) in fixed.iter().enumerate() {
            length(&format!("column {at} of the design"), column.len(), rows)?;
            finite(&format!("column {at} of the design"), column)?;
        }
        for (row, &value) in counts.iter().enumerate() {
            if !(value >= 0.0 && value.is_finite() && value.fract() == 0.0) {
                return Err(CountError::NotACount { row, value });
            }
        }
        let totals = if family == Family::Binomial {
            length("the list of totals", totals.len(), rows)?;
            totals.to_vec()
        } else {
            vec![0.0; rows]
        };
        if family == Family::Binomial {
            for (row, (&count, &total)) in counts.iter().zip(&totals).enumerate() {
                if !(total > 0.0 && total.is_finite() && total.fract() == 0.0 && count <= total) {
                    return Err(CountError::Total { row, count, total });
                }
            }
            if counts == totals {
                return Err(CountError::AllFull);
            }
        }
        if counts.iter().all(|count| *count == 0.0) {
            return Err(CountError::AllZero);
        }
        if rows < fixed.len() || fixed.is_empty() {
            return Err(CountError::TooFew {
                counts: rows,
                coefficients: fixed.len(),
            });
        }
        if let Some(column) = linear::first_dependent(fixed) {
            return Err(CountError::Dependent(column));
        }
        let constants = counts
            .iter()
            .zip(&totals)
            .map(|(count, total)| family.constant(*count, *total))
            .collect();
        Ok(Self {
            family,
            counts: counts.to_vec(),
            totals,
            offset: vec![0.0; rows],
            fixed: fixed.to_vec(),
            random: Vec::new(),
            constants,
            penalised: false,
        })
    }

    /// Adds a known part of the predictor: the log of the number of vines, or of nodes.
    ///
    /// # Errors
    /// For a list of another length or with numbers that are not finite.
    pub fn offset(mut self, offset: &[f64]) -> Result<Self, CountError> {
        length("the offset", offset.len(), self.rows())?;
        finite("the offset", offset)?;
        self.offset = offset.to_vec();
        Ok(self)
    }

    /// Adds a random term.
    ///
    /// # Errors
    /// For a list of another length.
    pub fn random(mut self, name: &str, codes: &[usize]) -> Result<Self, CountError> {
        length(
            &format!("the random term '{name}'"),
            codes.len(),
            self.rows(),
        )?;
        self.random.push(RandomTerm {
            name: name.to_owned(),
            codes: codes.to_vec(),
        });
        Ok(self)
    }

    /// Asks for the penalised likelihood of Firth (1993, *Biometrika* 80:27), whose estimates are
    /// finite even where a treatment has only zeros or only full counts. With random terms the
    /// penalty is that of the model without them, as in Sterzinger & Kosmidis (2023, *Stat. Comput.*
    /// 33:53).
    ///
    /// # Errors
    /// For the negative binomial.
    pub fn penalised(mut self) -> Result<Self, CountError> {
        if self.family == Family::NegativeBinomial {
            return Err(CountError::PenaltyFamily);
        }
        self.penalised = true;
        Ok(self)
    }

    /// Number of counts.
    #[must_use]
    pub fn rows(&self) -> usize {
        self.counts.len()
    }

    /// Number of coefficients.
    #[must_use]
    pub fn coefficients(&self) -> usize {
        self.fixed.len()
    }

    /// The part of the predictor that is not random.
    pub(super) fn fixed_eta(&self, beta: &[f64]) -> Vec<f64> {
        let mut eta = self.offset.clone();
        for (column, coefficient) in self.fixed.iter().zip(beta) {
            for (eta, x) in eta.iter_mut().zip(column) {
                *eta += coefficient * x;
            }
        }
        eta
    }
}

fn length(what: &str, found: usize, rows: usize) -> Result<(), CountError> {
    if found == rows {
        Ok(())
    } else {
        Err(CountError::Length {
            what: what.to_owned(),
            found,
            rows,
        })
    }
}

fn finite(what: &str, values: &[f64]) -> Result<(), CountError> {
    if values.iter().all(|value| value.is_finite()) {
        Ok(())
    } else {
        Err(CountError::NotFinite(what.to_owned()))
    }
}

#[cfg(test)]
mod tests;
