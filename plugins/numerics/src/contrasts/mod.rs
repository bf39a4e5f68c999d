//! Treatment means and their differences for several responses of the same plots at once, with the
//! variances and covariances that the design's own errors give them.
//!
//! Every mean and every difference is a sum of weights times plot values, so one set of weights serves
//! all responses, and what holds between responses (that parts add up to a whole) holds between their
//! means, and between their variances and covariances, to rounding.
//!
//! * A complete orthogonal design is taken apart in its strata (see [`crate::strata`]): a difference
//!   whose weights have the squared length ‖P_s c‖² in stratum s has the variance Σ ‖P_s c‖² ξ_s, and
//!   two responses have the covariance Σ ‖P_s c‖² ξ_s(a, b) with the mean product in place of the mean
//!   square. Where several strata contribute, degrees of freedom are approximate (Satterthwaite 1946,
//!   *Biometrics Bull.* 2:110), one for each response.
//! * With missing plots, or plots of unequal weight, designs with a single error (completely
//!   randomised, randomised blocks, Latin square) are fitted by least squares with blocks, rows and
//!   columns fixed; means are then adjusted to all blocks, and margins average the combinations
//!   equally.
//!
//! Refused: incomplete designs with several errors, differences between treatments that no chain of
//! shared blocks connects, combinations without a plot, and designs that leave nothing for error.

mod errors;
mod fit;
mod some;
mod strata;

use crate::cells::Cells;
use crate::design::{Design, DesignError, Kind, Sheet};
use crate::distribution::f_upper;

pub use errors::{Errors, Estimate, Test};

use errors::settle;
use fit::Fit;

/// Why a comparison has no honest answer.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ContrastError {
    /// Occurs when the plots are not the design they are declared to be.
    #[error(transparent)]
    Design(#[from] DesignError),
    /// Occurs when plots are missing in a design that has more than one error.
    #[error(
        "{why}, and a {design} has several errors, which an incomplete set does not tell apart"
    )]
    Incomplete {
        /// What is missing.
        why: String,
        /// The design in words.
        design: &'static str,
    },
    /// Occurs when a margin would average over a combination that no plot has.
    #[error("no plot has {0}, so means over all combinations do not exist")]
    EmptyCombination(String),
    /// Occurs when treatments share no block with each other, directly or through others.
    #[error("the treatments do not meet in common blocks, so they cannot be compared")]
    NotConnected,
    /// Occurs when every treatment has a single plot, say.
    #[error(
        "no degrees of freedom are left for error: the treatments need more than one plot each"
    )]
    NoError,
}

/// The plots of a design, ready for any number of responses.
#[derive(Debug, Clone)]
pub struct Plots {
    sheet: Sheet,
    how: How,
}

#[derive(Debug, Clone)]
enum How {
    Strata(Box<Design>),
    Fit(Box<Fit>),
}

/// The treatments that one table of means compares: the levels of a factor, or combinations.
#[derive(Debug, Clone, PartialEq)]
pub struct Compared {
    /// Places of its factors among the treatments of the sheet.
    pub factors: Vec<usize>,
    /// Level of each factor in each treatment.
    pub levels: Vec<Vec<usize>>,
    /// Plots of each treatment.
    pub plots: Vec<usize>,
    cells: Cells,
}

impl Plots {
    /// From a sheet of one value a plot (no seasons, no vines), with weights where the values are not
    /// equally precise.
    ///
    /// Weights are used in designs with a single error; a complete design with several errors counts
    /// every plot once, which [`Plots::weighted`] tells.
    ///
    /// # Errors
    /// See [`ContrastError`].
    pub fn new(sheet: &Sheet, weights: Option<&[f64]>) -> Result<Self, ContrastError> {
        let single = matches!(
            sheet.kind,
            Kind::CompletelyRandomised | Kind::RandomisedBlock | Kind::LatinSquare
        );
        let weights = weights.filter(|weights| single && unequal(weights));
        let how = match (sheet.design(), weights) {
            (Ok(design), None) => How::Strata(Box::new(design)),
            (Ok(_), Some(_)) => How::Fit(Box::new(Fit::new(sheet, weights)?)),
            (
                Err(
                    DesignError::Unbalanced(_)
                    | DesignError::NotTheDesign(_)
                    | DesignError::Layout(_),
                ),
                _,
            ) if single => How::Fit(Box::new(Fit::new(sheet, weights)?)),
            (Err(DesignError::Unbalanced(why)), _) => {
                return Err(ContrastError::Incomplete {
                    why,
                    design: sheet.kind.words(),
                });
            }
            (Err(other), _) => return Err(other.into()),
        };
        Ok(Self {
            sheet: sheet.clone(),
            how,
        })
    }

    /// Whether the design is complete, so that nothing had to be adjusted.
    #[must_use]
    pub fn complete(&self) -> bool {
        matches!(self.how, How::Strata(_))
    }

    /// Whether plots count by unequal weights.
    #[must_use]
    pub fn weighted(&self) -> bool {
        matches!(&self.how, How::Fit(fit) if fit.weighted())
    }

    /// The treatments made of these factors, by their places in the sheet.
    ///
    /// # Errors
    /// [`ContrastError::EmptyCombination`] where a mean would average over a combination without a
    /// plot.
    pub fn compared(&self, factors: &[usize]) -> Result<Compared, ContrastError> {
        let codes = |at: usize| self.sheet.treatments[at].0.codes.as_slice();
        let units = self.sheet.plot.codes.len();
        let cells = Cells::crossing(units, factors.iter().map(|&at| codes(at)));
        let others: usize = (0..self.sheet.treatments.len())
            .filter(|at| !factors.contains(at))
            .map(|at| self.sheet.treatments[at].0.levels.len())
            .product();
        let combinations = self.sheet.combinations();
        let both = Cells::crossing(units, [cells.of_unit(), combinations.of_unit()]);
        let mut inside = vec![0; cells.count()];
        for &unit in both.first() {
            inside[cells.of_unit()[unit]] += 1;
        }
        let levels: Vec<Vec<usize>> = cells
            .first()
            .iter()
            .map(|&unit| factors.iter().map(|&at| codes(at)[unit]).collect())
            .collect();
        if let Some(lacking) = inside.iter().position(|&found| found < others) {
            let words: Vec<String> = factors
                .iter()
                .zip(&levels[lacking])
                .map(|(&at, &level)| {
                    let factor = &self.sheet.treatments[at].0;
                    format!("{} {}", factor.name, factor.levels[level])
                })
                .collect();
            return Err(ContrastError::EmptyCombination(format!(
                "{} with every level of the other factors",
                words.join(", ")
            )));
        }
        Ok(Compared {
            factors: factors.to_vec(),
            levels,
            plots: cells.sizes().to_vec(),
            cells,
        })
    }

    /// The errors of responses, one value a plot each, in the order of the sheet.
    ///
    /// # Errors
    /// [`ContrastError::NoError`] where no stratum has degrees of freedom for error.
    ///
    /// # Panics
    /// Where a response has not one value for every plot.
    pub fn errors(&self, responses: &[&[f64]]) -> Result<Errors, ContrastError> {
        let mut strata = match &self.how {
            How::Strata(design) => strata::errors(&design.layout, responses),
            How::Fit(fit) => vec![fit.error(responses)],
        };
        settle(&mut strata, responses);
        if strata.iter().all(|(df, _)| *df == 0) {
            return Err(ContrastError::NoError);
        }
        Ok(Errors {
            responses: responses.iter().map(|values| values.to_vec()).collect(),
            strata,
        })
    }

    /// First treatment less second.
    ///
    /// # Errors
    /// [`ContrastError::NoError`] where an error that enters has no degrees of freedom,
    /// [`ContrastError::NotConnected`] where blocks do not connect the two.
    pub fn difference(
        &self,
        errors: &Errors,
        compared: &Compared,
        first: usize,
        second: usize,
    ) -> Result<Estimate, ContrastError> {
        let (weights, shares) = match &self.how {
            How::Strata(design) => strata::difference(&design.layout, compared, first, second),
            How::Fit(fit) => fit.difference(compared, first, second)?,
        };
        errors.estimate(&weights, &shares)
    }

    /// The mean of a treatment; its variance leaves that of the blocks out.
    ///
    /// # Errors
    /// As for [`Plots::difference`].
    pub fn mean(
        &self,
        errors: &Errors,
        compared: &Compared,
        treatment: usize,
    ) -> Result<Estimate, ContrastError> {
        let (weights, shares) = match &self.how {
            How::Strata(design) => strata::mean(&design.layout, compared, treatment),
            How::Fit(fit) => fit.mean(compared, treatment)?,
        };
        errors.estimate(&weights, &shares)
    }

    /// The F test of the levels of one factor for one response.
    ///
    /// `None` where the table is of several factors, or the error is exactly 0 or has no degrees of
    /// freedom.
    #[must_use]
    pub fn test(&self, errors: &Errors, compared: &Compared, response: usize) -> Option<Test> {
        if compared.factors.len() != 1 {
            return None;
        }
        let (square, df, stratum) = match &self.how {
            How::Strata(design) => {
                strata::treatment(design, compared.factors[0], &errors.responses[response])?
            }
            How::Fit(fit) => fit.treatment(compared, &errors.responses[response])?,
        };
        let (error_df, products) = &errors.strata[stratum];
        let error = products[response][response];
        if *error_df == 0 || error <= 0.0 {
            return None;
        }
        let f = square / df as f64 / error;
        Some(Test {
            f,
            df,
            error_df: *error_df as f64,
            p: f_upper(f, df as f64, *error_df as f64).ok()?,
        })
    }
}

fn unequal(weights: &[f64]) -> bool {
    let most = weights.iter().copied().fold(0.0, f64::max);
    weights.iter().any(|weight| most - weight > 1e-12 * most)
}

/// What a mean is over, beside the treatment: the block factors of a design with one error.
fn groupings(sheet: &Sheet) -> Vec<&crate::strata::Classifier> {
    match sheet.kind {
        Kind::CompletelyRandomised => Vec::new(),
        Kind::LatinSquare => sheet.row.iter().chain(&sheet.column).collect(),
        _ => sheet.block.iter().collect(),
    }
}
