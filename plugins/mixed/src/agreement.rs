//! Whether the exact analysis of variance in strata says the same, where the set is balanced.

use caneplot_numerics::design::DesignError;
use caneplot_numerics::mixed::Structure;
use caneplot_plugin::findings::{Rank, Statement};
use caneplot_plugin::words::safe;

use crate::options::{Df, Seasons};
use crate::study::Study;

/// Relative difference of F or df below which two analyses say the same.
const SAME: f64 = 1e-6;

/// What the comparison came to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Agreement {
    /// Every F and its degrees of freedom agree.
    Same,
    /// Balanced, but a component is at zero, so that errors are pooled here and not there.
    AtZero,
    /// Balanced, but another covariance over seasons is used here.
    OtherStructure,
    /// Balanced, and yet they differ.
    Differs,
}

impl Study<'_> {
    /// Compares every term with the analysis of variance; `None` where the set is unbalanced or the
    /// question is another.
    pub fn agreement(&self) -> Option<Agreement> {
        let several = !self.seasons().is_empty();
        if !self.readings.covariates.is_empty()
            || (several && self.options.season == Seasons::Random)
        {
            return None;
        }
        let design = self.readings.sheet.as_ref()?.design().ok()?;
        if !self.zeros.is_empty() {
            return Some(Agreement::AtZero);
        }
        if several && self.choice.structure != Structure::Symmetric {
            return Some(Agreement::OtherStructure);
        }
        let variance = design.layout.analyse(&self.readings.values);
        let same = self.terms.iter().all(|term| {
            let classifiers: Vec<usize> = term
                .factors
                .iter()
                .filter_map(|&at| match design.treatments.get(at) {
                    Some(&classifier) => Some(classifier),
                    None => design.season,
                })
                .collect();
            let line = design.layout.term_of(&classifiers).map(|at| {
                let stratum = design.layout.terms()[at].stratum;
                (variance.lines[at].f, variance.errors[stratum].df as f64)
            });
            match (line, term.test) {
                (Some((Some(f), df)), Some(test)) => {
                    (test.f - f).abs() <= SAME * f.max(SAME)
                        && (test.denominator_df - df).abs() <= SAME * df
                }
                (Some((None, _)), None) => true,
                _ => false,
            }
        });
        Some(match same {
            true => Agreement::Same,
            false => Agreement::Differs,
        })
    }

    /// The comparison as a note, or what makes the set unbalanced.
    pub fn agreement_note(&self) -> Option<Statement> {
        if let Some(Err(error)) = self.readings.sheet.as_ref().map(|sheet| sheet.design()) {
            let what = match &error {
                DesignError::Unbalanced(cells) => format!(" ({})", safe(cells)),
                _ => String::new(),
            };
            return Some(
                Statement::new(format!(
                    "The set is not balanced{what}. Means are adjusted for that, as if every treatment had been in every block and season, and errors are weighted accordingly."
                ))
                .rank(Rank::Detail),
            );
        }
        let method = match self.options.df {
            Df::KenwardRoger => "Kenward and Roger's",
            Df::Satterthwaite => "Satterthwaite's",
        };
        let text = match self.agreement()? {
            Agreement::Same => format!(
                "The set is balanced and no variance component is zero: every F here and its degrees of freedom were compared with the analysis of variance in strata and are the same ({method} degrees of freedom are the whole numbers of the strata)."
            ),
            Agreement::AtZero => "The set is balanced, but a variance component came out at zero, so errors are pooled here that the analysis of variance in strata keeps apart. For a balanced set that analysis is exact: where the two differ, read it.".to_owned(),
            Agreement::OtherStructure => "The set is balanced. The analysis of variance in strata takes all seasons of a plot as equally correlated, which is not what fits best here, so tests of seasons and their interactions differ from it.".to_owned(),
            Agreement::Differs => "The set is balanced, but F or degrees of freedom differ from the analysis of variance in strata, which is exact for it: read that one.".to_owned(),
        };
        Some(Statement::new(text).rank(Rank::Detail))
    }
}
