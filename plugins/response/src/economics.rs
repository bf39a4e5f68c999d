//! Where the value of the crop gained by one unit more stops paying for it.
//!
//! With price p for a unit of crop and cost c for a unit of the amount on the same area, the best
//! amount is where the slope of the curve is c/p, or at an end of the tested range. Prices are taken
//! as known; only the curve is uncertain.

use caneplot_numerics::curves::{Shape, Turn};
use caneplot_numerics::fieller::FiellerSet;
use caneplot_plugin::request::{Response, Vineyard};

use crate::options::{Area, Money};
use crate::place::Spot;
use crate::study::Fitted;

/// Square metres of an acre (international).
const ACRE: f64 = 4_046.856_422_4;
/// Square metres of a hectare.
const HECTARE: f64 = 10_000.0;

/// Where the best amount is.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Best {
    /// Inside the tested range, with its interval where it has one.
    At {
        amount: f64,
        interval: Option<(f64, f64)>,
        /// The interval is linearised: neither Fieller's nor of a profile.
        linearised: bool,
    },
    /// At the join: up to it every unit pays.
    Join(Spot),
    /// At the lowest amount tested: no further unit pays.
    Lowest,
    /// At the highest amount tested: every unit pays.
    Highest,
}

/// Cost of one unit more of the amount on the area the response is reckoned on.
pub(crate) fn cost_on(
    money: &Money<'_>,
    response: &Response,
    vineyard: &Vineyard,
) -> Result<f64, String> {
    let area = area_of(&response.unit).ok_or_else(|| {
        format!(
            "its unit ({}) is not a weight per vine, hectare or acre, so prices cannot be set against it",
            if response.unit.is_empty() { "none" } else { &response.unit }
        )
    })?;
    if area == money.basis {
        return Ok(money.cost);
    }
    let space = |area: Area| {
        match area {
        Area::Hectare => Ok(HECTARE),
        Area::Acre => Ok(ACRE),
        Area::Vine => vineyard
            .row_spacing_m
            .zip(vineyard.vine_spacing_m)
            .map(|(row, vine)| row * vine)
            .ok_or_else(|| {
                format!(
                    "the cost is per {} and the crop per {}: row_spacing and vine_spacing under [vineyard] are needed to bring them together",
                    money.basis.words(),
                    area_words(&response.unit)
                )
            }),
    }
    };
    Ok(money.cost * space(area)? / space(money.basis)?)
}

fn area_words(unit: &str) -> &'static str {
    area_of(unit).map_or("area", Area::words)
}

/// The area behind the stroke of a unit such as "kg/vine" or "t/ha".
fn area_of(unit: &str) -> Option<Area> {
    let (_, below) = unit.rsplit_once('/')?;
    match below.trim().to_lowercase().as_str() {
        "vine" | "vines" => Some(Area::Vine),
        "ha" | "hectare" => Some(Area::Hectare),
        "acre" | "ac" => Some(Area::Acre),
        _ => None,
    }
}

/// The best amount for a curve at this ratio of cost to price.
pub(crate) fn best(fitted: &Fitted, ratio: f64, level: f64) -> Best {
    let (low, high) = fitted.levels.range();
    let curve = fitted.fit.curve;
    let inside = |amount: f64, interval, linearised| {
        if amount <= low {
            Best::Lowest
        } else if amount >= high {
            Best::Highest
        } else {
            Best::At {
                amount,
                interval,
                linearised,
            }
        }
    };
    let pays_more_at_the_top = || {
        let gain = fitted.levels.change(&fitted.fit, low, high).value;
        if gain > ratio * (high - low) {
            Best::Highest
        } else {
            Best::Lowest
        }
    };
    match curve.shape {
        Shape::Flat => Best::Lowest,
        Shape::Line => pays_more_at_the_top(),
        // A curve that bends upwards is best at an end.
        Shape::Quadratic if curve.second >= 0.0 => pays_more_at_the_top(),
        Shape::Quadratic => {
            match fitted
                .levels
                .turn(&fitted.fit, ratio, &fitted.levels.error, level)
            {
                Some(Turn { place, set, .. }) => inside(
                    place,
                    match set {
                        FiellerSet::Bounded { low, high } => Some((low, high)),
                        _ => None,
                    },
                    false,
                ),
                None => Best::Lowest,
            }
        }
        Shape::LinePlateau => match &fitted.spot {
            Ok(spot) if curve.first > ratio => Best::Join(spot.clone()),
            _ => Best::Lowest,
        },
        Shape::QuadraticPlateau | Shape::Asymptotic => {
            match fitted.levels.place_of_slope(&fitted.fit, ratio) {
                Some(place) => {
                    let half = fitted.half_width(place.unit_variance);
                    inside(
                        place.value,
                        Some((place.value - half, place.value + half)),
                        true,
                    )
                }
                // Free units pay up to the end of the rise.
                None if fitted.change() > 0.0 => match &fitted.spot {
                    Ok(spot) if curve.shape == Shape::QuadraticPlateau => Best::Join(spot.clone()),
                    _ => Best::Highest,
                },
                None => Best::Lowest,
            }
        }
    }
}
