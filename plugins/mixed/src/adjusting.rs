//! What covariates did: slopes, the error with and without them, and whether treatments share a slope.

use caneplot_numerics::distribution::t_two_sided;
use caneplot_numerics::mixed::kenward_roger::{self, Estimate, Order};
use caneplot_numerics::mixed::{Settings, candidate, candidate_near};
use caneplot_plugin::findings::{Column, Format, Rank, Statement, Table};
use caneplot_plugin::words::{beginning, inside, list, safe};
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
        let found = candidate_near(&problem, &self.choice.held().theta, Settings::default())
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
        let notes = vec![format!(
            "Slopes are changes {}of {} for one unit of the covariate, the same in all treatments and seasons.",
            match self.measured() {
                true => "",
                false => "(on the scale of the analysis) ",
            },
            caneplot_plugin::words::axis(&self.response.label, self.unit())
        )];
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
        let slopes = self.slopes();
        let changed = |mediator: &bool| {
            let chosen = slopes.iter();
            let chosen =
                chosen.filter(move |(covariate, ..)| covariate.about.mediator == *mediator);
            chosen.collect::<Vec<_>>()
        };
        let mut all: Vec<Statement> = changed(&true)
            .into_iter()
            .map(|(covariate, slope, p)| self.through(covariate, slope, *p))
            .collect();
        let before = changed(&false);
        if !before.is_empty() {
            all.push(self.before(&before));
        }
        if slopes.is_empty() {
            return all;
        }
        if let Some(without) = self.unadjusted() {
            let held = self.choice.held();
            let with = self.error_variance(&held.parameters, &held.theta);
            let text = match (with < without, slopes.len()) {
                (true, _) => {
                    "Adjusting took {share} off the error variance of a plot ({without} without, {with} with it)."
                }
                (false, 1) => {
                    "Adjusting left the error no smaller (variance of a plot {without} without, {with} with it): the covariate explains nothing here that blocks and treatments do not."
                }
                (false, _) => {
                    "Adjusting left the error no smaller (variance of a plot {without} without, {with} with it): the covariates explain nothing here that blocks and treatments do not."
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

    /// Where the means are compared, and how the response changed with each covariate from before.
    fn before(&self, slopes: &[&(&Adjusted, Estimate, f64)]) -> Statement {
        let on = match self.measured() {
            true => String::new(),
            false => format!(", on the scale of {},", self.scale_words()),
        };
        let mut parts = Vec::new();
        let mut changes = Vec::new();
        let mut statement = Statement::default().rank(Rank::Detail);
        for (at, (covariate, slope, p)) in slopes.iter().enumerate() {
            let name = inside(&covariate.about.label);
            parts.push(format!("{name} ({{mean{at}}}, {})", covariate.about.when));
            changes.push(format!(
                "by {{slope{at}}} ± {{error{at}}} per {} of {name} ({{p{at}}})",
                unit_words(covariate)
            ));
            statement = statement
                .with(&format!("slope{at}"), slope.value, Format::Significant(3))
                .with(
                    &format!("error{at}"),
                    slope.standard_error,
                    Format::Significant(2),
                )
                .with(&format!("p{at}"), *p, Format::Probability);
            statement = with_mean(statement, &format!("mean{at}"), covariate);
        }
        statement.text = format!(
            "{} are adjusted to the mean of {}: {} changed{on} {}.",
            beginning(self.averages()),
            list(&parts),
            self.name(),
            list(&changes)
        );
        statement
    }

    /// What adjusting for something that the treatments may have changed means.
    fn through(&self, covariate: &Adjusted, slope: &Estimate, p: f64) -> Statement {
        let name = inside(&covariate.about.label);
        let on = match self.measured() {
            true => String::new(),
            false => format!(" on the scale of {}", self.scale_words()),
        };
        let statement = Statement::new(format!(
            "{} are compared at an equal {name} ({{mean}}), which the treatments may themselves have changed: this is the effect that does not run through {name}, not the effect of the treatments as a grower would see it. {} changed by {{slope}} ± {{error}}{on} per {} of {name} ({{p}}).",
            beginning(self.averages()),
            beginning(&self.response.label),
            unit_words(covariate)
        ))
        .with("slope", slope.value, Format::Significant(3))
        .with("error", slope.standard_error, Format::Significant(2))
        .with("p", p, Format::Probability);
        with_mean(statement, "mean", covariate)
    }

    /// Whether each covariate acts alike in all treatments: an interaction would make adjusted means
    /// hold at the mean of the covariate only.
    pub fn parallel(&self) -> Vec<Statement> {
        let units = self.readings.values.len();
        let treatments = combinations(&self.readings.margins, units);
        let (width, extra) = (self.problem.fixed.ncols(), treatments.levels.len() - 1);
        let (mut alike, mut all) = (Vec::new(), Vec::new());
        let mut shared = Statement::default();
        for (at, covariate) in self.readings.covariates.iter().enumerate() {
            let mut problem = self.problem.clone();
            problem.fixed = DMatrix::from_fn(units, width + extra, |unit, c| {
                match (c < width, treatments.codes[unit] + width == c + 1) {
                    (true, _) => self.problem.fixed[(unit, c)],
                    (false, true) => covariate.values[unit],
                    (false, false) => 0.0,
                }
            });
            let rows = DMatrix::from_fn(extra, width + extra, |i, j| f64::from(j == width + i));
            let test = self.choice.again(&problem, |found| {
                let adjusted = kenward_roger::adjusted_covariance(found, Order::First);
                kenward_roger::test(found, &adjusted, &rows).ok()
            });
            let name = inside(&covariate.about.label);
            match test {
                None => all.push(Statement::new(format!(
                    "Whether the treatments share one slope on {name} cannot be told from these plots; they are taken to."
                ))),
                Some(test) if test.p < self.options.level => all.push(
                    Statement::new(format!(
                        "The treatments do not share one slope on {name} ({{p}}): adjusted {} compare them at its mean only, and the comparison would be another elsewhere.",
                        self.averages()
                    ))
                    .with("p", test.p, Format::Probability),
                ),
                Some(test) => {
                    alike.push(format!("{name} ({{p{at}}})"));
                    shared = shared.with(&format!("p{at}"), test.p, Format::Probability);
                }
            }
        }
        if !alike.is_empty() {
            shared.text = format!(
                "The treatments show no sign of different slopes on {}.",
                list(&alike)
            );
            all.push(shared);
        }
        all
    }
}

/// The unit of a covariate in "per unit".
fn unit_words(covariate: &Adjusted) -> String {
    match covariate.about.unit.as_str() {
        "" => "unit".to_owned(),
        unit => safe(unit),
    }
}

/// Puts the mean of a covariate in a sentence.
fn with_mean(statement: Statement, name: &str, covariate: &Adjusted) -> Statement {
    let format = Format::Decimals(covariate.about.decimals.min(3));
    match covariate.about.unit.as_str() {
        "" => statement.with(name, covariate.mean, format),
        unit => statement.with_unit(name, covariate.mean, format, unit),
    }
}
