//! Treatments against the control over all seasons: with joint limits, and within a margin.

use std::rc::Rc;

use caneplot_numerics::dunnett::Dunnett;
use caneplot_numerics::equivalence::{Equivalence, equivalence};
use caneplot_numerics::separation::Difference;

use crate::analysed::Analysed;
use crate::margin::Margin;
use crate::measures::Measure;
use crate::study::{Study, Whole};

/// A treatment against the control.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Against {
    pub treatment: usize,
    pub difference: Difference,
    /// Half the width of the joint interval.
    pub half_width: f64,
}

/// The treatments of a factor against its declared control.
pub(crate) struct WithControl {
    pub control: usize,
    pub rows: Vec<Against>,
    joint: Rc<Dunnett>,
}

impl WithControl {
    /// P of a row among all comparisons with the control. It takes longer than everything else of a
    /// response together, so it is worked out only where it is shown.
    pub fn p(&self, row: &Against) -> Option<f64> {
        row.difference.against_control(&self.joint).ok()
    }
}

/// The term's one factor with its control, where it declares one.
pub(crate) fn has_control(whole: &Whole<'_>, term: usize) -> bool {
    let single = whole.analysed.planned.terms[term].factors.len() == 1;
    let treatments = whole.analysed.treatments(term);
    single && treatments.is_some_and(|treatments| treatments.declared)
}

/// Every treatment of a factor against its declared control, limits joint (Dunnett 1955).
pub(crate) fn against_control(
    study: &Study<'_>,
    whole: &Whole<'_>,
    term: usize,
    column: usize,
) -> Option<WithControl> {
    let analysed = &whole.analysed;
    let treatments = analysed.treatments(term)?;
    if !has_control(whole, term) {
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
    let (joint, critical) = critical.control(plots[control], &replicates, df, level)?;
    let rows = others
        .into_iter()
        .map(|treatment| {
            let difference = analysed.difference(term, column, treatment, control)?;
            Some(Against {
                treatment,
                difference,
                half_width: critical * difference.standard_error,
            })
        })
        .collect::<Option<Vec<Against>>>()?;
    Some(WithControl {
        control,
        rows,
        joint,
    })
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
