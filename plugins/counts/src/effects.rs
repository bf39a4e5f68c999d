//! Tests of main effects and interactions.

use caneplot_numerics::counts::{CountError, Fit, LikelihoodRatio, fit};

use crate::model::{NoModel, Setting, TermTest};
use crate::terms::{Term, columns, contrasts, stratum};

/// What each stratum has, single counts last.
pub struct Strata {
    /// Degrees of freedom of the error.
    pub df: Vec<usize>,
    /// Factor on variances.
    pub widening: Vec<f64>,
}

/// What the test of a term needs of the full model.
pub struct Tested<'a> {
    /// The fit on cells.
    pub fit: &'a Fit,
    /// The log-likelihood that the cells can reach.
    pub reachable: f64,
    /// Whether cells are separated.
    pub separated: bool,
    /// The strata.
    pub strata: &'a Strata,
}

/// A term beside all others; `None` where the others alone run away.
///
/// # Errors
/// Where a fit fails.
pub fn tested(
    setting: &Setting,
    all: &[Term],
    term: &Term,
    of: &Tested,
) -> Result<Option<TermTest>, NoModel> {
    let frame = setting.frame;
    let others: Vec<&Term> = all.iter().filter(|other| *other != term).collect();
    let fixed = columns(frame, &others);
    let model = setting.counts(&fixed, &setting.all(), true)?;
    let reduced = match fit(&model, setting.integration()) {
        // What is left runs away too, so that its likelihood is no number to compare with.
        Err(CountError::Separated) => return Ok(None),
        other => other?,
    };
    let left_out = frame.cells.len() - fixed.len();
    let ratio = LikelihoodRatio::of(of.reachable, reduced.log_likelihood, left_out)?;
    let at = stratum(frame, term);
    let error_df = of.strata.df[at] as f64;
    let by_f = if of.separated {
        // Estimates that would be infinite are no ground for F; their likelihood is.
        ratio.as_f(ratio.df + error_df, error_df)?
    } else {
        of.fit
            .test(&contrasts(frame, term), error_df, of.strata.widening[at])?
    };
    Ok(Some(TermTest {
        term: term.clone(),
        df: ratio.df,
        error_df,
        f: by_f.f,
        probability: by_f.probability,
        ratio: ratio.statistic,
        chi_square: ratio.probability,
    }))
}

/// The log-likelihood that the cells can reach. Cells that are separated reach theirs of 0 in the
/// limit, so the others alone make it.
///
/// # Errors
/// Where their fit fails.
pub fn reachable(setting: &Setting, apart: &[usize], found: &Fit) -> Result<f64, CountError> {
    if apart.is_empty() {
        return Ok(found.log_likelihood);
    }
    let frame = setting.frame;
    let rows: Vec<usize> = setting
        .all()
        .into_iter()
        .filter(|row| !apart.contains(&frame.cell_of[*row]))
        .collect();
    if rows.is_empty() {
        return Ok(0.0);
    }
    let fixed: Vec<Vec<f64>> = frame
        .cell_columns()
        .into_iter()
        .enumerate()
        .filter(|(cell, _)| !apart.contains(cell))
        .map(|(_, column)| column)
        .collect();
    let model = setting.counts(&fixed, &rows, true)?;
    Ok(fit(&model, setting.integration())?.log_likelihood)
}
