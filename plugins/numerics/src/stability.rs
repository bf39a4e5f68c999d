//! How one plot went over the seasons, as single numbers that a design can be analysed with: its
//! slope, its spread between seasons, its bienniality.
//!
//! A plot's seasons are not independent of each other, but plots are; a number that sums up all
//! seasons of a plot is one value a plot, and the design's own error holds for it (Rowell & Walters
//! 1976, *J. Agric. Sci.* 87:423).
//!
//! Bienniality: the mean over neighbouring seasons of |y_t − y_{t−1}| / (y_t + y_{t−1}), from 0 for a
//! plot that bears alike every season to 1 for one that bears every second season only (Hoblyn, Grubb,
//! Painter & Wates 1936, *J. Pomol. Hort. Sci.* 14:39).
//!
//! Refused: too few seasons, negative crops, two seasons without any crop in a row.

use crate::sum::{self, Sum};

/// Why a plot has no such number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum StabilityError {
    /// Occurs when fewer seasons are there than the number needs.
    #[error("{given} seasons where at least {least} are needed")]
    TooFew {
        /// Seasons there are.
        given: usize,
        /// Seasons there must be.
        least: usize,
    },
    /// Occurs when no two seasons follow one another.
    #[error("no two seasons follow one another")]
    NoNeighbours,
    /// Occurs when a crop is negative.
    #[error("a value is negative, and only crops can alternate")]
    Negative,
    /// Occurs when two seasons in a row bore nothing, so that their quotient is 0/0.
    #[error("two seasons in a row bore nothing")]
    Nothing,
    /// Occurs when all times are the same.
    #[error("all seasons have the same time")]
    SameTime,
    /// Occurs when a coefficient of variation would be divided by a mean that is not above zero.
    #[error("the mean is not above zero")]
    NoMean,
}

/// Change of the values for one unit of time, by least squares over the true gaps.
///
/// ```
/// # use caneplot_numerics::stability::slope;
/// assert_eq!(slope(&[2019.0, 2020.0, 2023.0], &[5.0, 7.0, 13.0]), Ok(2.0));
/// ```
///
/// # Errors
/// [`StabilityError::TooFew`] for fewer than two seasons, [`StabilityError::SameTime`].
///
/// # Panics
/// Where there is not one time for every value.
pub fn slope(times: &[f64], values: &[f64]) -> Result<f64, StabilityError> {
    assert_eq!(times.len(), values.len(), "one time for every value");
    enough(values, 2)?;
    let squares = sum::squares_about_mean(times);
    if squares > 0.0 {
        Ok(sum::products_about_means(times, values) / squares)
    } else {
        Err(StabilityError::SameTime)
    }
}

/// Standard deviation between seasons.
///
/// # Errors
/// [`StabilityError::TooFew`] for fewer than two seasons.
pub fn spread(values: &[f64]) -> Result<f64, StabilityError> {
    enough(values, 2)?;
    Ok((sum::squares_about_mean(values) / (values.len() - 1) as f64).sqrt())
}

/// Standard deviation between seasons as a share of the mean; `offset` is added to every value first.
///
/// # Errors
/// [`StabilityError::TooFew`] for fewer than two seasons, [`StabilityError::NoMean`] for a mean that
/// is not above zero.
pub fn variation(values: &[f64], offset: f64) -> Result<f64, StabilityError> {
    let spread = spread(values)?;
    match sum::mean(values).map(|mean| offset + mean) {
        Some(mean) if mean > 0.0 => Ok(spread / mean),
        _ => Err(StabilityError::NoMean),
    }
}

/// The first season less the mean of the later ones.
///
/// # Errors
/// [`StabilityError::TooFew`] for fewer than two seasons.
pub fn first_less_later(values: &[f64]) -> Result<f64, StabilityError> {
    match values {
        [first, later @ ..] if !later.is_empty() => {
            // Later seasons are there, so there is a mean.
            Ok(first - sum::mean(later).unwrap_or_default())
        }
        _ => enough(values, 2).map(|()| 0.0),
    }
}

/// Bienniality over the pairs of seasons that are one unit of time apart; a gap is no alternation.
///
/// ```
/// # use caneplot_numerics::stability::bienniality;
/// let index = bienniality(&[0.0, 1.0, 2.0], &[3.0, 1.0, 3.0]);
/// assert_eq!(index, Ok(0.5));
/// ```
///
/// # Errors
/// [`StabilityError`] for fewer than two seasons, none that follow one another, negative values, and
/// two empty seasons in a row.
///
/// # Panics
/// Where there is not one time for every value.
pub fn bienniality(times: &[f64], values: &[f64]) -> Result<f64, StabilityError> {
    assert_eq!(times.len(), values.len(), "one time for every value");
    enough(values, 2)?;
    if values.iter().any(|value| *value < 0.0) {
        return Err(StabilityError::Negative);
    }
    let (mut sum, mut pairs) = (Sum::default(), 0_usize);
    for (time, value) in times.windows(2).zip(values.windows(2)) {
        if time[1] - time[0] != 1.0 {
            continue;
        }
        let both = value[0] + value[1];
        if both == 0.0 {
            return Err(StabilityError::Nothing);
        }
        sum.add((value[1] - value[0]).abs() / both);
        pairs += 1;
    }
    match pairs {
        0 => Err(StabilityError::NoNeighbours),
        pairs => Ok(sum.total() / pairs as f64),
    }
}

fn enough(values: &[f64], least: usize) -> Result<(), StabilityError> {
    if values.len() < least {
        return Err(StabilityError::TooFew {
            given: values.len(),
            least,
        });
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    const YEARS: [f64; 4] = [2018.0, 2019.0, 2020.0, 2021.0];

    #[test]
    fn nine_three_ten_four_has_an_index_of_0_4890() {
        // By hand: (6/12 + 7/13 + 6/14)/3 = 0.48901.
        let index = bienniality(&YEARS, &[9.0, 3.0, 10.0, 4.0]).unwrap();
        assert!((index - (0.5 + 7.0 / 13.0 + 3.0 / 7.0) / 3.0).abs() < 1e-15);
        assert_eq!(format!("{index:.4}"), "0.4890");
    }

    #[test]
    fn a_gap_is_no_alternation() {
        let gap = [2018.0, 2019.0, 2021.0, 2022.0];
        let index = bienniality(&gap, &[1.0, 3.0, 100.0, 300.0]);
        assert_eq!(index, Ok(0.5));
        assert_eq!(
            bienniality(&[2018.0, 2020.0], &[1.0, 2.0]),
            Err(StabilityError::NoNeighbours)
        );
    }

    #[test]
    fn what_has_no_index_is_refused() {
        assert_eq!(
            bienniality(&YEARS, &[1.0, 0.0, 0.0, 1.0]),
            Err(StabilityError::Nothing)
        );
        assert_eq!(
            bienniality(&YEARS, &[1.0, -1.0, 2.0, 1.0]),
            Err(StabilityError::Negative)
        );
        assert!(bienniality(&[1.0], &[1.0]).is_err());
        assert!(spread(&[1.0]).is_err() && first_less_later(&[1.0]).is_err());
        assert_eq!(
            slope(&[1.0, 1.0], &[1.0, 2.0]),
            Err(StabilityError::SameTime)
        );
        assert_eq!(variation(&[-1.0, 1.0], 0.0), Err(StabilityError::NoMean));
    }

    #[test]
    fn spread_and_variation_are_those_of_the_textbook() {
        // 4, 7, 13, 16: mean 10, squares 36 + 9 + 9 + 36 = 90.
        let values = [4.0, 7.0, 13.0, 16.0];
        assert_eq!(spread(&values), Ok(30.0_f64.sqrt()));
        assert_eq!(variation(&values, 10.0), Ok(30.0_f64.sqrt() / 20.0));
        assert_eq!(first_less_later(&values), Ok(4.0 - 12.0));
    }

    proptest! {
        #[test]
        fn the_index_lies_between_none_and_every_second_season(
            values in prop::collection::vec(0.01..50.0_f64, 2..9),
            scale in 0.1..10.0_f64,
        ) {
            let times: Vec<f64> = (0..values.len()).map(|at| at as f64).collect();
            let index = bienniality(&times, &values).unwrap();
            prop_assert!((0.0..1.0).contains(&index));
            let scaled: Vec<f64> = values.iter().map(|value| scale * value).collect();
            prop_assert!((bienniality(&times, &scaled).unwrap() - index).abs() < 1e-12);
        }

        #[test]
        fn a_straight_line_has_its_slope_whatever_the_gaps(
            gaps in prop::collection::vec(1_u8..5, 1..8),
            step in -5.0..5.0_f64,
        ) {
            let mut times = vec![2000.0];
            for gap in gaps {
                times.push(times[times.len() - 1] + f64::from(gap));
            }
            let values: Vec<f64> = times.iter().map(|time| step * (time - 2000.0)).collect();
            prop_assert!((slope(&times, &values).unwrap() - step).abs() < 1e-12);
        }
    }
}
