//! Orthogonal polynomial contrasts for unequally spaced and unequally replicated levels.
//!
//! p_0, p_1, … of degree 0, 1, … with Σ w_i p_j(x_i) p_k(x_i) = 0 for j ≠ k and 1 for j = k, by the
//! three-term recurrence on centred and scaled levels (Forsythe 1957, *J. Soc. Ind. Appl. Math.*
//! 5:74), each made orthogonal twice. The leading coefficient is positive. For means ȳ_i of w_i plots
//! the sum of squares of degree j is (Σ w_i p_j(x_i) ȳ_i)², and all degrees together give the
//! treatment sum of squares. With equal weights and decimal levels the same contrasts exist in
//! smallest whole numbers, as tables print them; they are found in exact arithmetic.
//!
//! Refused: a degree above the number of different levels less one, levels or weights that are not
//! finite, weights that are not above zero.

use crate::sum::{Sum, dot};

/// Why there is no such contrast.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum PolynomialError {
    /// Occurs when the degree needs more different levels than there are.
    #[error("degree {asked} needs {} different levels; these allow degree {possible} at most", asked + 1)]
    Degree {
        /// The degree asked for.
        asked: usize,
        /// The highest degree possible.
        possible: usize,
    },
    /// Occurs when a level or a weight is not a finite number, or a weight is not above zero.
    #[error("level {0} (counted from 0) or its weight is not a usable number")]
    Level(usize),
    /// Occurs when levels and weights differ in number.
    #[error("{levels} levels but {weights} weights")]
    Length {
        /// Number of levels.
        levels: usize,
        /// Number of weights.
        weights: usize,
    },
    /// Occurs when levels lie so close together that the degree cannot be told from a lower one.
    #[error("the levels lie too unevenly for degree {0} to be computed")]
    Ill(usize),
}

/// One contrast.
#[derive(Debug, Clone, PartialEq)]
pub struct Contrast {
    /// 1 linear, 2 quadratic, …
    pub degree: usize,
    /// p(x_i), normalised so that Σ w p² = 1.
    pub values: Vec<f64>,
    /// The same in smallest whole numbers, where the weights are equal and none is above 9999.
    pub whole: Option<Vec<i64>>,
}

/// The highest degree that these levels allow: one less than the number of different ones.
#[must_use]
pub fn highest_degree(levels: &[f64]) -> usize {
    let mut sorted = levels.to_vec();
    sorted.sort_by(f64::total_cmp);
    sorted.dedup();
    sorted.len().saturating_sub(1)
}

/// Contrasts of degrees 1 to `degree`.
///
/// # Errors
/// See [`PolynomialError`].
pub fn contrasts(
    levels: &[f64],
    weights: &[f64],
    degree: usize,
) -> Result<Vec<Contrast>, PolynomialError> {
    if levels.len() != weights.len() {
        return Err(PolynomialError::Length {
            levels: levels.len(),
            weights: weights.len(),
        });
    }
    let unusable = |(x, w): (&f64, &f64)| !(x.is_finite() && w.is_finite() && *w > 0.0);
    if let Some(place) = levels.iter().zip(weights).position(unusable) {
        return Err(PolynomialError::Level(place));
    }
    let possible = highest_degree(levels);
    if degree > possible {
        return Err(PolynomialError::Degree {
            asked: degree,
            possible,
        });
    }
    let equal = weights.iter().all(|w| *w == weights[0]);
    let mut whole = if equal {
        whole_contrasts(levels, degree)
    } else {
        Vec::new()
    }
    .into_iter();
    let values = normalised(levels, weights, degree)?;
    Ok(values
        .into_iter()
        .enumerate()
        .skip(1)
        .map(|(degree, values)| Contrast {
            degree,
            values,
            whole: whole.next(),
        })
        .collect())
}

/// p_0 … p_degree, each of unit weighted length.
fn normalised(
    levels: &[f64],
    weights: &[f64],
    degree: usize,
) -> Result<Vec<Vec<f64>>, PolynomialError> {
    if levels.is_empty() {
        return Ok(Vec::new());
    }
    let inner = |a: &[f64], b: &[f64]| {
        let mut total = Sum::default();
        for ((x, y), w) in a.iter().zip(b).zip(weights) {
            total.add_product(w * x, *y);
        }
        total.total()
    };
    let total = crate::sum::sum(weights);
    let centre = dot(levels, weights) / total;
    let spread = levels
        .iter()
        .map(|x| (x - centre).abs())
        .fold(0.0, f64::max);
    let scaled: Vec<f64> = levels
        .iter()
        .map(|x| (x - centre) / if spread > 0.0 { spread } else { 1.0 })
        .collect();
    let mut found = vec![vec![1.0 / total.sqrt(); levels.len()]];
    for degree in 1..=degree {
        let last = &found[degree - 1];
        let mut next: Vec<f64> = last.iter().zip(&scaled).map(|(p, x)| p * x).collect();
        let before = inner(&next, &next).sqrt();
        for _ in 0..2 {
            for known in &found {
                let share = inner(&next, known);
                for (value, p) in next.iter_mut().zip(known) {
                    *value -= share * p;
                }
            }
        }
        let length = inner(&next, &next).sqrt();
        if length <= before * 1e-9 {
            return Err(PolynomialError::Ill(degree));
        }
        for value in &mut next {
            *value /= length;
        }
        found.push(next);
    }
    Ok(found)
}

/// Largest number in a contrast that a table of whole numbers would still print.
const LARGEST_WHOLE: i128 = 9999;

/// Contrasts of equally replicated levels in smallest whole numbers, as far as they stay printable.
fn whole_contrasts(levels: &[f64], degree: usize) -> Vec<Vec<i64>> {
    let Some(x) = whole_levels(levels) else {
        return Vec::new();
    };
    let mut found: Vec<Vec<i128>> = vec![vec![1; x.len()]];
    for degree in 1..=degree {
        match next_whole(&x, &found, degree as u32) {
            Some(next) if next.iter().all(|v| v.abs() <= LARGEST_WHOLE) => found.push(next),
            _ => break,
        }
    }
    let narrow = |v: &Vec<i128>| v.iter().map(|c| *c as i64).collect();
    found.iter().skip(1).map(narrow).collect()
}

/// Levels as whole numbers from 0 without a common divisor, where up to six decimals tell them.
fn whole_levels(levels: &[f64]) -> Option<Vec<i128>> {
    let scaled = (0..=6)
        .map(|places| 10_f64.powi(places))
        .find_map(|scale| {
            let near = |x: &f64| {
                let whole = (x * scale).round();
                (whole.abs() < 1e9 && (whole / scale - x).abs() <= 1e-12 * x.abs())
                    .then_some(whole as i128)
            };
            levels.iter().map(near).collect::<Option<Vec<i128>>>()
        })?;
    let least = *scaled.iter().min()?;
    let shifted: Vec<i128> = scaled.iter().map(|v| v - least).collect();
    primitive(shifted)
}

/// x^degree less its projections on lower degrees, free of a common divisor; `None` on overflow.
fn next_whole(x: &[i128], lower: &[Vec<i128>], degree: u32) -> Option<Vec<i128>> {
    let product = |a: &[i128], b: &[i128]| {
        a.iter().zip(b).try_fold(0_i128, |total, (p, q)| {
            total.checked_add(p.checked_mul(*q)?)
        })
    };
    let powers = x.iter().map(|v| v.checked_pow(degree));
    let mut next: Vec<i128> = powers.collect::<Option<_>>()?;
    for known in lower {
        let (length, share) = (product(known, known)?, product(&next, known)?);
        let reduced = next
            .iter()
            .zip(known)
            .map(|(v, p)| v.checked_mul(length)?.checked_sub(share.checked_mul(*p)?));
        next = primitive(reduced.collect::<Option<_>>()?)?;
    }
    Some(next)
}

/// The numbers divided by their greatest common divisor; `None` where all are 0.
fn primitive(values: Vec<i128>) -> Option<Vec<i128>> {
    let divisor = values.iter().fold(0, |mut a: i128, b| {
        let mut b = b.abs();
        while b != 0 {
            (a, b) = (b, a % b);
        }
        a
    });
    (divisor != 0).then(|| values.iter().map(|v| v / divisor).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn whole(levels: &[f64], degree: usize) -> Vec<Vec<i64>> {
        let weights = vec![4.0; levels.len()];
        let found = contrasts(levels, &weights, degree).unwrap();
        found.into_iter().map(|c| c.whole.unwrap()).collect()
    }

    #[test]
    fn whole_numbers_are_those_of_the_tables() {
        // Worked by hand for pruning levels; equal spacing as in Fisher & Yates' tables.
        assert_eq!(
            whole(&[20.0, 40.0, 80.0], 2),
            [vec![-4, -1, 5], vec![2, -3, 1]]
        );
        let spaced = [vec![-2, -1, 0, 3], vec![43, -17, -49, 23]];
        assert_eq!(whole(&[20.0, 40.0, 60.0, 120.0], 2), spaced);
        assert_eq!(whole(&[30.0, 60.0, 90.0, 180.0], 2), spaced);
        assert_eq!(whole(&[0.2, 0.3, 0.4], 2), [vec![-1, 0, 1], vec![1, -2, 1]]);
        let five = [vec![-2, -1, 0, 1, 2], vec![2, -1, -2, -1, 2]];
        assert_eq!(whole(&[24.0, 36.0, 48.0, 60.0, 72.0], 2), five);
    }

    #[test]
    fn the_order_of_levels_does_not_matter() {
        assert_eq!(
            whole(&[80.0, 20.0, 40.0], 2),
            [vec![5, -4, -1], vec![1, 2, -3]]
        );
    }

    #[test]
    fn unequal_weights_stay_orthogonal_and_have_no_whole_form() {
        let (x, w) = ([1.0, 2.0, 4.0, 8.0], [3.0, 4.0, 4.0, 2.0]);
        let found = contrasts(&x, &w, 3).unwrap();
        for a in &found {
            assert_eq!(a.whole, None);
            let sum: f64 = a.values.iter().zip(&w).map(|(p, w)| p * w).sum();
            assert!(sum.abs() < 1e-14);
            for b in &found {
                let terms = a.values.iter().zip(&b.values).zip(&w);
                let product: f64 = terms.map(|((p, q), w)| p * q * w).sum();
                let want = f64::from(u8::from(a.degree == b.degree));
                assert!((product - want).abs() < 1e-14);
            }
        }
    }

    #[test]
    fn a_degree_beyond_the_levels_says_which_is_possible() {
        assert_eq!(
            contrasts(&[1.0, 2.0, 2.0], &[1.0; 3], 2),
            Err(PolynomialError::Degree {
                asked: 2,
                possible: 1
            })
        );
        assert_eq!(highest_degree(&[7.0]), 0);
        assert!(contrasts(&[1.0, f64::NAN], &[1.0; 2], 1).is_err());
    }
}
