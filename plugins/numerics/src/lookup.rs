//! A smooth function of x > 0 read off a table whose places are equally spaced in ln x.
//!
//! Between places it is the polynomial in ln x through the twelve nearest ones, in barycentric form
//! (Berrut & Trefethen 2004, *SIAM Rev.* 46:501). For a function whose nearest singularity lies ρ
//! away in ln x and places δ apart, with δ much smaller than ρ, the error is about (2δ/ρ)¹² of the
//! function. The distance from a place is the logarithm of a ratio near 1, so that the error of ln x
//! itself does not enter.

/// Values at x = exp(δ first), exp(δ (first + 1)) …
#[derive(Debug, Clone)]
pub(crate) struct Lookup {
    first: i32,
    step: f64,
    values: Vec<f64>,
}

/// Places a polynomial goes through.
const PLACES: usize = 12;
/// Those of them below the interval it serves, less one.
const BELOW: usize = PLACES / 2 - 1;
/// Barycentric weights of equally spaced places: binomial coefficients with alternating signs.
const WEIGHTS: [f64; PLACES] = [
    1.0, -11.0, 55.0, -165.0, 330.0, -462.0, 462.0, -330.0, 165.0, -55.0, 11.0, -1.0,
];

/// Place `number` of a grid with this step in ln x.
pub(crate) fn place(number: i32, step: f64) -> f64 {
    (f64::from(number) * step).exp()
}

impl Lookup {
    /// Values from place `first` on.
    pub(crate) fn new(first: i32, step: f64, values: Vec<f64>) -> Self {
        Self {
            first,
            step,
            values,
        }
    }

    /// The function at `x`; `None` where that is not above 0 or too few places lie on a side.
    #[inline]
    pub(crate) fn at(&self, x: f64) -> Option<f64> {
        if x.is_nan() || x <= 0.0 {
            return None;
        }
        let below = (x.ln() / self.step).floor() as i32;
        let start = usize::try_from(below.checked_sub(self.first)?)
            .ok()?
            .checked_sub(BELOW)?;
        let values = self.values.get(start..start.checked_add(PLACES)?)?;
        let known = place(below, self.step);
        let from = ((x - known) / known).ln_1p() / self.step + BELOW as f64;
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
        let values = (-20..40).map(|i| 1.0 + place(i, 0.05)).collect();
        let table = Lookup::new(-20, 0.05, values);
        for i in 0..200 {
            let x = 0.49 + 0.0213 * f64::from(i);
            assert!(
                (table.at(x).unwrap() / (1.0 + x) - 1.0).abs() < 1e-15,
                "{x}"
            );
        }
        for number in -14..33 {
            let (x, there) = (place(number, 0.05), 1.0 + place(number, 0.05));
            assert!((table.at(x).unwrap() / there - 1.0).abs() < 1e-15, "{x}");
        }
        for outside in [0.0, 0.4, 7.0, -1.0, f64::NAN, f64::INFINITY, 1e-300, 1e300] {
            assert_eq!(table.at(outside), None, "{outside}");
        }
    }
}
