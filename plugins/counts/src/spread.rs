//! How much counts vary against what their family allows, and what that asks of standard errors.

use caneplot_numerics::counts::{
    CountError, Family, Fit, Integration, containment_df, fit, independent_columns,
};
use caneplot_numerics::distribution::chi_square_upper;

use crate::model::{Modelled, Setting};

/// Counts that vary more than this many times what the family allows get a plot effect
/// (Pearson's statistic over its degrees of freedom).
pub const OVERDISPERSED: f64 = 1.5;
/// Counts that vary less than this share of what the family allows, and so little by chance in less
/// than 5 % of sets, make its intervals too wide.
const UNDERDISPERSED: f64 = 0.5;
/// How much counts vary against what their family allows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Spread {
    /// More.
    Beyond,
    /// About as much.
    Chance,
    /// Less.
    Below,
}

impl Modelled {
    /// How much the counts vary.
    #[must_use]
    pub fn spread(&self) -> Spread {
        let df = self.dispersion_df as f64;
        let rarely_less = chi_square_upper(self.dispersion * df, df).is_ok_and(|p| p > 0.95);
        if self.dispersion > OVERDISPERSED {
            Spread::Beyond
        } else if self.dispersion < UNDERDISPERSED && rarely_less {
            Spread::Below
        } else {
            Spread::Chance
        }
    }
}

/// Pearson's statistic over its degrees of freedom with the units of the design as fixed columns:
/// what is left is what varies between single counts. `None` without degrees of freedom.
///
/// # Errors
/// Where the fit fails.
pub fn dispersion(setting: &Setting) -> Result<Option<(f64, usize)>, CountError> {
    let frame = setting.frame;
    let family = match setting.family {
        Family::NegativeBinomial => Family::Poisson,
        other => other,
    };
    let setting = Setting { family, ..*setting };
    let mut fixed = frame.cell_columns();
    for grouping in &frame.groupings {
        let units = grouping.codes.iter().max().map_or(0, |most| most + 1);
        fixed.extend((0..units).map(|unit| -> Vec<f64> {
            grouping
                .codes
                .iter()
                .map(|code| f64::from(*code == unit))
                .collect()
        }));
    }
    let fixed: Vec<Vec<f64>> = independent_columns(&fixed)
        .into_iter()
        .map(|at| fixed[at].clone())
        .collect();
    if fixed.len() >= frame.cell_of.len() {
        return Ok(None);
    }
    let model = setting.counts(&fixed, &setting.all(), false)?;
    let found = match fit(&model, Integration::Laplace) {
        // Where estimates run away the penalised fit has finite means to compare with.
        Err(CountError::Separated) => fit(&model.penalised()?, Integration::Laplace),
        other => other,
    }?;
    let df = frame.cell_of.len() - fixed.len();
    Ok(found.dispersion().map(|dispersion| (dispersion, df)))
}

/// Maximum likelihood divides the squares of a stratum by all its degrees of freedom, N, where those
/// of its error, n, are right: where its variance was estimated, variances of comparisons are
/// multiplied by N / n. (With normal errors that is exact. In simulated trials of 4 to 6 blocks with
/// plots that vary and no differences, F then rejects in 4–5.4 % where 5 % is asked for, in 5–9 %
/// without it, and chi-square in 8–12.5 %: numerics, tests/counts_size.rs.) A stratum whose variance
/// is at 0 shares that of the next finer one.
#[must_use]
pub fn widening(setting: &Setting, found: &Fit, df: &[usize]) -> Vec<f64> {
    let one = vec![vec![1.0; setting.numbers.counts.len()]];
    let all = containment_df(&one, &setting.frame.groupings);
    let last = setting.frame.groupings.len();
    let estimated = |at: usize| match found.random.get(at) {
        Some(random) => !random.at_boundary,
        None => at == last && setting.family == Family::NegativeBinomial,
    };
    (0..=last)
        .map(|stratum| {
            let source = (stratum..=last).find(|at| estimated(*at) && df[*at] > 0);
            source.map_or(1.0, |at| all[at] as f64 / df[at] as f64)
        })
        .collect()
}
