//! The plots' ratios on the log scale, compared as values of plots in the strata of the design.
//!
//! A ratio acts by factors: twice as much or half as much. On the log scale these are equal steps, a
//! treatment's mean does not depend on which of the two measurements stands above the line, and its
//! difference from the control's is the log of how many times as large it is. Over seasons each plot
//! counts once: by the mean of its log ratios, and by their slope over the seasons, which is a
//! constant percentage a season. Such a slope describes these seasons; plots do not show how another
//! run of seasons would have gone.

use caneplot_numerics::design::{Design, DesignError};
use caneplot_numerics::distribution::{t_critical, t_two_sided};
use caneplot_numerics::sum::{mean, sum};
use caneplot_plugin::request::TrialInfo;

use crate::layout::design;
use crate::plots::{LeftOut, Plot, Plots, Why};

/// A course over fewer seasons than this is no trend.
const FEWEST_SEASONS: usize = 3;

/// What came out on the log scale.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Logs {
    /// The test of each treatment term.
    pub tests: Vec<Test>,
    /// Treatments beside their controls.
    pub controls: Vec<Beside>,
    /// The course of each treatment over the seasons.
    pub courses: Vec<Course>,
    /// Tests whether courses differ, as `tests`.
    pub course_tests: Vec<Test>,
    /// Records that have no logarithm.
    pub not_positive: Vec<LeftOut>,
    /// Blocks left out because plots are missing there.
    pub without_blocks: Vec<String>,
    /// Why there is no analysis, where there is none.
    pub why_not: Option<String>,
}

/// The test of one term.
#[derive(Debug, Clone, PartialEq)]
pub struct Test {
    /// The term in words.
    pub term: String,
    /// Its F.
    pub f: f64,
    /// Its degrees of freedom and those of its error.
    pub df: (usize, usize),
    /// Its P.
    pub p: f64,
}

/// A level beside the control of its factor.
#[derive(Debug, Clone, PartialEq)]
pub struct Beside {
    /// Place of the factor.
    pub factor: usize,
    /// Place of the level among the factor's.
    pub level: usize,
    /// How many times the control's ratio it has.
    pub times: Estimate,
    /// Probability of a difference at least as large.
    pub p: f64,
}

/// The course of one treatment over the seasons.
#[derive(Debug, Clone, PartialEq)]
pub struct Course {
    /// Level of each factor.
    pub levels: Vec<usize>,
    /// By how much the ratio is multiplied from one season to the next.
    pub times: Estimate,
}

/// A factor with its interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// The factor.
    pub value: f64,
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

impl Estimate {
    /// From a mean on the log scale, its standard error and Student's t.
    fn of(log: f64, error: f64, t: f64) -> Self {
        Self {
            value: log.exp(),
            low: (log - t * error).exp(),
            high: (log + t * error).exp(),
        }
    }
}

impl Logs {
    /// Of the records of a trial.
    #[must_use]
    pub fn of(trial: &TrialInfo, records: &Plots, level: f64) -> Self {
        let ratio = |plot: &Plot| records.ratio(plot);
        let not_positive: Vec<LeftOut> = records
            .plots
            .iter()
            .filter(|plot| ratio(plot) <= 0.0)
            .map(|plot| LeftOut {
                name: plot.name.clone(),
                season: plot.season,
                why: Why::NotPositive,
            })
            .collect();
        let mut found = Self {
            not_positive,
            ..Self::default()
        };
        if !found.not_positive.is_empty() {
            return found;
        }
        let seasons = records.seasons();
        let plots = complete(records, &seasons);
        let (design, plots) = match laid_out(trial, plots) {
            Ok((design, plots, without)) => {
                found.without_blocks = without;
                (design, plots)
            }
            Err(error) => {
                found.why_not = Some(error.to_string());
                return found;
            }
        };
        let means: Vec<f64> = plots.iter().map(|p| mean(&p.logs).unwrap_or(0.0)).collect();
        found.tests = tests(&design, &means);
        found.controls = controls(trial, &design, &means, level);
        if seasons.len() >= FEWEST_SEASONS {
            let times = times(trial, &seasons);
            let slopes: Vec<f64> = plots.iter().map(|p| slope(&times, &p.logs)).collect();
            found.course_tests = tests(&design, &slopes);
            found.courses = courses(trial, &design, &slopes, level);
        }
        found
    }
}

/// A plot with its log ratio in each season.
struct PlotLogs<'a> {
    plot: &'a Plot,
    logs: Vec<f64>,
}

/// The plots that have every season, in the order of the table.
fn complete<'a>(records: &'a Plots, seasons: &[usize]) -> Vec<PlotLogs<'a>> {
    let mut groups: Vec<(&Plot, Vec<Option<f64>>)> = Vec::new();
    let mut known = std::collections::BTreeMap::new();
    for plot in &records.plots {
        let at = *known
            .entry((&plot.place, &plot.name, &plot.levels))
            .or_insert_with(|| {
                groups.push((plot, vec![None; seasons.len()]));
                groups.len() - 1
            });
        if let Some(place) = seasons.iter().position(|season| *season == plot.season) {
            groups[at].1[place] = Some(records.ratio(plot).ln());
        }
    }
    groups
        .into_iter()
        .filter_map(|(plot, logs)| {
            let logs: Option<Vec<f64>> = logs.into_iter().collect();
            Some(PlotLogs { plot, logs: logs? })
        })
        .collect()
}

type LaidOut<'a> = (Design, Vec<PlotLogs<'a>>, Vec<String>);

/// The design of the plots; where plots are missing, that of the blocks that have all of theirs.
fn laid_out<'a>(trial: &TrialInfo, plots: Vec<PlotLogs<'a>>) -> Result<LaidOut<'a>, DesignError> {
    let of = |plots: &[PlotLogs<'_>]| {
        let list: Vec<&Plot> = plots.iter().map(|p| p.plot).collect();
        design(trial, &list)
    };
    let error = match of(&plots) {
        Ok(design) => return Ok((design, plots, Vec::new())),
        Err(error) => error,
    };
    if !trial.design.block || trial.design.row_column {
        return Err(error);
    }
    let block = |p: &PlotLogs<'_>| p.plot.place[0].clone();
    let count = |name: &String| plots.iter().filter(|p| block(p) == *name).count();
    let mut blocks: Vec<String> = plots.iter().map(block).collect();
    blocks.sort();
    blocks.dedup();
    let most = blocks.iter().map(count).max().unwrap_or(0);
    let without: Vec<String> = blocks.into_iter().filter(|b| count(b) < most).collect();
    let kept: Vec<PlotLogs<'a>> = plots
        .into_iter()
        .filter(|p| !without.contains(&block(p)))
        .collect();
    match of(&kept) {
        Ok(design) => Ok((design, kept, without)),
        Err(_) => Err(error),
    }
}

/// The test of every term that has one.
fn tests(design: &Design, values: &[f64]) -> Vec<Test> {
    let layout = &design.layout;
    let variance = layout.analyse(values);
    let lines = variance.lines.iter().enumerate();
    lines
        .filter_map(|(term, line)| {
            let error = &variance.errors[layout.terms()[term].stratum];
            Some(Test {
                term: layout.term_name(term),
                f: line.f?,
                df: (line.df, error.df),
                p: line.p?,
            })
        })
        .collect()
}

/// Every level of every factor that has a control, beside it.
fn controls(trial: &TrialInfo, design: &Design, means: &[f64], confidence: f64) -> Vec<Beside> {
    let layout = &design.layout;
    let variance = layout.analyse(means);
    let mut found = Vec::new();
    for (factor, &classifier) in design.treatments.iter().enumerate() {
        let declared = &trial.factors[factor];
        let names = &layout.classifiers()[classifier].levels;
        let Some(control) = declared
            .control
            .as_ref()
            .and_then(|control| names.iter().position(|name| name == control))
        else {
            continue;
        };
        let plan = layout.mean_plan(&[classifier]);
        let table = layout.mean_table(&plan, means, &variance);
        for (at, name) in names.iter().enumerate().filter(|(at, _)| *at != control) {
            let pair = (at.min(control), at.max(control));
            let kind = plan
                .kinds
                .iter()
                .position(|kind| kind.pairs.contains(&pair));
            let precision = kind
                .and_then(|kind| table.of_difference[kind])
                .filter(|precision| precision.variance > 0.0);
            let level = declared.levels.iter().position(|l| l.name == *name);
            let (Some(precision), Some(level)) = (precision, level) else {
                continue;
            };
            let difference = table.means[at] - table.means[control];
            let error = precision.standard_error();
            let t = t_critical(1.0 - confidence, precision.df);
            let p = t_two_sided(difference / error, precision.df);
            if let (Ok(t), Ok(p)) = (t, p) {
                found.push(Beside {
                    factor,
                    level,
                    times: Estimate::of(difference, error, t),
                    p,
                });
            }
        }
    }
    found
}

/// The mean slope of every treatment.
fn courses(trial: &TrialInfo, design: &Design, slopes: &[f64], confidence: f64) -> Vec<Course> {
    let layout = &design.layout;
    let variance = layout.analyse(slopes);
    let plan = layout.mean_plan(&design.treatments);
    let table = layout.mean_table(&plan, slopes, &variance);
    let cells = table.means.iter().zip(&table.of_mean).zip(&plan.levels);
    cells
        .filter_map(|((mean, precision), levels)| {
            let precision = precision.filter(|precision| precision.variance > 0.0)?;
            let t = t_critical(1.0 - confidence, precision.df).ok()?;
            let levels = levels.iter().zip(&design.treatments).zip(&trial.factors);
            let levels = levels.map(|((&level, &classifier), factor)| {
                let name = &layout.classifiers()[classifier].levels[level];
                factor.levels.iter().position(|l| l.name == *name)
            });
            Some(Course {
                levels: levels.collect::<Option<Vec<usize>>>()?,
                times: Estimate::of(*mean, precision.standard_error(), t),
            })
        })
        .collect()
}

/// When the seasons were: their years where all are numbers, else one after the other.
fn times(trial: &TrialInfo, seasons: &[usize]) -> Vec<f64> {
    let years: Option<Vec<f64>> = seasons
        .iter()
        .map(|&season| trial.seasons.get(season)?.parse().ok())
        .collect();
    match years {
        Some(years) if years.windows(2).all(|pair| pair[0] < pair[1]) => years,
        _ => (0..seasons.len()).map(|at| at as f64).collect(),
    }
}

/// Slope of a plot's logs over the seasons by least squares.
fn slope(times: &[f64], logs: &[f64]) -> f64 {
    let middle = mean(times).unwrap_or(0.0);
    let weights: Vec<f64> = times.iter().map(|time| time - middle).collect();
    let squares: Vec<f64> = weights.iter().map(|w| w * w).collect();
    let products: Vec<f64> = weights.iter().zip(logs).map(|(w, y)| w * y).collect();
    sum(&products) / sum(&squares)
}
