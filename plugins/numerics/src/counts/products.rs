//! Traces of products of curvatures, as sums over pairs of counts.
//!
//! With T = A H⁻¹ A', U_g = Z_g H⁻¹ A' and V_gh = Z_g H⁻¹ Z_h' (A the random design times the standard
//! deviations, Z_g its part of term g), d, e weights of counts and w = l″:
//!
//! * tr(H⁻¹ A'DA H⁻¹ A'EA) = Σ d_i T_ij² e_j;
//! * tr(H⁻¹ (Z_g'WA + A'WZ_g) H⁻¹ A'EA) = 2 Σ w_i T_ij U_g,ij e_j;
//! * tr(H⁻¹ (Z_g'WA + A'WZ_g) H⁻¹ (Z_h'WA + A'WZ_h)) = 2 Σ w_i w_j (U_g,ij U_h,ji + T_ij V_gh,ij).

use nalgebra::DMatrix;

use super::laplace::{Along, Parameter, Setting};

/// Sums over pairs of counts that all tr(H⁻¹ H_a H⁻¹ H_b) are made of.
pub(super) struct Products {
    /// By parameter b, the vector Σ_j T_ij² (δ_b l″)_j.
    squares: Vec<Vec<f64>>,
    /// By term g, the vector Σ_i l″_i T_ij U_g,ij.
    moved: Vec<Vec<f64>>,
    /// By terms g and h, Σ_ij l″_i l″_j (U_g,ij U_h,ji + T_ij V_gh,ij).
    both: DMatrix<f64>,
}

impl Products {
    pub(super) fn of(setting: &Setting, alongs: &[Along]) -> Self {
        let (rows, terms) = (setting.model.rows(), setting.sds.len());
        let mut found = Self {
            squares: vec![vec![0.0; rows]; alongs.len()],
            moved: vec![vec![0.0; rows]; terms],
            both: DMatrix::zeros(terms, terms),
        };
        if terms == 0 {
            return found;
        }
        // Places of U_g,ij, U_h,ji and V_gh,ij for one pair of counts.
        let (mut left, mut right) = (vec![0.0; terms], vec![0.0; terms]);
        let mut squared = vec![0.0; rows];
        for i in 0..rows {
            for (j, squared) in squared.iter_mut().enumerate() {
                right.fill(0.0);
                let mut both = 0.0;
                for (g, left) in left.iter_mut().enumerate() {
                    *left = 0.0;
                    for (h, right) in right.iter_mut().enumerate() {
                        let entry = setting.between(i, g, j, h);
                        *left += entry * setting.sds[h];
                        *right += entry * setting.sds[g];
                    }
                    both += setting.sds[g] * *left;
                }
                *squared = both * both;
                let (second_i, second_j) =
                    (setting.mode.parts[i].eta[2], setting.mode.parts[j].eta[2]);
                for (g, (moved, left)) in found.moved.iter_mut().zip(&left).enumerate() {
                    moved[j] += second_i * both * left;
                    for (h, right) in right.iter().enumerate() {
                        let pair = left * right + both * setting.between(i, g, j, h);
                        found.both[(g, h)] += second_i * second_j * pair;
                    }
                }
            }
            for (sums, along) in found.squares.iter_mut().zip(alongs) {
                sums[i] = squared.iter().zip(&along.second).map(|(t, d)| t * d).sum();
            }
        }
        found
    }

    /// tr(H⁻¹ H_a H⁻¹ H_b).
    pub(super) fn pair(&self, alongs: &[Along], a: usize, b: usize) -> f64 {
        let dot = |x: &[f64], y: &[f64]| x.iter().zip(y).map(|(x, y)| x * y).sum::<f64>();
        let mut total = dot(&alongs[a].second, &self.squares[b]);
        let term = |at: usize| match alongs[at].kind {
            Parameter::Sd(term) => Some(term),
            _ => None,
        };
        if let Some(g) = term(a) {
            total += 2.0 * dot(&self.moved[g], &alongs[b].second);
        }
        if let Some(h) = term(b) {
            total += 2.0 * dot(&self.moved[h], &alongs[a].second);
        }
        if let (Some(g), Some(h)) = (term(a), term(b)) {
            total += 2.0 * self.both[(g, h)];
        }
        total
    }
}
