//! What came out, in plain sentences, the most important first.

use caneplot_plugin::findings::{Format, Rank, Statement};
use caneplot_plugin::words::{list, safe};

use crate::effects::among;
use crate::options::Seasons;
use crate::study::Study;
use crate::tests_table::Simple;

/// Fewer seasons than this are a thin sample.
const FEW_SEASONS: usize = 6;

impl Study<'_> {
    /// The sentences of a response.
    pub fn statements(&self) -> Vec<Statement> {
        let mut all = Vec::new();
        let margins = self.margins().len();
        if let Some(season) = self.season() {
            for factor in 0..margins {
                if self.clear(&[factor, season]) {
                    all.extend(self.season_by_season(factor, season));
                }
            }
        }
        for a in 0..margins {
            for b in a + 1..margins {
                if self.clear(&[a, b]) {
                    all.extend(self.depending(a, b));
                }
            }
        }
        all.extend(self.many_ways());
        let mut effects: Vec<(bool, Statement)> = (0..margins)
            .filter_map(|factor| {
                let (clear, statement) = self.effect(factor)?;
                let rank = match self.stands(factor) {
                    true => Rank::Result,
                    false => Rank::Detail,
                };
                Some((clear, statement.rank(rank)))
            })
            .collect();
        effects.sort_by_key(|(clear, _)| !clear);
        all.extend(effects.into_iter().map(|(_, statement)| statement));
        if all.is_empty() {
            all.extend(self.incomplete());
        }
        all.extend(self.steady());
        all.extend(self.between_seasons());
        all.extend(self.adjustment());
        all.extend(self.spreads_statement());
        all.extend(self.structure_statement().map(|s| s.rank(Rank::Detail)));
        if let Some(first) = all.first_mut() {
            first.rank = Rank::Headline;
        }
        all
    }

    /// A margin whose effect changes with the season.
    fn season_by_season(&self, factor: usize, season: usize) -> Vec<Statement> {
        let effects = self.simple_effects(factor, season);
        let Some(test) = self.term(&[factor, season]).and_then(|term| term.test) else {
            return Vec::new();
        };
        let mut all = vec![
            Statement::new(format!(
                "The effect of {} on {} was not the same in all seasons ({{p}}), so each season stands by itself: {}.",
                self.factor_words(factor),
                self.name(),
                self.where_clear(&effects)
            ))
            .with("p", test.p, Format::Probability),
        ];
        all.extend(effects.iter().filter_map(|effect| self.in_one(effect)));
        all
    }

    /// Where single-level tests are clear: "differences were clear in 2016, not in 2017".
    fn where_clear(&self, effects: &[Simple]) -> String {
        let names = |wanted: bool| -> Vec<String> {
            effects
                .iter()
                .filter(|effect| {
                    effect
                        .test
                        .is_some_and(|test| (test.p < self.options.level) == wanted)
                })
                .map(|effect| {
                    let (factor, level) = effect.given[0];
                    self.level_words(factor, level)
                })
                .collect()
        };
        let in_or_with = match effects.first().map(|effect| effect.given[0].0) {
            Some(factor) if self.season() == Some(factor) => "in",
            _ => "with",
        };
        match (names(true).as_slice(), names(false).as_slice()) {
            ([], _) => "in none of them alone were its differences clear".to_owned(),
            (_, []) if in_or_with == "in" => {
                "its differences were clear in every season".to_owned()
            }
            (clear, []) => format!("its differences were clear {in_or_with} {}", list(clear)),
            (clear, not) => format!(
                "its differences were clear {in_or_with} {}, not clear {in_or_with} {}",
                list(clear),
                list(not)
            ),
        }
    }

    /// The largest difference at one level of another factor.
    fn in_one(&self, effect: &Simple) -> Option<Statement> {
        let test = effect.test?;
        if test.p >= self.options.level {
            return None;
        }
        let means = self.means(&[effect.factor], &effect.given);
        let order = self.by_mean(&means);
        let (best, worst) = (*order.first()?, *order.last()?);
        let difference = self.difference(&means, best, worst)?;
        let (factor, level) = effect.given[0];
        let place = self.level_words(factor, level);
        let start = match self.season() == Some(factor) {
            true => format!("In {place}"),
            false => format!("With {place}"),
        };
        let statement = Statement::new(format!(
            "{start}, {} {} highest with {} ({{a}}) and lowest with {} ({{b}}): {}.",
            self.name(),
            self.was(),
            self.level_words(effect.factor, best),
            self.level_words(effect.factor, worst),
            self.gap(among(&means), "; {p}")
        ));
        let statement = self.put(statement, "a", self.mean(&means, best)?);
        let statement = self.put(statement, "b", self.mean(&means, worst)?);
        let half = self.joint_half_width(&means, &difference)?;
        let statement = self.put_gap(statement, &means, (best, worst), &difference, half)?;
        Some(statement.with("p", test.p, Format::Probability))
    }

    /// Two margins that depend on each other.
    fn depending(&self, a: usize, b: usize) -> Vec<Statement> {
        let effects = self.simple_effects(a, b);
        let Some(test) = self.term(&[a, b]).and_then(|term| term.test) else {
            return Vec::new();
        };
        let mut all = vec![
            Statement::new(format!(
                "The effect of {} on {} depended on {} ({{p}}), so neither should be read by itself: {}.",
                self.factor_words(a),
                self.name(),
                self.factor_words(b),
                self.where_clear(&effects)
            ))
            .with("p", test.p, Format::Probability),
        ];
        all.extend(effects.iter().filter_map(|effect| self.in_one(effect)));
        all
    }

    /// Clear interactions of three or more: how two act together depends on the others.
    fn many_ways(&self) -> Vec<Statement> {
        self.terms
            .iter()
            .filter(|term| term.factors.len() > 2 && self.clear(&term.factors))
            .filter_map(|term| {
                let (last, others) = term.factors.split_last()?;
                let names: Vec<String> =
                    others.iter().map(|&at| self.factor_words(at)).collect();
                Some(
                    Statement::new(format!(
                        "How {} acted together on {} depended on {} ({{p}}): read the means of each combination, not averages over them.",
                        list(&names),
                        self.name(),
                        match self.season() == Some(*last) {
                            true => "the season".to_owned(),
                            false => self.factor_words(*last),
                        }
                    ))
                    .with("p", term.test?.p, Format::Probability),
                )
            })
            .collect()
    }

    /// What can still be said where cells without values leave no test over all seasons.
    fn incomplete(&self) -> Vec<Statement> {
        let Some(cells) = self.empty_cells() else {
            return vec![Statement::new(format!(
                "No test for {}: the trial leaves no degrees of freedom for its error.",
                self.name()
            ))];
        };
        let mut all = vec![Statement::new(format!(
            "No test of {} over all seasons: some combinations have no value at all ({cells}), and an average over them does not exist. Seasons that are complete are tested one by one.",
            self.name()
        ))];
        if let Some(season) = self.season() {
            for factor in 0..self.margins().len() {
                let effects = self.simple_effects(factor, season);
                all.extend(effects.iter().filter_map(|effect| self.in_one(effect)));
            }
        }
        all
    }

    /// Margins whose effect did not clearly change with the season or each other.
    fn steady(&self) -> Vec<Statement> {
        let Some(season) = self.season() else {
            return Vec::new();
        };
        (0..self.margins().len())
            .filter_map(|factor| {
                let test = self.term(&[factor, season])?.test?;
                (test.p >= self.options.level).then(|| {
                    Statement::new(format!(
                        "The effect of {} did not clearly change with the season ({{p}}).",
                        self.factor_words(factor)
                    ))
                    .with("p", test.p, Format::Probability)
                    .rank(Rank::Detail)
                })
            })
            .collect()
    }

    /// Differences between seasons.
    fn between_seasons(&self) -> Option<Statement> {
        let season = self.season()?;
        let test = self.term(&[season])?.test?;
        let means = self.means(&[season], &[]);
        let order = self.by_mean(&means);
        let (best, worst) = (*order.first()?, *order.last()?);
        let text = match test.p < self.options.level {
            true => format!(
                "Seasons differed ({{p}}): {} {} highest in {} ({{a}}) and lowest in {} ({{b}}).",
                self.name(),
                self.was(),
                self.level_words(season, best),
                self.level_words(season, worst)
            ),
            false => format!(
                "Seasons did not clearly differ ({{p}}): {} ran from {{b}} in {} to {{a}} in {}.",
                self.name(),
                self.level_words(season, worst),
                self.level_words(season, best)
            ),
        };
        let statement = Statement::new(text).rank(Rank::Detail);
        let statement = self.put(statement, "a", self.mean(&means, best)?);
        let statement = self.put(statement, "b", self.mean(&means, worst)?);
        Some(statement.with("p", test.p, Format::Probability))
    }

    /// What the answer is about.
    pub fn scope_note(&self) -> Option<Statement> {
        let count = self.seasons().len();
        if count == 0 {
            return None;
        }
        let names: Vec<String> = self.seasons().iter().map(|season| safe(season)).collect();
        let text = match self.options.season {
            Seasons::Fixed => format!(
                "Seasons are taken as they were: the answer is about {}, on these plots, and says nothing of other seasons.",
                list(&names)
            ),
            Seasons::Random if count < FEW_SEASONS => format!(
                "Seasons are taken as a random sample: the answer is about seasons like these. With {} of them it rests on few degrees of freedom, and the variation between seasons is poorly known.",
                match count {
                    2 => "two".to_owned(),
                    3 => "three".to_owned(),
                    count => count.to_string(),
                }
            ),
            Seasons::Random => "Seasons are taken as a random sample: the answer is about seasons like these, and treatments are judged against how their differences vary from season to season.".to_owned(),
        };
        Some(Statement::new(text).rank(Rank::Detail))
    }
}
