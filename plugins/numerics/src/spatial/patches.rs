//! Whether neighbours are alike beyond treatments and blocks.
//!
//! With e the residuals of n plots and P pairs of neighbours, Moran's I = n Σ e_i e_j / (P Σ e_i²)
//! (weights 1 for neighbours). Residuals are not independent even where errors are: blocks and
//! treatments were taken out of them. So
//!
//! * I is compared with n tr(MW)/(2P df), its mean under independence, M being the matrix that takes
//!   blocks and treatments out (Cliff & Ord 1972, *Geogr. Anal.* 4:267);
//! * P counts how often the residuals, exchanged at random inside blocks and freed of blocks and
//!   treatments once more, show an I as large (exchange under the reduced model: Freedman & Lane 1983,
//!   *J. Bus. Econ. Stat.* 1:292). Tested is that plots of a block are exchangeable once treatments
//!   are allowed for; small P speak for neighbours that are more alike than that.

use super::SpatialError;
use super::ground::{Basis, Ground};
use super::neighbours::Pair;
use crate::random::Streams;

/// Fewer degrees of freedom than this are no sample of anything.
const FEWEST: usize = 3;
/// What is left below this share of the values is rounding.
const NOTHING: f64 = 1e-9;
/// Statistics closer than this are ties.
const TIE: f64 = 1e-11;

/// How alike neighbours are.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Likeness {
    /// Pairs of neighbours.
    pub pairs: usize,
    /// Moran's I of the residuals.
    pub moran: f64,
    /// Its mean where errors are independent.
    pub expected: f64,
    /// Σ e_i e_j over the pairs, divided by the root of the products of the squares: the correlation
    /// of neighbours about zero, which is the mean of residuals.
    pub correlation: f64,
    /// Share of exchanges in which neighbours are at least as alike.
    pub p: f64,
}

/// How alike the neighbours of each set of pairs are, by the same `exchanges` of residuals; `None` for
/// a set without pairs.
///
/// # Errors
/// [`SpatialError::TooFew`] and [`SpatialError::NoError`].
///
/// # Panics
/// Where values have not one entry for every plot.
pub fn patches(
    ground: &Ground,
    values: &[f64],
    sets: &[Vec<Pair>],
    exchanges: u64,
    streams: &Streams,
) -> Result<Vec<Option<Likeness>>, SpatialError> {
    assert_eq!(values.len(), ground.plots(), "a value for every plot");
    let basis = ground.basis();
    let df = values.len() - basis.len();
    if df < FEWEST {
        return Err(SpatialError::TooFew { df });
    }
    let residuals = basis.left_of(values);
    let size = |values: &[f64]| values.iter().map(|value| value * value).sum::<f64>();
    let mean = values.iter().sum::<f64>() / values.len() as f64;
    let spread: f64 = values.iter().map(|value| (value - mean).powi(2)).sum();
    if size(&residuals) <= NOTHING * NOTHING * spread || spread == 0.0 {
        return Err(SpatialError::NoError);
    }
    let found: Vec<f64> = sets.iter().map(|pairs| moran(&residuals, pairs)).collect();
    let mut reached = vec![0_u64; sets.len()];
    let mut groups: Vec<Vec<usize>> = vec![Vec::new(); ground.exchanged.count()];
    for (plot, group) in ground.exchanged.of_unit().iter().enumerate() {
        groups[*group].push(plot);
    }
    let mut drawn = residuals.clone();
    for exchange in 0..exchanges {
        let mut stream = streams.replicate(exchange);
        for group in &groups {
            let mut own: Vec<f64> = group.iter().map(|&plot| residuals[plot]).collect();
            stream.shuffle(&mut own);
            for (&plot, value) in group.iter().zip(own) {
                drawn[plot] = value;
            }
        }
        basis.sweep(&mut drawn);
        for ((pairs, found), reached) in sets.iter().zip(&found).zip(&mut reached) {
            *reached += u64::from(moran(&drawn, pairs) >= found - TIE);
        }
    }
    let likeness = |((pairs, &moran), &reached): ((&Vec<Pair>, &f64), &u64)| {
        (!pairs.is_empty()).then(|| Likeness {
            pairs: pairs.len(),
            moran,
            expected: expected(&basis, pairs, df),
            correlation: correlation(&residuals, pairs),
            p: (reached + 1) as f64 / (exchanges + 1) as f64,
        })
    };
    Ok(sets
        .iter()
        .zip(&found)
        .zip(&reached)
        .map(likeness)
        .collect())
}

/// Moran's I; 0 without pairs or spread.
fn moran(residuals: &[f64], pairs: &[Pair]) -> f64 {
    let squares: f64 = residuals.iter().map(|e| e * e).sum();
    if pairs.is_empty() || squares == 0.0 {
        return 0.0;
    }
    let products: f64 = pairs
        .iter()
        .map(|pair| residuals[pair.first] * residuals[pair.second])
        .sum();
    residuals.len() as f64 * products / (pairs.len() as f64 * squares)
}

/// n tr(MW)/(2P df); the diagonal of W is zero, so only the entries of neighbours count.
fn expected(basis: &Basis, pairs: &[Pair], df: usize) -> f64 {
    let trace: f64 = pairs
        .iter()
        .map(|pair| -basis.shared(pair.first, pair.second))
        .sum();
    (df + basis.len()) as f64 * trace / (pairs.len() * df) as f64
}

fn correlation(residuals: &[f64], pairs: &[Pair]) -> f64 {
    let (mut products, mut first, mut second) = (0.0, 0.0, 0.0);
    for pair in pairs {
        let (a, b) = (residuals[pair.first], residuals[pair.second]);
        products += a * b;
        first += a * a;
        second += b * b;
    }
    let size = (first * second).sqrt();
    if size > 0.0 { products / size } else { 0.0 }
}
