//! The trend along a quantity on the scale of the model.

use caneplot_numerics::counts::CountError;
use caneplot_numerics::distribution::t_two_sided;
use caneplot_numerics::polynomial;

use crate::levels::Source;
use crate::terms::level_weights;

/// The straight line through the means of a numeric factor, on the scale of the model.
#[derive(Debug, Clone, PartialEq)]
pub struct Trend {
    /// The dimension.
    pub dimension: usize,
    /// Units of the factor that `ratio` is for.
    pub step: f64,
    /// Factor on the odds or the rate for one step.
    pub ratio: f64,
    /// Lower end of its interval.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// P of the slope.
    pub probability: f64,
    /// P of the departure from a straight line, for three levels and more.
    pub curvature: Option<f64>,
}

impl Source<'_> {
    /// The trend along a factor; `None` for one that is no quantity.
    ///
    /// # Errors
    /// Where the engine refuses a comparison.
    pub fn trend(&self, dimension: usize) -> Result<Option<Trend>, CountError> {
        let Some(values) = &self.frame.dimensions[dimension].values else {
            return Ok(None);
        };
        let middle = values.iter().sum::<f64>() / values.len() as f64;
        let squares: f64 = values.iter().map(|value| (value - middle).powi(2)).sum();
        let mut sorted = values.clone();
        sorted.sort_by(f64::total_cmp);
        let step = sorted
            .windows(2)
            .map(|pair| pair[1] - pair[0])
            .fold(f64::INFINITY, f64::min);
        if !(squares > 0.0 && step > 0.0) {
            return Ok(None);
        }
        let slope: Vec<f64> = values
            .iter()
            .map(|value| step * (value - middle) / squares)
            .collect();
        let df = self.df(&[dimension]);
        let found = self.estimate(&level_weights(self.frame, dimension, &slope), &[dimension])?;
        let wrong = |_| CountError::Contrast;
        let reach = self.critical(df, 1.0)? * found.standard_error;
        Ok(Some(Trend {
            dimension,
            step,
            ratio: found.value.exp(),
            low: (found.value - reach).exp(),
            high: (found.value + reach).exp(),
            probability: t_two_sided(found.value / found.standard_error, df).map_err(wrong)?,
            curvature: self.curvature(dimension, values, df)?,
        }))
    }

    fn curvature(
        &self,
        dimension: usize,
        values: &[f64],
        df: f64,
    ) -> Result<Option<f64>, CountError> {
        if values.len() < 3 {
            return Ok(None);
        }
        let weights = vec![1.0; values.len()];
        let contrasts = polynomial::contrasts(values, &weights, values.len() - 1)
            .map_err(|_| CountError::Contrast)?;
        let bent: Vec<Vec<f64>> = contrasts
            .iter()
            .filter(|contrast| contrast.degree > 1)
            .map(|contrast| level_weights(self.frame, dimension, &contrast.values))
            .collect();
        Ok(Some(
            self.model
                .fit
                .test(&bent, df, self.widening(&[dimension]))?
                .probability,
        ))
    }
}
