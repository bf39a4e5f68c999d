//! A planned trial as a layout, with the effects that are looked for.
//!
//! The pattern of a term is the least favourable one with a difference d in it: of a factor two
//! levels d apart and the others halfway between (Scheffé 1959, 3.3), of an interaction a difference
//! of differences of d. Both are d times the product, over the factors of the term, of ½ at one
//! level, −½ at another and 0 elsewhere.

use caneplot_numerics::design::{Applied, Design, Kind, Sheet};
use caneplot_numerics::strata::Classifier;
use caneplot_plugin::Refusal;
use caneplot_plugin::request::TrialInfo;
use caneplot_plugin::words;
use caneplot_readings::design;

/// What a plan fixes: kind of design and factors.
#[derive(Debug, Clone)]
pub(crate) struct Frame {
    pub kind: Kind,
    pub factors: Vec<Factor>,
}

/// A factor of the plan.
#[derive(Debug, Clone)]
pub(crate) struct Factor {
    pub label: String,
    pub levels: usize,
    pub applied: Applied,
    /// The quantities of its levels, where they are numbers.
    pub values: Option<Vec<f64>>,
}

/// A term that is tested.
#[derive(Debug, Clone)]
pub(crate) struct Term {
    /// Its place in the layout.
    pub at: usize,
    /// In words.
    pub name: String,
    /// Its factors, by their place in the frame.
    pub factors: Vec<usize>,
    /// Whether it asks if effects change from season to season.
    pub by_season: bool,
}

/// A layout of so many blocks and seasons.
#[derive(Debug, Clone)]
pub(crate) struct Planned {
    pub design: Design,
    pub blocks: usize,
    pub seasons: usize,
    pub terms: Vec<Term>,
}

impl Frame {
    pub fn of(trial: &TrialInfo) -> Result<Self, Refusal> {
        let factors: Vec<Factor> = trial
            .factors
            .iter()
            .map(|factor| Factor {
                label: factor.label.clone(),
                levels: factor.levels.len(),
                applied: design::applied(factor.role),
                values: factor.levels.iter().map(|level| level.value).collect(),
            })
            .collect();
        if let Some(one) = factors.iter().find(|factor| factor.levels < 2) {
            return Err(Refusal::new(format!(
                "{} has {}: there is nothing to compare",
                one.label,
                words::counted(one.levels, "level")
            ))
            .hint("give every factor at least two levels"));
        }
        if factors.is_empty() {
            return Err(Refusal::new("the plan has no treatment factor"));
        }
        Ok(Self {
            kind: design::kind(trial.design.kind),
            factors,
        })
    }

    /// Treatment combinations.
    pub fn treatments(&self) -> usize {
        self.factors.iter().map(|factor| factor.levels).product()
    }

    /// Whether the number of blocks is free: a Latin square has as many rows as treatments.
    pub fn has_blocks(&self) -> bool {
        self.kind != Kind::LatinSquare
    }

    /// The level of a factor in a treatment combination, the last factor varying fastest.
    fn level(&self, factor: usize, treatment: usize) -> usize {
        let inner: usize = self.factors[factor + 1..]
            .iter()
            .map(|f| f.levels)
            .product();
        treatment / inner % self.factors[factor].levels
    }

    /// The layout with so many blocks and seasons.
    pub fn planned(&self, blocks: usize, seasons: usize) -> Result<Planned, Refusal> {
        let all = self.treatments();
        let blocks = if self.has_blocks() { blocks } else { all };
        let (plots, seasons) = (all * blocks, seasons.max(1));
        let units = plots * seasons;
        let code = |name: &str, count: usize, of: &dyn Fn(usize) -> usize| Classifier {
            name: name.to_owned(),
            levels: (1..=count).map(|number| number.to_string()).collect(),
            codes: (0..units).map(of).collect(),
        };
        let plot = |unit: usize| unit / seasons;
        let group = |unit: usize| plot(unit) / all;
        let square = self.kind == Kind::LatinSquare;
        // In a square the treatments of a row move on by one from row to row.
        let treatment = |unit: usize| match square {
            true => (plot(unit) % all + group(unit)) % all,
            false => plot(unit) % all,
        };
        let treatments = self.factors.iter().enumerate().map(|(at, factor)| {
            let codes = code(&factor.label, factor.levels, &|unit| {
                self.level(at, treatment(unit))
            });
            (codes, factor.applied)
        });
        let blocked = !square && self.kind != Kind::CompletelyRandomised;
        let sheet = Sheet {
            kind: self.kind,
            block: blocked.then(|| code("block", blocks, &group)),
            row: square.then(|| code("row", blocks, &group)),
            column: square.then(|| code("column", all, &|unit| plot(unit) % all)),
            plot: code("plot", plots, &plot),
            season: (seasons > 1).then(|| code("season", seasons, &|unit| unit % seasons)),
            vines: false,
            treatments: treatments.collect(),
            block_by_season: false,
        };
        let design = sheet.design().map_err(|error| {
            Refusal::new(format!("this plan is no {}: {error}", self.kind.words()))
        })?;
        let terms = self.terms(&design);
        for term in &terms {
            let stratum = &design.layout.strata()[design.layout.terms()[term.at].stratum];
            if stratum.residual_df == 0 {
                return Err(Refusal::new(format!(
                    "{} could not be tested: '{}' leaves no degrees of freedom for error",
                    term.name, stratum.name
                ))
                .hint(if square {
                    "a square of two treatments has no error: take three or more, or blocks"
                } else {
                    "plan more blocks (plots of each treatment)"
                }));
            }
        }
        Ok(Planned {
            design,
            blocks,
            seasons,
            terms,
        })
    }

    fn terms(&self, design: &Design) -> Vec<Term> {
        let listed = design.layout.terms().iter().enumerate();
        listed
            .filter_map(|(at, term)| {
                let factors: Vec<usize> = (0..self.factors.len())
                    .filter(|&factor| term.classifiers.contains(&design.treatments[factor]))
                    .collect();
                let by_season = design
                    .season
                    .is_some_and(|season| term.classifiers.contains(&season));
                let mut names: Vec<&str> = factors
                    .iter()
                    .map(|&factor| self.factors[factor].label.as_str())
                    .collect();
                if by_season {
                    names.push("Season");
                }
                // How seasons differ on average is nobody's question.
                (!factors.is_empty()).then(|| Term {
                    at,
                    name: names.join(" × "),
                    factors: factors.clone(),
                    by_season,
                })
            })
            .collect()
    }
}

impl Planned {
    /// Expected values in which every term has its pattern with a difference of 1.
    pub fn expected(&self) -> Vec<f64> {
        let layout = &self.design.layout;
        let half = |classifier: usize, unit: usize| {
            let one = &layout.classifiers()[classifier];
            match one.codes[unit] {
                0 => 0.5,
                last if last + 1 == one.levels.len() => -0.5,
                _ => 0.0,
            }
        };
        (0..layout.units())
            .map(|unit| {
                self.terms
                    .iter()
                    .map(|term| {
                        let parts = layout.terms()[term.at].classifiers.iter();
                        parts.map(|&at| half(at, unit)).product::<f64>()
                    })
                    .sum()
            })
            .collect()
    }

    /// Main effects of factors.
    pub fn main(&self) -> impl Iterator<Item = &Term> {
        self.terms
            .iter()
            .filter(|term| term.factors.len() == 1 && !term.by_season)
    }
}
