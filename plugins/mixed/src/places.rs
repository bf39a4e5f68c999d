//! Where plots lie in the field, as covariates: vineyard row and position, and their squares.
//!
//! They are constants of the plot that no treatment can have changed. Where blocks or treatments take
//! one up it is left out like a declared covariate that can tell nothing.

use caneplot_numerics::sum::mean;
use caneplot_plugin::{Call, Refusal, Table};

use crate::covariates::Covariate;
use crate::options::FieldTrend;

/// The columns of the table of plots with their labels.
const COLUMNS: [(&str, &str, &str); 2] = [
    ("field_row", "Vineyard row", "Square of vineyard row"),
    (
        "field_position",
        "Position in the row",
        "Square of position in the row",
    ),
];

/// The covariates that a trend over the field asks for.
pub(crate) fn covariates(call: &Call, trend: FieldTrend) -> Result<Vec<Covariate>, Refusal> {
    if trend == FieldTrend::None {
        return Ok(Vec::new());
    }
    if call.request.trial.field.is_none() {
        return Err(Refusal::new(
            "the option 'field_trend' asks for the places of plots, and the trial does not say where they lie",
        )
        .hint("name the columns of row and position under [field] in trial.toml, or write field_trend = \"none\""));
    }
    let plots = call.table("plots")?;
    let mut all = Vec::new();
    for (name, label, _) in COLUMNS {
        all.push(covariate(name, label, plots.numbers(name)?.to_vec()));
    }
    if trend == FieldTrend::Quadratic {
        for (name, _, label) in COLUMNS {
            all.push(covariate(name, label, squares(plots, name)?));
        }
    }
    Ok(all)
}

fn covariate(name: &str, label: &str, by_row: Vec<Option<f64>>) -> Covariate {
    Covariate {
        name: name.to_owned(),
        label: label.to_owned(),
        unit: String::new(),
        by_row,
        offset: 0.0,
        decimals: 1,
        when: "a constant of each plot".to_owned(),
        mediator: false,
        declared: true,
        place: true,
    }
}

/// Squares about the mean, so that they say what a straight line does not.
fn squares(plots: &Table, name: &str) -> Result<Vec<Option<f64>>, Refusal> {
    let column = plots.numbers(name)?;
    let known: Vec<f64> = column.iter().flatten().copied().collect();
    let middle = mean(&known).unwrap_or_default();
    let square = |value: &Option<f64>| value.map(|value| (value - middle).powi(2));
    Ok(column.iter().map(square).collect())
}
