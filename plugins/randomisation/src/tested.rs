//! The tests of all responses; those recorded on the same plots are shuffled together.

use caneplot_numerics::randomise::{Randomised, Settings, randomised};
use caneplot_numerics::variance::Variance;
use caneplot_plugin::Call;
use caneplot_plugin::findings::Statement;
use caneplot_plugin::request::Response;

use crate::options::{Options, Terms};
use crate::readings::{self, Readings};
use caneplot_plugin::words::safe;

/// One term of one response.
#[derive(Debug, Clone)]
pub(crate) struct Tested<'a> {
    pub response: &'a Response,
    /// The term in words: "Pruning × Nodes left".
    pub term: String,
    /// Several factors, or a factor and the season.
    pub interaction: bool,
    /// P of the F test.
    pub p: f64,
    pub shuffled: Randomised,
}

/// Which of the two tests call a difference clear.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Agreement {
    /// Both or neither; the flag says whether both.
    Both(bool),
    /// Only the F test.
    OnlyF,
    /// Only the shuffle.
    OnlyShuffle,
    /// The draws leave open which, and F says otherwise than they lean.
    Open,
}

impl Tested<'_> {
    /// How the two tests stand to each other at a level.
    pub fn agreement(&self, level: f64) -> Agreement {
        let (f, shuffle) = (self.p < level, self.shuffled.p < level);
        if f == shuffle {
            return Agreement::Both(f);
        }
        let (low, high) = self.shuffled.interval();
        if self.shuffled.drawn.is_some() && low < level && level < high {
            Agreement::Open
        } else if f {
            Agreement::OnlyF
        } else {
            Agreement::OnlyShuffle
        }
    }
}

/// Everything computed.
pub(crate) struct Results<'a> {
    /// In the order of responses, then of terms.
    pub tested: Vec<Tested<'a>>,
    /// What was left out of responses that were tested.
    pub left_out: Vec<Statement>,
    /// Why responses or terms were not tested.
    pub refused: Vec<Statement>,
    /// Whether plots kept several seasons together.
    pub seasons: bool,
}

impl<'a> Results<'a> {
    /// The tests of a call.
    pub fn of(call: &'a Call, options: &'a Options) -> Self {
        let mut found = Self {
            tested: Vec::new(),
            left_out: Vec::new(),
            refused: Vec::new(),
            seasons: false,
        };
        let mut batches: Vec<Vec<(usize, &Response, Readings)>> = Vec::new();
        for (place, response) in options.responses(call).enumerate() {
            match readings::of(call, response) {
                Ok(mut readings) => {
                    found.left_out.extend(readings.note.take());
                    let same = |batch: &&mut Vec<(usize, &Response, Readings)>| {
                        batch[0].2.rows == readings.rows
                    };
                    match batches.iter_mut().find(same) {
                        Some(batch) => batch.push((place, response, readings)),
                        None => batches.push(vec![(place, response, readings)]),
                    }
                }
                Err(refusal) => found.refused.push(Statement::new(format!(
                    "{} is not tested: {}.",
                    safe(&response.label),
                    safe(refusal.message.trim_end_matches('.'))
                ))),
            }
        }
        let mut placed: Vec<(usize, Tested<'a>)> = Vec::new();
        for batch in &batches {
            found.batch(call, options, batch, &mut placed);
        }
        placed.sort_by_key(|(place, _)| *place);
        found.tested = placed.into_iter().map(|(_, tested)| tested).collect();
        found
    }

    fn batch(
        &mut self,
        call: &Call,
        options: &Options,
        batch: &[(usize, &'a Response, Readings)],
        placed: &mut Vec<(usize, Tested<'a>)>,
    ) {
        let first = &batch[0].2;
        let layout = &first.design.layout;
        let terms: Vec<usize> = (0..layout.terms().len())
            .filter(|&at| {
                let classifiers = &layout.terms()[at].classifiers;
                let seasonal = first
                    .design
                    .season
                    .is_some_and(|s| classifiers.contains(&s));
                match (seasonal, options.terms) {
                    (false, _) => true,
                    (true, Terms::All) => classifiers.len() > 1,
                    (true, Terms::Treatments) => false,
                }
            })
            .collect();
        self.seasons |= first.design.season.is_some();
        let variances: Vec<Variance> = batch
            .iter()
            .map(|(_, _, readings)| layout.analyse(&readings.values))
            .collect();
        let settings = Settings {
            seed: call.request.seed,
            draws: options.arrangements,
            threads: std::thread::available_parallelism().map_or(1, usize::from),
        };
        let borrowed: Vec<&Variance> = variances.iter().collect();
        let found = randomised(&first.sheet, &first.design, &terms, &borrowed, settings);
        for (row, &term) in found.iter().zip(&terms) {
            for ((&(place, response, ref readings), variance), test) in
                batch.iter().zip(&variances).zip(row)
            {
                match (test, variance.lines[term].p) {
                    (Some(shuffled), Some(p)) => placed.push((
                        place,
                        Tested {
                            response,
                            term: layout.term_name(term),
                            interaction: layout.terms()[term].classifiers.len() > 1,
                            p,
                            shuffled: *shuffled,
                        },
                    )),
                    _ => self.refused.push(Statement::new(format!(
                        "{} has no test of {}: {}.",
                        safe(&response.label),
                        safe(&layout.term_name(term)),
                        why_not(&readings.values, variance, layout.terms()[term].stratum)
                    ))),
                }
            }
        }
    }
}

/// Why a term has no test.
fn why_not(values: &[f64], variance: &Variance, stratum: usize) -> &'static str {
    if values.iter().all(|value| *value == values[0]) {
        return "it is the same in every plot, so that there is no variation to test";
    }
    match variance.errors[stratum].mean_square {
        None => {
            "no degrees of freedom are left for error; a second block, or more plots of each treatment, are needed"
        }
        Some(error) if error > 0.0 => {
            "its rows and columns are not a full grid, so that they cannot be exchanged"
        }
        Some(_) => "plots treated alike do not vary at all; check for copied data",
    }
}
