//! How the test of a main effect gains by more blocks.
//!
//! In every design here the noncentrality is proportional to the number of blocks, and the degrees of
//! freedom of error grow by the same number with each: two small layouts tell all.

use caneplot_numerics::distribution::f_quantile;
use caneplot_numerics::noncentral::noncentral_f_upper;
use caneplot_numerics::power::TermPower;
use caneplot_plugin::Refusal;

use crate::options::Options;
use crate::planned::Frame;
use crate::reckon::{of_terms, refused};

/// More blocks than this are no trial that anybody plants.
pub(crate) const MOST_BLOCKS: usize = 60;

/// The test of the main effect of a factor with any number of blocks.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Growth {
    two: TermPower,
    more_df: usize,
}

impl Growth {
    /// With so many vines a plot and seasons.
    pub fn of(
        frame: &Frame,
        options: &Options,
        factor: usize,
        vines: usize,
        seasons: usize,
    ) -> Result<Self, Refusal> {
        let test = |blocks: usize| {
            let planned = frame.planned(blocks, seasons)?;
            let tests = of_terms(&planned, &options.parts, vines as f64, options)?;
            let mut main = planned.main().filter(|term| term.factors == [factor]);
            main.next()
                .map(|term| tests[term.at])
                .ok_or_else(|| Refusal::new("a factor of the plan has no test"))
        };
        let (two, three) = (test(2)?, test(3)?);
        Ok(Self {
            two,
            more_df: three.error_df - two.error_df,
        })
    }

    /// Power with so many blocks, 2 or more, for a difference so many times the one that matters.
    pub fn power(&self, blocks: usize, times: f64, options: &Options) -> Result<f64, Refusal> {
        let df = self.two.df as f64;
        let error_df = (self.two.error_df + (blocks - 2) * self.more_df) as f64;
        let noncentrality = self.two.noncentrality * blocks as f64 / 2.0 * times * times;
        let power = f_quantile(options.level, df, error_df)
            .and_then(|critical| noncentral_f_upper(critical, df, error_df, noncentrality));
        power.map_err(|error| refused(error.into()))
    }

    /// The fewest blocks with this power, of at most [`MOST_BLOCKS`].
    pub fn fewest(&self, wanted: f64, options: &Options) -> Result<Option<usize>, Refusal> {
        for blocks in 2..=MOST_BLOCKS {
            if self.power(blocks, 1.0, options)? >= wanted {
                return Ok(Some(blocks));
            }
        }
        Ok(None)
    }
}
