//! Numbers with the format and unit of the response.

use caneplot_numerics::separation::Difference;
use caneplot_plugin::findings::{Column, Format, Statement};
use caneplot_plugin::words;

use crate::study::Study;

impl Study<'_> {
    /// The unit of the response as it is printed.
    pub fn unit(&self) -> &str {
        words::unit(self.response)
    }

    /// How means are written.
    pub fn of_means(&self) -> Format {
        Format::Decimals(self.decimals)
    }

    /// How standard errors are written beside them.
    pub fn of_errors(&self, errors: impl Iterator<Item = f64>) -> Format {
        words::of_errors(self.decimals, errors)
    }

    /// Puts an amount of the response in a sentence.
    pub fn put(&self, statement: Statement, name: &str, value: f64) -> Statement {
        let format = self.of_means();
        match self.unit() {
            "" => statement.with(name, value, format),
            unit => statement.with_unit(name, value, format, unit),
        }
    }

    /// Puts a difference `{d}` with its limits `{low}` and `{high}` in a sentence, turned by `sign`.
    pub fn put_difference(
        &self,
        statement: Statement,
        difference: &Difference,
        half: f64,
        sign: f64,
    ) -> Statement {
        let value = sign * difference.value;
        let format = self.of_means();
        let statement = self.put(statement, "d", value);
        let statement = statement.with("low", value - half, format);
        statement.with("high", value + half, format)
    }

    /// A column in the unit of the response.
    pub fn amounts(&self, name: &str, values: Vec<Option<f64>>, format: Format) -> Column {
        with_unit(Column::number(name, values, format), self.unit())
    }
}

/// A column with its unit, where there is one.
pub(crate) fn with_unit(column: Column, unit: &str) -> Column {
    match unit {
        "" => column,
        unit => column.in_unit(unit),
    }
}

/// A number as text with three significant digits, for remarks in tables.
pub(crate) fn three_digits(value: f64) -> String {
    if value == 0.0 {
        return "0".to_owned();
    }
    let decimals = (2.0 - value.abs().log10().floor()).clamp(0.0, 12.0) as usize;
    format!("{value:.decimals$}")
}
