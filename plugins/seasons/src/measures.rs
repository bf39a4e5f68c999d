//! Numbers that sum up a plot over its seasons, one a plot.

use caneplot_numerics::stability::{
    StabilityError, bienniality, first_less_later, slope, spread, variation,
};
use caneplot_numerics::sum;
use caneplot_plugin::findings::Format;
use caneplot_plugin::request::Quantity;

use crate::calendar::Calendar;
use crate::records::Records;

/// Such a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Measure {
    /// Mean of the seasons.
    Mean,
    /// Sum of the first so many seasons.
    Total(usize),
    /// Change with time.
    Slope,
    /// First season.
    First,
    /// Mean of the later ones.
    Later,
    /// First season less the mean of the later ones.
    FirstLess,
    /// Standard deviation between seasons.
    Spread,
    /// The same as a share of the mean.
    Variation,
    /// Alternation.
    Bienniality,
}

impl Measure {
    /// What is worked out for a response recorded in these seasons.
    pub fn of(records: &Records, seasons: &[usize], calendar: &Calendar) -> Vec<Self> {
        let mut all = vec![Self::Mean];
        if seasons.len() < 2 {
            return all;
        }
        if records.adds_up() {
            all.extend((1..=seasons.len()).map(Self::Total));
        }
        // The slope of two seasons is their difference, which the next one says.
        if seasons.len() > 2 {
            all.push(Self::Slope);
        }
        all.extend([Self::First, Self::Later, Self::FirstLess, Self::Spread]);
        let response = &records.response;
        // Neither a logarithm nor a percentage is a quantity of which a share could be taken.
        if response.quantity != Quantity::Ph && response.counts.is_none() && response.unit != "%" {
            all.push(Self::Variation);
        }
        let next = |pair: &[usize]| calendar.time(pair[1]) - calendar.time(pair[0]) == 1.0;
        if records.is_crop() && seasons.windows(2).any(next) {
            all.push(Self::Bienniality);
        }
        all
    }

    /// The number of one plot: `values` are centred on `offset`, in the order of `times`.
    pub fn value(self, times: &[f64], values: &[f64], offset: f64) -> Result<f64, StabilityError> {
        match self {
            // A complete plot has at least one season.
            Self::Mean => Ok(sum::mean(values).unwrap_or_default()),
            Self::Total(count) => Ok(sum::sum(&values[..count])),
            Self::Slope => slope(times, values),
            Self::First => Ok(values[0]),
            Self::Later => Ok(sum::mean(&values[1..]).unwrap_or_default()),
            Self::FirstLess => first_less_later(values),
            Self::Spread => spread(values),
            Self::Variation => variation(values, offset),
            Self::Bienniality => {
                let whole: Vec<f64> = values.iter().map(|value| value + offset).collect();
                bienniality(times, &whole)
            }
        }
    }

    /// What a mean of such numbers lacks, the response being centred on `offset`.
    pub fn offset(self, offset: f64) -> f64 {
        match self {
            Self::Mean | Self::First | Self::Later => offset,
            Self::Total(count) => count as f64 * offset,
            _ => 0.0,
        }
    }

    /// Whether it stands in the tables; the others serve sentences and figures.
    pub fn shown(self, seasons: usize) -> bool {
        match self {
            Self::First | Self::Later => false,
            Self::Total(count) => count == seasons,
            _ => true,
        }
    }

    /// Heading of its column.
    pub fn heading(self, seasons: &[usize], calendar: &Calendar) -> String {
        match self {
            Self::Mean => "Mean of a season".to_owned(),
            Self::Total(count) => format!("Total of {count} seasons"),
            Self::Slope => format!("Change {}", calendar.step()),
            Self::First => "First season".to_owned(),
            Self::Later => "Later seasons".to_owned(),
            Self::FirstLess => format!(
                "{} less {}",
                calendar.label(seasons[0]),
                match seasons {
                    [_, second] => calendar.label(*second),
                    _ => "later seasons",
                }
            ),
            Self::Spread => "SD between seasons".to_owned(),
            Self::Variation => "CV between seasons".to_owned(),
            Self::Bienniality => "Bienniality".to_owned(),
        }
    }

    /// Whether it is in the unit of the response.
    pub fn has_unit(self) -> bool {
        !matches!(self, Self::Variation | Self::Bienniality)
    }

    /// How it is written, given its smallest standard error and the decimals of the response.
    pub fn format(self, error: Option<f64>, decimals: u8) -> Format {
        match self {
            Self::Variation => Format::Percent(1),
            Self::Bienniality => Format::Decimals(3),
            Self::Mean | Self::Total(_) | Self::First | Self::Later => digits(error, decimals),
            _ => digits(error, decimals.saturating_add(1)),
        }
    }
}

/// Decimals one digit beyond the first of a standard error, and no more than `most`.
pub(crate) fn digits(error: Option<f64>, most: u8) -> Format {
    match error.filter(|&error| error > 0.0 && error.is_finite()) {
        Some(error) => {
            Format::Decimals((1.0 - error.log10().floor()).clamp(0.0, f64::from(most)) as u8)
        }
        None => Format::Decimals(most),
    }
}
