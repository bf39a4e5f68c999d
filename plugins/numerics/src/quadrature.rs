//! The two grids that the range and Dunnett integrals share.
//!
//! Both integrals average a normal-theory probability over the chance size of the error estimate:
//! P = ∫ density(s) G(q s) ds, s = √(χ²_ν/ν). With x = ln s the integrand is smooth and falls off at
//! both ends faster than any power, where the plain trapezoidal rule converges exponentially
//! (Trefethen & Weideman 2014, *SIAM Rev.* 56:385).

use crate::special::exp_less_line;

/// Places and weights of the error estimate's size, largest first; the weights add to one.
#[derive(Debug, Clone)]
pub(crate) struct ErrorSizes {
    nodes: Vec<(f64, f64)>,
    /// How far the places lie apart in ln s; 0 where there is one only.
    step: f64,
    /// The first place in steps from s = 1.
    first: i32,
    /// Per unit of weight, how much all smaller sizes together can still weigh.
    rest: f64,
}

/// The finest error that matters against a result.
const NEGLIGIBLE: f64 = 1e-18;

impl ErrorSizes {
    /// For `df` > 0 degrees of freedom, possibly infinite; `coarse` times wider steps have about half
    /// the digits where `coarse` is 2.
    pub(crate) fn new(df: f64, coarse: f64) -> Self {
        if df.is_infinite() {
            return Self {
                nodes: vec![(1.0, 1.0)],
                step: 0.0,
                first: 0,
                rest: 0.0,
            };
        }
        let step = 0.2 * coarse * f64::min(0.5, 1.0 / df.sqrt());
        // ln density in x, less its greatest value: −(ν/2)(e^{2x} − 1 − 2x).
        let fall = |x: f64| 0.5 * df * exp_less_line(2.0 * x);
        let mut nodes = Vec::new();
        let mut k = 0_i32;
        while fall(f64::from(k + 1) * step) < 42.0 {
            k += 1;
        }
        let first = k;
        // Small error estimates make large statistics: their weight matters down to tiny tails.
        loop {
            let x = f64::from(k) * step;
            if x < 0.0 && fall(x) > 160.0 {
                break;
            }
            nodes.push((x.exp(), (-fall(x)).exp()));
            k -= 1;
        }
        let total: crate::sum::Sum = nodes.iter().map(|(_, weight)| *weight).collect();
        for node in &mut nodes {
            node.1 /= total.total();
        }
        Self {
            nodes,
            step,
            first,
            rest: 1.0 / (df * step).min(1.0),
        }
    }

    /// How far the places lie apart in ln s; 0 where there is one only.
    pub(crate) fn step(&self) -> f64 {
        self.step
    }

    /// ∫ density(s) tail(s) ds for a tail between 0 and 1 that falls with s.
    pub(crate) fn average(&self, tail: impl Fn(f64) -> f64) -> f64 {
        self.average_placed(|_, size| tail(size))
    }

    /// The same for a tail that is also told how many steps from s = 1 its place lies.
    pub(crate) fn average_placed(&self, mut tail: impl FnMut(i32, f64) -> f64) -> f64 {
        let mut total = crate::sum::Sum::default();
        for (place, (size, weight)) in (0_i32..).zip(&self.nodes) {
            if *size < 1.0 && weight * self.rest < NEGLIGIBLE * total.total() {
                break;
            }
            total.add(weight * tail(self.first - place, *size));
        }
        total.total().min(1.0)
    }
}
