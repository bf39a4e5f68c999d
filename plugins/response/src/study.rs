//! One response over one amount: the curve over all, of each season and of each level of other
//! factors.

use caneplot_numerics::curves::compare::{Comparison, compare};
use caneplot_numerics::curves::parallel::{Grouped, Parallelism, parallelism};
use caneplot_numerics::curves::{Fit, Levels, LevelsError, Shape};
use caneplot_numerics::distribution::t_critical;
use caneplot_plugin::request::{Factor, Response, TrialInfo};
use caneplot_plugin::words::{inside, list, plain};

use crate::options::Options;
use crate::place::{self, Nowhere, Spot};
use crate::rows::Rows;
use crate::units::Means;

/// Level means with the curve through them.
pub(crate) struct Fitted {
    pub levels: Levels,
    pub comparison: Comparison,
    pub fit: Fit,
    pub spot: Result<Spot, Nowhere>,
    /// Amount and value of each unit, the value centred.
    pub points: Vec<(f64, f64)>,
    /// Two-sided critical t of the error.
    pub t: f64,
}

impl Fitted {
    /// The fitted height at x, centred.
    pub fn height(&self, x: f64) -> f64 {
        self.levels.height(&self.fit, x).value
    }

    /// Half the confidence interval of an estimate with this unit variance.
    pub fn half_width(&self, unit_variance: f64) -> f64 {
        let square = self.levels.error.mean_square.unwrap_or(0.0);
        self.t * (square * unit_variance).sqrt()
    }

    /// Change along the curve from the lowest to the highest amount.
    pub fn change(&self) -> f64 {
        let (low, high) = self.levels.range();
        self.levels.change(&self.fit, low, high).value
    }
}

/// Several curves that belong together.
pub(crate) struct Group {
    /// "season", or the label of a factor.
    pub noun: String,
    /// Whether these are seasons.
    pub seasons: bool,
    /// The members in order: name, and the curve or why there is none.
    pub members: Vec<(String, Result<Fitted, String>)>,
    /// Whether the curves run parallel.
    pub test: Parallelism,
}

impl Group {
    /// Whether the curves clearly differ in more than height.
    pub fn differs(&self, level: f64) -> bool {
        self.test
            .whole
            .and_then(|line| line.p)
            .is_some_and(|p| p < level)
    }

    /// The members that have a curve.
    pub fn fitted(&self) -> impl Iterator<Item = (&str, &Fitted)> {
        self.members
            .iter()
            .filter_map(|(name, fitted)| fitted.as_ref().ok().map(|it| (name.as_str(), it)))
    }
}

/// The seasons after the first, taken together where seasons differ.
pub(crate) struct Later {
    /// Their names.
    pub seasons: Vec<String>,
    pub fitted: Fitted,
    /// Whether their curves run parallel among themselves.
    pub test: Parallelism,
}

/// One response over one amount.
pub(crate) struct Study<'a> {
    pub trial: &'a TrialInfo,
    pub options: &'a Options,
    pub response: &'a Response,
    pub factor: &'a Factor,
    /// A unit the factor was applied to: "plot".
    pub noun: &'static str,
    /// The curve over all seasons and other factors, or why there is none.
    pub overall: Result<Fitted, String>,
    /// Seasons, then other factors.
    pub groups: Vec<Group>,
    /// The seasons after the first, where there are at least two of them.
    pub later: Option<Later>,
    /// Number of seasons with data.
    pub seasons: usize,
    /// What was left out, as sentences.
    pub left_out: Vec<String>,
    /// Decimals of a mean.
    pub decimals: u8,
}

impl<'a> Study<'a> {
    /// The study of a response over the factor at this place in the trial.
    pub fn new(
        trial: &'a TrialInfo,
        options: &'a Options,
        response: &'a Response,
        rows: &Rows,
        factor: usize,
    ) -> Self {
        let about = &trial.factors[factor];
        let amounts: Vec<f64> = rows.factors[factor]
            .levels
            .iter()
            .map(|name| {
                let level = about.levels.iter().find(|level| &level.name == name);
                level.and_then(|level| level.value).unwrap_or(0.0)
            })
            .collect();
        let maker = Maker {
            options,
            response,
            factor: about,
            at: factor,
            amounts: &amounts,
            others: (0..trial.factors.len())
                .filter(|&other| other != factor)
                .map(|other| inside(&trial.factors[other].label))
                .collect(),
        };
        let stratum = rows.stratum_of(&[factor]);
        let means = Means::of(rows, stratum);
        let overall = maker.fitted(rows, &means, stratum);
        let mut groups = Vec::new();
        let later = maker.later(rows);
        if let Some(season) = &rows.season {
            let members = (0..season.levels.len())
                .map(|at| {
                    let part = rows.only(|row| season.codes[row] == at);
                    (season.levels[at].clone(), maker.of_rows(&part))
                })
                .collect();
            groups.push(Group {
                noun: "season".to_owned(),
                seasons: true,
                members,
                test: maker.between_seasons(rows, &season.codes),
            });
        }
        for other in (0..trial.factors.len()).filter(|&other| other != factor) {
            let levels = &rows.factors[other];
            if levels.levels.len() < 2 {
                continue;
            }
            let members = (0..levels.levels.len())
                .map(|at| {
                    let part = rows.only(|row| levels.codes[row] == at);
                    let level = &levels.levels[at];
                    let known = trial.factors[other]
                        .levels
                        .iter()
                        .find(|declared| &declared.name == level);
                    let name = known.map_or(level, |declared| &declared.label);
                    (name.clone(), maker.of_rows(&part))
                })
                .collect();
            groups.push(Group {
                noun: trial.factors[other].label.clone(),
                seasons: false,
                members,
                test: maker.between_levels(rows, other),
            });
        }
        let decimals = {
            let members = groups.iter().flat_map(|group: &Group| group.fitted());
            let all = overall.iter().chain(members.map(|(_, fitted)| fitted));
            decimals(response, all.map(|fitted| &fitted.levels))
        };
        Self {
            decimals,
            trial,
            options,
            response,
            factor: about,
            noun: rows.strata[stratum].noun,
            overall,
            groups,
            later,
            seasons: rows.season.as_ref().map_or(1, |season| season.levels.len()),
            left_out: means.left_out,
        }
    }

    /// Whether there is any curve: over all, or of a member of a group.
    pub fn any_curve(&self) -> bool {
        self.overall.is_ok() || self.groups.iter().any(|it| it.fitted().count() > 0)
    }

    /// The seasons, where there are several.
    pub fn season_group(&self) -> Option<&Group> {
        self.groups.iter().find(|group| group.seasons)
    }
}

/// Decimals that show the smallest standard error of a mean with two digits, and never finer than the
/// data allow.
fn decimals<'a>(response: &Response, sets: impl Iterator<Item = &'a Levels>) -> u8 {
    let smallest = sets
        .flat_map(|levels| {
            let errors = levels
                .means
                .iter()
                .map(|mean| mean.standard_error(&levels.error));
            errors.flatten().collect::<Vec<_>>()
        })
        .filter(|&error| error > 0.0)
        .fold(f64::INFINITY, f64::min);
    if !smallest.is_finite() {
        return response.decimals;
    }
    (1.0 - smallest.log10().floor()).clamp(0.0, f64::from(response.decimals)) as u8
}

struct Maker<'a> {
    options: &'a Options,
    response: &'a Response,
    factor: &'a Factor,
    at: usize,
    amounts: &'a [f64],
    /// Labels of the other factors, for the middle of a sentence.
    others: Vec<String>,
}

impl Maker<'_> {
    fn of_rows(&self, rows: &Rows) -> Result<Fitted, String> {
        let stratum = rows.stratum_of(&[self.at]);
        self.fitted(rows, &Means::of(rows, stratum), stratum)
    }

    fn fitted(&self, rows: &Rows, means: &Means, stratum: usize) -> Result<Fitted, String> {
        let noun = rows.strata[stratum].noun;
        let levels = means
            .levels(rows, stratum, self.at, self.amounts)
            .map_err(|error| self.reason(&error, means, noun))?;
        let error = levels.error;
        let Some(square) = error.mean_square else {
            return Err(format!(
                "no degrees of freedom are left for error, since no two {noun}s were treated alike; a second block or replicate is needed"
            ));
        };
        if square == 0.0 {
            return Err(format!(
                "{noun}s treated alike differ by exactly nothing, so that nothing is known about error; check the data for copied values"
            ));
        }
        let mut comparison = compare(&levels, self.options.shapes.list());
        // Whether there is a change is for the tests to say, which know the error; its shape is for
        // the comparison.
        let clear = [levels.any_difference()]
            .into_iter()
            .chain(levels.trends())
            .any(|line| line.p.is_some_and(|p| p < self.options.level));
        comparison.choose(|shape| (shape != Shape::Flat) == clear);
        let fit = comparison
            .chosen()
            .map(|(_, fit)| fit.clone())
            .ok_or_else(|| {
                format!(
                    "{} {noun}s are too few to compare shapes of curves; more blocks or replicates are needed",
                    levels.units
                )
            })?;
        let t =
            t_critical(self.options.level, error.df as f64).map_err(|error| error.to_string())?;
        let amounts = means.amounts(rows, self.at, self.amounts);
        Ok(Fitted {
            spot: place::of(&levels, &fit, self.options.level),
            points: amounts.into_iter().zip(means.values.clone()).collect(),
            comparison,
            fit,
            levels,
            t,
        })
    }

    /// The seasons after the first.
    fn later(&self, rows: &Rows) -> Option<Later> {
        let season = rows
            .season
            .as_ref()
            .filter(|season| season.levels.len() > 2)?;
        let part = rows.only(|row| season.codes[row] > 0);
        let codes = &part.season.as_ref()?.codes;
        Some(Later {
            seasons: season.levels[1..].to_vec(),
            fitted: self.of_rows(&part).ok()?,
            test: self.between_seasons(&part, codes),
        })
    }

    fn reason(&self, error: &LevelsError, means: &Means, noun: &str) -> String {
        let name = inside(&self.factor.label);
        match error {
            LevelsError::Length => format!("no {noun} has all the values it should have"),
            LevelsError::Constant => format!(
                "it is the same in every {noun} ({}): there is no variation to analyse",
                self.value_words(means.values[0])
            ),
            LevelsError::TooFewLevels(0 | 1) => {
                format!("all {noun}s with values have the same {name}")
            }
            LevelsError::TooFewLevels(_) => format!(
                "with two levels of {name} there is a difference but no curve; a third level is needed to see whether the response bends"
            ),
            LevelsError::Disconnected { apart } if !apart.is_empty() => {
                let apart = list(&apart.iter().map(f64::to_string).collect::<Vec<_>>());
                if self.others.is_empty() {
                    format!(
                        "the {noun}s with {apart} of {name} never share a block (or other unit of the design) with the other levels, so that levels cannot be told from blocks"
                    )
                } else {
                    let others = list(&self.others);
                    format!(
                        "the {noun}s with {apart} of {name} never share both a block (or other unit of the design) and their {others} with the other levels, so that what {name} did cannot be told from what blocks or {others} did"
                    )
                }
            }
            other => other.to_string(),
        }
    }

    fn value_words(&self, centred: f64) -> String {
        let number = plain(self.response.offset + centred, self.response.decimals);
        format!("{number} {}", self.response.unit)
            .trim_end()
            .to_owned()
    }

    fn between_seasons(&self, rows: &Rows, season: &[usize]) -> Parallelism {
        let factors = |keep: &dyn Fn(usize) -> bool| {
            (0..rows.factors.len())
                .filter(|&at| keep(at))
                .map(|at| rows.factors[at].codes.as_slice())
                .chain([season])
                .collect::<Vec<&[usize]>>()
        };
        let plots = &rows.strata[rows.plots()].codes;
        let amounts: Vec<f64> = rows.factors[self.at]
            .codes
            .iter()
            .map(|&level| self.amounts[level])
            .collect();
        parallelism(Grouped {
            values: &rows.values,
            amounts: &amounts,
            groups: &rows.crossed(&[season]),
            eliminated: &[
                rows.crossed(&[plots]),
                rows.crossed(&factors(&|at| at != self.at)),
            ],
            alike: &rows.crossed(&factors(&|_| true)),
        })
    }

    fn between_levels(&self, rows: &Rows, other: usize) -> Parallelism {
        let stratum = rows.stratum_of(&[self.at, other]);
        let means = Means::of(rows, stratum);
        let (eliminated, alike) = means.design(rows, stratum, &[self.at]);
        parallelism(Grouped {
            values: &means.values,
            amounts: &means.amounts(rows, self.at, self.amounts),
            groups: &means.of_factor(rows, other),
            eliminated: &eliminated,
            alike: &alike,
        })
    }
}
