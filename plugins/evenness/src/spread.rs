//! The spread of a measurement within plots: one logarithm of a variance a plot, compared between
//! treatments, and the distances from plot medians beside it.

use caneplot_numerics::contrasts::Test;
use caneplot_numerics::evenness::{Deviations, LogVariance};
use caneplot_numerics::sum::mean;
use caneplot_plugin::findings::{Rank, Section};
use caneplot_plugin::request::{Quantity, Response};
use caneplot_plugin::{Call, Refusal};
use caneplot_readings::{Occasion, Register, occasions, refusal, sets};

use crate::compare::Comparison;
use crate::methods::Used;
use crate::options::Options;
use crate::vines::Vines;
use crate::{figure, notes, spread_tables, spread_words, title};

/// Most combinations of several factors that are compared one by one.
const MOST_COMBINATIONS: usize = 8;

/// Place of the logarithm of the variance among the columns of a plot and among those compared.
pub(crate) const LOG: usize = 0;
/// Place of the logarithm of the coefficient of variation among those compared, where there is one.
pub(crate) const RELATIVE: usize = 1;
/// Place of the variance that sampling of vines gives that logarithm.
const SAMPLING: usize = 1;
/// Place of the logarithm of the coefficient of variation among the columns of a plot.
const VARIATION: usize = 2;

/// One set of factors.
pub(crate) struct Set<'a> {
    /// Over all seasons.
    pub overall: Comparison<'a>,
    /// Season by season, with the place of the season.
    pub seasons: Vec<(usize, Comparison<'a>)>,
    /// Test of distances from plot medians.
    pub medians: Option<Test>,
}

/// The spread of one response.
pub(crate) struct Spread<'a> {
    pub register: &'a Register<'a>,
    pub vines: &'a Vines<'a>,
    pub level: f64,
    pub alpha: f64,
    pub sets: Vec<Set<'a>>,
    /// Why sets of factors could not be compared.
    pub failed: Vec<String>,
    /// Logarithms of variances over all seasons.
    pub overall: Occasion,
    /// Coefficients of variation make sense and exist.
    pub variation: bool,
    /// Plots and seasons whose vines are all alike.
    pub same: Vec<String>,
    /// Plots and seasons with a single vine.
    pub single: Vec<String>,
}

impl Spread<'_> {
    pub fn response(&self) -> &Response {
        self.vines.response
    }
}

pub(crate) fn section(
    call: &Call,
    register: &Register<'_>,
    vines: &Vines<'_>,
    options: &Options,
    rank: Rank,
    used: &mut Used,
) -> Result<Section, Refusal> {
    let spread = spread(call, register, vines, options)?;
    used.note_spread(&spread);
    Ok(Section {
        id: caneplot_plugin::words::id(&spread.response().name),
        title: title(spread.response()),
        response: Some(spread.response().name.clone()),
        statements: spread_words::of(&spread, rank),
        tables: spread_tables::of(&spread),
        figures: figure::of_spread(&spread),
        notes: notes::of_spread(&spread),
        estimates: Vec::new(),
    })
}

fn spread<'a>(
    call: &'a Call,
    register: &'a Register<'a>,
    vines: &'a Vines<'a>,
    options: &Options,
) -> Result<Spread<'a>, Refusal> {
    let single = vines.named(register, |values| values.len() == 1);
    let same = vines.named(register, |values| {
        values.len() > 1 && values.iter().all(|value| *value == values[0])
    });
    let several = vines.named(register, |values| values.len() > 1);
    if several.is_empty() {
        return Err(Refusal::new(
            "every plot has one vine with a value, and one vine tells nothing about the spread between vines",
        )
        .column(&vines.response.name)
        .hint("record two vines or more in every plot; five or more are better"));
    }
    if same.len() == several.len() {
        return Err(Refusal::new(
            "the vines of every plot have the same value, so there is no spread to compare",
        )
        .column(&vines.response.name)
        .hint("look whether one value a plot was copied to all of its vines"));
    }
    let variation = has_variation(vines);
    let offset = vines.response.offset;
    let logs = occasions(&vines.records(|values| {
        let log = LogVariance::of(values).ok()?;
        let mut columns = vec![log.value, log.sampling];
        if variation {
            columns.push(log.value / 2.0 - (offset + mean(values)?).ln());
        }
        Some(columns)
    }));
    let mut deviations = Deviations::default();
    let distances = occasions(&vines.records(|values| Some(vec![deviations.of(values).ok()?])));
    let Some((first, rest)) = logs.split_first() else {
        return Err(Refusal::new("no plot has a spread in any season"));
    };
    if first.plots.is_empty() {
        return Err(crate::never_complete(register, first));
    }
    let compared = |occasion: &Occasion, factors: &[usize]| {
        let mut columns = vec![occasion.columns[LOG].as_slice()];
        if variation {
            columns.push(&occasion.columns[VARIATION]);
        }
        let sampling = occasion.columns.get(SAMPLING);
        // Over seasons both are means of as many values, so their weights keep their proportion.
        let weights: Option<Vec<f64>> =
            sampling.map(|values| values.iter().map(|value| 1.0 / value).collect());
        Comparison::of(
            call,
            register,
            occasion,
            &columns,
            weights.as_deref(),
            factors,
        )
    };
    let (mut found, mut failed) = (Vec::new(), Vec::new());
    for factors in sets(&call.request.trial, MOST_COMBINATIONS) {
        let medians = distances.first().and_then(|occasion| {
            let column = occasion.columns.first()?.as_slice();
            let compared =
                Comparison::of(call, register, occasion, &[column], None, &factors).ok()?;
            compared.tests[0]
        });
        match compared(first, &factors) {
            Ok(overall) => {
                let seasons = rest
                    .iter()
                    .filter_map(|occasion| {
                        Some((occasion.season?, compared(occasion, &factors).ok()?))
                    })
                    .collect();
                found.push(Set {
                    overall,
                    seasons,
                    medians,
                });
            }
            Err(error) => failed.push(refusal(&error)),
        }
    }
    if found.is_empty() {
        // Every trial has a set of factors, so one has failed.
        return Err(failed
            .into_iter()
            .next()
            .unwrap_or_else(|| Refusal::new("no treatments can be compared")));
    }
    Ok(Spread {
        register,
        vines,
        level: options.level,
        alpha: options.alpha(),
        sets: found,
        failed: failed.into_iter().map(|refusal| refusal.message).collect(),
        overall: first.clone(),
        variation,
        same,
        single,
    })
}

/// A coefficient of variation needs a scale with a true zero and values above it.
fn has_variation(vines: &Vines<'_>) -> bool {
    let response = vines.response;
    let scale = response.quantity != Quantity::Ph && !response.unit.contains("°C");
    let mut values = vines.values.iter().flatten().flatten();
    scale && response.counts.is_none() && values.all(|value| response.offset + value > 0.0)
}
