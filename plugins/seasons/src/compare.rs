//! Treatments against the control over all seasons: with joint limits, and within a margin.

use caneplot_numerics::equivalence::{Equivalence, equivalence};

use crate::analysed::Analysed;
use crate::margin::Margin;
use crate::measures::Measure;
use crate::study::{Study, Whole};

/// A treatment against the control.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Against {
    pub treatment: usize,
    pub difference: f64,
    pub half_width: f64,
    pub p: f64,
}

/// Every treatment of a factor against its declared control, limits and P joint (Dunnett 1955).
pub(crate) fn against_control(
    study: &Study<'_>,
    whole: &Whole<'_>,
    term: usize,
    column: usize,
) -> Option<(usize, Vec<Against>)> {
    let analysed = &whole.analysed;
    let treatments = analysed.treatments(term)?;
    if !treatments.declared || analysed.planned.terms[term].factors.len() > 1 {
        return None;
    }
    let (control, others) = (treatments.control, treatments.others());
    let plots = &treatments.compared.plots;
    let replicates: Vec<usize> = others.iter().map(|&at| plots[at]).collect();
    let df = analysed
        .difference(term, column, *others.first()?, control)?
        .df;
    let level = study.planner.options.level;
    let critical = &study.planner.critical;
    let (dunnett, critical) = critical.control(plots[control], &replicates, df, level)?;
    let rows = others
        .into_iter()
        .map(|treatment| {
            let difference = analysed.difference(term, column, treatment, control)?;
            Some(Against {
                treatment,
                difference: difference.value,
                half_width: critical * difference.standard_error,
                p: difference.against_control(&dunnett).ok()?,
            })
        })
        .collect::<Option<Vec<Against>>>()?;
    Some((control, rows))
}

/// A treatment judged against a margin around the control.
#[derive(Debug, Clone)]
pub(crate) struct Judged {
    /// Place of the factor in the trial.
    pub factor: usize,
    /// The treatment in a sentence.
    pub words: String,
    /// The control in a sentence.
    pub control: String,
    /// The season; `None` for the mean of all seasons with the treatments in force.
    pub season: Option<usize>,
    pub difference: f64,
    /// The margin in units of the response.
    pub margin: f64,
    pub found: Equivalence,
}

/// Every treatment with a declared control judged against the margin: over all seasons, and season by
/// season where the effect clearly changed with the season.
pub(crate) fn judged(study: &Study<'_>, whole: &Whole<'_>, margin: Margin) -> Vec<Judged> {
    let Some(column) = whole.column(Measure::Mean) else {
        return Vec::new();
    };
    let mut all = Vec::new();
    for term in whole.analysed.factors() {
        all.extend(of_term(study, &whole.analysed, term, column, margin, None));
        if !study.clear(whole.with_season[term]) {
            continue;
        }
        for season in study
            .by_season
            .iter()
            .filter(|s| study.seasons.contains(&s.season))
        {
            if let Ok(analysed) = &season.analysed {
                all.extend(of_term(
                    study,
                    analysed,
                    term,
                    0,
                    margin,
                    Some(season.season),
                ));
            }
        }
    }
    all
}

fn of_term(
    study: &Study<'_>,
    analysed: &Analysed<'_>,
    term: usize,
    column: usize,
    margin: Margin,
    season: Option<usize>,
) -> Vec<Judged> {
    let Some(treatments) = analysed.treatments(term).filter(|found| found.declared) else {
        return Vec::new();
    };
    let control = treatments.control;
    let mean = study.response().offset + analysed.mean(term, column, control);
    let Some(margin) = margin.amount(mean) else {
        return Vec::new();
    };
    let judge = |treatment: usize| {
        let difference = analysed.difference(term, column, treatment, control)?;
        Some(Judged {
            factor: analysed.planned.terms[term].factors[0],
            words: treatments.words(treatment),
            control: treatments.words(control),
            season,
            difference: difference.value,
            margin,
            found: equivalence(&difference, margin, study.planner.options.level).ok()?,
        })
    };
    treatments.others().into_iter().filter_map(judge).collect()
}
