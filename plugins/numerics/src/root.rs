//! Where a falling tail probability meets its target.
//!
//! Secant steps on ln(probability) against ln(x), where the tails of all distributions here are
//! nearly straight; a bracket guards every step and bisection replaces one that leaves it.

/// How far the first two places lie apart, in ln x, when little is known.
pub(crate) const ROUGH: f64 = 0.03;
/// The same when the start is right to about seven digits.
pub(crate) const CLOSE: f64 = 1e-5;

/// The x > 0 at which `tail(x) = target`, for a tail that falls from 1 to 0; `start` is a guess, with
/// a second place `apart` from it in ln x. Where the tail meets the target only beyond the range of
/// numbers, the nearest end is returned.
pub(crate) fn falling(tail: impl Fn(f64) -> f64, target: f64, start: f64, apart: f64) -> f64 {
    let goal = target.ln();
    let gap = |u: f64| {
        let p = tail(u.exp());
        if p > 0.0 { p.ln() - goal } else { -1e6 }
    };
    // Closer than this the logarithms themselves are not known.
    let met = f64::EPSILON * goal.abs().max(1.0);
    let (mut low, mut high) = (-700.0_f64, 700.0_f64);
    let mut before = start.ln().clamp(-600.0, 600.0);
    let mut gap_before = gap(before);
    if gap_before.abs() <= met {
        return before.exp();
    }
    let mut here = before - apart.copysign(-gap_before);
    for _ in 0..200 {
        let gap_here = gap(here);
        for (u, g) in [(before, gap_before), (here, gap_here)] {
            if g > 0.0 {
                low = f64::max(low, u);
            } else {
                high = f64::min(high, u);
            }
        }
        if gap_here.abs() <= met || high - low < 1e-16 * high.abs().max(1.0) {
            break;
        }
        let secant = here - gap_here * (here - before) / (gap_here - gap_before);
        // The error after a secant step is about the product of the two before it.
        let settled = (secant - here).abs() * (here - before).abs() < 1e-17;
        let inside = secant.is_finite() && secant >= low && secant <= high;
        let bracketed = low > -700.0 && high < 700.0;
        let next = if inside && (bracketed || (secant - here).abs() < 3.0) {
            secant
        } else if bracketed {
            0.5 * (low + high)
        } else {
            (here + 3.0_f64.copysign(gap_here)).clamp(-700.0, 700.0)
        };
        let step = (next - here).abs();
        before = here;
        gap_before = gap_here;
        here = next;
        if settled && next == secant || step < 2e-16 * here.abs().max(1.0) {
            break;
        }
    }
    here.exp()
}
