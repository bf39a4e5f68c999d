//! Sums, means and sums of squares that keep their digits.
//!
//! Sums are compensated: each addition's rounding error is caught and added at the end
//! (Neumaier 1974, *Z. angew. Math. Mech.* 54:39). Sums of squares are the corrected two-pass form
//! Σd² − (Σd)²/n with d the distance from the mean as computed (Chan, Golub & LeVeque 1983,
//! *Am. Stat.* 37:242): the second term is zero in exact arithmetic and removes the error of the
//! mean. Products are split into their rounded value and its error with a fused multiply-add
//! (Ogita, Rump & Oishi 2005, *SIAM J. Sci. Comput.* 26:1955).
//!
//! Nothing is refused; the mean of no values is `None`. A value that is not finite gives a result
//! that is not finite, so callers check their data first.

/// A running sum that carries its own rounding error.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Sum {
    total: f64,
    lost: f64,
}

impl Sum {
    /// Adds one value.
    pub fn add(&mut self, value: f64) {
        let next = self.total + value;
        self.lost += if self.total.abs() >= value.abs() {
            (self.total - next) + value
        } else {
            (value - next) + self.total
        };
        self.total = next;
    }

    /// Adds the product `a * b` together with the part that rounding it would lose.
    pub fn add_product(&mut self, a: f64, b: f64) {
        let product = a * b;
        self.add(product);
        self.lost += a.mul_add(b, -product);
    }

    /// The sum so far.
    #[must_use]
    pub fn total(&self) -> f64 {
        self.total + self.lost
    }
}

impl FromIterator<f64> for Sum {
    fn from_iter<I: IntoIterator<Item = f64>>(values: I) -> Self {
        let mut sum = Sum::default();
        for value in values {
            sum.add(value);
        }
        sum
    }
}

/// Compensated sum.
///
/// ```
/// assert_eq!(caneplot_numerics::sum::sum(&[1e100, 1.0, -1e100]), 1.0);
/// ```
#[must_use]
pub fn sum(values: &[f64]) -> f64 {
    values.iter().copied().collect::<Sum>().total()
}

/// Mean, corrected once by the mean of what it leaves; `None` where there is no value.
#[must_use]
pub fn mean(values: &[f64]) -> Option<f64> {
    if values.is_empty() {
        return None;
    }
    let n = values.len() as f64;
    let first = sum(values) / n;
    let left = values.iter().map(|v| v - first).collect::<Sum>().total() / n;
    Some(first + left)
}

/// Sum of squares about the mean; 0 for fewer than two values.
#[must_use]
pub fn squares_about_mean(values: &[f64]) -> f64 {
    products_about_means(values, values)
}

/// Sum of products of two equally long columns about their means; 0 for fewer than two values.
///
/// # Panics
/// Where the slices differ in length.
#[must_use]
pub fn products_about_means(a: &[f64], b: &[f64]) -> f64 {
    assert_eq!(a.len(), b.len(), "columns of one table are equally long");
    let (Some(mean_a), Some(mean_b)) = (mean(a), mean(b)) else {
        return 0.0;
    };
    let (mut products, mut left_a, mut left_b) = (Sum::default(), Sum::default(), Sum::default());
    for (x, y) in a.iter().zip(b) {
        let (dx, dy) = (x - mean_a, y - mean_b);
        products.add_product(dx, dy);
        left_a.add(dx);
        left_b.add(dy);
    }
    products.add(-left_a.total() * left_b.total() / a.len() as f64);
    products.total()
}

/// Compensated sum of products.
///
/// # Panics
/// Where the slices differ in length.
#[must_use]
pub fn dot(a: &[f64], b: &[f64]) -> f64 {
    assert_eq!(a.len(), b.len(), "columns of one table are equally long");
    let mut total = Sum::default();
    for (x, y) in a.iter().zip(b) {
        total.add_product(*x, *y);
    }
    total.total()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sum_keeps_what_large_terms_would_swallow() {
        assert_eq!(sum(&[1.0, 1e100, 1.0, -1e100]), 2.0);
        assert_eq!(dot(&[1e8 + 1.0, -1e8], &[1e8 - 1.0, 1e8]), -1.0);
    }

    #[test]
    fn squares_are_exact_far_from_zero() {
        // Whole numbers near 10^9: 4, 7, 13, 16 have mean 10 and squares 36 + 9 + 9 + 36.
        let far: Vec<f64> = [4.0, 7.0, 13.0, 16.0].iter().map(|v| v + 1e9).collect();
        assert_eq!(mean(&far), Some(1e9 + 10.0));
        assert_eq!(squares_about_mean(&far), 90.0);
    }

    #[test]
    fn no_value_has_no_mean_and_one_value_no_squares() {
        assert_eq!(mean(&[]), None);
        assert_eq!(squares_about_mean(&[]), 0.0);
        assert_eq!(squares_about_mean(&[3.7]), 0.0);
    }
}
