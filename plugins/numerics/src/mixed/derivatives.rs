//! Score, expected and observed information of the restricted likelihood.
//!
//! With V_i = ∂V/∂θ_i and P = V⁻¹ − V⁻¹X(X'V⁻¹X)⁻¹X'V⁻¹:
//! score_i = ½(y'PV_iPy − tr PV_i), expected_ij = ½ tr(PV_iPV_j) and
//! observed_ij = −expected_ij + y'PV_iPV_jPy + ½ tr(PV_ij) − ½ y'PV_ijPy; y'PV_iPV_jPy/2 alone is
//! the average information (Gilmour, Thompson & Cullis 1995, *Biometrics* 51:1440).
//!
//! P is never formed. In a block PW = D⁻¹WE with E = I − C F over the absorbed columns, so traces of
//! narrow parameters come from two small matrices a pattern, Σ D⁻¹W C W'D⁻¹ and Σ (Py)(Py)', and
//! those of wide terms from F − FCF.

use nalgebra::{DMatrix, DVector};

use super::deviance::{Absorbed, add_at};
use super::matrices::Prepared;
use super::products::{Entry, between, dot, few_entries};

/// Derivatives of the log restricted likelihood at one place.
pub(crate) struct Derivatives {
    pub(crate) score: DVector<f64>,
    pub(crate) expected: DMatrix<f64>,
    pub(crate) observed: DMatrix<f64>,
}

/// Sums that both the derivatives and the inference need.
pub(crate) struct Sums {
    /// Derivatives of D by each narrow parameter, a list for each pattern.
    pub(crate) first: Vec<Vec<DMatrix<f64>>>,
    /// K_i = W'D⁻¹D_iD⁻¹W of each narrow parameter.
    pub(crate) k: Vec<DMatrix<f64>>,
    /// Which parameters are narrow, in the order of the two lists above.
    pub(crate) narrow: Vec<usize>,
}

impl Prepared {
    /// Derivatives of D and the sums K.
    pub(crate) fn sums(&self, at: &Absorbed) -> Sums {
        let narrow: Vec<usize> = (0..self.parameters.len())
            .filter(|&parameter| self.wide[parameter].is_none())
            .collect();
        let first: Vec<Vec<DMatrix<f64>>> = self
            .patterns
            .iter()
            .map(|pattern| {
                let random = pattern.narrow.iter().map(|(_, shared)| shared.clone());
                random.chain(self.first_of(pattern, &at.error)).collect()
            })
            .collect();
        let width = self.width();
        let mut k = vec![DMatrix::zeros(width, width); narrow.len()];
        let sparse: Vec<Vec<Option<Vec<Entry>>>> = first
            .iter()
            .map(|derivatives| derivatives.iter().map(few_entries).collect())
            .collect();
        for (block, solved) in self.blocks.iter().zip(&at.solved) {
            let rows = solved.transpose();
            let derivatives = first[block.pattern].iter().zip(&sparse[block.pattern]);
            for (sum, (d, few)) in k.iter_mut().zip(derivatives) {
                let product = match few {
                    Some(entries) => between(&rows, entries),
                    None => solved.tr_mul(&(d * solved)),
                };
                add_at(sum, &product, &block.columns);
            }
        }
        Sums { first, k, narrow }
    }

    /// E over the columns Z and y: what P leaves of them.
    fn kept(&self, at: &Absorbed) -> DMatrix<f64> {
        let (absorbed, width) = (self.absorbed(), self.width());
        let columns: Vec<usize> = (0..self.wide_columns).chain([absorbed]).collect();
        let gram = at.gram.select_columns(&columns);
        let mut kept = DMatrix::zeros(width, columns.len());
        kept.view_mut((0, 0), (absorbed, columns.len()))
            .copy_from(&-(&at.c * gram.rows(0, absorbed)));
        for (place, &column) in columns.iter().enumerate() {
            kept[(column, place)] += 1.0;
        }
        kept
    }

    /// Score and information.
    pub(crate) fn derivatives(&self, at: &Absorbed) -> Derivatives {
        let (absorbed, z) = (self.absorbed(), self.wide_columns);
        let count = self.parameters.len();
        let sums = self.sums(at);
        let kept = self.kept(at);
        let y = kept.column(z).into_owned();

        // Per pattern: Σ D⁻¹W C W'D⁻¹ and Σ (Py)(Py)' over its blocks, and their number.
        let empty = |pattern: usize| {
            let size = self.patterns[pattern].size;
            (DMatrix::zeros(size, size), DMatrix::zeros(size, size), 0.0)
        };
        let mut spread: Vec<_> = (0..self.patterns.len()).map(empty).collect();
        for (block, solved) in self.blocks.iter().zip(&at.solved) {
            let own = block.columns.iter().take_while(|c| **c < absorbed).count();
            let c = DMatrix::from_fn(own, own, |i, j| at.c[(block.columns[i], block.columns[j])]);
            let left = solved.columns(0, own);
            let (h, quadratic, blocks) = &mut spread[block.pattern];
            *h += (left * c) * left.transpose();
            let weights = DVector::from_fn(block.columns.len(), |i, _| y[block.columns[i]]);
            let residual = solved * weights;
            *quadratic += &residual * residual.transpose();
            *blocks += 1.0;
        }

        let mut trace = vec![0.0; count];
        let mut quadratic = vec![0.0; count];
        let mut traces = DMatrix::<f64>::zeros(count, count);
        let mut quadratics = DMatrix::<f64>::zeros(count, count);
        let mut seconds = DMatrix::<f64>::zeros(count, count);
        for (pattern, (h, yy, blocks)) in spread.iter().enumerate() {
            let inverse = &at.patterns[pattern].inverse;
            let first = &sums.first[pattern];
            let solved: Vec<DMatrix<f64>> = first.iter().map(|d| inverse * d).collect();
            let turned: Vec<DMatrix<f64>> = solved.iter().map(DMatrix::transpose).collect();
            let behind: Vec<DMatrix<f64>> = first.iter().map(|d| h * d).collect();
            let beside: Vec<DMatrix<f64>> = first.iter().map(|d| yy * d).collect();
            for (i, &pi) in sums.narrow.iter().enumerate() {
                trace[pi] += blocks * solved[i].trace() - behind[i].trace();
                quadratic[pi] += beside[i].trace();
                for (j, &pj) in sums.narrow.iter().enumerate().skip(i) {
                    traces[(pi, pj)] +=
                        blocks * dot(&solved[i], &turned[j]) - 2.0 * dot(&behind[i], &turned[j]);
                    quadratics[(pi, pj)] += dot(&beside[i], &turned[j]);
                }
            }
            for (a, b, d) in self.second_of(&self.patterns[pattern], &at.error) {
                // All four are symmetric.
                let value = blocks * dot(inverse, &d) - dot(h, &d) - dot(yy, &d);
                seconds[(a, b)] += 0.5 * value;
            }
        }

        let ck: Vec<DMatrix<f64>> = sums
            .k
            .iter()
            .map(|k| &at.c * k.view((0, 0), (absorbed, absorbed)))
            .collect();
        let ky: Vec<DVector<f64>> = sums
            .k
            .iter()
            .map(|k| (k * &y).rows(0, absorbed).into())
            .collect();
        let turned: Vec<DMatrix<f64>> = ck.iter().map(DMatrix::transpose).collect();
        for (i, &pi) in sums.narrow.iter().enumerate() {
            let cky = &at.c * &ky[i];
            for (j, &pj) in sums.narrow.iter().enumerate().skip(i) {
                traces[(pi, pj)] += dot(&ck[i], &turned[j]);
                quadratics[(pi, pj)] -= cky.dot(&ky[j]);
            }
        }

        if z > 0 {
            let rows: Vec<usize> = (0..z).chain([absorbed]).collect();
            let fp = at.gram.select_rows(&rows) * &kept;
            let wide: Vec<usize> = (0..count).filter(|at| self.wide[*at].is_some()).collect();
            let range = |parameter: usize| self.wide[parameter].clone().unwrap_or(0..0);
            let block = |of: &DMatrix<f64>, rows: usize, columns: usize| {
                let (rows, columns) = (range(rows), range(columns));
                of.view((rows.start, columns.start), (rows.len(), columns.len()))
                    .into_owned()
            };
            let to_y = |of: &DMatrix<f64>, rows: usize| {
                let rows = range(rows);
                of.view((rows.start, z), (rows.len(), 1)).into_owned()
            };
            for &i in &wide {
                trace[i] = block(&fp, i, i).trace();
                quadratic[i] = to_y(&fp, i).norm_squared();
                for &j in &wide {
                    let cross = block(&fp, i, j);
                    traces[(i, j)] = cross.norm_squared();
                    quadratics[(i, j)] = to_y(&fp, i).dot(&(cross * to_y(&fp, j)));
                }
            }
            for (k, &j) in sums.k.iter().zip(&sums.narrow) {
                let kp = kept.tr_mul(&(k * &kept));
                for &i in &wide {
                    let place = (i.min(j), i.max(j));
                    traces[place] = block(&kp, i, i).trace();
                    quadratics[place] = to_y(&fp, i).dot(&to_y(&kp, i));
                }
            }
        }

        for i in 0..count {
            for j in 0..i {
                traces[(i, j)] = traces[(j, i)];
                quadratics[(i, j)] = quadratics[(j, i)];
                seconds[(i, j)] = seconds[(j, i)];
            }
        }
        let score = DVector::from_fn(count, |i, _| 0.5 * (quadratic[i] - trace[i]));
        let expected = traces * 0.5;
        let observed = quadratics - &expected + seconds;
        Derivatives {
            score,
            expected,
            observed,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mixed::{Problem, RandomTerm, Residual, Structure};

    /// 3 blocks, 2 strips crossing all of them, 5 plots a block, 3 seasons with gaps.
    fn problem(structure: Structure, groups: usize) -> Problem {
        let (mut values, mut rows, mut block, mut strip) = (vec![], vec![], vec![], vec![]);
        let (mut plot, mut season) = (vec![], vec![]);
        for unit in 0..45_usize {
            if unit % 13 == 4 {
                continue;
            }
            let noise = ((unit * 7919 + 13) % 101) as f64 / 101.0;
            values.push(noise + (unit / 15) as f64 * 0.3);
            let treatment = (unit / 3 + unit / 15) % 5;
            rows.push([
                1.0,
                f64::from(treatment == 1),
                f64::from(treatment > 2),
                noise * noise,
            ]);
            block.push(unit / 15);
            strip.push(unit / 3 % 2);
            plot.push(unit / 3);
            season.push(unit % 3);
        }
        let term = |name: &str, codes| RandomTerm {
            name: name.to_owned(),
            codes,
        };
        Problem {
            fixed: DMatrix::from_fn(rows.len(), 4, |i, j| rows[i][j]),
            values,
            random: vec![term("block", block), term("strip", strip)],
            residual: Residual {
                structure,
                // Whole plots, so that a group never splits one.
                group: match groups {
                    1 => Vec::new(),
                    _ => plot.iter().map(|plot| plot % groups).collect(),
                },
                plot,
                season,
                times: vec![1.0, 2.0, 4.0],
            },
        }
    }

    fn theta(structure: Structure, groups: usize) -> Vec<f64> {
        let error = match structure {
            Structure::Autoregressive => vec![0.11, 0.4],
            Structure::Unstructured => vec![0.1, 0.03, 0.02, 0.12, 0.04, 0.09],
            _ => (0..structure.parameters(3).len())
                .map(|at| 0.1 + 0.02 * at as f64)
                .collect(),
        };
        let multiples = (1..groups).map(|group| 0.6 + 0.5 * group as f64).collect();
        [vec![0.05, 0.02], error, multiples].concat()
    }

    /// Every structure with one error variance and with three.
    fn cases() -> impl Iterator<Item = (Structure, usize)> {
        Structure::ALL
            .into_iter()
            .flat_map(|structure| [(structure, 1), (structure, 3)])
    }

    #[test]
    fn score_and_information_are_the_derivatives_of_the_deviance() {
        for (structure, groups) in cases() {
            let theta = theta(structure, groups);
            for dense in [true, false] {
                let prepared = problem(structure, groups).prepare(dense).unwrap();
                assert_eq!(prepared.wide_columns > 0, !dense);
                let at = |theta: &[f64]| prepared.absorb(theta).unwrap();
                let here = prepared.derivatives(&at(&theta));
                for i in 0..theta.len() {
                    let moved = |by: f64| {
                        let mut other = theta.clone();
                        other[i] += by;
                        at(&other)
                    };
                    let (up, down) = (moved(1e-5), moved(-1e-5));
                    let slope = -0.5 * (up.deviance - down.deviance) / 2e-5;
                    assert!((slope - here.score[i]).abs() < 1e-5 * (1.0 + slope.abs()));
                    let bend = (prepared.derivatives(&down).score
                        - prepared.derivatives(&up).score)
                        / 2e-5;
                    for j in 0..theta.len() {
                        let got = here.observed[(i, j)];
                        assert!(
                            (bend[j] - got).abs() < 1e-5 * (1.0 + got.abs()),
                            "{structure:?} {groups} {i} {j}: {} {got}",
                            bend[j]
                        );
                    }
                }
            }
        }
    }

    #[test]
    fn wide_and_narrow_terms_give_the_same_numbers() {
        for (structure, groups) in cases() {
            let theta = theta(structure, groups);
            let both = [true, false].map(|dense| {
                let prepared = problem(structure, groups).prepare(dense).unwrap();
                let at = prepared.absorb(&theta).unwrap();
                let derivatives = prepared.derivatives(&at);
                (at.deviance, derivatives.expected, derivatives.score)
            });
            assert!((both[0].0 - both[1].0).abs() < 1e-9);
            assert!((&both[0].1 - &both[1].1).amax() < 1e-9 * both[0].1.amax());
            assert!((&both[0].2 - &both[1].2).amax() < 1e-9 * (1.0 + both[0].2.amax()));
        }
    }
}
