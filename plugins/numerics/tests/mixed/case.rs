//! Reference problems in the coding of the reference script: first level of each factor left out.

use std::collections::BTreeMap;

use caneplot_numerics::mixed::{Problem, RandomTerm, Residual, Structure};
use nalgebra::DMatrix;
use serde_json::Value as Json;

use crate::common;

/// Factors with their levels and the terms of the fixed part.
pub struct Grid {
    factors: Vec<(String, Vec<String>)>,
    terms: Vec<Vec<usize>>,
}

impl Grid {
    pub fn new(factors: &[(&str, &[&str])]) -> Self {
        let factors: Vec<(String, Vec<String>)> = factors
            .iter()
            .map(|(name, levels)| {
                (
                    (*name).to_owned(),
                    levels.iter().map(|l| (*l).to_owned()).collect(),
                )
            })
            .collect();
        let mut terms: Vec<Vec<usize>> = (1_usize..1 << factors.len())
            .map(|mask| {
                (0..factors.len())
                    .filter(|at| mask >> at & 1 == 1)
                    .collect()
            })
            .collect();
        terms.sort_by_key(|term: &Vec<usize>| (term.len(), term.clone()));
        Self { factors, terms }
    }

    fn place(&self, name: &str) -> usize {
        self.factors.iter().position(|(f, _)| f == name).unwrap()
    }

    /// Combinations of the levels, without the first one of each factor.
    fn combinations(&self, term: &[usize]) -> Vec<Vec<usize>> {
        let mut all = vec![vec![]];
        for &factor in term {
            all = all
                .into_iter()
                .flat_map(|start| {
                    (1..self.factors[factor].1.len()).map(move |level| {
                        let mut next = start.clone();
                        next.push(level);
                        next
                    })
                })
                .collect();
        }
        all
    }

    /// The row of the fixed part for a cell.
    pub fn row(&self, levels: &[usize]) -> Vec<f64> {
        let mut row = vec![1.0];
        for term in &self.terms {
            for combination in self.combinations(term) {
                let same = term.iter().zip(&combination).all(|(f, l)| levels[*f] == *l);
                row.push(f64::from(same));
            }
        }
        row
    }

    /// Mean of the rows of all cells with these levels, the others equally weighted.
    fn averaged(&self, given: &BTreeMap<usize, usize>) -> Vec<f64> {
        let mut cells = vec![vec![]];
        for (factor, (_, names)) in self.factors.iter().enumerate() {
            let range = match given.get(&factor) {
                Some(level) => *level..level + 1,
                None => 0..names.len(),
            };
            cells = cells
                .into_iter()
                .flat_map(|start: Vec<usize>| {
                    range.clone().map(move |level| {
                        let mut next = start.clone();
                        next.push(level);
                        next
                    })
                })
                .collect();
        }
        let mut sum = vec![0.0; self.row(&cells[0]).len()];
        for cell in &cells {
            for (total, entry) in sum.iter_mut().zip(self.row(cell)) {
                *total += entry / cells.len() as f64;
            }
        }
        sum
    }

    /// The adjusted mean at the named levels.
    pub fn mean(&self, at: &Json) -> Vec<f64> {
        let given = at.as_object().unwrap().iter().map(|(name, level)| {
            let factor = self.place(name);
            let level = level.as_str().unwrap();
            (
                factor,
                self.factors[factor]
                    .1
                    .iter()
                    .position(|l| l == level)
                    .unwrap(),
            )
        });
        self.averaged(&given.collect())
    }

    /// Marginal hypothesis of a term: differences to the first level, other factors averaged.
    pub fn marginal(&self, term: &str) -> DMatrix<f64> {
        let factors: Vec<usize> = term.split(':').map(|name| self.place(name)).collect();
        let mut rows = vec![];
        for combination in self.combinations(&factors) {
            let mut sum: Vec<f64> = vec![];
            for mask in 0_usize..1 << factors.len() {
                let mut sign = 1.0;
                let given = factors.iter().zip(&combination).enumerate();
                let given = given.map(|(at, (factor, level))| {
                    let own = mask >> at & 1 == 1;
                    if !own {
                        sign = -sign;
                    }
                    (*factor, if own { *level } else { 0 })
                });
                let mean = self.averaged(&given.collect());
                sum.resize(mean.len(), 0.0);
                for (total, entry) in sum.iter_mut().zip(mean) {
                    *total += sign * entry;
                }
            }
            rows.push(sum);
        }
        DMatrix::from_fn(rows.len(), rows[0].len(), |i, j| rows[i][j])
    }
}

/// A data set with its model.
pub struct Case {
    rows: Vec<common::Row>,
    values: Vec<f64>,
    columns: Vec<String>,
    pub grid: Grid,
    random: Vec<RandomTerm>,
    residual: Residual,
}

impl Case {
    pub fn read(file: &str, response: &str) -> Self {
        let mut rows = common::rows(&format!("mixed/{file}"));
        rows.retain(|row| !row.text(response).is_empty());
        let values: Vec<f64> = rows.iter().map(|row| row.number(response)).collect();
        Self {
            residual: Residual::independent(values.len()),
            rows,
            values,
            columns: vec![],
            grid: Grid::new(&[]),
            random: vec![],
        }
    }

    fn texts(&self, column: &str) -> Vec<String> {
        self.rows
            .iter()
            .map(|row| row.text(column).to_owned())
            .collect()
    }

    /// Factors of the fixed part; no levels means sorted.
    pub fn fixed(mut self, factors: &[(&str, &[&str])]) -> Self {
        let mut grid = Grid::new(factors);
        for (name, levels) in &mut grid.factors {
            self.columns.push(name.clone());
            if levels.is_empty() {
                *levels = self.texts(name);
                levels.sort();
                levels.dedup();
            }
        }
        self.grid = grid;
        self
    }

    /// Names of the factors in the reference.
    pub fn renamed(mut self, names: &[&str]) -> Self {
        for ((name, _), new) in self.grid.factors.iter_mut().zip(names) {
            *name = (*new).to_owned();
        }
        self
    }

    /// Chooses the terms.
    pub fn terms(mut self, terms: &[&str]) -> Self {
        let places = |term: &&str| term.split(':').map(|name| self.grid.place(name)).collect();
        self.grid.terms = terms.iter().map(places).collect();
        self
    }

    /// A random term: every combination of these columns.
    pub fn random(mut self, columns: &[&str]) -> Self {
        let codes = self.codes(columns);
        self.random.push(RandomTerm {
            name: columns.join(" by "),
            codes,
        });
        self
    }

    fn codes(&self, columns: &[&str]) -> Vec<usize> {
        let mut known: Vec<String> = vec![];
        let texts = self.rows.iter().map(|row| {
            columns
                .iter()
                .map(|column| row.text(column))
                .collect::<Vec<_>>()
                .join("|")
        });
        texts
            .map(|text| {
                known.iter().position(|k| *k == text).unwrap_or_else(|| {
                    known.push(text);
                    known.len() - 1
                })
            })
            .collect()
    }

    /// Seasons repeated on plots.
    pub fn seasons(mut self, plot: &str, season: &str, structure: Structure) -> Self {
        let mut times = self.texts(season);
        times.sort();
        times.dedup();
        let place = |text: String| times.iter().position(|time| *time == text).unwrap();
        self.residual = Residual {
            structure,
            plot: self.codes(&[plot]),
            season: self.texts(season).into_iter().map(place).collect(),
            times: times.iter().map(|time| time.parse().unwrap()).collect(),
            group: Vec::new(),
        };
        self
    }

    /// Error variances of their own for the levels of a column, in sorted order.
    pub fn groups(mut self, column: &str) -> Self {
        let mut levels = self.texts(column);
        levels.sort();
        levels.dedup();
        let place = |text: String| levels.iter().position(|level| *level == text).unwrap();
        self.residual.group = self.texts(column).into_iter().map(place).collect();
        self
    }

    pub fn problem(&self) -> Problem {
        let rows: Vec<Vec<f64>> = self
            .rows
            .iter()
            .map(|row| {
                let levels: Vec<usize> = self
                    .columns
                    .iter()
                    .zip(&self.grid.factors)
                    .map(|(column, (_, levels))| {
                        levels.iter().position(|l| l == row.text(column)).unwrap()
                    })
                    .collect();
                self.grid.row(&levels)
            })
            .collect();
        Problem {
            values: self.values.clone(),
            fixed: DMatrix::from_fn(rows.len(), rows[0].len(), |i, j| rows[i][j]),
            random: self.random.clone(),
            residual: self.residual.clone(),
        }
    }
}
