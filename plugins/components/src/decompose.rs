//! Every treatment against its control: the change in the logarithm of yield and of each factor.

use caneplot_numerics::components::{Compensation, compensation};
use caneplot_numerics::contrasts::{ContrastError, Errors, Estimate, Plots};
use caneplot_plugin::{Call, Refusal};
use caneplot_readings::{Occasion, Register, Treatments, refusal};

use crate::chain::Chain;

/// A treatment against the control.
#[derive(Debug, Clone)]
pub(crate) struct Change {
    /// Place among the treatments.
    pub treatment: usize,
    /// Changes of the factors and, last, of the whole, in logarithms.
    pub estimate: Estimate,
    /// Half widths of their intervals.
    pub half_widths: Vec<f64>,
}

impl Change {
    /// Whether the interval of a factor leaves out no change.
    pub fn clear(&self, part: usize) -> bool {
        self.estimate.values[part].abs() > self.half_widths[part].max(1e-12)
    }

    /// Place of the whole.
    pub fn whole(&self) -> usize {
        self.estimate.values.len() - 1
    }

    /// Lower end, value and upper end of a factor's change as shares: 0.38 for 38 % more.
    pub fn shares(&self, part: usize) -> [f64; 3] {
        let (value, half) = (self.estimate.values[part], self.half_widths[part]);
        [value - half, value, value + half].map(f64::exp_m1)
    }

    /// The factors without the whole.
    fn parts(&self) -> Estimate {
        let parts = self.whole();
        Estimate {
            values: self.estimate.values[..parts].to_vec(),
            products: self.estimate.products[..parts]
                .iter()
                .map(|row| row[..parts].to_vec())
                .collect(),
            df: self.estimate.df[..parts].to_vec(),
        }
    }
}

/// All treatments of one set of factors, in one season or over all.
#[derive(Debug, Clone)]
pub(crate) struct Compared<'a> {
    pub occasion: &'a Occasion,
    pub treatments: Treatments<'a>,
    pub changes: Vec<Change>,
    /// Nothing had to be adjusted for.
    pub complete: bool,
}

impl Compared<'_> {
    /// Whether plots treated alike do not differ at all.
    fn is_without_error(&self) -> bool {
        let whole = |change: &Change| change.estimate.standard_error(change.whole());
        let parts = |change: &Change| {
            (0..change.whole()).all(|part| change.estimate.standard_error(part) < ROUNDING)
        };
        !self.changes.is_empty()
            && self
                .changes
                .iter()
                .all(|change| whole(change) < ROUNDING && parts(change))
    }
}

/// A standard error of a logarithm below this is rounding, not variation between plots.
const ROUNDING: f64 = 1e-12;

/// The whole answer for one set of factors.
#[derive(Debug, Clone)]
pub(crate) struct Decomposed<'a> {
    pub register: &'a Register<'a>,
    pub chain: &'a Chain<'a>,
    /// Confidence of the intervals.
    pub level: f64,
    pub overall: Compared<'a>,
    pub seasons: Vec<Compared<'a>>,
    /// Seasons that could not be compared, with the reason.
    pub failed: Vec<(usize, String)>,
}

impl<'a> Decomposed<'a> {
    pub fn of(
        call: &'a Call,
        register: &'a Register<'a>,
        chain: &'a Chain<'a>,
        occasions: &'a [Occasion],
        factors: &[usize],
        level: f64,
    ) -> Result<Self, Refusal> {
        let one = |occasion: &'a Occasion| compared(call, register, occasion, factors, level);
        let (first, rest) = occasions
            .split_first()
            .ok_or_else(|| Refusal::new("no season has values"))?;
        if first.plots.is_empty() {
            let seasons = first.seasons.iter().map(|&season| register.season(season));
            return Err(Refusal::new(format!(
                "no plot has all of its parts in every one of the seasons {}, so no plot can stand for all of them",
                caneplot_plugin::words::list(&seasons.collect::<Vec<_>>())
            ))
            .hint("fill in the values if they exist, or leave out the seasons concerned"));
        }
        let overall = one(first).map_err(|error| refusal(&error))?;
        if overall.is_without_error() {
            return Err(
                Refusal::new("plots treated alike differ by exactly nothing, so the error is 0 and no change can be told from chance")
                    .hint("check the data for copied values"),
            );
        }
        let (mut seasons, mut failed) = (Vec::new(), Vec::new());
        for occasion in rest {
            match one(occasion) {
                Ok(found) => seasons.push(found),
                Err(error) => failed.extend(occasion.season.map(|at| (at, error.to_string()))),
            }
        }
        Ok(Self {
            register,
            chain,
            level,
            overall,
            seasons,
            failed,
        })
    }

    pub fn treatments(&self) -> &Treatments<'a> {
        &self.overall.treatments
    }

    /// How much of the change in nodes the later factors took back, where nodes changed clearly and
    /// the share has a finite interval or at least a value.
    pub fn compensation(&self, change: &Change) -> Option<Compensation> {
        let nodes = self.chain.nodes.filter(|&nodes| change.clear(nodes))?;
        if nodes + 1 == change.whole() {
            return None;
        }
        compensation(&change.parts(), nodes, self.level).ok()
    }
}

fn compared<'a>(
    call: &'a Call,
    register: &Register<'_>,
    occasion: &'a Occasion,
    factors: &[usize],
    level: f64,
) -> Result<Compared<'a>, ContrastError> {
    let sheet = register.sheet(&occasion.plots);
    let plots = Plots::new(&sheet, None)?;
    let columns: Vec<&[f64]> = occasion.columns.iter().map(Vec::as_slice).collect();
    let errors = plots.errors(&columns)?;
    let treatments = Treatments::of(&call.request.trial, &sheet, &plots, factors)?;
    let change = |treatment: usize| change(&plots, &errors, &treatments, treatment, level);
    let changes = treatments
        .others()
        .into_iter()
        .map(change)
        .collect::<Result<_, _>>()?;
    Ok(Compared {
        occasion,
        changes,
        complete: plots.complete(),
        treatments,
    })
}

fn change(
    plots: &Plots,
    errors: &Errors,
    treatments: &Treatments<'_>,
    treatment: usize,
    level: f64,
) -> Result<Change, ContrastError> {
    let estimate = plots.difference(errors, &treatments.compared, treatment, treatments.control)?;
    let half_widths = (0..estimate.values.len())
        .map(|part| estimate.half_width(part, level))
        .collect::<Result<_, _>>()
        // The level is checked and every error that enters has degrees of freedom.
        .map_err(|_| ContrastError::NoError)?;
    Ok(Change {
        treatment,
        estimate,
        half_widths,
    })
}
