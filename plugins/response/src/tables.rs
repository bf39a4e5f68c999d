//! The tables of a study.

use caneplot_numerics::curves::{Estimate, Shape};
use caneplot_numerics::strata::TermLine;
use caneplot_plugin::findings::{Column, Format, Table};
use caneplot_plugin::words::{of_errors, of_means};

use crate::place::{Event, Spot};
use crate::study::{Fitted, Group, Study};
use crate::voice::{shape_label, shape_words};

/// Significant digits of coefficients and their ends.
const DIGITS: Format = Format::Significant(4);

/// Means of the levels beside the curve.
pub(crate) fn means(study: &Study<'_>, fitted: &Fitted) -> Table {
    let levels = &fitted.levels;
    let offset = study.response.offset;
    let errors: Vec<Option<f64>> = levels
        .means
        .iter()
        .map(|mean| mean.standard_error(&levels.error))
        .collect();
    let heights: Vec<Estimate> = levels
        .amounts
        .iter()
        .map(|&x| levels.height(&fitted.fit, x))
        .collect();
    let at = |value: &dyn Fn(&Estimate) -> f64| -> Vec<Option<f64>> {
        heights
            .iter()
            .map(|height| Some(offset + value(height)))
            .collect()
    };
    let half = |height: &Estimate| fitted.half_width(height.unit_variance);
    let format = of_means(study.response);
    let of_error = of_errors(study.response, errors.iter().flatten().copied());
    let confidence = study.options.confidence();
    let unit = &study.response.unit;
    let with_unit = |column: Column| {
        if unit.is_empty() {
            column
        } else {
            column.in_unit(unit)
        }
    };
    let amounts = Column::number(
        &study.factor.label,
        levels.amounts.iter().copied().map(Some).collect(),
        amount_format(&levels.amounts),
    );
    Table {
        id: "means".to_owned(),
        title: format!(
            "Means of {} by {} and the curve",
            study.response_name(),
            study.factor_name()
        ),
        columns: vec![
            match study.unit() {
                "" => amounts,
                unit => amounts.in_unit(unit),
            },
            Column::count(
                &format!("{}s", capital(study.noun)),
                levels
                    .counts
                    .iter()
                    .map(|&count| Some(count as i64))
                    .collect(),
            ),
            with_unit(Column::number(
                "Mean",
                levels
                    .means
                    .iter()
                    .map(|mean| Some(offset + mean.value))
                    .collect(),
                format,
            )),
            with_unit(Column::number("Standard error", errors, of_error)),
            with_unit(Column::number("Curve", at(&|height| height.value), format)),
            with_unit(Column::number(
                &format!("{confidence} from"),
                at(&|height| height.value - half(height)),
                format,
            )),
            with_unit(Column::number(
                &format!("{confidence} to"),
                at(&|height| height.value + half(height)),
                format,
            )),
        ],
        notes: vec![format!(
            "Means are adjusted for the design (equal weight to each block or other unit); the error has {} degrees of freedom, and its mean square is {}.",
            levels.error.df,
            significant(levels.error.mean_square.unwrap_or(0.0))
        )],
        ..Table::default()
    }
}

/// A number in a note, with four significant digits.
fn significant(value: f64) -> String {
    if value <= 0.0 {
        return "0".to_owned();
    }
    let decimals = (3.0 - value.log10().floor()).clamp(0.0, 12.0) as usize;
    format!("{value:.decimals$}")
}

/// As many decimals as the amounts have.
fn amount_format(amounts: &[f64]) -> Format {
    let decimals = (0..6_u8).find(|&decimals| {
        let scale = 10_f64.powi(i32::from(decimals));
        amounts
            .iter()
            .all(|x| (x * scale - (x * scale).round()).abs() < 1e-6)
    });
    Format::Decimals(decimals.unwrap_or(6))
}

fn capital(noun: &str) -> String {
    caneplot_plugin::words::beginning(noun)
}

/// The shapes side by side.
pub(crate) fn shapes(study: &Study<'_>, fitted: &Fitted) -> Table {
    let candidates = &fitted.comparison.candidates;
    let lack: Vec<Option<TermLine>> = candidates
        .iter()
        .map(|candidate| {
            let fit = candidate.fit.as_ref().ok()?;
            fitted.levels.lack_of_fit(fit)
        })
        .collect();
    let remark = |at: usize| -> Option<String> {
        let candidate = &candidates[at];
        if let Err(reason) = &candidate.fit {
            return Some(reason.to_string());
        }
        if fitted.comparison.chosen == Some(at) {
            return Some("chosen".to_owned());
        }
        let above = candidate
            .above_best
            .filter(|_| candidate.shape != Shape::Flat)?;
        (above <= caneplot_numerics::curves::compare::ABOUT_AS_GOOD)
            .then(|| "describes the means about as well".to_owned())
    };
    let mut remarks = Column::text("Remark", (0..candidates.len()).map(|_| ""));
    remarks.cells = caneplot_plugin::findings::Cells::Text {
        values: (0..candidates.len()).map(remark).collect(),
    };
    Table {
        id: "shapes".to_owned(),
        title: format!(
            "Shapes for {} over {}",
            study.response_name(),
            study.factor_name()
        ),
        columns: vec![
            Column::text(
                "Shape",
                candidates.iter().map(|candidate| shape_label(candidate.shape)),
            ),
            Column::count(
                "Parameters of the curve",
                candidates
                    .iter()
                    .map(|candidate| Some(candidate.shape.parameters() as i64 + 1))
                    .collect(),
            ),
            Column::number(
                "Residual sum of squares",
                candidates.iter().map(|candidate| candidate.residual).collect(),
                DIGITS,
            ),
            Column::number(
                "AICc above the smallest",
                candidates.iter().map(|candidate| candidate.above_best).collect(),
                Format::Decimals(1),
            ),
            Column::count(
                "df, lack of fit",
                lack.iter().map(|line| line.map(|line| line.df as i64)).collect(),
            ),
            Column::number(
                "F, lack of fit",
                lack.iter().map(|line| line.and_then(|line| line.f)).collect(),
                Format::Decimals(2),
            ),
            Column::probability(
                "P, lack of fit",
                lack.iter().map(|line| line.and_then(|line| line.p)).collect(),
            ),
            remarks,
        ],
        notes: vec![
            format!(
                "Every shape has the same design terms beside it ({} parameters with the error). Whether there is a change at all is for the tests of all levels, of the linear part and of the bend to say; among the shapes that change, the simplest whose AICc lies within 2 of the smallest is chosen, and among equally simple ones that with the smallest.",
                fitted.levels.other_parameters + 1
            ),
            "Lack of fit: what the level means leave of the curve, tested against the error between units treated alike.".to_owned(),
        ],
        ..Table::default()
    }
}

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
pub(crate) fn parameters(study: &Study<'_>, fitted: &Fitted) -> Table {
    let levels = &fitted.levels;
    let (fit, offset) = (&fitted.fit, study.response.offset);
    let (y, x) = (study.response.unit.as_str(), study.unit());
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
    let linear = "linearised";
    let mut lines = Vec::new();
    if let Some(coefficients) = levels.coefficients(fit) {
        let names = ["Height at 0", "Slope at 0", "Curvature (of x²)"];
        let units = [y.to_owned(), per.clone(), format!("{per} squared")];
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
            let unit = format!("{per} squared");
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
        notes: if lines
            .iter()
            .any(|line| line.low.is_none() || line.high.is_none())
        {
            vec!["An empty end lies where the levels tested cannot tell: below the second or third of them, or beyond the range.".to_owned()]
        } else {
            Vec::new()
        },
        ..Table::default()
    }
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
            how: "linearised",
        });
    }
}

/// The curves of the members of a group.
pub(crate) fn members(study: &Study<'_>, group: &Group, id: &str) -> Option<Table> {
    let fitted: Vec<(&str, &Fitted)> = group.fitted().collect();
    let (_, any) = fitted.first()?;
    let amounts = study.of_amounts(any);
    let heights = of_means(study.response);
    let spots: Vec<Option<&Spot>> = fitted.iter().map(|(_, it)| it.spot.as_ref().ok()).collect();
    let column = |value: &dyn Fn(&Fitted) -> Option<f64>| -> Vec<Option<f64>> {
        fitted.iter().map(|(_, it)| value(it)).collect()
    };
    let of_spot = |value: &dyn Fn(&Spot) -> Option<f64>| -> Vec<Option<f64>> {
        spots.iter().map(|spot| spot.and_then(value)).collect()
    };
    let in_unit = |column: Column, unit: &str| {
        if unit.is_empty() {
            column
        } else {
            column.in_unit(unit)
        }
    };
    let heading = if group.seasons { "Season" } else { &group.noun };
    let event = |spot: &Option<&Spot>| match spot.map(|spot| spot.event) {
        Some(Event::Join) if spot.is_some_and(|spot| spot.or_below) => "level from, at the latest",
        Some(Event::Join) => "level from",
        Some(Event::NearlyLevel) => "nearly level from",
        Some(Event::Highest) => "highest at",
        Some(Event::Lowest) => "lowest at",
        None => "",
    };
    let confidence = study.options.confidence();
    let (y, x) = (study.response.unit.as_str(), study.unit());
    let refused = group
        .members
        .iter()
        .filter_map(|(name, fitted)| fitted.as_ref().err().map(|why| format!("{name}: {why}.")));
    let mut notes = vec![
        "Each curve has the error of its own plots; the shape is chosen for each by itself."
            .to_owned(),
    ];
    notes.extend(refused);
    Some(Table {
        id: id.to_owned(),
        title: format!(
            "{} over {}, each {} by itself",
            study.response_first(),
            study.factor_name(),
            if group.seasons {
                "season".to_owned()
            } else {
                format!(
                    "level of {}",
                    crate::voice::undoubled(&caneplot_plugin::words::inside(&group.noun))
                )
            }
        ),
        columns: vec![
            Column::text(heading, fitted.iter().map(|(name, _)| *name)),
            Column::count(
                &format!("{}s", capital(study.noun)),
                fitted
                    .iter()
                    .map(|(_, it)| Some(it.levels.units as i64))
                    .collect(),
            ),
            Column::text(
                "Shape",
                fitted.iter().map(|(_, it)| shape_label(it.fit.curve.shape)),
            ),
            in_unit(
                Column::number(
                    "Change, lowest to highest level",
                    column(&|it| Some(it.change())),
                    heights,
                ),
                y,
            ),
            Column::text("Spot", spots.iter().map(event)),
            in_unit(
                Column::number("Place", of_spot(&|spot| Some(spot.at)), amounts),
                x,
            ),
            in_unit(
                Column::number(
                    &format!("{confidence} from"),
                    of_spot(&|spot| spot.low),
                    amounts,
                ),
                x,
            ),
            in_unit(
                Column::number(
                    &format!("{confidence} to"),
                    of_spot(&|spot| spot.high),
                    amounts,
                ),
                x,
            ),
        ],
        notes,
        ..Table::default()
    })
}

/// Tests of parallelism.
pub(crate) fn parallelism(study: &Study<'_>) -> Option<Table> {
    let mut rows: Vec<(String, Option<TermLine>, i64)> = Vec::new();
    let mut groups = Vec::new();
    for group in &study.groups {
        let test = &group.test;
        if test.whole.is_none() {
            continue;
        }
        groups.push(rows.len());
        let name = if group.seasons { "Season" } else { &group.noun };
        let label = &study.factor.label;
        rows.push((
            format!("{label} × {name}"),
            test.whole,
            test.error.df as i64,
        ));
        for (part, line) in [
            ("steepness (linear)", test.linear),
            ("bend (quadratic)", test.quadratic),
            ("the rest", test.rest),
        ] {
            if line.is_some() {
                rows.push((format!("  of it {part}"), line, test.error.df as i64));
            }
        }
    }
    if rows.is_empty() {
        return None;
    }
    let column = |value: &dyn Fn(&TermLine) -> Option<f64>| -> Vec<Option<f64>> {
        rows.iter()
            .map(|(_, line, _)| line.as_ref().and_then(value))
            .collect()
    };
    Some(Table {
        id: "parallel".to_owned(),
        title: "Do the curves run parallel?".to_owned(),
        columns: vec![
            Column::text("Source of variation", rows.iter().map(|row| row.0.clone())),
            Column::count(
                "df",
                rows.iter()
                    .map(|row| row.1.map(|line| line.df as i64))
                    .collect(),
            ),
            Column::count("df of error", rows.iter().map(|row| Some(row.2)).collect()),
            Column::number(
                "Sum of squares",
                column(&|line| Some(line.sum_of_squares)),
                DIGITS,
            ),
            Column::number("F", column(&|line| line.f), Format::Decimals(2)),
            Column::probability("P", column(&|line| line.p)),
        ],
        notes: {
            let season = study.season_group().is_some();
            let other = study.groups.iter().any(|group| !group.seasons);
            [
                (season, "Seasons are compared within plots."),
                (
                    other,
                    "Levels of another factor are compared between the units that both factors were applied to.",
                ),
            ]
            .into_iter()
            .filter(|&(is, _)| is)
            .map(|(_, note)| note.to_owned())
            .collect()
        },
        groups,
        ..Table::default()
    })
}
