//! The effect of one margin over everything else in a sentence: the difference, how sure it is, and
//! only then the test.

use caneplot_numerics::separation::least_significant_difference;
use caneplot_numerics::transform::Scale;
use caneplot_plugin::findings::{Format, Statement};
use caneplot_plugin::words::{beginning, inside, was};

use crate::means::Means;
use crate::study::Study;
use crate::trend::Trend;

impl Study<'_> {
    /// "Yield", or "Averaged over 3 seasons, yield", as it begins a sentence.
    fn subject(&self) -> String {
        match self.seasons().len() {
            0 => beginning(&self.response.label),
            count => format!(
                "Averaged over {count} seasons, {}",
                inside(&self.response.label)
            ),
        }
    }

    /// "was" or "were", as the label of the response asks.
    pub fn was(&self) -> &'static str {
        was(&self.response.label)
    }

    /// Whether differences are ratios.
    fn log(&self) -> bool {
        self.scaled.scale == Scale::Log
    }

    /// The main effect of a margin, and whether it is clear.
    pub fn effect(&self, factor: usize) -> Option<(bool, Statement)> {
        let test = self.term(&[factor])?.test?;
        if let Some(trend) = self.trend(factor)
            && trend
                .degrees
                .iter()
                .take(2)
                .any(|t| t.p < self.options.level)
        {
            return Some((true, self.rising(&trend)?));
        }
        match test.p < self.options.level {
            true => Some((true, self.differing(factor)?)),
            false => Some((false, self.unclear(factor)?)),
        }
    }

    /// How a response runs over an amount.
    fn rising(&self, trend: &Trend) -> Option<Statement> {
        let means = self.means(&[trend.factor], &[]);
        let mut order: Vec<usize> = (0..trend.quantities.len()).collect();
        order.sort_by(|&a, &b| trend.quantities[a].total_cmp(&trend.quantities[b]));
        let (low, high) = (*order.first()?, *order.last()?);
        let level = |at: usize| self.level_words(trend.factor, at);
        let (first, last) = (self.mean(&means, low)?, self.mean(&means, high)?);
        let difference = self.difference(&means, high, low)?;
        let linear = trend.degrees.first()?.p;
        let bends = trend.degrees.get(1).filter(|t| t.p < self.options.level);
        let ranked = self.by_mean(&means);
        let turn = bends.and_then(|_| {
            let inner = |at: &usize| *at != low && *at != high;
            ranked
                .first()
                .copied()
                .filter(inner)
                .or(ranked.last().copied().filter(inner))
        });
        let tests = match trend.degrees.len() > 1 {
            true => "linear {p}, quadratic {q}",
            false => "linear {p}",
        };
        let verb = |from: f64, to: f64| match to > from {
            true => "rose",
            false => "fell",
        };
        let statement = match turn {
            Some(turn) => {
                let middle = self.mean(&means, turn)?;
                let statement = Statement::new(format!(
                    "{} {} from {{a}} at {} to {{m}} at {} and {} {{b}} at {} ({tests}).",
                    self.subject(),
                    verb(first, middle),
                    level(low),
                    level(turn),
                    self.was(),
                    level(high)
                ));
                self.put(statement, "m", middle)
            }
            None => {
                let statement = Statement::new(format!(
                    "{} {} from {{a}} at {} to {{b}} at {}{} ({tests}): {}.",
                    self.subject(),
                    verb(first, last),
                    level(low),
                    level(high),
                    match bends {
                        Some(_) => ", not along a straight line",
                        None => "",
                    },
                    self.gap("", "")
                ));
                let half = self.half_width(difference.standard_error, difference.df)?;
                let (ends, turned) = match difference.value >= 0.0 || self.log() {
                    true => ((high, low), difference),
                    false => ((low, high), self.difference(&means, low, high)?),
                };
                self.put_gap(statement, &means, ends, &turned, half)?
            }
        };
        let statement = self.put(statement, "a", first);
        let statement = self.put(statement, "b", last);
        let statement = statement.with("p", linear, Format::Probability);
        Some(match trend.degrees.get(1) {
            Some(quadratic) => statement.with("q", quadratic.p, Format::Probability),
            None => statement,
        })
    }

    /// A clear effect of a factor of names.
    fn differing(&self, factor: usize) -> Option<Statement> {
        let means = self.means(&[factor], &[]);
        let order = self.by_mean(&means);
        let (best, worst) = (*order.first()?, *order.last()?);
        let p = self.term(&[factor])?.test?.p;
        let level = |at: usize| self.level_words(factor, at);
        if let Some(control) = self.margins()[factor].control {
            // The level farthest from the control is the news.
            let size = |at: usize| {
                self.difference(&means, at, control)
                    .map_or(0.0, |difference| difference.value.abs())
            };
            let far = match size(best) >= size(worst) {
                true => best,
                false => worst,
            };
            let all = self.against_control(&means, control)?;
            let pair = all.iter().find(|pair| pair.first == far)?;
            let difference = pair.difference;
            let how = match self.scaled.scale {
                Scale::Measured => {
                    ": by {d} ({a} against {c}; {interval} interval of the difference, allowing for all levels, {low} to {high}; {p} for all levels)"
                }
                Scale::Log => {
                    ": {d} times as much ({a} against {c}; {interval} interval of the ratio, allowing for all levels, {low} to {high}; {p} for all levels)"
                }
                _ => " ({a} against {c}; {p} for all levels)",
            };
            let statement = Statement::new(format!(
                "{} {} {} with {} than with the control, {}{}.",
                self.subject(),
                self.was(),
                match difference.value >= 0.0 {
                    true => "higher",
                    false => "lower",
                },
                level(far),
                level(control),
                how.replace("{interval}", &self.options.confidence_words())
            ));
            let statement = match self.scaled.scale {
                Scale::Measured => self.put_difference(
                    statement,
                    &difference,
                    pair.half_width,
                    difference.value.signum(),
                ),
                Scale::Log => self.put_gap(
                    statement,
                    &means,
                    (far, control),
                    &difference,
                    pair.half_width,
                )?,
                _ => statement,
            };
            let statement = self.put(statement, "a", self.mean(&means, far)?);
            let statement = self.put(statement, "c", self.mean(&means, control)?);
            return Some(statement.with("p", p, Format::Probability));
        }
        let difference = self.difference(&means, best, worst)?;
        let statement = Statement::new(format!(
            "{} {} highest with {} ({{a}}) and lowest with {} ({{b}}): {}.",
            self.subject(),
            self.was(),
            level(best),
            level(worst),
            self.gap(among(&means), "; {p}")
        ));
        let statement = self.put(statement, "a", self.mean(&means, best)?);
        let statement = self.put(statement, "b", self.mean(&means, worst)?);
        let half = self.joint_half_width(&means, &difference)?;
        let statement = self.put_gap(statement, &means, (best, worst), &difference, half)?;
        Some(statement.with("p", p, Format::Probability))
    }

    /// No clear effect: what the means were, and what the trial could have shown.
    fn unclear(&self, factor: usize) -> Option<Statement> {
        let means = self.means(&[factor], &[]);
        let order = self.by_mean(&means);
        let (best, worst) = (*order.first()?, *order.last()?);
        let difference = self.difference(&means, best, worst)?;
        let least = least_significant_difference(
            difference.standard_error,
            self.options.level,
            difference.df,
        )
        .ok()?;
        let least_words = match self.scaled.scale {
            Scale::Measured => ", and two means had to differ by {least} to be told apart",
            Scale::Log => ", and one median had to be {least} times another to be told apart",
            _ => "",
        };
        let statement = Statement::new(format!(
            "No clear difference in {} between levels of {} ({{p}}):{} {} ran from {{b}} ({}) to {{a}} ({}){least_words}.",
            self.name(),
            self.factor_words(factor),
            self.over_seasons(),
            self.averages(),
            self.level_words(factor, worst),
            self.level_words(factor, best)
        ));
        let statement = self.put(statement, "b", self.mean(&means, worst)?);
        let statement = self.put(statement, "a", self.mean(&means, best)?);
        let statement = match self.scaled.scale {
            Scale::Measured => self.put(statement, "least", least),
            Scale::Log => statement.with("least", least.exp(), Format::Decimals(2)),
            _ => statement,
        };
        let p = self.term(&[factor])?.test?.p;
        Some(statement.with("p", p, Format::Probability))
    }
}

/// What the interval of the largest of several differences allows for.
pub(crate) fn among(means: &Means) -> &'static str {
    match means.levels.len() > 2 {
        true => " allowing for all pairs",
        false => "",
    }
}
