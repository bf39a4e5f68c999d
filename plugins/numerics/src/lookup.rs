//! A smooth function read off a table of equally spaced places.
//!
//! Between places it is the polynomial through the twelve nearest ones, in barycentric form
//! (Berrut & Trefethen 2004, *SIAM Rev.* 46:501). For a function whose nearest singularity lies ρ away
//! and places δ apart, with δ much smaller than ρ, the error is about (2δ/ρ)¹² of the function.

/// Values at equally spaced places.
#[derive(Debug, Clone)]
pub(crate) struct Lookup {
    first: f64,
    step: f64,
    values: Vec<f64>,
}

/// Places a polynomial goes through.
const PLACES: usize = 12;
/// Barycentric weights of equally spaced places: binomial coefficients with alternating signs.
const WEIGHTS: [f64; PLACES] = [
    1.0, -11.0, 55.0, -165.0, 330.0, -462.0, 462.0, -330.0, 165.0, -55.0, 11.0, -1.0,
];

impl Lookup {
    /// Values at `first`, `first` + `step` …
    pub(crate) fn new(first: f64, step: f64, values: Vec<f64>) -> Self {
        Self {
            first,
            step,
            values,
        }
    }

    /// The function at `x`; `None` where fewer than half the places of a polynomial lie on a side.
    #[inline]
    pub(crate) fn at(&self, x: f64) -> Option<f64> {
        let place = (x - self.first) / self.step;
        let below = place.floor();
        let start = below - (PLACES / 2 - 1) as f64;
        // Also false where x is not a number.
        let inside = start >= 0.0 && start + PLACES as f64 <= self.values.len() as f64;
        if !inside {
            return None;
        }
        let values = &self.values[start as usize..][..PLACES];
        let from = place - start;
        let (mut above, mut under) = (0.0, 0.0);
        for (number, (weight, value)) in WEIGHTS.iter().zip(values).enumerate() {
            let apart = from - number as f64;
            if apart == 0.0 {
                return Some(*value);
            }
            let share = weight / apart;
            above += share * value;
            under += share;
        }
        Some(above / under)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_smooth_function_is_met_between_its_places_and_refused_outside() {
        let table = Lookup::new(
            -1.0,
            0.05,
            (0..60)
                .map(|i| (-1.0 + 0.05 * f64::from(i)).exp())
                .collect(),
        );
        for i in 0..=200 {
            let x = -0.7 + 0.0119 * f64::from(i) / 1.01;
            if x < 1.6 {
                let found = table.at(x).unwrap();
                assert!((found / x.exp() - 1.0).abs() < 1e-15, "{x}");
            }
        }
        assert!((table.at(-0.75).unwrap() / (-0.75_f64).exp() - 1.0).abs() < 1e-15);
        for outside in [-1.0, 1.9, f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
            assert_eq!(table.at(outside), None);
        }
    }
}
