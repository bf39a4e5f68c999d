//! Real roots of a polynomial inside an interval, none missed.
//!
//! Between the roots of its derivative a polynomial is monotone, so each piece holds one root where
//! its ends differ in sign and none where they agree; the derivative's roots are found the same way.
//! A root where the polynomial only touches zero is not a crossing and is not reported.

/// Coefficients, the constant first.
pub(crate) type Polynomial = Vec<f64>;

/// Value at x.
pub(crate) fn value(polynomial: &[f64], x: f64) -> f64 {
    polynomial
        .iter()
        .rev()
        .fold(0.0, |sum, coefficient| sum * x + coefficient)
}

/// Derivative.
pub(crate) fn derivative(polynomial: &[f64]) -> Polynomial {
    polynomial
        .iter()
        .enumerate()
        .skip(1)
        .map(|(power, coefficient)| power as f64 * coefficient)
        .collect()
}

/// Product.
pub(crate) fn product(a: &[f64], b: &[f64]) -> Polynomial {
    let mut out = vec![0.0; (a.len() + b.len()).saturating_sub(1)];
    for (i, x) in a.iter().enumerate() {
        for (j, y) in b.iter().enumerate() {
            out[i + j] += x * y;
        }
    }
    out
}

/// `a` times a number plus `b` times another.
pub(crate) fn combined(a: &[f64], times_a: f64, b: &[f64], times_b: f64) -> Polynomial {
    (0..a.len().max(b.len()))
        .map(|power| {
            let part = |of: &[f64], times: f64| times * of.get(power).copied().unwrap_or(0.0);
            part(a, times_a) + part(b, times_b)
        })
        .collect()
}

/// Crossings of zero in the interval, ascending.
pub(crate) fn crossings(polynomial: &[f64], low: f64, high: f64) -> Vec<f64> {
    if polynomial.len() < 2 {
        return Vec::new();
    }
    let mut ends = vec![low];
    ends.extend(crossings(&derivative(polynomial), low, high));
    ends.push(high);
    ends.windows(2)
        .filter_map(|ends| crossing(&|x| value(polynomial, x), ends[0], ends[1]))
        .collect()
}

/// Where a function that changes its sign once between two places does so, by bisection to the last
/// digit; `None` where the ends agree in sign.
pub(crate) fn crossing(function: &dyn Fn(f64) -> f64, low: f64, high: f64) -> Option<f64> {
    let (mut low, mut high) = (low, high);
    let at_low = function(low);
    if at_low == 0.0 {
        return Some(low);
    }
    if at_low * function(high) > 0.0 {
        return None;
    }
    loop {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            return Some(middle);
        }
        if function(middle) * at_low > 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn polynomials_are_read_from_the_constant_up() {
        assert_eq!(value(&[1.0, 2.0, 3.0], 2.0), 17.0);
    }

    #[test]
    fn all_roots_of_a_quartic_are_found_and_no_touch() {
        // (x + 1)(x - 0.5)(x - 0.25)(x - 3) in powers of x.
        let linear = |root: f64| vec![-root, 1.0];
        let quartic = [-1.0, 0.5, 0.25, 3.0]
            .into_iter()
            .fold(vec![1.0], |so_far, root| product(&so_far, &linear(root)));
        let found = crossings(&quartic, -2.0, 2.0);
        assert_eq!(found.len(), 3);
        for (root, want) in found.iter().zip([-1.0, 0.25, 0.5]) {
            assert!((root - want).abs() < 1e-14);
        }
        let touch = product(&linear(0.5), &linear(0.5));
        assert!(crossings(&product(&touch, &[1.0, 0.0, 1.0]), 0.6, 2.0).is_empty());
    }
}
