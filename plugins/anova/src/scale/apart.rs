//! Unequal variances kept as they are: Welch's test where it applies, and where else to look.

use caneplot_numerics::welch::welch;
use caneplot_plugin::findings::{Format, Rank, Statement};
use caneplot_plugin::request::DesignKind;

use crate::checks::Doubts;
use crate::methods::Used;
use crate::study::Study;
use crate::words::inside;

/// The notes; none where the spread is much the same everywhere.
pub(super) fn notes(study: &Study<'_>, doubts: Doubts, used: &mut Used) -> Vec<Statement> {
    if !doubts.spread {
        return Vec::new();
    }
    let mut all = Vec::new();
    if let Some(found) = welchs(study) {
        used.welch = true;
        all.push(found);
    }
    all.push(Statement::new(
        "Unequal variances can also be kept as they are: the analysis 'mixed' with its option variance = \"by treatment\" gives every treatment a variance of its own.",
    ));
    all.into_iter()
        .map(|statement| statement.rank(Rank::Detail))
        .collect()
}

/// Welch's test of a completely randomised trial of one factor; other designs have strata or blocks
/// it knows nothing of.
fn welchs(study: &Study<'_>) -> Option<Statement> {
    let design = &study.planned.design;
    let plain = study.trial.design.kind == DesignKind::CompletelyRandomised
        && study.trial.factors.len() == 1
        && design.within_plots.is_none()
        && design.vines.is_none();
    if !plain {
        return None;
    }
    let term = study.term(&[0], false)?;
    let cells = &design.layout.terms()[term].cells;
    let mut groups: Vec<Vec<f64>> = vec![Vec::new(); cells.count()];
    for (&cell, &value) in cells.of_unit().iter().zip(&study.values) {
        groups[cell].push(value);
    }
    let slices: Vec<&[f64]> = groups.iter().map(Vec::as_slice).collect();
    let found = welch(&slices).ok()?;
    Some(
        Statement::new(format!(
            "With a variance of its own for each level of {}, Welch's test gives F = {{f}} on {{between}} and {{within}} degrees of freedom ({{p}}).",
            inside(&study.factor(0).label)
        ))
        .with("f", found.f, Format::Decimals(2))
        .with("between", found.df_between, Format::Count)
        .with("within", found.df_within, Format::Decimals(1))
        .with("p", found.p, Format::Probability),
    )
}
