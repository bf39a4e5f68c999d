//! Analysis of variance of orthogonal designs, each term in its own stratum.
//!
//! A design is a set of terms: block terms (blocks, whole plots, plots, vines in plots …), each of
//! which is a stratum with its own error, and treatment terms. A treatment term is tested in the
//! coarsest stratum within whose units it does not vary. The working vector is swept by the means of
//! every term in turn, coarse strata first and margins before their interactions (Wilkinson 1970,
//! Biometrika 57:19; Payne & Wilkinson 1977, Appl. Statist. 26:251); what a block term sweeps out
//! after the treatments of its stratum is the residual of that stratum.
//!
//! This is exact only where all terms are orthogonal, so [`Layout::new`] proves it (Tjur 1984) and
//! refuses otherwise. Values must be centred by the caller on an exact decimal: only then do the
//! sums of squares keep their digits.

use crate::cells::Cells;
use crate::orthogonal::{self, LayoutError};
use crate::sum::Sum;
use crate::variance::{ErrorLine, Swept, TermLine, Variance};

/// A classification of the units: blocks, plots, seasons or a treatment factor.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Classifier {
    /// Name in words.
    pub name: String,
    /// Names of the levels in order.
    pub levels: Vec<String>,
    /// The level of each unit, as an index into `levels`.
    pub codes: Vec<usize>,
}

/// A block term as declared: the classifiers that cross to it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BlockTerm {
    /// Name of the stratum in words.
    pub name: String,
    /// Indices of its classifiers.
    pub classifiers: Vec<usize>,
    /// Whether it only groups units (blocks, rows, columns), so that the standard error of a mean
    /// leaves its own variance out.
    pub grouping: bool,
}

/// A stratum: a block term inside a layout.
#[derive(Debug, Clone)]
pub struct Stratum {
    /// Name in words.
    pub name: String,
    /// Its units.
    pub cells: Cells,
    /// Only groups units.
    pub grouping: bool,
    /// Degrees of freedom left for error after the treatments tested here.
    pub residual_df: usize,
}

/// A treatment term inside a layout.
#[derive(Debug, Clone)]
pub struct Term {
    /// Indices of its classifiers.
    pub classifiers: Vec<usize>,
    /// Its cells.
    pub cells: Cells,
    /// Degrees of freedom.
    pub df: usize,
    /// Index of the stratum in which it is tested.
    pub stratum: usize,
}

/// One step of the sweep.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Step {
    Mean,
    Term(usize),
    Residual(usize),
}

/// Everything about a design that does not depend on a response: computed once, used for many.
#[derive(Debug, Clone)]
pub struct Layout {
    units: usize,
    classifiers: Vec<Classifier>,
    strata: Vec<Stratum>,
    terms: Vec<Term>,
    steps: Vec<Step>,
    whole: Cells,
}

impl Layout {
    /// A layout from its classifiers, block terms from coarse to fine (the last one single units)
    /// and treatment terms with margins before interactions.
    ///
    /// # Errors
    /// [`LayoutError`] where a term has one level only, coincides with another, or is not orthogonal
    /// to the rest.
    pub fn new(
        classifiers: Vec<Classifier>,
        block_terms: &[BlockTerm],
        treatment_terms: &[Vec<usize>],
    ) -> Result<Self, LayoutError> {
        let units = classifiers.first().map_or(0, |first| first.codes.len());
        let cells_of = |chosen: &[usize]| {
            Cells::crossing(
                units,
                chosen.iter().map(|&at| classifiers[at].codes.as_slice()),
            )
        };
        let whole = Cells::whole(units);
        let mut strata: Vec<Stratum> = block_terms
            .iter()
            .map(|term| Stratum {
                name: term.name.clone(),
                cells: cells_of(&term.classifiers),
                grouping: term.grouping,
                residual_df: 0,
            })
            .collect();
        match strata.last() {
            Some(last) if last.cells.count() == units && units > 1 => {}
            _ => return Err(LayoutError::UnitsNotSingle),
        }
        let mut terms = Vec::new();
        for chosen in treatment_terms {
            let cells = cells_of(chosen);
            let stratum = strata
                .iter()
                .position(|stratum| stratum.cells.refines(&cells))
                .ok_or(LayoutError::UnitsNotSingle)?;
            terms.push(Term {
                classifiers: chosen.clone(),
                cells,
                df: 0,
                stratum,
            });
        }
        let mut steps = vec![Step::Mean];
        for stratum in 0..strata.len() {
            let here = |&at: &usize| terms[at].stratum == stratum;
            steps.extend((0..terms.len()).filter(here).map(Step::Term));
            steps.push(Step::Residual(stratum));
        }

        let named: Vec<orthogonal::Named<'_>> = steps
            .iter()
            .map(|step| match *step {
                Step::Mean => orthogonal::Named {
                    cells: &whole,
                    words: "the whole trial".to_owned(),
                    treatment: false,
                },
                Step::Term(at) => orthogonal::Named {
                    cells: &terms[at].cells,
                    words: words_of(&classifiers, &terms[at].classifiers),
                    treatment: true,
                },
                Step::Residual(at) => orthogonal::Named {
                    cells: &strata[at].cells,
                    words: strata[at].name.clone(),
                    treatment: false,
                },
            })
            .collect();
        let dfs = orthogonal::degrees_of_freedom(&named)?;
        drop(named);
        for (step, df) in steps.iter().zip(dfs) {
            match *step {
                Step::Mean => {}
                Step::Term(at) => terms[at].df = df,
                Step::Residual(at) => strata[at].residual_df = df,
            }
        }
        Ok(Self {
            units,
            classifiers,
            strata,
            terms,
            steps,
            whole,
        })
    }

    /// Number of units: values a response must have.
    #[must_use]
    pub fn units(&self) -> usize {
        self.units
    }

    /// The classifiers.
    #[must_use]
    pub fn classifiers(&self) -> &[Classifier] {
        &self.classifiers
    }

    /// The strata, coarse to fine.
    #[must_use]
    pub fn strata(&self) -> &[Stratum] {
        &self.strata
    }

    /// The treatment terms, margins first.
    #[must_use]
    pub fn terms(&self) -> &[Term] {
        &self.terms
    }

    /// The term made of exactly these classifiers, in any order.
    #[must_use]
    pub fn term_of(&self, classifiers: &[usize]) -> Option<usize> {
        self.terms.iter().position(|term| {
            term.classifiers.len() == classifiers.len()
                && classifiers.iter().all(|at| term.classifiers.contains(at))
        })
    }

    /// Name of a term in words: "pruning", "pruning × season".
    #[must_use]
    pub fn term_name(&self, term: usize) -> String {
        words_of(&self.classifiers, &self.terms[term].classifiers)
    }

    /// Splits a vector into the mean, the effects of every treatment term and the residual effects
    /// of every stratum.
    ///
    /// # Panics
    /// Where the vector is not as long as the layout has units.
    #[must_use]
    pub fn sweep(&self, values: &[f64]) -> Swept {
        assert_eq!(values.len(), self.units, "one value for every unit");
        let mut working = values.to_vec();
        let mut swept = Swept {
            mean: 0.0,
            terms: vec![Vec::new(); self.terms.len()],
            residuals: vec![Vec::new(); self.strata.len()],
        };
        for step in &self.steps {
            match *step {
                Step::Mean => swept.mean = swept_out(&self.whole, &mut working)[0],
                Step::Term(at) => {
                    swept.terms[at] = swept_out(&self.terms[at].cells, &mut working);
                }
                Step::Residual(at) => {
                    swept.residuals[at] = swept_out(&self.strata[at].cells, &mut working);
                }
            }
        }
        swept
    }

    /// The analysis of variance of one response.
    ///
    /// # Panics
    /// Where there is not one value for every unit.
    #[must_use]
    pub fn analyse(&self, values: &[f64]) -> Variance {
        let swept = self.sweep(values);
        let largest = values
            .iter()
            .fold(0.0_f64, |most, value| most.max(value.abs()));
        // A sum of squares this small is rounding of equal values, not variation.
        let noise = self.units as f64 * (8.0 * f64::EPSILON * largest).powi(2);
        let settled = |sum: f64| if sum <= noise { 0.0 } else { sum };
        let errors: Vec<ErrorLine> = self
            .strata
            .iter()
            .zip(&swept.residuals)
            .map(|(stratum, effects)| {
                let sum_of_squares = settled(stratum.cells.sum_of_squares(effects));
                ErrorLine {
                    df: stratum.residual_df,
                    sum_of_squares,
                    mean_square: (stratum.residual_df > 0)
                        .then(|| sum_of_squares / stratum.residual_df as f64),
                }
            })
            .collect();
        let lines = self
            .terms
            .iter()
            .zip(&swept.terms)
            .map(|(term, effects)| {
                let sum_of_squares = settled(term.cells.sum_of_squares(effects));
                TermLine::tested(sum_of_squares, term.df, &errors[term.stratum])
            })
            .collect();
        Variance {
            mean: swept.mean,
            lines,
            errors,
            swept,
        }
    }

    /// Value of each unit as the terms of a stratum and everything coarser than it foretell it.
    ///
    /// The residual effects of the stratum itself and of finer ones are left out.
    #[must_use]
    pub fn fitted(&self, swept: &Swept, stratum: usize) -> Vec<f64> {
        let coarser = |other: usize| {
            self.strata[stratum]
                .cells
                .refines(&self.strata[other].cells)
        };
        (0..self.units)
            .map(|unit| {
                let mut sum = Sum::default();
                sum.add(swept.mean);
                for (term, effects) in self.terms.iter().zip(&swept.terms) {
                    if coarser(term.stratum) {
                        sum.add(effects[term.cells.of_unit()[unit]]);
                    }
                }
                for (at, effects) in swept.residuals.iter().enumerate() {
                    if at != stratum && coarser(at) {
                        sum.add(effects[self.strata[at].cells.of_unit()[unit]]);
                    }
                }
                sum.total()
            })
            .collect()
    }
}

/// Means of the cells, taken out of the working vector. The second pass picks up what rounding left
/// behind in the first.
fn swept_out(cells: &Cells, working: &mut [f64]) -> Vec<f64> {
    let mut effects = vec![0.0; cells.count()];
    for _ in 0..2 {
        let means = cells.means(working);
        for (value, &cell) in working.iter_mut().zip(cells.of_unit()) {
            *value -= means[cell];
        }
        for (effect, mean) in effects.iter_mut().zip(means) {
            *effect += mean;
        }
    }
    effects
}

pub(crate) fn words_of(classifiers: &[Classifier], chosen: &[usize]) -> String {
    let names: Vec<&str> = chosen
        .iter()
        .map(|&at| classifiers[at].name.as_str())
        .collect();
    names.join(" × ")
}
