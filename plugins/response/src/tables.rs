//! The tables of the curve over all: the level means and the shapes compared.

use caneplot_numerics::curves::{Estimate, Shape};
use caneplot_numerics::variance::TermLine;
use caneplot_plugin::findings::{Column, Format, Table};

use crate::study::{Fitted, Study};
use crate::voice::shape_label;

/// Significant digits of coefficients and their ends.
pub(crate) const DIGITS: Format = Format::Significant(4);

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
    let format = study.of_means();
    let of_error = study.of_errors(errors.iter().flatten().copied());
    let confidence = study.options.confidence();
    let unit = study.y();
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

pub(crate) fn capital(noun: &str) -> String {
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
