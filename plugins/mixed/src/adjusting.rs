//! What covariates did: slopes, the error with and without them, and whether treatments share a slope.

use caneplot_numerics::distribution::t_two_sided;
use caneplot_numerics::mixed::kenward_roger::{self, Estimate, Order};
use caneplot_numerics::mixed::{Settings, candidate, candidate_near, refit};
use caneplot_plugin::findings::{Column, Format, Rank, Statement, Table};
use caneplot_plugin::words::{beginning, inside, safe};
use nalgebra::DMatrix;

use crate::readings::{Adjusted, combinations};
use crate::study::Study;

impl Study<'_> {
    /// The slope on each covariate with its P.
    fn slopes(&self) -> Vec<(&Adjusted, Estimate, f64)> {
        let start = self.grid.filled();
        let covariates = self.readings.covariates.iter().enumerate();
        covariates
            .filter_map(|(at, covariate)| {
                let mut row = vec![0.0; self.grid.width()];
                row[start + at] = 1.0;
                let slope = self.estimate(&row)?;
                let p = t_two_sided(slope.value / slope.standard_error, slope.df).ok()?;
                Some((covariate, slope, p))
            })
            .collect()
    }

    /// Error variance of a plot in the same model without the covariates.
    fn unadjusted(&self) -> Option<f64> {
        let mut problem = self.problem.clone();
        problem.fixed = problem.fixed.columns(0, self.grid.filled()).into_owned();
        let found = candidate_near(&problem, &self.choice.fit.theta, Settings::default())
            .or_else(|_| candidate(&problem, Settings::default()))
            .ok()?;
        Some(self.error_variance(&found.parameters, &found.theta))
    }

    /// The table of slopes.
    pub fn slopes_table(&self) -> Option<Table> {
        let slopes = self.slopes();
        if slopes.is_empty() {
            return None;
        }
        let column = |value: &dyn Fn(&(&Adjusted, Estimate, f64)) -> f64| {
            slopes
                .iter()
                .map(|slope| Some(value(slope)))
                .collect::<Vec<_>>()
        };
        let names = slopes.iter().map(|(covariate, ..)| {
            caneplot_plugin::words::axis(&covariate.about.label, &covariate.about.unit)
        });
        let mut notes = vec![format!(
            "Slopes are changes {}of {} for one unit of the covariate, the same in all treatments and seasons.",
            match self.measured() {
                true => "",
                false => "(on the scale of the analysis) ",
            },
            caneplot_plugin::words::axis(&self.response.label, self.unit())
        )];
        notes.push("Each covariate takes one degree of freedom from the error.".to_owned());
        Some(Table {
            id: "covariates".to_owned(),
            title: "Slopes on the covariates".to_owned(),
            columns: vec![
                Column::text("Covariate", names),
                Column::number("Mean", column(&|(c, ..)| c.mean), Format::Significant(4)),
                Column::number(
                    "Slope",
                    column(&|(_, s, _)| s.value),
                    Format::Significant(3),
                ),
                Column::number(
                    "Standard error",
                    column(&|(_, s, _)| s.standard_error),
                    Format::Significant(3),
                ),
                Column::number("df", column(&|(_, s, _)| s.df), Format::Decimals(1)),
                Column::probability("P", column(&|(.., p)| *p)),
            ],
            notes,
            ..Table::default()
        })
    }

    /// What the covariates did, in sentences.
    pub fn adjustment(&self) -> Vec<Statement> {
        let mut all: Vec<Statement> = self
            .slopes()
            .into_iter()
            .map(|(covariate, slope, p)| self.slope(covariate, &slope, p))
            .collect();
        if all.is_empty() {
            return all;
        }
        if let Some(without) = self.unadjusted() {
            let with = self.error_variance(&self.choice.fit.parameters, &self.choice.fit.theta);
            let text = match with < without {
                true => {
                    "Adjusting took {share} off the error variance of a plot ({without} without, {with} with it)."
                }
                false => {
                    "Adjusting left the error no smaller (variance of a plot {without} without, {with} with it): the covariate explains nothing here that blocks and treatments do not."
                }
            };
            let mut statement = Statement::new(text)
                .with("without", without, Format::Significant(3))
                .with("with", with, Format::Significant(3))
                .rank(Rank::Detail);
            if with < without {
                statement = statement.with("share", 1.0 - with / without, Format::Percent(0));
            }
            all.push(statement);
        }
        all
    }

    fn slope(&self, covariate: &Adjusted, slope: &Estimate, p: f64) -> Statement {
        let name = inside(&covariate.about.label);
        let unit = match covariate.about.unit.as_str() {
            "" => "unit".to_owned(),
            unit => safe(unit),
        };
        let on = match self.measured() {
            true => String::new(),
            false => format!(" on the scale of {}", self.scale_words()),
        };
        let averages = beginning(self.averages());
        let text = match covariate.about.mediator {
            true => format!(
                "{averages} are compared at an equal {name} ({{mean}}), which the treatments may themselves have changed: this is the effect that does not run through {name}, not the effect of the treatments as a grower would see it. {} changed by {{slope}} ± {{error}}{on} per {unit} of {name} ({{p}}).",
                beginning(&self.response.label)
            ),
            false => format!(
                "{averages} are adjusted to the mean of {name}, {{mean}} ({}): {} changed by {{slope}} ± {{error}}{on} (standard error) per {unit} of it ({{p}}).",
                covariate.about.when,
                self.name()
            ),
        };
        let rank = match covariate.about.mediator {
            true => Rank::Result,
            false => Rank::Detail,
        };
        let format = Format::Decimals(covariate.about.decimals);
        let statement = Statement::new(text)
            .with("slope", slope.value, Format::Significant(3))
            .with("error", slope.standard_error, Format::Significant(2))
            .with("p", p, Format::Probability)
            .rank(rank);
        match covariate.about.unit.as_str() {
            "" => statement.with("mean", covariate.mean, format),
            unit => statement.with_unit("mean", covariate.mean, format, unit),
        }
    }

    /// Whether each covariate acts alike in all treatments: an interaction would make adjusted means
    /// hold at the mean of the covariate only.
    pub fn parallel(&self) -> Vec<Statement> {
        let units = self.readings.values.len();
        let treatments = combinations(&self.readings.margins, units);
        let (width, extra) = (self.problem.fixed.ncols(), treatments.levels.len() - 1);
        let covariates = self.readings.covariates.iter();
        covariates
            .map(|covariate| {
                let mut problem = self.problem.clone();
                problem.fixed = DMatrix::from_fn(units, width + extra, |unit, c| {
                    match (c < width, treatments.codes[unit] + width == c + 1) {
                        (true, _) => self.problem.fixed[(unit, c)],
                        (false, true) => covariate.values[unit],
                        (false, false) => 0.0,
                    }
                });
                let test = refit(&problem, &self.choice.fit.theta, Settings::default())
                    .ok()
                    .and_then(|found| {
                        let rows = DMatrix::from_fn(extra, width + extra, |i, j| {
                            f64::from(j == width + i)
                        });
                        let adjusted = kenward_roger::adjusted_covariance(&found, Order::First);
                        kenward_roger::test(&found, &adjusted, &rows).ok()
                    });
                let name = match covariate.about.when.as_str() {
                    "" => inside(&covariate.about.label),
                    when => format!("{} ({when})", inside(&covariate.about.label)),
                };
                let Some(test) = test else {
                    return Statement::new(format!(
                        "Whether the treatments share one slope on {name} cannot be told from these plots; they are taken to."
                    ));
                };
                let text = match test.p < self.options.level {
                    true => format!(
                        "The treatments do not share one slope on {name} ({{p}}): adjusted {} compare them at its mean only, and the comparison would be another elsewhere.",
                        self.averages()
                    ),
                    false => {
                        format!("The slope on {name} is much the same in all treatments ({{p}}).")
                    }
                };
                Statement::new(text).with("p", test.p, Format::Probability)
            })
            .collect()
    }
}
