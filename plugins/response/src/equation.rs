//! The chosen curve as an equation, with its numbers.

use caneplot_numerics::curves::{Estimate, Shape};
use caneplot_plugin::findings::{Format, Statement};
use caneplot_plugin::sentence::Sentence;

use crate::study::{Fitted, Study};

/// Digits of a coefficient.
const DIGITS: Format = Format::Significant(4);

/// " + 0.12" or " − 0.12".
fn signed(sentence: Sentence, value: f64) -> Sentence {
    sentence
        .text(if value < 0.0 { " − " } else { " + " })
        .number(value.abs(), DIGITS)
}

/// The equation of the curve over all, the offset added.
pub(crate) fn statement(study: &Study<'_>, fitted: &Fitted) -> Statement {
    let curve = fitted.fit.curve;
    let offset = study.response.offset;
    let levels = &fitted.levels;
    let value = |estimate: Option<&Estimate>| estimate.map_or(0.0, |estimate| estimate.value);
    let start = Sentence::new(&format!("Equation: {} = ", study.response_name()));
    let coefficients = levels.coefficients(&fitted.fit).unwrap_or_default();
    let plateau = offset + value(levels.plateau(&fitted.fit).as_ref());
    let sentence = match curve.shape {
        Shape::Flat => start.number(offset + fitted.height(0.0), DIGITS),
        Shape::Line | Shape::Quadratic => {
            let slope = value(coefficients.get(1));
            let line = start.number(offset + value(coefficients.first()), DIGITS);
            let line = signed(line, slope).text(" x");
            if curve.shape == Shape::Quadratic {
                signed(line, curve.second).text(" x²")
            } else {
                line
            }
        }
        Shape::LinePlateau => signed(start.number(plateau, DIGITS), curve.first)
            .text(" (x − ")
            .number(curve.second, DIGITS)
            .text(") for x up to ")
            .number(curve.second, DIGITS)
            .text(", and ")
            .number(plateau, DIGITS)
            .text(" beyond"),
        Shape::QuadraticPlateau => signed(start.number(plateau, DIGITS), curve.first)
            .text(" (x − ")
            .number(curve.second, DIGITS)
            .text(")² for x up to ")
            .number(curve.second, DIGITS)
            .text(", and ")
            .number(plateau, DIGITS)
            .text(" beyond"),
        Shape::Asymptotic => {
            let lowest = offset + fitted.height(curve.origin);
            signed(start.number(lowest, DIGITS), curve.first)
                .text(" (1 − exp(−")
                .number(curve.second, DIGITS)
                .text(" (x − ")
                .number(curve.origin, DIGITS)
                .text(")))")
        }
    };
    let unit = |name: &str| {
        if name.is_empty() {
            String::new()
        } else {
            format!(" in {name}")
        }
    };
    let (low, high) = levels.range();
    sentence
        .text(&format!(
            ", with {}{} and x = {}{}, for x from ",
            study.response_name(),
            unit(study.y()),
            study.factor_name(),
            unit(study.unit())
        ))
        .number(low, study.of_amounts(fitted))
        .text(" to ")
        .number(high, study.of_amounts(fitted))
        .text(".")
        .statement()
}
