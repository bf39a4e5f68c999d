//! The table of the chosen curve: its parameters and its place, with their intervals.

use caneplot_numerics::curves::{Estimate, Shape};
use caneplot_plugin::findings::{Column, Table};

use crate::place::{Event, Spot};
use crate::study::{Fitted, Study};
use crate::tables::DIGITS;
use crate::voice::shape_words;

/// An interval from the slopes of the curve at its parameters.
const LINEARISED: &str = "linearised";
/// The same for the join of a straight line to a plateau.
const TOO_NARROW: &str = "linearised, too narrow";

/// One parameter or place.
struct Line {
    name: String,
    unit: String,
    value: f64,
    low: Option<f64>,
    high: Option<f64>,
    how: &'static str,
}

/// The parameters of the chosen curve with their intervals.
pub(crate) fn of(study: &Study<'_>, fitted: &Fitted) -> Table {
    let levels = &fitted.levels;
    let (fit, offset) = (&fitted.fit, study.response.offset);
    let (y, x) = (study.y(), study.unit());
    let per = match (y, x) {
        (y, "") => y.to_owned(),
        ("", x) => format!("per {x}"),
        (y, x) => format!("{y} per {x}"),
    };
    let with = |name: &str, unit: &str, estimate: Estimate, offset: f64, how: &'static str| {
        let half = fitted.half_width(estimate.unit_variance);
        Line {
            name: name.to_owned(),
            unit: unit.to_owned(),
            value: offset + estimate.value,
            low: Some(offset + estimate.value - half),
            high: Some(offset + estimate.value + half),
            how,
        }
    };
    let shape = fit.curve.shape;
    let exact = "t";
    let linear = LINEARISED;
    let mut lines = Vec::new();
    if let Some(coefficients) = levels.coefficients(fit) {
        let names = ["Constant", "Coefficient of x", "Coefficient of x²"];
        let units = [y.to_owned(), per.clone(), squared(&per)];
        for (at, estimate) in coefficients.iter().enumerate() {
            let name = if shape == Shape::Line && at == 1 {
                "Slope"
            } else {
                names[at]
            };
            let offset = if at == 0 { offset } else { 0.0 };
            lines.push(with(name, &units[at], *estimate, offset, exact));
        }
    }
    let first = levels.first_parameter(fit);
    match shape {
        Shape::LinePlateau => lines.push(with("Slope below the join", &per, first, 0.0, linear)),
        Shape::QuadraticPlateau => {
            let unit = squared(&per);
            lines.push(with("Curvature below the join", &unit, first, 0.0, linear));
        }
        Shape::Asymptotic => {
            let start = levels.height(fit, fit.curve.origin);
            lines.push(with("Height at the lowest level", y, start, offset, linear));
            lines.push(with("Whole possible change", y, first, 0.0, linear));
            let unit = if x.is_empty() {
                String::new()
            } else {
                format!("per {x}")
            };
            lines.push(with(
                "Rate",
                &unit,
                levels.second_parameter(fit),
                0.0,
                linear,
            ));
        }
        Shape::Flat => lines.push(with("Height", y, levels.height(fit, 0.0), offset, exact)),
        Shape::Line | Shape::Quadratic => {}
    }
    if let Some(plateau) = levels.plateau(fit) {
        let name = if shape == Shape::Asymptotic {
            "Level it tends to"
        } else {
            "Plateau"
        };
        lines.push(with(name, y, plateau, offset, linear));
    }
    if let Ok(spot) = &fitted.spot {
        spot_lines(fitted, spot, x, &mut lines);
        let (lowest, highest) = levels.range();
        let at = levels.height(fit, spot.at.clamp(lowest, highest));
        if matches!(spot.event, Event::Highest | Event::Lowest) {
            lines.push(with("Height there", y, at, offset, exact));
        }
    }
    let numbers = |value: &dyn Fn(&Line) -> Option<f64>| lines.iter().map(value).collect();
    let confidence = study.options.confidence();
    Table {
        id: "curve".to_owned(),
        title: format!(
            "{} over {}: {}",
            study.response_first(),
            study.factor_name(),
            shape_words(shape)
        ),
        columns: vec![
            Column::text("Quantity", lines.iter().map(|line| line.name.clone())),
            Column::text("Unit", lines.iter().map(|line| line.unit.clone())),
            Column::number("Estimate", numbers(&|line| Some(line.value)), DIGITS),
            Column::number(
                &format!("{confidence} from"),
                numbers(&|line| line.low),
                DIGITS,
            ),
            Column::number(
                &format!("{confidence} to"),
                numbers(&|line| line.high),
                DIGITS,
            ),
            Column::text("Interval by", lines.iter().map(|line| line.how)),
        ],
        notes: notes(&lines),
        ..Table::default()
    }
}

fn notes(lines: &[Line]) -> Vec<String> {
    let mut notes = Vec::new();
    if lines
        .iter()
        .any(|line| line.low.is_none() || line.high.is_none())
    {
        notes.push("An empty end lies where the levels tested cannot tell: below the second or third of them, or beyond the range.".to_owned());
    }
    if lines.iter().any(|line| line.how == TOO_NARROW) {
        // Lines to a plateau with four blocks in tests/calibration, clear and faint.
        notes.push("The linearised interval of the join stands here for comparison with papers that print one. In this program's own simulations it held the join of a straight line to a plateau in 79 to 88 % of trials instead of 95 % (folder tests/calibration): the profile is the interval to use.".to_owned());
    }
    notes
}

fn spot_lines(fitted: &Fitted, spot: &Spot, unit: &str, lines: &mut Vec<Line>) {
    let (name, how) = match spot.event {
        Event::Join => ("Join", "profile"),
        Event::Highest => ("Place of the highest point", "Fieller"),
        Event::Lowest => ("Place of the lowest point", "Fieller"),
        Event::NearlyLevel => ("95 % of the possible change used up", "profile"),
    };
    lines.push(Line {
        name: name.to_owned(),
        unit: unit.to_owned(),
        value: spot.at,
        low: spot.low,
        high: spot.high,
        how,
    });
    if let Some((low, high)) = spot.linearised {
        let (lowest, highest) = fitted.levels.range();
        lines.push(Line {
            name: format!("{name}, for comparison"),
            unit: unit.to_owned(),
            value: spot.at,
            low: (low >= lowest).then_some(low),
            high: (high <= highest).then_some(high),
            how: match (spot.event, fitted.fit.curve.shape) {
                (Event::Join, Shape::LinePlateau) => TOO_NARROW,
                _ => LINEARISED,
            },
        });
    }
}

/// "kg/vine per (nodes/vine)²".
fn squared(per: &str) -> String {
    match per.split_once("per ") {
        Some((before, unit)) => format!("{before}per ({unit})²"),
        None => per.to_owned(),
    }
}
