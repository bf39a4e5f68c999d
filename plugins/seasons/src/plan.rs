//! Sets of plots with their design, made once and used for every response recorded on them.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;

use caneplot_numerics::contrasts::Plots;
use caneplot_numerics::critical::Critical;
use caneplot_numerics::design::{Design, Sheet};
use caneplot_numerics::strata::Classifier;
use caneplot_plugin::request::TrialInfo;
use caneplot_plugin::{Call, Refusal};
use caneplot_readings::{Register, Treatments, refusal};

use crate::calendar::Calendar;
use crate::options::Options;

/// Most treatments of several factors together that are shown one by one.
const MOST_COMBINATIONS: usize = 12;

/// Treatments that are compared with each other: the levels of a factor, or combinations.
pub(crate) struct Term<'a> {
    /// Places of its factors in the trial.
    pub factors: Vec<usize>,
    /// The treatments; `None` for combinations that are too many to show.
    pub treatments: Option<Treatments<'a>>,
    /// Its place in the layout of the complete design.
    line: Option<usize>,
}

/// A set of plots, one value each.
pub(crate) struct Planned<'a> {
    /// What compares treatments.
    pub plots: Plots,
    /// The complete design; `None` where plots are missing and means are adjusted for it.
    pub design: Option<Design>,
    /// Factors in the order of the trial, then their crossings.
    pub terms: Vec<Term<'a>>,
    sheet: Sheet,
}

impl<'a> Planned<'a> {
    fn new(trial: &'a TrialInfo, sheet: Sheet) -> Result<Self, Refusal> {
        let plots = Plots::new(&sheet, None).map_err(|error| refusal(&error))?;
        let design = sheet.design().ok();
        let mut terms = Vec::new();
        for factors in crossings(trial.factors.len()) {
            let line = design.as_ref().and_then(|design| {
                let classifiers: Vec<usize> =
                    factors.iter().map(|&at| design.treatments[at]).collect();
                design.layout.term_of(&classifiers)
            });
            if factors.len() > 1 && line.is_none() {
                continue;
            }
            let treatments =
                Treatments::of(trial, &sheet, &plots, &factors).map_err(|error| refusal(&error))?;
            let shown = factors.len() == 1 || treatments.count() <= MOST_COMBINATIONS;
            terms.push(Term {
                factors,
                treatments: shown.then_some(treatments),
                line,
            });
        }
        Ok(Self {
            plots,
            design,
            terms,
            sheet,
        })
    }

    /// The line of a term in the analysis of variance of the complete design.
    pub fn line(&self, term: usize) -> Option<(&Design, usize)> {
        Some((self.design.as_ref()?, self.terms[term].line?))
    }

    /// The layout of these plots over so many seasons, each of them recorded on every plot.
    pub fn over_seasons(&self, seasons: usize) -> Option<Design> {
        self.design.as_ref()?;
        let repeat = |classifier: &Classifier| Classifier {
            codes: repeated(&classifier.codes, seasons),
            ..classifier.clone()
        };
        let units = self.sheet.plot.codes.len();
        let sheet = Sheet {
            kind: self.sheet.kind,
            block: self.sheet.block.as_ref().map(repeat),
            row: self.sheet.row.as_ref().map(repeat),
            column: self.sheet.column.as_ref().map(repeat),
            plot: repeat(&self.sheet.plot),
            season: Some(Classifier {
                name: "Season".to_owned(),
                levels: (0..seasons).map(|season| season.to_string()).collect(),
                codes: (0..units).flat_map(|_| 0..seasons).collect(),
            }),
            vines: false,
            treatments: self
                .sheet
                .treatments
                .iter()
                .map(|(factor, applied)| (repeat(factor), *applied))
                .collect(),
            block_by_season: false,
        };
        sheet.design().ok()
    }
}

fn repeated(codes: &[usize], times: usize) -> Vec<usize> {
    codes
        .iter()
        .flat_map(|&code| std::iter::repeat_n(code, times))
        .collect()
}

/// Every set of factors, small sets first.
fn crossings(count: usize) -> Vec<Vec<usize>> {
    let mut all: Vec<Vec<usize>> = (1_usize..1 << count)
        .map(|mask| (0..count).filter(|at| mask & (1 << at) != 0).collect())
        .collect();
    all.sort_by(|a: &Vec<usize>, b| a.len().cmp(&b.len()).then(a.cmp(b)));
    all
}

type Known<'a> = BTreeMap<Vec<usize>, Result<Rc<Planned<'a>>, Refusal>>;

/// By plots and number of seasons; `None` where they do not make up the design.
type OverSeasons = BTreeMap<(Vec<usize>, usize), Option<Rc<Design>>>;

/// What all responses of a call share.
pub(crate) struct Planner<'a> {
    pub call: &'a Call,
    pub options: &'a Options,
    pub calendar: &'a Calendar,
    pub register: &'a Register<'a>,
    /// Plot and season of each row of the table of plots.
    pub rows: Vec<(usize, usize)>,
    pub critical: Critical,
    known: RefCell<Known<'a>>,
    seasons: RefCell<OverSeasons>,
}

impl<'a> Planner<'a> {
    pub fn new(
        call: &'a Call,
        options: &'a Options,
        calendar: &'a Calendar,
        register: &'a Register<'a>,
    ) -> Result<Self, Refusal> {
        Ok(Self {
            call,
            options,
            calendar,
            register,
            rows: register.rows(call.table("plots")?)?,
            critical: Critical::default(),
            known: RefCell::default(),
            seasons: RefCell::default(),
        })
    }

    pub fn trial(&self) -> &'a TrialInfo {
        &self.call.request.trial
    }

    /// The design of some plots.
    pub fn planned(&self, plots: &[usize]) -> Result<Rc<Planned<'a>>, Refusal> {
        if let Some(known) = self.known.borrow().get(plots) {
            return known.clone();
        }
        let made = Planned::new(self.trial(), self.register.sheet(plots)).map(Rc::new);
        self.known.borrow_mut().insert(plots.to_vec(), made.clone());
        made
    }

    /// The design of some plots over so many seasons.
    pub fn over_seasons(&self, plots: &[usize], seasons: usize) -> Option<Rc<Design>> {
        let key = (plots.to_vec(), seasons);
        if let Some(known) = self.seasons.borrow().get(&key) {
            return known.clone();
        }
        let planned = self.planned(plots).ok()?;
        let made = planned.over_seasons(seasons).map(Rc::new);
        self.seasons.borrow_mut().insert(key, made.clone());
        made
    }
}
