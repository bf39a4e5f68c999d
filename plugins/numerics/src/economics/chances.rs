//! How sure a comparison of several treatments is, by drawing what their true values may be.
//!
//! The values of a measurement (crop, minutes of work) are uncertain together: with covariance Σ and ν
//! degrees of freedom a draw is the estimate plus Lz√(ν/χ²), LL' = Σ, z standard normal, one χ² a
//! draw: the posterior of the means under a flat prior on them and on the logarithm of the standard
//! deviation (Box & Tiao 1973, *Bayesian Inference in Statistical Analysis*, 2.7). Σ is known up to a
//! part common to all, so it is centred: sums in which every treatment has the same weight do not vary.
//! What is drawn is differences, each of which has exactly the t distribution of its interval.
//!
//! Measurements are drawn independently of each other. Every draw has a random stream of its own.
//!
//! Refused: matrices of the wrong size, numbers that are not finite, no draws.

use nalgebra::{DMatrix, SymmetricEigen};

use crate::random::{Stream, Streams};

/// Why nothing can be drawn.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ChancesError {
    /// Occurs when numbers of weights, values and covariances do not fit together.
    #[error("the numbers of values and covariances do not fit together")]
    Sizes,
    /// Occurs when a number is not finite.
    #[error("a value or covariance is not a finite number")]
    NotFinite,
    /// Occurs when no draw is asked for.
    #[error("no draw was asked for")]
    NoDraws,
}

/// A measurement that enters the money of every treatment by a weight.
#[derive(Debug, Clone, PartialEq)]
pub struct Measured {
    /// Covariances of the treatments' values, lower triangle row by row.
    pub covariance: Vec<f64>,
    /// Degrees of freedom; `None` for very many.
    pub df: Option<f64>,
    /// Money of one unit of it, for each treatment.
    pub weights: Vec<f64>,
}

/// What the draws say.
#[derive(Debug, Clone, PartialEq)]
pub struct Chances {
    /// For each treatment the money more than the control's, every draw in rising order.
    sorted: Vec<Vec<f64>>,
    /// Share of draws in which it brings more than the control; 0 for the control itself.
    pub better: Vec<f64>,
    /// Share of draws in which it brings most of all.
    pub best: Vec<f64>,
}

impl Chances {
    /// Interval of a treatment's money over the control's, with half of what is left on either side.
    #[must_use]
    pub fn interval(&self, treatment: usize, level: f64) -> (f64, f64) {
        let values = &self.sorted[treatment];
        (
            quantile(values, (1.0 - level) / 2.0),
            quantile(values, (1.0 + level) / 2.0),
        )
    }
}

/// The quantile between the two nearest values (Hyndman & Fan 1996, *Am. Stat.* 50:361, definition 7).
fn quantile(sorted: &[f64], share: f64) -> f64 {
    let place = share.clamp(0.0, 1.0) * (sorted.len() - 1) as f64;
    let below = place.floor() as usize;
    let above = (below + 1).min(sorted.len() - 1);
    sorted[below] + (place - below as f64) * (sorted[above] - sorted[below])
}

/// Draws the money of every treatment.
///
/// `money` is what each is estimated to bring; `measured` what of it is uncertain.
///
/// # Errors
/// [`ChancesError`].
pub fn chances(
    money: &[f64],
    control: usize,
    measured: &[Measured],
    draws: u64,
    streams: &Streams,
) -> Result<Chances, ChancesError> {
    let n = money.len();
    if control >= n || measured.iter().any(|one| one.weights.len() != n) {
        return Err(ChancesError::Sizes);
    }
    if draws == 0 {
        return Err(ChancesError::NoDraws);
    }
    let roots = measured
        .iter()
        .map(|one| root(&one.covariance, n))
        .collect::<Result<Vec<_>, _>>()?;
    let finite = |values: &[f64]| values.iter().all(|value| value.is_finite());
    if !finite(money) || !measured.iter().all(|one| finite(&one.weights)) {
        return Err(ChancesError::NotFinite);
    }
    let mut values = vec![Vec::with_capacity(draws as usize); n];
    let (mut better, mut best) = (vec![0_u64; n], vec![0_u64; n]);
    let mut drawn = vec![0.0; n];
    for draw in 0..draws {
        let mut stream = streams.replicate(draw);
        drawn.copy_from_slice(money);
        for (one, root) in measured.iter().zip(&roots) {
            let scale = spread(&mut stream, one.df);
            let mut normal = vec![0.0; n];
            stream.fill_normal(&mut normal);
            for (at, value) in drawn.iter_mut().enumerate() {
                let moved: f64 = (0..n).map(|k| root[(at, k)] * normal[k]).sum();
                *value += one.weights[at] * scale * moved;
            }
        }
        let mut top = 0;
        for (at, values) in values.iter_mut().enumerate() {
            let over = drawn[at] - drawn[control];
            values.push(over);
            better[at] += u64::from(over > 0.0);
            if drawn[at] > drawn[top] {
                top = at;
            }
        }
        best[top] += 1;
    }
    for one in &mut values {
        one.sort_by(f64::total_cmp);
    }
    let share = |counts: Vec<u64>| {
        counts
            .iter()
            .map(|&count| count as f64 / draws as f64)
            .collect()
    };
    Ok(Chances {
        sorted: values,
        better: share(better),
        best: share(best),
    })
}

/// A root of the centred covariance.
fn root(covariance: &[f64], n: usize) -> Result<DMatrix<f64>, ChancesError> {
    if covariance.len() != n * (n + 1) / 2 {
        return Err(ChancesError::Sizes);
    }
    if covariance.iter().any(|value| !value.is_finite()) {
        return Err(ChancesError::NotFinite);
    }
    let whole = DMatrix::from_fn(n, n, |a, b| {
        let (low, high) = (a.min(b), a.max(b));
        covariance[high * (high + 1) / 2 + low]
    });
    let share = 1.0 / n as f64;
    let centre = DMatrix::from_fn(n, n, |a, b| f64::from(u8::from(a == b)) - share);
    let eigen = SymmetricEigen::new(&centre * whole * &centre);
    // Rounding leaves tiny negative ones.
    let mut root = eigen.eigenvectors;
    for (mut column, value) in root.column_iter_mut().zip(eigen.eigenvalues.iter()) {
        column *= value.max(0.0).sqrt();
    }
    Ok(root)
}

/// √(ν/χ²) with a χ² of ν degrees of freedom.
fn spread(stream: &mut Stream, df: Option<f64>) -> f64 {
    match df {
        Some(df) if df.is_finite() && df > 0.0 => (df / chi_square(stream, df)).sqrt(),
        _ => 1.0,
    }
}

/// χ² of any degrees of freedom as twice a gamma variate (Marsaglia & Tsang 2000, *ACM Trans. Math.
/// Softw.* 26:363), below 2 degrees by the power of a uniform number that they give.
fn chi_square(stream: &mut Stream, df: f64) -> f64 {
    let shape = df / 2.0;
    if shape < 1.0 {
        let more = chi_square(stream, df + 2.0);
        return more * stream.uniform().powf(1.0 / shape);
    }
    let d = shape - 1.0 / 3.0;
    let c = 1.0 / (9.0 * d).sqrt();
    loop {
        let normal = stream.normal();
        let cube = (1.0 + c * normal).powi(3);
        if cube > 0.0
            && stream.uniform().ln() < 0.5 * normal * normal + d * (1.0 - cube + cube.ln())
        {
            return 2.0 * d * cube;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::distribution::t_critical;

    /// Three treatments of four plots each, mean square 0.36, 9 degrees of freedom; 100 for a unit.
    fn three() -> (Vec<f64>, Measured) {
        let own = 0.36 / 4.0;
        let covariance = vec![own, 0.0, own, 0.0, 0.0, own];
        let measured = Measured {
            covariance,
            df: Some(9.0),
            weights: vec![100.0; 3],
        };
        (vec![500.0, 540.0, 560.0], measured)
    }

    #[test]
    fn an_interval_is_that_of_student() {
        let (money, measured) = three();
        let streams = Streams::new(1, "chances");
        let found = chances(&money, 0, &[measured], 40_000, &streams).unwrap();
        // 100 · t · √(2 · 0.36/4); quantiles of 40 000 draws are good to about one per cent of it.
        let half = 100.0 * t_critical(0.05, 9.0).unwrap() * (0.18_f64).sqrt();
        let (low, high) = found.interval(2, 0.95);
        assert!((low - (60.0 - half)).abs() < 0.03 * half, "{low} {half}");
        assert!((high - (60.0 + half)).abs() < 0.03 * half, "{high} {half}");
        // P(t₉ < 60/42.43) = 0.9045 (a table of Student's t gives 0.905 at 1.414).
        assert!(
            (found.better[2] - 0.905).abs() < 0.006,
            "{}",
            found.better[2]
        );
        assert_eq!(found.better[0], 0.0);
        assert!((found.best.iter().sum::<f64>() - 1.0).abs() < 1e-12);
    }

    #[test]
    fn what_is_common_to_all_changes_nothing() {
        let (money, measured) = three();
        let mut shifted = measured.clone();
        for value in &mut shifted.covariance {
            *value += 5.0;
        }
        let streams = Streams::new(1, "chances");
        let draw = |one: Measured| chances(&money, 0, &[one], 500, &streams).unwrap();
        let (plain, moved) = (draw(measured), draw(shifted));
        for (a, b) in plain
            .sorted
            .iter()
            .flatten()
            .zip(moved.sorted.iter().flatten())
        {
            // The eigenvectors of a threefold value may turn; the distribution may not.
            assert!(a.is_finite() && b.is_finite());
        }
        let (a, b) = (plain.interval(2, 0.95), moved.interval(2, 0.95));
        assert!(
            (a.1 - a.0 - (b.1 - b.0)).abs() < 0.15 * (a.1 - a.0),
            "{a:?} {b:?}"
        );
    }

    #[test]
    fn without_anything_uncertain_the_best_is_certain() {
        let streams = Streams::new(1, "chances");
        let found = chances(&[1.0, 2.0], 0, &[], 10, &streams).unwrap();
        assert_eq!(found.best, [0.0, 1.0]);
        assert_eq!(found.interval(1, 0.9), (1.0, 1.0));
    }

    #[test]
    fn chi_square_has_its_mean_and_variance() {
        for df in [1.0, 2.0, 9.0, 31.5] {
            let mut stream = Streams::new(3, "chi-square").replicate(0);
            let draws: Vec<f64> = (0..40_000).map(|_| chi_square(&mut stream, df)).collect();
            let mean = draws.iter().sum::<f64>() / 40_000.0;
            // Five standard errors of a mean of variance 2ν.
            assert!(
                (mean - df).abs() < 5.0 * (2.0 * df / 40_000.0).sqrt(),
                "{df} {mean}"
            );
            let variance = draws.iter().map(|x| (x - df).powi(2)).sum::<f64>() / 40_000.0;
            assert!((variance / (2.0 * df) - 1.0).abs() < 0.1, "{df} {variance}");
        }
    }

    #[test]
    fn wrong_sizes_are_refused() {
        let streams = Streams::new(1, "chances");
        let (money, mut measured) = three();
        measured.covariance.pop();
        let sizes = Err(ChancesError::Sizes);
        assert_eq!(chances(&money, 0, &[measured], 10, &streams), sizes);
        assert_eq!(
            chances(&[1.0], 0, &[], 0, &streams),
            Err(ChancesError::NoDraws)
        );
    }
}
