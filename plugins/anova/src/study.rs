//! One response analysed: its design, its analysis of variance and its tables of means.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;

use caneplot_numerics::cells::Cells;
use caneplot_numerics::design::{Design, DesignError};
use caneplot_numerics::means::{MeanPlan, MeanTable, Precision};
use caneplot_numerics::range::StudentizedRange;
use caneplot_numerics::strata::{TermLine, Variance};
use caneplot_plugin::findings::Statement;
use caneplot_plugin::request::{Factor, Level, Response, TrialInfo};
use caneplot_plugin::{Call, Refusal};

use crate::options::Options;
use crate::readings::{self, Readings};
use crate::words;

/// A design with everything that does not depend on the response.
pub(crate) struct Planned {
    pub design: Design,
    /// A table of means for each term.
    pub plans: Vec<MeanPlan>,
    /// For each term the kind of difference of each pair of cells, the smaller cell first.
    kind_of: Vec<BTreeMap<(usize, usize), usize>>,
    /// For each term the number of plots behind each mean.
    pub plots_behind: Vec<Vec<usize>>,
}

impl Planned {
    fn new(design: Design) -> Self {
        let layout = &design.layout;
        let plans: Vec<MeanPlan> = layout
            .terms()
            .iter()
            .map(|term| layout.mean_plan(&term.classifiers))
            .collect();
        let kind_of = plans
            .iter()
            .map(|plan| {
                let pairs = |at: usize| plan.kinds[at].pairs.iter().map(move |&pair| (pair, at));
                (0..plan.kinds.len()).flat_map(pairs).collect()
            })
            .collect();
        let plots = layout.strata()[design.plots].cells.of_unit();
        let plots_behind = plans
            .iter()
            .map(|plan| {
                let both = Cells::crossing(layout.units(), [plan.cells.of_unit(), plots]);
                let mut counts = vec![0; plan.cells.count()];
                for &unit in both.first() {
                    counts[plan.cells.of_unit()[unit]] += 1;
                }
                counts
            })
            .collect();
        Self {
            design,
            plans,
            kind_of,
            plots_behind,
        }
    }
}

/// Rows of a table with the design they make up.
type Known = ((String, Vec<usize>), Rc<Planned>);

/// Analyses responses one after the other; responses recorded on the same plots share one design.
pub(crate) struct Analyst<'a> {
    call: &'a Call,
    options: &'a Options,
    known: RefCell<Vec<Known>>,
    ranges: Rc<Ranges>,
}

/// Studentized ranges made so far, by number of means and degrees of freedom.
#[derive(Default)]
pub(crate) struct Ranges(RefCell<BTreeMap<(usize, u64), f64>>);

impl Ranges {
    /// The critical value at a level.
    pub fn critical(&self, means: usize, df: f64, level: f64) -> Option<f64> {
        let key = (means, df.to_bits());
        if let Some(&known) = self.0.borrow().get(&key) {
            return Some(known);
        }
        let value = StudentizedRange::new(means, df)
            .ok()?
            .quantile(level)
            .ok()?;
        self.0.borrow_mut().insert(key, value);
        Some(value)
    }
}

impl<'a> Analyst<'a> {
    pub fn new(call: &'a Call, options: &'a Options) -> Self {
        Self {
            call,
            options,
            known: RefCell::default(),
            ranges: Rc::default(),
        }
    }

    /// The study of a response, on single vines where every plot has as many, else on plots.
    pub fn study(&self, response: &'a Response) -> Result<Study<'a>, Refusal> {
        let mut notes = Vec::new();
        if let Some(vines) = readings::of_vines(self.call, self.options, response) {
            let vines = vines?;
            match self.planned(&vines) {
                Ok(planned) => return self.studied(response, vines, planned, notes),
                Err(error) => notes.extend(readings::unequal_vines(&error)),
            }
        }
        let plots = readings::of_plots(self.call, self.options, response)?;
        let planned = self.planned(&plots).map_err(|error| refusal(&error))?;
        self.studied(response, plots, planned, notes)
    }

    fn planned(&self, readings: &Readings) -> Result<Rc<Planned>, DesignError> {
        let known = self.known.borrow();
        if let Some((_, planned)) = known.iter().find(|(key, _)| *key == readings.key) {
            return Ok(Rc::clone(planned));
        }
        drop(known);
        let planned = Rc::new(Planned::new(readings.sheet.design()?));
        self.known
            .borrow_mut()
            .push((readings.key.clone(), Rc::clone(&planned)));
        Ok(planned)
    }

    fn studied(
        &self,
        response: &'a Response,
        readings: Readings,
        planned: Rc<Planned>,
        mut notes: Vec<Statement>,
    ) -> Result<Study<'a>, Refusal> {
        let Readings { values, .. } = readings;
        notes.extend(readings.notes);
        if let [first, rest @ ..] = values.as_slice()
            && rest.iter().all(|value| value == first)
        {
            return Err(Refusal::new(format!(
                "'{}' is the same in every plot ({}{}): there is no variation to analyse",
                response.label,
                words::plain(response.offset + first, response.decimals),
                if response.unit.is_empty() {
                    String::new()
                } else {
                    format!(" {}", response.unit)
                },
            ))
            .column(&response.name));
        }
        let layout = &planned.design.layout;
        let variance = layout.analyse(&values);
        let tables = planned
            .plans
            .iter()
            .map(|plan| layout.mean_table(plan, &values, &variance))
            .collect();
        Ok(Study {
            trial: &self.call.request.trial,
            options: self.options,
            response,
            planned,
            values,
            variance,
            tables,
            notes,
            ranges: Rc::clone(&self.ranges),
        })
    }
}

/// What a design lacks, with what to do about it.
fn refusal(error: &DesignError) -> Refusal {
    let refusal = Refusal::new(error.to_string());
    match error {
        DesignError::Unbalanced(_) | DesignError::Layout(_) => refusal.hint(
            "the exact analysis in strata needs the complete set; fill in the value if it exists, or leave out the season or block concerned; unbalanced data need restricted maximum likelihood, which this analysis is not",
        ),
        DesignError::OneLevel { .. } => {
            refusal.hint("leave the factor out of trial.toml or add the data of its other levels")
        }
        _ => refusal.hint("compare the data with the layout of the trial and with [design] in trial.toml"),
    }
}

/// One response analysed.
pub(crate) struct Study<'a> {
    pub trial: &'a TrialInfo,
    pub options: &'a Options,
    pub response: &'a Response,
    pub planned: Rc<Planned>,
    /// Centred values.
    pub values: Vec<f64>,
    pub variance: Variance,
    /// A table of means for each term.
    pub tables: Vec<MeanTable>,
    /// What was left out or pooled before the analysis.
    pub notes: Vec<Statement>,
    pub ranges: Rc<Ranges>,
}

impl Study<'_> {
    /// The term made of these treatment factors (by their place in the trial), with or without the
    /// season.
    pub fn term(&self, factors: &[usize], season: bool) -> Option<usize> {
        let design = &self.planned.design;
        let mut classifiers: Vec<usize> = factors.iter().map(|&at| design.treatments[at]).collect();
        if season {
            classifiers.push(design.season?);
        }
        design.layout.term_of(&classifiers)
    }

    /// The treatment factors of a term.
    pub fn factors_of(&self, term: usize) -> Vec<usize> {
        let design = &self.planned.design;
        let classifiers = &design.layout.terms()[term].classifiers;
        (0..design.treatments.len())
            .filter(|&at| classifiers.contains(&design.treatments[at]))
            .collect()
    }

    /// Whether a term has the season in it.
    pub fn has_season(&self, term: usize) -> bool {
        let design = &self.planned.design;
        design
            .season
            .is_some_and(|season| design.layout.terms()[term].classifiers.contains(&season))
    }

    pub fn factor(&self, at: usize) -> &Factor {
        &self.trial.factors[at]
    }

    pub fn line(&self, term: usize) -> &TermLine {
        &self.variance.lines[term]
    }

    /// Whether a term's F is rarer than the level.
    pub fn clear(&self, term: usize) -> bool {
        self.line(term).p.is_some_and(|p| p < self.options.level)
    }

    /// Names of the levels of a factor that have data, in order.
    pub fn levels(&self, factor: usize) -> &[String] {
        let design = &self.planned.design;
        &design.layout.classifiers()[design.treatments[factor]].levels
    }

    /// A level of a factor, by its place among those with data.
    pub fn level(&self, factor: usize, at: usize) -> Option<&Level> {
        let name = self.levels(factor).get(at)?;
        self.factor(factor)
            .levels
            .iter()
            .find(|level| &level.name == name)
    }

    /// A level in a sentence.
    pub fn level_words(&self, factor: usize, at: usize) -> String {
        self.level(factor, at).map_or_else(String::new, |level| {
            words::level(self.factor(factor), level)
        })
    }

    /// A level in a table or on an axis.
    pub fn level_label(&self, factor: usize, at: usize) -> String {
        self.level(factor, at)
            .map_or_else(String::new, |level| level.label.clone())
    }

    /// The quantities of the levels with data, where the factor is numeric.
    pub fn quantities(&self, factor: usize) -> Option<Vec<f64>> {
        if !self.factor(factor).is_numeric() {
            return None;
        }
        (0..self.levels(factor).len())
            .map(|at| self.level(factor, at).and_then(|level| level.value))
            .collect()
    }

    /// The place of the control among the levels with data.
    pub fn control(&self, factor: usize) -> Option<usize> {
        let name = self.factor(factor).control.as_ref()?;
        self.levels(factor).iter().position(|level| level == name)
    }

    pub fn seasons(&self) -> &[String] {
        let design = &self.planned.design;
        match design.season {
            Some(season) => &design.layout.classifiers()[season].levels,
            None => &[],
        }
    }

    /// Levels of a cell of a term, one for each of its classifiers.
    pub fn cell_levels(&self, term: usize, cell: usize) -> &[usize] {
        &self.planned.plans[term].levels[cell]
    }

    /// A cell of a term without its season, in a sentence.
    pub fn cell_words(&self, term: usize, cell: usize) -> String {
        let levels = self.cell_levels(term, cell);
        let parts: Vec<String> = self
            .factors_of(term)
            .into_iter()
            .zip(levels)
            .map(|(factor, &level)| self.level_words(factor, level))
            .collect();
        parts.join(", ")
    }

    /// A mean with its offset.
    pub fn mean(&self, term: usize, cell: usize) -> f64 {
        self.response.offset + self.tables[term].means[cell]
    }

    /// The mean of everything, with its offset.
    pub fn grand_mean(&self) -> f64 {
        self.response.offset + self.variance.mean
    }

    /// First mean less second, without the offset, so that no digits are lost.
    pub fn difference(&self, term: usize, first: usize, second: usize) -> f64 {
        self.tables[term].means[first] - self.tables[term].means[second]
    }

    /// Precision of the difference of two means.
    pub fn precision(&self, term: usize, first: usize, second: usize) -> Option<Precision> {
        let pair = (first.min(second), first.max(second));
        let kind = self.planned.kind_of[term].get(&pair)?;
        self.tables[term].of_difference[*kind].filter(|precision| precision.variance > 0.0)
    }

    pub fn standard_error(&self, term: usize, cell: usize) -> Option<f64> {
        self.tables[term].of_mean[cell].map(|precision| precision.standard_error())
    }
}
