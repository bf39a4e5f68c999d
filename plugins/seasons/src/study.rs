//! One response over the seasons: each season by itself, and plots summed up over all of them.

use caneplot_plugin::Refusal;
use caneplot_plugin::findings::Format;
use caneplot_plugin::request::Response;
use caneplot_plugin::words;

use crate::analysed::{Analysed, Test};
use crate::measures::{Measure, digits};
use crate::plan::Planner;
use crate::records::Records;

/// Most plots that are named in one sentence.
const MOST_NAMED: usize = 3;

/// One season by itself.
pub(crate) struct BySeason<'a> {
    pub season: usize,
    /// Plots with a value.
    pub plots: usize,
    pub analysed: Result<Analysed<'a>, Refusal>,
    /// Plots without one, in words.
    pub lacking: Vec<String>,
}

/// Plots summed up over all seasons with the treatments in force.
pub(crate) struct Whole<'a> {
    pub analysed: Analysed<'a>,
    pub measures: Vec<Measure>,
    /// What could not be worked out, with the reason.
    pub failed: Vec<(Measure, String)>,
    /// The test of term × season, by term.
    pub with_season: Vec<Option<Test>>,
    pub plots: usize,
}

/// One response.
pub(crate) struct Study<'a> {
    pub planner: &'a Planner<'a>,
    pub records: Records,
    /// Seasons recorded with the treatments in force.
    pub seasons: Vec<usize>,
    /// Every season recorded.
    pub by_season: Vec<BySeason<'a>>,
    pub whole: Result<Whole<'a>, Refusal>,
    /// Plots without a value in some treated season, in words.
    pub lacking: Vec<String>,
}

impl<'a> Study<'a> {
    /// The study of a response.
    pub fn of(planner: &'a Planner<'a>, records: Records) -> Self {
        let calendar = planner.calendar;
        let seasons = records.recorded(&calendar.treated_seasons());
        let all: Vec<usize> = (0..calendar.count()).collect();
        let by_season = records
            .recorded(&all)
            .into_iter()
            .map(|season| by_season(planner, &records, season))
            .collect();
        let whole = whole(planner, &records, &seasons);
        let lacking = records.lacking(planner.register, &seasons);
        Self {
            planner,
            records,
            seasons,
            by_season,
            whole,
            lacking,
        }
    }

    pub fn response(&self) -> &Response {
        &self.records.response
    }

    /// The name inside a sentence.
    pub fn name(&self) -> String {
        inside(&self.response().label)
    }

    /// The name at the beginning of a sentence.
    pub fn beginning(&self) -> String {
        let label = &self.response().label;
        match label.split_once(", ") {
            Some((head, rest)) => format!("{} ({})", words::beginning(head), words::safe(rest)),
            None => words::beginning(label),
        }
    }

    /// The unit as it is printed: none where it only repeats the label, as in "pH (pH)".
    pub fn unit(&self) -> &str {
        let response = self.response();
        if response.unit.eq_ignore_ascii_case(&response.label) {
            ""
        } else {
            &response.unit
        }
    }

    /// The value, where it is the same in every plot and season with the treatments in force.
    pub fn only_value(&self) -> Option<f64> {
        let of_plot = |plot: &Vec<Option<f64>>| -> Vec<f64> {
            self.seasons.iter().filter_map(|&at| plot[at]).collect()
        };
        let mut values = self.records.values.iter().flat_map(of_plot);
        let first = values.next()?;
        values
            .all(|value| value == first)
            .then(|| self.response().offset + first)
    }

    /// Seasons with the treatments in force in which no plot has a value.
    pub fn unrecorded(&self) -> Vec<usize> {
        let treated = self.planner.calendar.treated_seasons();
        let absent = |season: &usize| !self.seasons.contains(season);
        treated.into_iter().filter(absent).collect()
    }

    /// Whether a test is rarer than the level.
    pub fn clear(&self, test: Option<Test>) -> bool {
        test.is_some_and(|test| test.p < self.planner.options.level)
    }

    /// Season names as a list: "2021, 2022 and 2023".
    pub fn season_words(&self, seasons: &[usize]) -> String {
        let names: Vec<String> = seasons
            .iter()
            .map(|&season| words::safe(self.planner.calendar.label(season)))
            .collect();
        words::list(&names)
    }

    /// How means of a season are written.
    pub fn of_means(&self, analysed: &Analysed<'_>, column: usize) -> Format {
        digits(analysed.smallest_error(column), self.response().decimals)
    }
}

impl Whole<'_> {
    /// The column of a measure.
    pub fn column(&self, measure: Measure) -> Option<usize> {
        self.measures.iter().position(|other| *other == measure)
    }

    /// How a measure is written.
    pub fn format(&self, column: usize, response: &Response) -> Format {
        let error = self.analysed.smallest_error(column);
        self.measures[column].format(error, response.decimals)
    }

    /// A mean of a measure with what centring took off.
    pub fn mean(&self, term: usize, column: usize, treatment: usize, response: &Response) -> f64 {
        self.measures[column].offset(response.offset) + self.analysed.mean(term, column, treatment)
    }
}

/// A name as it stands inside a sentence: "Yield, per planted space" would break it; brackets do not.
pub(crate) fn inside(label: &str) -> String {
    match label.split_once(", ") {
        Some((head, rest)) => format!("{} ({})", words::inside(head), words::safe(rest)),
        None => words::inside(label),
    }
}

/// The first few of the plots that lack something.
pub(crate) fn named(lacking: &[String]) -> String {
    words::safe(&words::shortened(lacking, MOST_NAMED))
}

fn by_season<'a>(planner: &'a Planner<'a>, records: &Records, season: usize) -> BySeason<'a> {
    let plots = records.complete(&[season]);
    let column = records.column(&plots, season);
    let analysed = planner
        .planned(&plots)
        .and_then(|planned| Analysed::of(planned, &[column]));
    BySeason {
        season,
        plots: plots.len(),
        analysed,
        lacking: records.lacking(planner.register, &[season]),
    }
}

fn whole<'a>(
    planner: &'a Planner<'a>,
    records: &Records,
    seasons: &[usize],
) -> Result<Whole<'a>, Refusal> {
    let plots = records.complete(seasons);
    if seasons.is_empty() || plots.is_empty() {
        return Err(Refusal::new(
            "no plot has a value in every season with the treatments in force",
        ));
    }
    let planned = planner.planned(&plots)?;
    let calendar = planner.calendar;
    let times: Vec<f64> = seasons
        .iter()
        .map(|&season| calendar.time(season))
        .collect();
    let values: Vec<Vec<f64>> = plots
        .iter()
        .map(|&plot| {
            seasons
                .iter()
                .filter_map(|&s| records.values[plot][s])
                .collect()
        })
        .collect();
    let (mut measures, mut columns, mut failed) = (Vec::new(), Vec::new(), Vec::new());
    for measure in Measure::of(records, seasons, calendar) {
        let mut column = Vec::with_capacity(plots.len());
        let mut fault = None;
        for (&plot, own) in plots.iter().zip(&values) {
            match measure.value(&times, own, records.response.offset) {
                Ok(value) => column.push(value),
                Err(error) => {
                    fault = Some(format!("{}, where {error}", planner.register.words(plot)));
                    break;
                }
            }
        }
        match fault {
            None => {
                measures.push(measure);
                columns.push(column);
            }
            Some(fault) => failed.push((measure, fault)),
        }
    }
    let analysed = Analysed::of(planned, &columns)?;
    let with_season = with_season(planner, &analysed, &plots, &values);
    Ok(Whole {
        analysed,
        measures,
        failed,
        with_season,
        plots: plots.len(),
    })
}

/// The tests of the terms × seasons, within plots.
fn with_season(
    planner: &Planner<'_>,
    analysed: &Analysed<'_>,
    plots: &[usize],
    values: &[Vec<f64>],
) -> Vec<Option<Test>> {
    let terms = &analysed.planned.terms;
    let seasons = values.first().map_or(0, Vec::len);
    let design = if seasons > 1 {
        planner.over_seasons(plots, seasons)
    } else {
        None
    };
    let Some(design) = design else {
        return vec![None; terms.len()];
    };
    let flat: Vec<f64> = values.iter().flatten().copied().collect();
    let variance = design.layout.analyse(&flat);
    terms
        .iter()
        .map(|term| {
            let factors = term.factors.iter().map(|&at| design.treatments[at]);
            let chosen: Vec<usize> = factors.chain(design.season).collect();
            let at = design.layout.term_of(&chosen)?;
            let line = &variance.lines[at];
            let stratum = design.layout.terms()[at].stratum;
            Some(Test {
                df: line.df,
                error_df: variance.errors[stratum].df,
                f: line.f?,
                p: line.p?,
            })
        })
        .collect()
}
