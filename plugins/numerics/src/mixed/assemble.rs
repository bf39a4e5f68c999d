//! A finished fit: estimates, their covariance and what inference needs, all of the size of the
//! fixed effects.
//!
//! With V_i = ∂V/∂θ_i: slopes X'V⁻¹V_iV⁻¹X = −∂(X'V⁻¹X)/∂θ_i, and the weighted sums
//! Σ w_ij X'V⁻¹V_iV⁻¹V_jV⁻¹X and Σ w_ij X'V⁻¹V_ijV⁻¹X with w the inverse of the expected
//! information, which adjust the covariance of the estimates (Kenward & Roger 1997, *Biometrics*
//! 53:983).

use nalgebra::{Cholesky, DMatrix, DVector};

use super::MixedError;
use super::converge::{Certificate, square};
use super::deviance::{Absorbed, add_at};
use super::matrices::Prepared;
use super::optimise::{Found, Settings};
use super::problem::Problem;
use super::season::Parameter;

/// A fitted model.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// What each variance parameter means.
    pub parameters: Vec<Parameter>,
    /// Estimates of the variance parameters.
    pub theta: Vec<f64>,
    /// −2 log restricted likelihood.
    pub deviance: f64,
    /// Number of values.
    pub values: usize,
    /// Estimates of the fixed effects, centred as the values were.
    pub beta: DVector<f64>,
    /// Their covariance (X'V⁻¹X)⁻¹ at the estimated parameters.
    pub covariance: DMatrix<f64>,
    /// Why the fit may be trusted.
    pub certificate: Certificate,
    /// Values less their fixed part.
    pub residuals: Vec<f64>,
    /// V⁻¹ times those.
    pub weighted_residuals: Vec<f64>,
    /// X'V⁻¹V_iV⁻¹X.
    pub(crate) slopes: Vec<DMatrix<f64>>,
    /// Inverse of the expected information; rows of parameters left out are zero.
    pub(crate) expected_inverse: DMatrix<f64>,
    /// Inverse of the observed information; of the expected where a variance is at zero.
    pub(crate) observed_inverse: DMatrix<f64>,
    /// Σ w_ij X'V⁻¹V_iV⁻¹V_jV⁻¹X.
    pub(crate) products: DMatrix<f64>,
    /// Σ w_ij X'V⁻¹V_ijV⁻¹X; `None` where V is linear in its parameters.
    pub(crate) bends: Option<DMatrix<f64>>,
}

impl Fit {
    /// The estimate of a parameter.
    #[must_use]
    pub fn of(&self, parameter: Parameter) -> Option<f64> {
        let at = self.parameters.iter().position(|p| *p == parameter)?;
        Some(self.theta[at])
    }

    /// Whether a variance is held at zero.
    #[must_use]
    pub fn at_zero(&self, parameter: Parameter) -> bool {
        let at = self.parameters.iter().position(|p| *p == parameter);
        at.is_some_and(|at| self.certificate.at_zero.contains(&at))
    }

    /// Predictions of the levels of a random term, shrunk towards zero
    /// (Henderson 1975, *Biometrics* 31:423): θ Z'V⁻¹(y − Xβ).
    #[must_use]
    pub fn predictions(&self, term: usize, codes: &[usize]) -> Vec<f64> {
        let mut sums = vec![0.0; super::problem::levels_of(codes)];
        for (code, value) in codes.iter().zip(&self.weighted_residuals) {
            sums[*code] += self.theta[term] * value;
        }
        sums
    }
}

/// The fit at the end of a search.
pub(crate) fn fit(
    problem: &Problem,
    prepared: &Prepared,
    found: Found,
    settings: Settings,
) -> Result<Fit, MixedError> {
    let Found {
        at,
        certificate,
        derivatives,
    } = found;
    let kept: Vec<usize> = (0..prepared.parameters.len())
        .filter(|i| settings.keep_zero || !certificate.at_zero.contains(i))
        .collect();
    let flat = || {
        MixedError::NotConverged(
            "the information about the variances is not positive definite".to_owned(),
        )
    };
    let inverse = |of: &DMatrix<f64>| -> Result<DMatrix<f64>, MixedError> {
        let small = Cholesky::new(square(of, &kept)).ok_or_else(flat)?.inverse();
        let mut whole = DMatrix::zeros(of.nrows(), of.ncols());
        add_at(&mut whole, &small, &kept);
        Ok(whole)
    };
    let expected_inverse = inverse(&derivatives.expected)?;
    // Held at zero, a variance is not at the top of the likelihood: its observed information says
    // nothing about its precision.
    let on_edge = kept.iter().any(|i| certificate.at_zero.contains(i));
    let observed_inverse = match on_edge {
        true => expected_inverse.clone(),
        false => inverse(&derivatives.observed)?,
    };

    let (z, p) = (prepared.wide_columns, prepared.effects);
    let solution = &at.c * at.gram.view((0, z + p), (z + p, 1));
    let beta: DVector<f64> = solution.rows(z, p).column(0).into_owned();
    let fitted = &problem.fixed * &beta;
    let parts = parts(prepared, &at, &expected_inverse);
    Ok(Fit {
        parameters: prepared.parameters.clone(),
        theta: at.theta.clone(),
        deviance: at.deviance,
        values: prepared.values,
        covariance: at.c.view((z, z), (p, p)).into_owned(),
        residuals: problem
            .values
            .iter()
            .zip(fitted.iter())
            .map(|(value, fitted)| value - fitted)
            .collect(),
        weighted_residuals: weighted_residuals(prepared, &at, &solution),
        beta,
        certificate,
        slopes: parts.slopes,
        expected_inverse,
        observed_inverse,
        products: parts.products,
        bends: parts.bends,
    })
}

/// V⁻¹(y − Xβ) = Py by blocks.
fn weighted_residuals(prepared: &Prepared, at: &Absorbed, solution: &DMatrix<f64>) -> Vec<f64> {
    let absorbed = prepared.absorbed();
    let mut all = vec![0.0; prepared.values];
    for (block, solved) in prepared.blocks.iter().zip(&at.solved) {
        let weights = DVector::from_iterator(
            block.columns.len(),
            block
                .columns
                .iter()
                .map(|&column| match column == absorbed {
                    true => 1.0,
                    false => -solution[(column, 0)],
                }),
        );
        for (&unit, value) in block.units.iter().zip((solved * weights).iter()) {
            all[unit] = *value;
        }
    }
    all
}

struct Parts {
    slopes: Vec<DMatrix<f64>>,
    products: DMatrix<f64>,
    bends: Option<DMatrix<f64>>,
}

/// Slopes and weighted sums. V⁻¹W = D⁻¹WE with E = I − S F over the columns of Z, where
/// S = Λ(I + ΛF_zzΛ)⁻¹Λ; the products V_iV⁻¹V_j are taken apart by narrow and wide parameters.
fn parts(prepared: &Prepared, at: &Absorbed, weights: &DMatrix<f64>) -> Parts {
    let (z, p, width) = (prepared.wide_columns, prepared.effects, prepared.width());
    let sums = prepared.sums(at);
    let s = absorbed_wide(prepared, at);
    let xs: Vec<usize> = (z..z + p).collect();
    // E over the columns of Z and X.
    let gram_zx = at.gram.view((0, 0), (z, z + p)).into_owned();
    let mut e = DMatrix::zeros(width, z + p);
    e.view_mut((0, 0), (z, z + p)).copy_from(&-(&s * &gram_zx));
    for column in 0..z + p {
        e[(column, column)] += 1.0;
    }
    let e_x = e.columns(z, p).into_owned();

    // Products of two narrow parameters, by patterns and blocks.
    let mut inner = DMatrix::zeros(width, width);
    let mut curved = DMatrix::zeros(width, width);
    let patterns: Vec<(DMatrix<f64>, DMatrix<f64>)> = (0..prepared.patterns.len())
        .map(|pattern| {
            middle(
                prepared,
                at,
                &sums.first[pattern],
                &sums.narrow,
                weights,
                pattern,
            )
        })
        .collect();
    let bent = at.error.bent();
    for (block, solved) in prepared.blocks.iter().zip(&at.solved) {
        let (product, bend) = &patterns[block.pattern];
        add_at(
            &mut inner,
            &solved.tr_mul(&(product * solved)),
            &block.columns,
        );
        if bent {
            add_at(
                &mut curved,
                &solved.tr_mul(&(bend * solved)),
                &block.columns,
            );
        }
    }
    let mut products = e_x.tr_mul(&(&inner * &e_x));

    // K_i after the wide terms are in V, over the columns of Z and X.
    let fv = e.tr_mul(&at.gram.columns(0, z + p));
    let mut k: Vec<DMatrix<f64>> = vec![DMatrix::zeros(z + p, z + p); prepared.parameters.len()];
    let mut crossed: Vec<DMatrix<f64>> = Vec::new();
    for (sum, &parameter) in sums.k.iter().zip(&sums.narrow) {
        k[parameter] = e.tr_mul(&(sum * &e));
        crossed.push(sum.rows(0, z) * &e_x);
    }
    for (i, &pi) in sums.narrow.iter().enumerate() {
        for (j, &pj) in sums.narrow.iter().enumerate() {
            if z > 0 {
                products -= crossed[i].tr_mul(&(&s * &crossed[j])) * weights[(pi, pj)];
            }
        }
    }
    let wide: Vec<(usize, std::ops::Range<usize>)> = prepared
        .wide
        .iter()
        .enumerate()
        .filter_map(|(at, range)| range.clone().map(|range| (at, range)))
        .collect();
    for (i, rows) in &wide {
        let own = fv.view((rows.start, z), (rows.len(), p)).into_owned();
        k[*i].view_mut((z, z), (p, p)).copy_from(&own.tr_mul(&own));
        for (j, columns) in &wide {
            let cross = fv.view((rows.start, columns.start), (rows.len(), columns.len()));
            let other = fv.view((columns.start, z), (columns.len(), p));
            products += own.tr_mul(&(cross * other)) * weights[(*i, *j)];
        }
        for &j in &sums.narrow {
            let other = k[j].view((rows.start, z), (rows.len(), p)).into_owned();
            let product = own.tr_mul(&other);
            products += (&product + product.transpose()) * weights[(*i, j)];
        }
    }
    Parts {
        slopes: k.iter().map(|k| square(k, &xs)).collect(),
        products,
        bends: bent.then(|| e_x.tr_mul(&(&curved * &e_x))),
    }
}

/// Σ w_ij D_iD⁻¹D_j and Σ w_ij D_ij of one pattern.
fn middle(
    prepared: &Prepared,
    at: &Absorbed,
    first: &[DMatrix<f64>],
    narrow: &[usize],
    weights: &DMatrix<f64>,
    pattern: usize,
) -> (DMatrix<f64>, DMatrix<f64>) {
    let size = prepared.patterns[pattern].size;
    let inverse = &at.patterns[pattern].inverse;
    let mut product = DMatrix::zeros(size, size);
    for (i, &pi) in narrow.iter().enumerate() {
        let mut right = DMatrix::zeros(size, size);
        for (j, &pj) in narrow.iter().enumerate() {
            right += &first[j] * weights[(pi, pj)];
        }
        product += &first[i] * (inverse * right);
    }
    let mut bend = DMatrix::zeros(size, size);
    for (i, j, second) in prepared.second_of(&prepared.patterns[pattern], &at.error) {
        let twice = if i == j { 1.0 } else { 2.0 };
        bend += second * (twice * weights[(i, j)]);
    }
    (product, bend)
}

/// S = Λ(I + ΛF_zzΛ)⁻¹Λ, from V = D + ZΓZ'.
fn absorbed_wide(prepared: &Prepared, at: &Absorbed) -> DMatrix<f64> {
    let z = prepared.wide_columns;
    let mut root = vec![0.0; z];
    for (range, variance) in prepared.wide.iter().zip(&at.theta) {
        if let Some(range) = range {
            root[range.clone()].fill(variance.sqrt());
        }
    }
    let mut m = DMatrix::from_fn(z, z, |i, j| root[i] * at.gram[(i, j)] * root[j]);
    for i in 0..z {
        m[(i, i)] += 1.0;
    }
    // I + a positive semidefinite matrix always has a Cholesky factor unless it overflows.
    match Cholesky::new(m) {
        Some(cholesky) => {
            let inverse = cholesky.inverse();
            DMatrix::from_fn(z, z, |i, j| root[i] * inverse[(i, j)] * root[j])
        }
        None => DMatrix::zeros(z, z),
    }
}
