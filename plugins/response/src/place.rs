//! Where a curve levels off or turns, and how sure that is.

use caneplot_numerics::curves::{Fit, Levels, Shape, asymptotic, plateau};
use caneplot_numerics::distribution::t_critical;
use caneplot_numerics::fieller::FiellerSet;

/// Share of the possible rise after which an asymptotic curve counts as level. The share is ours.
pub(crate) const NEARLY_LEVEL: f64 = 0.95;

/// What happens at a spot.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Event {
    /// The curve becomes level.
    Join,
    /// It is highest.
    Highest,
    /// It is lowest.
    Lowest,
    /// Nearly all of the possible change is used up.
    NearlyLevel,
}

/// A spot on the curve. An end that is `None` lies beyond what the levels can tell: below the second
/// level (or third), or beyond the highest.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Spot {
    pub event: Event,
    pub at: f64,
    /// The best place is the lowest that the levels can tell apart: it may as well lie below.
    pub or_below: bool,
    pub low: Option<f64>,
    pub high: Option<f64>,
    /// The interval is in several pieces, of which only the outer ends are given.
    pub pieces: usize,
    /// The linearised interval, where papers print one.
    pub linearised: Option<(f64, f64)>,
}

impl Spot {
    /// Both ends, where the interval has both.
    pub fn interval(&self) -> Option<(f64, f64)> {
        self.low.zip(self.high)
    }

    /// Whether a place is inside what is not excluded.
    pub fn allows(&self, place: f64) -> bool {
        self.low.is_none_or(|low| place >= low) && self.high.is_none_or(|high| place <= high)
    }
}

/// Why a curve has no spot.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Nowhere {
    /// It is flat or straight.
    Straight,
    /// It bends, but its turning point is not inside the tested range.
    Outside,
    /// It bends too little for its turning point to have an interval.
    Unclear,
    /// It slows down, but is not level inside the tested range.
    StillChanging,
}

/// The spot of a fitted curve with its interval at `level`.
pub(crate) fn of(levels: &Levels, fit: &Fit, level: f64) -> Result<Spot, Nowhere> {
    match fit.curve.shape {
        Shape::Flat | Shape::Line => Err(Nowhere::Straight),
        Shape::Quadratic => turn(levels, fit, level),
        Shape::LinePlateau | Shape::QuadraticPlateau => join(levels, fit, level),
        Shape::Asymptotic => nearly_level(levels, fit, level),
    }
}

fn turn(levels: &Levels, fit: &Fit, level: f64) -> Result<Spot, Nowhere> {
    let (lowest, highest) = levels.range();
    let turn = levels
        .turn(fit, 0.0, &levels.error, level)
        .ok_or(Nowhere::Unclear)?;
    let FiellerSet::Bounded { low, high } = turn.set else {
        return Err(Nowhere::Unclear);
    };
    if turn.place <= lowest || turn.place >= highest {
        return Err(Nowhere::Outside);
    }
    Ok(Spot {
        event: if turn.highest {
            Event::Highest
        } else {
            Event::Lowest
        },
        at: turn.place,
        or_below: false,
        low: (low >= lowest).then_some(low),
        high: (high <= highest).then_some(high),
        pieces: 1,
        linearised: Some(turn.linearised),
    })
}

/// What a curve may leave more than the best one: t² times the error mean square.
fn allowance(levels: &Levels, level: f64) -> Option<f64> {
    let t = t_critical(level, levels.error.df as f64).ok()?;
    Some(t * t * levels.error.mean_square?)
}

fn join(levels: &Levels, fit: &Fit, level: f64) -> Result<Spot, Nowhere> {
    let shape = fit.curve.shape;
    let allowed = allowance(levels, level).ok_or(Nowhere::Unclear)?;
    let set = plateau::places(levels, shape, allowed).map_err(|_| Nowhere::Unclear)?;
    let at = fit.curve.second;
    let linearised = levels
        .second_parameter(fit)
        .standard_error(&levels.error)
        .filter(|error| *error > 0.0)
        .zip(t_critical(level, levels.error.df as f64).ok())
        .map(|(error, t)| (at - t * error, at + t * error));
    Ok(Spot {
        event: Event::Join,
        at,
        or_below: at <= levels.amounts[if shape == Shape::LinePlateau { 1 } else { 2 }],
        low: set.low(),
        high: set.high(),
        pieces: set.pieces.len(),
        linearised,
    })
}

fn nearly_level(levels: &Levels, fit: &Fit, level: f64) -> Result<Spot, Nowhere> {
    let (lowest, highest) = levels.range();
    let place = |rate: f64| lowest - (1.0 - NEARLY_LEVEL).ln() / rate;
    let at = place(fit.curve.second);
    if at >= highest {
        return Err(Nowhere::StillChanging);
    }
    let allowed = allowance(levels, level).ok_or(Nowhere::Unclear)?;
    let rates = asymptotic::rates(levels, allowed).map_err(|_| Nowhere::Unclear)?;
    // A fast rate makes an early place.
    Ok(Spot {
        event: Event::NearlyLevel,
        at,
        or_below: false,
        low: rates.high().map(place),
        high: rates.low().map(place).filter(|high| *high <= highest),
        pieces: rates.pieces.len(),
        linearised: None,
    })
}
