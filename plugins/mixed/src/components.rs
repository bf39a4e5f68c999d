//! Variance components and predicted random effects.

use caneplot_numerics::mixed::season::Parameter;
use caneplot_numerics::mixed::{Problem, Settings, Structure, freed};
use caneplot_plugin::findings::{Column, Format, Rank, Statement, Table};
use caneplot_plugin::words;

use crate::choice::{Below, Choice};
use crate::numbers::three_digits;
use crate::study::Study;
use crate::tests_table::unescaped;

/// Places of the variances below zero, where that is kept, else of those at zero, with what they are or
/// would be free to be negative.
pub(crate) fn at_zero(problem: &Problem, choice: &Choice) -> Vec<(usize, Option<f64>)> {
    let fit = &choice.fit;
    let (places, free) = match choice.below {
        Below::Kept(_) => (fit.below_zero(), Some(fit.theta.clone())),
        Below::Held => {
            let free = freed(problem, fit, Settings::default());
            (
                fit.certificate.at_zero.clone(),
                free.ok().map(|free| free.theta),
            )
        }
        Below::Nothing | Below::Impossible => (fit.certificate.at_zero.clone(), None),
    };
    let of = |at: usize| free.as_ref().map(|free| free[at]);
    places.into_iter().map(|at| (at, of(at))).collect()
}

impl Study<'_> {
    /// A parameter of the fit in words.
    pub fn parameter_words(&self, parameter: Parameter) -> String {
        let seasons = self.seasons();
        match parameter {
            Parameter::Random(at) => self.readings.sources[at].term.name.clone(),
            Parameter::Plot => "plots".to_owned(),
            Parameter::Error if seasons.is_empty() => "plots (error)".to_owned(),
            Parameter::Error if self.choice.structure == Structure::Symmetric => {
                "seasons within plots (error)".to_owned()
            }
            Parameter::Error => "a plot in a season (error)".to_owned(),
            Parameter::Season(at) => format!("a plot in {} (error)", season(seasons, at)),
            Parameter::Covariance(a, b) => format!(
                "a plot in {} with itself in {}",
                season(seasons, a),
                season(seasons, b)
            ),
            Parameter::Spread(group) => match &self.spreads {
                Some(spreads) => format!(
                    "errors with {}, as a multiple of those with {}",
                    unescaped(&spreads.words[group]),
                    unescaped(&spreads.words[0])
                ),
                None => "errors of another treatment".to_owned(),
            },
            Parameter::Correlation => match self.choice.structure.autoregressive() {
                true => "seasons of a plot one apart".to_owned(),
                false => "any two seasons of a plot".to_owned(),
            },
        }
    }

    /// The table of variance components.
    pub fn components_table(&self) -> Table {
        let fit = &self.choice.fit;
        let zeros = &self.zeros;
        let kept = matches!(self.choice.below, Below::Kept(_));
        let remark = |at: usize| match zeros.iter().find(|(zero, _)| *zero == at) {
            Some(_) if kept => {
                "below 0: as good as none; kept in the tests so that they hold their level"
                    .to_owned()
            }
            Some((_, Some(free))) => {
                format!(
                    "0 at its boundary; {} if it could be negative",
                    three_digits(*free)
                )
            }
            Some((_, None)) => "0 at its boundary".to_owned(),
            None => String::new(),
        };
        let correlation = |parameter: &Parameter| *parameter == Parameter::Correlation;
        // Those come last and have a table of their own.
        let listed = || {
            fit.parameters
                .iter()
                .zip(&fit.theta)
                .take_while(|(parameter, _)| !matches!(parameter, Parameter::Spread(_)))
        };
        let pick = |wanted: bool| {
            listed()
                .map(|(parameter, value)| (correlation(parameter) == wanted).then_some(*value))
                .collect::<Vec<_>>()
        };
        let mut columns = vec![
            Column::text(
                "Source",
                listed().map(|(parameter, _)| self.parameter_words(*parameter)),
            ),
            Column::number("Variance", pick(false), Format::Significant(4)),
        ];
        if fit.parameters.iter().any(correlation) {
            columns.push(Column::number(
                "Correlation",
                pick(true),
                Format::Decimals(3),
            ));
        }
        if !zeros.is_empty() {
            columns.push(Column::text("Remark", (0..listed().count()).map(remark)));
        }
        let mut notes = vec![match self.unit() {
            _ if !self.measured() => {
                format!("By restricted maximum likelihood{}.", self.on_scale())
            }
            "" => "By restricted maximum likelihood.".to_owned(),
            unit => format!("By restricted maximum likelihood, in squared units ({unit})²."),
        }];
        if let Some(spreads) = &self.spreads {
            notes.push(format!(
                "The error is that with {}; the next table has the others.",
                unescaped(&spreads.words[0])
            ));
        }
        if self.choice.structure.autoregressive() {
            notes.push(match self.readings.dated {
                true => "The correlation falls with the true distance between seasons: that of two seasons h apart is the correlation to the power of h.".to_owned(),
                false => "The names of the seasons give no dates, so seasons count as one apart in their order.".to_owned(),
            });
        }
        Table {
            id: "components".to_owned(),
            title: "Variance components".to_owned(),
            columns,
            notes,
            ..Table::default()
        }
    }

    /// Sentences about components at zero or below.
    pub fn zero_notes(&self) -> Vec<Statement> {
        self.zeros
            .iter()
            .map(|&(at, free)| self.zero_note(at, free))
            .collect()
    }

    fn zero_note(&self, at: usize, free: Option<f64>) -> Statement {
        let name = words::beginning(&self.parameter_words(self.choice.fit.parameters[at]));
        let stay = "They stay in the reckoning of degrees of freedom, because the trial was laid out with them.";
        let start =
            format!("{name} vary no more than the errors inside them would make them by chance:");
        let text = match (&self.choice.below, free) {
            (Below::Kept(_), _) => {
                let means = match self.none.contains(&at) {
                    true => " Standard errors of single means count it as 0.",
                    false => "",
                };
                // Whole plots and plots over seasons held at 0, all cells of tests/calibration.
                format!(
                    "{start} their variance comes out below 0 ({{free}}), which is as good as none. It is kept so in tests, differences and their intervals: held at 0, tests at 5 % of larger units rejected in 0.7 to 4.9 % of this program's own simulated trials without a difference and others in up to 6.1 % (folder tests/calibration).{means}"
                )
            }
            (Below::Held, Some(_)) => format!(
                "{start} their variance is held at 0, as asked for (it would be {{free}} if it could be negative), so that tests of larger units are too rare and others a little too frequent. {stay}"
            ),
            (Below::Impossible, _) => format!(
                "{start} their variance is estimated as 0, and there is no fit with it below 0, where tests would hold their level: those of larger units are too rare here and others a little too frequent. {stay}"
            ),
            _ => format!("{start} their variance is estimated as 0. {stay}"),
        };
        let statement = Statement::new(text).rank(Rank::Detail);
        match free {
            Some(free) => statement.with("free", free, Format::Significant(3)),
            None => statement,
        }
    }

    /// Predicted effects of the levels of random terms.
    pub fn predictions_table(&self) -> Option<Table> {
        if !self.options.predictions || self.readings.sources.is_empty() {
            return None;
        }
        let (mut sources, mut levels, mut values) = (Vec::new(), Vec::new(), Vec::new());
        let mut zero = Vec::new();
        let held = self.choice.held();
        for (at, source) in self.readings.sources.iter().enumerate() {
            if held.at_zero(Parameter::Random(at)) {
                zero.push(source.term.name.clone());
                continue;
            }
            let predicted = held.predictions(at, &source.term.codes);
            for (level, value) in source.levels.iter().zip(predicted) {
                sources.push(source.term.name.clone());
                levels.push(level.clone());
                values.push(Some(value));
            }
        }
        let mut notes = vec![
            "Deviations from the mean, drawn towards zero the more the fewer values a level has."
                .to_owned(),
        ];
        if !zero.is_empty() {
            notes.push(format!(
                "All zero, because their variance is: {}.",
                words::list(&zero)
            ));
        }
        Some(Table {
            id: "predictions".to_owned(),
            title: "Predicted effects of random terms".to_owned(),
            columns: vec![
                Column::text("Source", sources),
                Column::text("Level", levels),
                self.scaled_amounts("Prediction", values, self.of_means()),
            ],
            notes,
            ..Table::default()
        })
    }
}

fn season(seasons: &[String], at: usize) -> &str {
    seasons.get(at).map_or("the season", String::as_str)
}
