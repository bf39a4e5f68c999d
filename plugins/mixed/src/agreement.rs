//! Whether the exact analysis of variance in strata says the same, where the set is balanced.

use caneplot_numerics::design::DesignError;
use caneplot_numerics::mixed::Structure;
use caneplot_numerics::strata::{BlockTerm, Classifier, Layout};
use caneplot_plugin::findings::{Format, Rank, Statement};
use caneplot_plugin::words::{beginning, list, safe};

use crate::options::{BlockSeasons, Df, Seasons};
use crate::sources::{BLOCK_SEASONS, Source};
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
            || self.spreads.is_some()
            || (several && self.options.season == Seasons::Random)
        {
            return None;
        }
        let design = self.readings.sheet.as_ref()?.design().ok()?;
        if !self.choice.fit.certificate.at_zero.is_empty() {
            return Some(Agreement::AtZero);
        }
        if several && self.choice.structure != Structure::Symmetric {
            return Some(Agreement::OtherStructure);
        }
        let layout = by_season(design.layout, &self.readings.sources)?;
        let variance = layout.analyse(&self.problem.values);
        let same = self.terms.iter().all(|term| {
            let classifiers: Vec<usize> = term
                .factors
                .iter()
                .filter_map(|&at| match design.treatments.get(at) {
                    Some(&classifier) => Some(classifier),
                    None => design.season,
                })
                .collect();
            let line = layout.term_of(&classifiers).map(|at| {
                let stratum = layout.terms()[at].stratum;
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

    /// What is said of sources that differ from season to season.
    pub fn seasons_note(&self) -> Vec<Statement> {
        let mut all = Vec::new();
        let kept: Vec<&str> = self
            .readings
            .sources
            .iter()
            .filter(|source| source.by_season && source.term.name != BLOCK_SEASONS)
            .map(|source| source.term.name.as_str())
            .collect();
        if !kept.is_empty() {
            all.push(format!(
                "{} stand in the model whatever their size: the treatments of those units are judged in single seasons, and for their change with the season, against that variation.",
                beginning(&list(&kept))
            ));
        }
        let gain = self.choice.block_seasons;
        let there = self
            .readings
            .sources
            .iter()
            .any(|source| source.term.name == BLOCK_SEASONS);
        match (there, self.options.block_seasons, gain) {
            (true, BlockSeasons::Choose, Some(_)) => all.push("Blocks went their own way from season to season: their variation in each season is kept apart, because AICc is {gain} lower with it. Seasons are judged against it.".to_owned()),
            (true, BlockSeasons::Keep, _) => all.push("Blocks in each season are kept apart, as asked for: seasons are judged against their variation.".to_owned()),
            (false, BlockSeasons::Choose, Some(_)) => all.push("Blocks gave no sign of going their own way from season to season (AICc is no lower with such a source), so that variation is pooled with the errors of plots.".to_owned()),
            _ => {}
        }
        all.into_iter()
            .map(|text| {
                let counted = text.contains("{gain}");
                let statement = Statement::new(text).rank(Rank::Detail);
                match gain.filter(|_| counted) {
                    Some(gain) => statement.with("gain", gain, Format::Decimals(1)),
                    None => statement,
                }
            })
            .collect()
    }

    /// The comparison as a note, or what makes the set unbalanced.
    pub fn agreement_note(&self) -> Option<Statement> {
        if let Some(Err(error)) = self.readings.sheet.as_ref().map(|sheet| sheet.design()) {
            // Missing records have a sentence of their own.
            let what = match &error {
                DesignError::Unbalanced(cells) if !self.readings.missing => {
                    format!(" ({})", safe(cells))
                }
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

/// The layout with a stratum for each source that differs from season to season; `None` where the
/// strata are then not orthogonal.
fn by_season(layout: Layout, sources: &[Source]) -> Option<Layout> {
    if sources.iter().all(|source| !source.by_season) {
        return Some(layout);
    }
    let mut classifiers = layout.classifiers().to_vec();
    let mut add = |name: &str, codes: &[usize], grouping: bool| {
        let levels = codes.iter().max().map_or(0, |most| most + 1);
        classifiers.push(Classifier {
            name: name.to_owned(),
            levels: (1..=levels).map(|number| number.to_string()).collect(),
            codes: codes.to_vec(),
        });
        BlockTerm {
            name: name.to_owned(),
            classifiers: vec![classifiers.len() - 1],
            grouping,
        }
    };
    let (last, coarse) = layout.strata().split_last()?;
    let mut blocks = Vec::new();
    for stratum in coarse {
        blocks.push(add(
            &stratum.name,
            stratum.cells.of_unit(),
            stratum.grouping,
        ));
    }
    let coarse_first = |source: &&Source| source.term.name == BLOCK_SEASONS;
    let by_season = || sources.iter().filter(|source| source.by_season);
    for source in by_season()
        .filter(coarse_first)
        .chain(by_season().filter(|source| !coarse_first(source)))
    {
        blocks.push(add(&source.term.name, &source.term.codes, false));
    }
    blocks.push(add(&last.name, last.cells.of_unit(), last.grouping));
    let terms: Vec<Vec<usize>> = layout
        .terms()
        .iter()
        .map(|term| term.classifiers.clone())
        .collect();
    Layout::new(classifiers, &blocks, &terms).ok()
}
