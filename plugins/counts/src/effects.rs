//! The full model and the tests of main effects and interactions.

use caneplot_numerics::counts::{CountError, Fit, LikelihoodRatio, containment_df, fit};

use crate::model::{Setting, TermTest};
use crate::spread::widening;
use crate::terms::{Term, columns, contrasts, stratum};

/// The model with a coefficient for each cell.
pub struct Full {
    /// The fit; penalised where cells are separated.
    pub fit: Fit,
    /// The log-likelihood that the cells can reach.
    pub reachable: f64,
}

/// What was tested.
pub struct Effects {
    /// Factor on variances by stratum.
    pub widening: Vec<f64>,
    /// Tests.
    pub tests: Vec<TermTest>,
    /// Terms without one.
    pub untested: Vec<Term>,
}

/// Fits the cells. Cells with only zeros or only full counts have no finite coefficient: the others
/// give the variances and the likelihood (that of the separated cells is 1 in the limit), then all
/// are fitted penalised with those variances.
///
/// # Errors
/// Where a fit fails.
pub fn full(setting: &Setting, apart: &[usize]) -> Result<Full, CountError> {
    let cells = setting.frame.cell_columns();
    let all = setting.counts(&cells, &setting.all(), true)?;
    if apart.is_empty() {
        let fit = fit(&all, setting.integration())?;
        return Ok(Full {
            reachable: fit.log_likelihood,
            fit,
        });
    }
    let of_cell = &setting.frame.cell_of;
    let mut rows = setting.all();
    rows.retain(|row| !apart.contains(&of_cell[*row]));
    let terms = setting.frame.groupings.len() + usize::from(setting.plot_effect);
    let (mut sds, mut reachable) = (vec![0.0; terms], 0.0);
    if !rows.is_empty() {
        let kept = (0..cells.len()).filter(|cell| !apart.contains(cell));
        let fixed: Vec<Vec<f64>> = kept.map(|cell| cells[cell].clone()).collect();
        let others = fit(&setting.counts(&fixed, &rows, true)?, setting.integration())?;
        sds = others.random.iter().map(|random| random.sd).collect();
        reachable = others.log_likelihood;
    }
    let fit = fit(&all.penalised()?.given_sds(&sds)?, setting.integration())?;
    Ok(Full { fit, reachable })
}

/// Tests every term that has degrees of freedom to be judged by; none where cells lack counts.
///
/// # Errors
/// Where the engine refuses a comparison.
pub fn effects(
    setting: &Setting,
    terms: &[Term],
    apart: &[usize],
    full: &Full,
    df: &[usize],
) -> Result<Effects, CountError> {
    let frame = setting.frame;
    let one = vec![vec![1.0; frame.cell_of.len()]];
    let all = containment_df(&one, &frame.groupings);
    let mut found = Effects {
        widening: widening(setting, &full.fit, &all, df),
        tests: Vec::new(),
        untested: Vec::new(),
    };
    if !frame.is_complete() {
        return Ok(found);
    }
    for term in terms {
        let at = stratum(frame, term);
        let (stratum_df, error_df) = (all[at] as f64, df[at] as f64);
        if error_df == 0.0 {
            continue;
        }
        let others: Vec<&Term> = terms.iter().filter(|other| *other != term).collect();
        let fixed = columns(frame, &others);
        let model = setting.counts(&fixed, &setting.all(), true)?;
        let Ok(reduced) = fit(&model, setting.integration()) else {
            found.untested.push(term.clone());
            continue;
        };
        let left_out = frame.cells.len() - fixed.len();
        let ratio = LikelihoodRatio::of(full.reachable, reduced.log_likelihood, left_out)?;
        let by_f = if apart.is_empty() {
            full.fit
                .test(&contrasts(frame, term), error_df, found.widening[at])?
        } else {
            // Estimates that would be infinite are no ground for F; their likelihood is.
            ratio.as_f(stratum_df, error_df)?
        };
        found.tests.push(TermTest {
            term: term.clone(),
            df: ratio.df,
            error_df,
            f: by_f.f,
            probability: by_f.probability,
            ratio: ratio.statistic,
            chi_square: ratio.probability,
        });
    }
    Ok(found)
}
