//! Adaptive Gauss–Hermite quadrature for one random term.
//!
//! For each unit the integral over its effect u is a weighted sum over nodes placed about its mode
//! and scaled by its curvature (Liu & Pierce 1994, *Biometrika* 81:624). The derivatives of the log
//! integral are posterior means (Louis 1982, *J. R. Stat. Soc. B* 44:226):
//! ∂ ln I = E[s], ∂² ln I = E[∂s] + Var[s], with s the score given u; they are taken with the same
//! nodes, so that their error is that of the quadrature itself.

use nalgebra::{DMatrix, DVector, SymmetricEigen};

use super::Counts;
use super::laplace::{Evaluation, Parameter, mode_at, parameters, split};
use super::mode::Places;

/// Nodes and log weights for ∫ f(x) e^{−x²/2} dx/√2π.
#[derive(Debug, Clone)]
pub(super) struct Rule {
    nodes: Vec<(f64, f64)>,
}

impl Rule {
    /// The rule of Golub & Welsch (1969, *Math. Comput.* 23:221): nodes are the eigenvalues of the
    /// matrix of the recurrence of Hermite's polynomials.
    pub(super) fn new(points: usize) -> Self {
        let matrix = DMatrix::from_fn(points, points, |row, column| {
            if row.abs_diff(column) == 1 {
                (row.max(column) as f64).sqrt()
            } else {
                0.0
            }
        });
        let eigen = SymmetricEigen::new(matrix);
        let mut nodes: Vec<(f64, f64)> = eigen
            .eigenvalues
            .iter()
            .zip(eigen.eigenvectors.row(0).iter())
            .map(|(node, first)| (*node, (first * first).ln()))
            .collect();
        nodes.sort_by(|a, b| a.0.total_cmp(&b.0));
        Self { nodes }
    }
}

/// What one node of one unit contributes.
struct Node {
    log_weight: f64,
    score: DVector<f64>,
    slope: DMatrix<f64>,
}

struct Unit<'a> {
    model: &'a Counts,
    kinds: &'a [Parameter],
    rows: &'a [usize],
    ln_theta: f64,
    sd: f64,
    fixed_eta: &'a [f64],
}

impl Unit<'_> {
    fn node(&self, effect: f64, log_weight: f64, derivatives: bool) -> Node {
        let size = if derivatives { self.kinds.len() } else { 0 };
        let mut node = Node {
            log_weight: log_weight - 0.5 * effect * effect,
            score: DVector::zeros(size),
            slope: DMatrix::zeros(size, size),
        };
        let mut direct = vec![0.0; size];
        for &row in self.rows {
            let eta = self.fixed_eta[row] + self.sd * effect;
            let model = self.model;
            let parts = model.family.parts(
                model.counts[row],
                model.totals[row],
                model.constants[row],
                eta,
                self.ln_theta,
            );
            node.log_weight += parts.eta[0];
            for (direct, kind) in direct.iter_mut().zip(self.kinds) {
                *direct = match kind {
                    Parameter::Shape => 0.0,
                    Parameter::Sd(_) => effect,
                    Parameter::Coefficient(at) => model.fixed[*at][row],
                };
            }
            for a in 0..size {
                let shape_a = f64::from(self.kinds[a] == Parameter::Shape);
                node.score[a] += parts.eta[1] * direct[a] + shape_a * parts.shape[0];
                for b in 0..=a {
                    let shape_b = f64::from(self.kinds[b] == Parameter::Shape);
                    node.slope[(a, b)] += parts.eta[2] * direct[a] * direct[b]
                        + parts.shape[1] * (shape_a * direct[b] + shape_b * direct[a])
                        + shape_a * shape_b * parts.shape2[0];
                }
            }
        }
        node
    }
}

/// Value and, where asked for, gradient and Hessian; `None` where the likelihood is not finite.
pub(super) fn evaluate(
    model: &Counts,
    places: &Places,
    rule: &Rule,
    phi: &[f64],
    derivatives: bool,
) -> Option<Evaluation> {
    let mode = mode_at(model, places, phi)?;
    let parts = split(model, phi);
    let fixed_eta = model.fixed_eta(parts.beta);
    let kinds = parameters(model);
    let size = if derivatives { kinds.len() } else { 0 };
    let mut value = 0.0;
    let mut gradient = DVector::zeros(size);
    let mut hessian = DMatrix::zeros(size, size);
    let mut members: Vec<Vec<usize>> = vec![Vec::new(); places.size];
    for (row, columns) in places.columns.iter().enumerate() {
        members[columns[0]].push(row);
    }
    for (column, rows) in members.iter().enumerate() {
        let unit = Unit {
            model,
            kinds: &kinds,
            rows,
            ln_theta: parts.ln_theta,
            sd: parts.sds[0],
            fixed_eta: &fixed_eta,
        };
        // One term only: H is diagonal.
        let width = 1.0 / mode.curvature.diagonal(places, column).sqrt();
        let nodes: Vec<Node> = rule
            .nodes
            .iter()
            .map(|(x, log_weight)| {
                let effect = mode.effects[column] + width * x;
                unit.node(effect, log_weight + 0.5 * x * x + width.ln(), derivatives)
            })
            .collect();
        let most = nodes
            .iter()
            .fold(f64::NEG_INFINITY, |most, node| most.max(node.log_weight));
        let weights: Vec<f64> = nodes
            .iter()
            .map(|node| (node.log_weight - most).exp())
            .collect();
        let total: f64 = weights.iter().sum();
        value += most + total.ln();
        if !derivatives {
            continue;
        }
        let mut mean = DVector::zeros(size);
        for (node, weight) in nodes.iter().zip(&weights) {
            mean.axpy(weight / total, &node.score, 1.0);
        }
        for (node, weight) in nodes.iter().zip(&weights) {
            let share = weight / total;
            let off = &node.score - &mean;
            hessian += share * &node.slope;
            hessian.ger(share, &off, &off, 1.0);
        }
        gradient += mean;
    }
    hessian.fill_upper_triangle_with_lower_triangle();
    value.is_finite().then_some(Evaluation {
        value,
        gradient,
        hessian,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rule_integrates_powers_exactly() {
        let rule = Rule::new(9);
        let moment = |power: i32| -> f64 {
            rule.nodes
                .iter()
                .map(|(x, w)| w.exp() * x.powi(power))
                .sum()
        };
        for (power, want) in [
            (0, 1.0),
            (1, 0.0),
            (2, 1.0),
            (4, 3.0),
            (8, 105.0),
            (16, 2_027_025.0),
        ] {
            let found = moment(power);
            assert!(
                (found - want).abs() < 1e-12 * f64::max(1.0, want),
                "{power}: {found}"
            );
        }
    }
}
