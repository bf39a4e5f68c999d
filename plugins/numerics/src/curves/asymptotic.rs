//! The asymptotic curve: the best rate and the set of rates not excluded.
//!
//! Given the rate k the curve is linear in its rise, so S(k) = ‖z‖² − N²/D as for a join. In
//! κ = k × range the profile tends to the straight line as κ → 0 and to a step after the lowest level
//! as κ → ∞; between, it is scanned on a fine grid of ln κ and every change of sign of its exact
//! derivative is bisected. A set that reaches an end of the scan is open there: the data then do not
//! exclude a straight line, or a step.

use crate::curves::fit::FitError;
use crate::curves::levels::Levels;
use crate::curves::plateau::PlaceSet;
use crate::curves::root::crossing;
use crate::curves::shape::{Curve, Shape};
use crate::sum::dot;

/// ln κ below which the curve is a straight line to one part in two thousand.
const STRAIGHT: f64 = -6.9;
/// Distance, in units of 1/κ, after which 99.9999 % of the rise is used up.
const USED_UP: f64 = 14.0;
/// Steps of the scan.
const STEPS: usize = 120;

struct Profile<'a> {
    levels: &'a Levels,
    /// Places of the levels from 0 to 1.
    places: Vec<f64>,
    high: f64,
}

impl<'a> Profile<'a> {
    fn new(levels: &'a Levels) -> Self {
        let (low, high) = levels.range();
        let places: Vec<f64> = levels
            .amounts
            .iter()
            .map(|x| (x - low) / (high - low))
            .collect();
        Self {
            levels,
            high: (USED_UP / places[1]).ln(),
            places,
        }
    }

    /// The curve that rises from 0 to 1 over the range, and its derivative by ln κ.
    fn unit(&self, ln_kappa: f64) -> (Vec<f64>, Vec<f64>) {
        let kappa = ln_kappa.exp();
        let whole = -(-kappa).exp_m1();
        let whole_slope = kappa * (-kappa).exp();
        self.places
            .iter()
            .map(|place| {
                let part = -(-kappa * place).exp_m1();
                let slope = kappa * place * (-kappa * place).exp();
                (part / whole, (slope - part / whole * whole_slope) / whole)
            })
            .unzip()
    }

    fn lack_of_fit(&self, ln_kappa: f64) -> f64 {
        let along = self.levels.reduced(&self.unit(ln_kappa).0);
        let rise = dot(&along, &self.levels.contrasts) / dot(&along, &along);
        self.levels
            .contrasts
            .iter()
            .zip(along)
            .map(|(z, unit)| (z - rise * unit).powi(2))
            .sum()
    }

    /// A number with the sign of the derivative of the profile.
    fn trend(&self, ln_kappa: f64) -> f64 {
        let (unit, slope) = self.unit(ln_kappa);
        let (along, change) = (self.levels.reduced(&unit), self.levels.reduced(&slope));
        let (n, d) = (dot(&along, &self.levels.contrasts), dot(&along, &along));
        let (n_slope, d_half) = (dot(&change, &self.levels.contrasts), dot(&change, &along));
        -n * (n_slope * d - n * d_half)
    }

    fn grid(&self) -> Vec<f64> {
        let step = (self.high - STRAIGHT) / STEPS as f64;
        (0..=STEPS).map(|at| STRAIGHT + step * at as f64).collect()
    }

    /// Places of the local minima inside the scan.
    fn minima(&self) -> Vec<f64> {
        let grid = self.grid();
        let trends: Vec<f64> = grid.iter().map(|&at| self.trend(at)).collect();
        grid.windows(2)
            .zip(trends.windows(2))
            .filter(|(_, trend)| trend[0] < 0.0 && trend[1] >= 0.0)
            .filter_map(|(ends, _)| crossing(&|at| self.trend(at), ends[0], ends[1]))
            .collect()
    }

    /// The best place, ends of the scan included.
    fn best(&self) -> f64 {
        let mut best = (STRAIGHT, self.lack_of_fit(STRAIGHT));
        for place in self.minima().into_iter().chain([self.high]) {
            let left = self.lack_of_fit(place);
            if left < best.1 {
                best = (place, left);
            }
        }
        best.0
    }

    fn rate(&self, ln_kappa: f64) -> f64 {
        let (low, high) = self.levels.range();
        ln_kappa.exp() / (high - low)
    }
}

pub(crate) fn best(levels: &Levels) -> Result<Curve, FitError> {
    let profile = Profile::new(levels);
    let place = profile.best();
    if place <= STRAIGHT {
        return Err(FitError::Straight);
    }
    if place >= profile.high {
        return Err(FitError::Step);
    }
    let second = profile.rate(place);
    let unit = Curve {
        shape: Shape::Asymptotic,
        first: 1.0,
        second,
        origin: levels.range().0,
    };
    let heights: Vec<f64> = levels.amounts.iter().map(|&x| unit.at(x)).collect();
    let along = levels.reduced(&heights);
    Ok(Curve {
        first: dot(&along, &levels.contrasts) / dot(&along, &along),
        ..unit
    })
}

/// The rates that leave at most `allowance` more than the best one.
///
/// # Errors
/// [`FitError::TooFewLevels`] where the shape needs more levels.
pub fn rates(levels: &Levels, allowance: f64) -> Result<PlaceSet, FitError> {
    let needed = Shape::Asymptotic.levels_needed();
    if levels.count() < needed {
        return Err(FitError::TooFewLevels { needed });
    }
    let profile = Profile::new(levels);
    let limit = profile.lack_of_fit(profile.best()) + allowance;
    let excess = |at: f64| profile.lack_of_fit(at) - limit;
    let mut ends = profile.grid();
    // A minimum between two steps of the scan must not be stepped over.
    ends.extend(profile.minima());
    ends.sort_by(f64::total_cmp);
    let inside: Vec<bool> = ends.iter().map(|&at| excess(at) <= 0.0).collect();
    let crossings: Vec<f64> = ends
        .windows(2)
        .zip(inside.windows(2))
        .filter(|(_, inside)| inside[0] != inside[1])
        .filter_map(|(ends, _)| crossing(&excess, ends[0], ends[1]))
        .collect();
    let open_below = inside.first().copied().unwrap_or(false);
    let open_above = inside.last().copied().unwrap_or(false);
    let mut all = Vec::new();
    all.extend(open_below.then_some(STRAIGHT));
    all.extend(crossings);
    all.extend(open_above.then_some(profile.high));
    Ok(PlaceSet {
        pieces: all
            .chunks_exact(2)
            .map(|pair| (profile.rate(pair[0]), profile.rate(pair[1])))
            .collect(),
        open_below,
        open_above,
    })
}
