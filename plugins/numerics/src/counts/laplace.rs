//! Laplace's approximation of the log-likelihood with exact first and second derivatives.
//!
//! L(φ) = Σ l(η̂) − ½ û'û − ½ ln|H|, H = I − A' diag(l″) A, A the random design times the standard
//! deviations. Parameters φ: ln θ where the family has a shape, then the standard deviations, then
//! the coefficients. Writing a subscript for the total derivative, û moving along:
//!
//! * û_a = H⁻¹ [A_a' l′ + A' δ_a l′] where δ_a leaves û's own movement out;
//! * L_a = Σ l′ e_a + l_θ − ½ tr(H⁻¹ H_a), e_a the direct effect on η;
//! * L_ab = Σ (δ_b l′) e_a + … + ½ tr(H⁻¹ H_a H⁻¹ H_b) − ½ tr(H⁻¹ H_ab).
//!
//! Each random design row has one entry a term, so that traces are sums over counts: with
//! T = A H⁻¹ A', U_g = Z_g H⁻¹ A' and V_gh = Z_g H⁻¹ Z_h',
//! tr(H⁻¹ A'DA H⁻¹ A'EA) = Σ_ij d_i T_ij² e_j, and so on for the others ([`Products`]). û_ab is needed
//! in one linear form only, Σ ½ l‴ T_ii (A û_ab)_i = z' (right side of û_ab), z = ½ H⁻¹ A'(l‴ T_ii).
//! L is even in each standard deviation: at 0 its slope is 0 and its curvature says whether the
//! variance would grow (positive) or stay at the boundary.

use nalgebra::{DMatrix, DVector};

use super::Counts;
use super::mode::{At, Mode, Places, mode};
use super::products::Products;

/// A log-likelihood with its derivatives in all parameters, the standard deviations of all random
/// terms included.
#[derive(Debug, Clone)]
pub(super) struct Evaluation {
    pub value: f64,
    pub gradient: DVector<f64>,
    pub hessian: DMatrix<f64>,
}

/// What a parameter is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Parameter {
    /// ln θ.
    Shape,
    /// Standard deviation of a random term.
    Sd(usize),
    /// Coefficient of a column.
    Coefficient(usize),
}

/// The parameters of a model in their order.
pub(super) fn parameters(model: &Counts) -> Vec<Parameter> {
    let shape = (model.family == super::Family::NegativeBinomial).then_some(Parameter::Shape);
    shape
        .into_iter()
        .chain((0..model.random.len()).map(Parameter::Sd))
        .chain((0..model.coefficients()).map(Parameter::Coefficient))
        .collect()
}

/// The parts of a parameter vector.
pub(super) struct Split<'a> {
    pub ln_theta: f64,
    pub sds: &'a [f64],
    pub beta: &'a [f64],
}

pub(super) fn split<'a>(model: &Counts, phi: &'a [f64]) -> Split<'a> {
    let shapes = phi.len() - model.random.len() - model.coefficients();
    let (shape, rest) = phi.split_at(shapes);
    let (sds, beta) = rest.split_at(model.random.len());
    Split {
        ln_theta: shape.first().copied().unwrap_or(0.0),
        sds,
        beta,
    }
}

/// The mode at a parameter vector.
pub(super) fn mode_at(model: &Counts, places: &Places, phi: &[f64]) -> Option<Mode> {
    let Split {
        ln_theta,
        sds,
        beta,
    } = split(model, phi);
    let fixed_eta = model.fixed_eta(beta);
    mode(
        model,
        places,
        &At {
            ln_theta,
            sds,
            fixed_eta: &fixed_eta,
        },
    )
}

/// The value alone.
pub(super) fn value(model: &Counts, places: &Places, phi: &[f64]) -> Option<f64> {
    let mode = mode_at(model, places, phi)?;
    Some(mode.joint - 0.5 * mode.curvature.log_determinant())
}

/// First derivatives along one parameter.
pub(super) struct Along {
    pub kind: Parameter,
    /// û_a.
    effects: DVector<f64>,
    /// Direct effect on η by count.
    direct: Vec<f64>,
    /// Total derivative of η by count.
    eta: Vec<f64>,
    /// Total derivative of l″ by count.
    pub second: Vec<f64>,
}

/// z of the linear form in û_ab, and A z by count.
struct Adjoint {
    effects: DVector<f64>,
    eta: Vec<f64>,
}

/// Everything at one place of the parameters.
pub(super) struct Setting<'a> {
    pub model: &'a Counts,
    places: &'a Places,
    pub sds: &'a [f64],
    pub mode: &'a Mode,
    inverse: DMatrix<f64>,
}

impl Setting<'_> {
    /// 1 where the parameter is the standard deviation of this term.
    fn moved(kind: Parameter, term: usize) -> f64 {
        f64::from(kind == Parameter::Sd(term))
    }

    /// Adds Σ_i w_i times the random row, as it is or as it moves along `kind`.
    fn spread(&self, into: &mut DVector<f64>, weights: impl Fn(usize) -> f64) {
        for (row, columns) in self.places.columns.iter().enumerate() {
            let weight = weights(row);
            for (column, sd) in columns.iter().zip(self.sds) {
                into[*column] += sd * weight;
            }
        }
    }

    fn spread_moved(
        &self,
        into: &mut DVector<f64>,
        kind: Parameter,
        weights: impl Fn(usize) -> f64,
    ) {
        if let Parameter::Sd(term) = kind {
            for (row, columns) in self.places.columns.iter().enumerate() {
                into[columns[term]] += weights(row);
            }
        }
    }

    /// The entry of H⁻¹ between term g of count i and term h of count j.
    pub(super) fn between(&self, i: usize, g: usize, j: usize, h: usize) -> f64 {
        self.inverse[(self.places.columns[i][g], self.places.columns[j][h])]
    }

    fn random_eta(&self, row: usize, effects: &DVector<f64>) -> f64 {
        let columns = self.places.columns[row].iter().zip(self.sds);
        columns.map(|(c, sd)| sd * effects[*c]).sum()
    }

    fn moved_eta(&self, row: usize, kind: Parameter, effects: &DVector<f64>) -> f64 {
        match kind {
            Parameter::Sd(term) => effects[self.places.columns[row][term]],
            _ => 0.0,
        }
    }

    fn along(&self, kind: Parameter) -> Along {
        let rows = self.model.rows();
        let parts = &self.mode.parts;
        let direct: Vec<f64> = (0..rows)
            .map(|row| match kind {
                Parameter::Coefficient(at) => self.model.fixed[at][row],
                _ => self.moved_eta(row, kind, &self.mode.effects),
            })
            .collect();
        let shape = f64::from(kind == Parameter::Shape);
        let mut right = DVector::zeros(self.places.size);
        self.spread_moved(&mut right, kind, |row| parts[row].eta[1]);
        self.spread(&mut right, |row| {
            parts[row].eta[2] * direct[row] + shape * parts[row].shape[1]
        });
        let effects = self.mode.curvature.solve(self.places, self.sds, &right);
        let eta: Vec<f64> = (0..rows)
            .map(|row| direct[row] + self.random_eta(row, &effects))
            .collect();
        let second = (0..rows)
            .map(|row| parts[row].eta[3] * eta[row] + shape * parts[row].shape[2])
            .collect();
        Along {
            kind,
            effects,
            direct,
            eta,
            second,
        }
    }

    /// −tr(H⁻¹ H_a).
    fn trace(&self, along: &Along) -> f64 {
        let row_trace = |row: usize| {
            self.row_trace(row, |g, h| {
                let moved = Self::moved(along.kind, g) * self.sds[h]
                    + self.sds[g] * Self::moved(along.kind, h);
                self.mode.parts[row].eta[2] * moved + along.second[row] * self.sds[g] * self.sds[h]
            })
        };
        (0..self.model.rows()).map(row_trace).sum()
    }

    fn adjoint(&self) -> Adjoint {
        let mut right = DVector::zeros(self.places.size);
        self.spread(&mut right, |row| {
            let spread = self.row_trace(row, |g, h| self.sds[g] * self.sds[h]);
            0.5 * self.mode.parts[row].eta[3] * spread
        });
        let effects = self.mode.curvature.solve(self.places, self.sds, &right);
        let eta = (0..self.model.rows())
            .map(|row| self.random_eta(row, &effects))
            .collect();
        Adjoint { effects, eta }
    }

    /// Σ over pairs of terms of the row's part of tr(H⁻¹ ·) with the given weight.
    fn row_trace(&self, row: usize, weight: impl Fn(usize, usize) -> f64) -> f64 {
        let columns = &self.places.columns[row];
        let mut total = 0.0;
        for (g, left) in columns.iter().enumerate() {
            for (h, right) in columns.iter().enumerate() {
                total += self.inverse[(*left, *right)] * weight(g, h);
            }
        }
        total
    }

    /// L_ab, where the products tr(H⁻¹ H_a H⁻¹ H_b) are given.
    fn second(&self, a: &Along, b: &Along, products: f64, adjoint: &Adjoint) -> f64 {
        let parts = &self.mode.parts;
        let rows = self.model.rows();
        let shape_a = f64::from(a.kind == Parameter::Shape);
        let shape_b = f64::from(b.kind == Parameter::Shape);
        let both = shape_a * shape_b;
        // η_ab without û_ab, and δ_b δ_a l′ with it left out.
        let bent: Vec<f64> = (0..rows)
            .map(|row| {
                self.moved_eta(row, a.kind, &b.effects) + self.moved_eta(row, b.kind, &a.effects)
            })
            .collect();
        let bend = |row: usize, order: usize, bent: f64| {
            let part = &parts[row];
            part.eta[order + 2] * a.eta[row] * b.eta[row]
                + part.eta[order + 1] * bent
                + part.shape[order + 1] * (shape_a * b.eta[row] + shape_b * a.eta[row])
                + both * part.shape2[order]
        };
        let first_along = |along: &Along, shape: f64, row: usize| {
            parts[row].eta[2] * along.eta[row] + shape * parts[row].shape[1]
        };
        let mut value = 0.5 * products;
        for row in 0..rows {
            let part = &parts[row];
            value += first_along(b, shape_b, row) * a.direct[row]
                + part.eta[1] * self.moved_eta(row, a.kind, &b.effects)
                + shape_a * (part.shape[1] * b.eta[row] + shape_b * part.shape2[0]);
            // û_ab through its linear form: the moved rows, then the rows as they are.
            value += self.moved_eta(row, a.kind, &adjoint.effects) * first_along(b, shape_b, row)
                + self.moved_eta(row, b.kind, &adjoint.effects) * first_along(a, shape_a, row)
                + adjoint.eta[row] * bend(row, 1, bent[row]);
            let second = bend(row, 2, bent[row]);
            let trace = self.row_trace(row, |g, h| {
                let (a_g, a_h) = (Self::moved(a.kind, g), Self::moved(a.kind, h));
                let (b_g, b_h) = (Self::moved(b.kind, g), Self::moved(b.kind, h));
                let (s_g, s_h) = (self.sds[g], self.sds[h]);
                part.eta[2] * (a_g * b_h + b_g * a_h)
                    + b.second[row] * (a_g * s_h + s_g * a_h)
                    + a.second[row] * (b_g * s_h + s_g * b_h)
                    + second * s_g * s_h
            });
            value += 0.5 * trace;
        }
        value
    }
}

/// Value, gradient and Hessian; `None` where the likelihood is not finite.
pub(super) fn evaluate(model: &Counts, places: &Places, phi: &[f64]) -> Option<Evaluation> {
    let mode = mode_at(model, places, phi)?;
    let setting = Setting {
        model,
        places,
        sds: split(model, phi).sds,
        inverse: mode.curvature.inverse(places, split(model, phi).sds),
        mode: &mode,
    };
    let alongs: Vec<Along> = parameters(model)
        .into_iter()
        .map(|kind| setting.along(kind))
        .collect();
    let products = Products::of(&setting, &alongs);
    let adjoint = setting.adjoint();
    let size = alongs.len();
    let mut gradient = DVector::zeros(size);
    let mut hessian = DMatrix::zeros(size, size);
    for (at, along) in alongs.iter().enumerate() {
        let shape = f64::from(along.kind == Parameter::Shape);
        let parts = mode.parts.iter().zip(&along.direct);
        let direct: f64 = parts
            .map(|(part, direct)| part.eta[1] * direct + shape * part.shape[0])
            .sum();
        gradient[at] = direct + 0.5 * setting.trace(along);
        for (other, b) in alongs.iter().enumerate().take(at + 1) {
            let second = setting.second(along, b, products.pair(&alongs, at, other), &adjoint);
            hessian[(at, other)] = second;
            hessian[(other, at)] = second;
        }
    }
    Some(Evaluation {
        value: mode.joint - 0.5 * mode.curvature.log_determinant(),
        gradient,
        hessian,
    })
}
