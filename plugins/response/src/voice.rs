//! Numbers of one study as they stand in its sentences: amounts, heights, intervals.

use caneplot_numerics::curves::Shape;
use caneplot_plugin::findings::Format;
use caneplot_plugin::request::Quantity;
use caneplot_plugin::sentence::Sentence;
use caneplot_plugin::words::{beginning, inside, was};

use crate::place::{Event, Nowhere, Spot};
use crate::study::{Fitted, Study};

/// A name without the doubling of braces that statements need; [`Sentence`] does its own.
pub(crate) fn undoubled(text: &str) -> String {
    text.replace("{{", "{").replace("}}", "}")
}

/// A shape inside a sentence.
pub(crate) fn shape_words(shape: Shape) -> &'static str {
    match shape {
        Shape::Flat => "no change",
        Shape::Line => "a straight line",
        Shape::Quadratic => "a quadratic",
        Shape::LinePlateau => "a straight line to a plateau",
        Shape::QuadraticPlateau => "a quadratic to a plateau",
        Shape::Asymptotic => "an asymptotic curve",
    }
}

/// A shape in a table.
pub(crate) fn shape_label(shape: Shape) -> &'static str {
    match shape {
        Shape::Flat => "No change",
        Shape::Line => "Straight line",
        Shape::Quadratic => "Quadratic",
        Shape::LinePlateau => "Straight line to a plateau",
        Shape::QuadraticPlateau => "Quadratic to a plateau",
        Shape::Asymptotic => "Asymptotic",
    }
}

impl Study<'_> {
    /// The response inside a sentence.
    pub fn response_name(&self) -> String {
        undoubled(&inside(&self.response.label))
    }

    /// The response as it begins a sentence.
    pub fn response_first(&self) -> String {
        undoubled(&beginning(&self.response.label))
    }

    /// Unit of the response as it is printed.
    pub fn y(&self) -> &str {
        caneplot_plugin::words::unit(self.response)
    }

    /// "was" or "were" after the response.
    pub fn was(&self) -> &'static str {
        was(&self.response.label)
    }

    /// "it" or "they" for the response.
    pub fn it(&self) -> &'static str {
        match self.was() {
            "were" => "they",
            _ => "it",
        }
    }

    /// "follows" or "follow" after the response.
    pub fn follows(&self) -> &'static str {
        match self.was() {
            "were" => "follow",
            _ => "follows",
        }
    }

    /// How means are written: to the second digit of their standard error, and never finer than the
    /// data allow.
    pub fn of_means(&self) -> Format {
        Format::Decimals(self.decimals)
    }

    /// How standard errors are written: three significant digits of the smallest, and never more
    /// than one digit beyond the means.
    pub fn of_errors(&self, errors: impl Iterator<Item = f64>) -> Format {
        let smallest = errors
            .filter(|&error| error > 0.0)
            .fold(f64::INFINITY, f64::min);
        if !smallest.is_finite() {
            return self.of_means();
        }
        let most = f64::from(self.decimals + 1);
        Format::Decimals((2.0 - smallest.log10().floor()).clamp(0.0, most) as u8)
    }

    /// The factor inside a sentence.
    pub fn factor_name(&self) -> String {
        undoubled(&inside(&self.factor.label))
    }

    /// Unit of the factor, empty where it has none.
    pub fn unit(&self) -> &str {
        self.factor.unit.as_deref().unwrap_or("")
    }

    /// A number as somebody typed it: with the decimals it needs, at most 6.
    pub fn as_typed(value: f64) -> Format {
        let exact = |decimals: &u8| {
            let scale = 10_f64.powi(i32::from(*decimals));
            (value * scale - (value * scale).round()).abs() < 1e-9 * (value * scale).abs().max(1.0)
        };
        Format::Decimals((0..6_u8).find(exact).unwrap_or(6))
    }

    /// How amounts are written: to about a fiftieth of the range.
    pub fn of_amounts(&self, fitted: &Fitted) -> Format {
        let (low, high) = fitted.levels.range();
        Format::Decimals((1.3 - (high - low).log10()).ceil().clamp(0.0, 6.0) as u8)
    }

    /// A height, its offset added, with its unit.
    pub fn height(&self, sentence: Sentence, centred: f64) -> Sentence {
        sentence.number_in(self.response.offset + centred, self.of_means(), self.y())
    }

    /// A difference of heights with its unit.
    pub fn gain(&self, sentence: Sentence, value: f64) -> Sentence {
        sentence.number_in(value, self.of_means(), self.y())
    }

    /// "(95 % interval 4.1 to 4.6)".
    pub fn interval(&self, sentence: Sentence, low: f64, high: f64, format: Format) -> Sentence {
        sentence
            .text(&format!(" ({} interval ", self.options.confidence()))
            .number(low, format)
            .text(" to ")
            .number(high, format)
            .text(")")
    }

    /// "about 31 nodes/vine (95 % interval 27 to 38)".
    pub fn spot(&self, fitted: &Fitted, spot: &Spot) -> Sentence {
        let format = self.of_amounts(fitted);
        let confidence = self.options.confidence();
        if spot.or_below {
            let latest = Sentence::default()
                .number_in(spot.at, format, self.unit())
                .text(" at the latest");
            return match spot.high {
                Some(high) if high > spot.at => latest
                    .text(&format!(" ({confidence} interval up to "))
                    .number(high, format)
                    .text(")"),
                Some(_) => latest,
                None => latest.text(&format!(
                    " ({confidence} interval without an end inside the tested range)"
                )),
            };
        }
        let about = Sentence::new("about ").number_in(spot.at, format, self.unit());
        match (spot.low, spot.high) {
            (Some(low), Some(high)) => self.interval(about, low, high, format),
            (Some(low), None) => about
                .text(&format!(" ({confidence} interval from "))
                .number(low, format)
                .text(" on, with no end inside the tested range)"),
            (None, Some(high)) => about
                .text(&format!(" ({confidence} interval up to "))
                .number(high, format)
                .text(", with no lower end that the levels could tell)"),
            (None, None) => about.text(&format!(
                " (no {confidence} interval: nothing inside the tested range is excluded)"
            )),
        }
    }

    /// What a curve does, to be read after "it": "rose to about 31 nodes/vine (…) and was level
    /// beyond".
    pub fn course(&self, fitted: &Fitted) -> Sentence {
        let (low, high) = fitted.levels.range();
        let format = self.of_amounts(fitted);
        let change = fitted.change();
        let went = if change >= 0.0 { "rose" } else { "fell" };
        let over = |sentence: Sentence| {
            sentence
                .text(" from ")
                .number(low, format)
                .text(" to ")
                .number_in(high, format, self.unit())
        };
        match (&fitted.spot, fitted.fit.curve.shape) {
            (_, Shape::Flat) => Sentence::new("did not clearly change"),
            (_, Shape::Line) => {
                let start = Sentence::new(&format!("{went} steadily, by "));
                over(self.gain(start, change.abs()))
            }
            (Ok(spot), _) => {
                let place = self.spot(fitted, spot);
                match spot.event {
                    Event::Join => Sentence::new(&format!("{went} until "))
                        .then(place)
                        .text(&format!(" and {} level beyond", self.was())),
                    Event::Highest => {
                        Sentence::new(&format!("{} highest at ", self.was())).then(place)
                    }
                    Event::Lowest => {
                        Sentence::new(&format!("{} lowest at ", self.was())).then(place)
                    }
                    Event::NearlyLevel => Sentence::new(&format!(
                        "{went} ever more slowly and {} nearly level from ",
                        self.was()
                    ))
                    .then(place)
                    .text(" on"),
                }
            }
            (Err(why), _) => {
                let start = Sentence::new(&format!("{went} by "));
                let tail = match why {
                    Nowhere::StillChanging => ", ever more slowly but not yet level",
                    Nowhere::Outside | Nowhere::Unclear | Nowhere::Straight => steepness(fitted),
                };
                over(self.gain(start, change.abs())).text(tail)
            }
        }
    }

    /// What more of it would be: "crop", or "change".
    pub fn more_words(&self, rising: bool) -> &'static str {
        match (self.response.quantity, rising) {
            (Quantity::Yield, true) => "more than that bought no clear further crop",
            (_, true) => "more than that brought no clear further rise",
            (_, false) => "more than that brought no clear further fall",
        }
    }
}

/// How a bend without a place of its own runs.
pub(crate) fn steepness(fitted: &Fitted) -> &'static str {
    let (low, high) = fitted.levels.range();
    let (start, end) = (fitted.fit.curve.slope(low), fitted.fit.curve.slope(high));
    if start * end < 0.0 {
        ", turning somewhere that the levels do not show"
    } else if end.abs() < start.abs() {
        ", less and less steeply"
    } else {
        ", more and more steeply"
    }
}
