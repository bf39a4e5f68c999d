//! Turns responses into studies; responses recorded on the same plots share one design.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;

use caneplot_numerics::cells::Cells;
use caneplot_numerics::critical::Critical;
use caneplot_numerics::design::{Design, DesignError, Sheet};
use caneplot_numerics::means::MeanPlan;
use caneplot_plugin::findings::Statement;
use caneplot_plugin::request::Response;
use caneplot_plugin::{Call, Refusal};
use caneplot_readings::names::plot_of;

use crate::options::Options;
use crate::readings::{self, Readings};
use crate::study::Study;
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
    /// Each plot in words.
    pub plot_names: Vec<String>,
}

impl Planned {
    fn new(design: Design, sheet: &Sheet) -> Self {
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
        let plots = &layout.strata()[design.plots].cells;
        let plot_names = plots.first().iter();
        let plot_names = plot_names.map(|&unit| plot_of(sheet, unit)).collect();
        Self {
            design,
            plans,
            kind_of,
            plots_behind,
            plot_names,
        }
    }
}

impl Planned {
    /// The kind of difference of a pair of cells of a term, the smaller cell first.
    pub fn kind_of(&self, term: usize, pair: (usize, usize)) -> Option<usize> {
        self.kind_of[term].get(&pair).copied()
    }
}

/// Rows of a table with the design they make up.
type Known = ((String, Vec<usize>), Rc<Planned>);

/// Analyses responses one after the other; responses recorded on the same plots share one design.
pub(crate) struct Analyst<'a> {
    call: &'a Call,
    options: &'a Options,
    known: RefCell<Vec<Known>>,
    critical: Rc<Critical>,
}

impl<'a> Analyst<'a> {
    pub fn new(call: &'a Call, options: &'a Options) -> Self {
        Self {
            call,
            options,
            known: RefCell::default(),
            critical: Rc::default(),
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
        let planned = Rc::new(Planned::new(readings.sheet.design()?, &readings.sheet));
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
                if words::unit(response).is_empty() {
                    String::new()
                } else {
                    format!(" {}", words::unit(response))
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
            critical: Rc::clone(&self.critical),
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
