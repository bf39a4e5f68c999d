//! What more seasons buy: the difference in the seasons recorded, and the one that lasts.

use caneplot_numerics::power::{Lasting, Simulated};
use caneplot_plugin::Refusal;

use crate::options::Options;
use crate::planned::Frame;
use crate::reckon::{detectable, of_terms, refused};

/// A trial of so many seasons.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Seasons {
    pub seasons: usize,
    /// Standard error of a difference between two levels, in the seasons recorded.
    pub error: f64,
    /// Power for the difference that matters, in the seasons recorded.
    pub power: f64,
    /// The difference detected with the wanted power, in the seasons recorded.
    pub detectable: f64,
    /// Standard error of the difference that lasts.
    pub lasting_error: f64,
    /// Power for a difference that lasts, where treatments change from season to season and there
    /// are several.
    pub lasting: Option<Simulated>,
}

/// Trials of one season to some more than planned, for the main effect of a factor.
pub(crate) fn seasons(
    frame: &Frame,
    options: &Options,
    factor: usize,
    blocks: usize,
    planned_seasons: usize,
    seed: u64,
) -> Result<Vec<Seasons>, Refusal> {
    // Where nobody said what is new in a plot every year, other numbers of seasons have no answer.
    let listed = match options.parts.passing(options.vines as f64) > 0.0 {
        true => 1..=(planned_seasons + 2).max(4),
        false => planned_seasons..=planned_seasons,
    };
    let mut found = Vec::new();
    for seasons in listed {
        let planned = frame.planned(blocks, seasons)?;
        let vines = options.vines as f64;
        let tests = of_terms(&planned, &options.parts, vines, options)?;
        let Some(term) = planned.main().find(|term| term.factors == [factor]) else {
            continue;
        };
        let layout = &planned.design.layout;
        let test = tests[term.at];
        let each = (layout.units() / frame.factors[factor].levels) as f64;
        // λ = each·d²/(2ξ) for two levels d apart.
        let expected = each * options.difference.powi(2) / (2.0 * test.noncentrality);
        let variance = 2.0 * expected / each;
        let by_season = options.parts.treatments_by_season;
        let mut lasting = None;
        if let (true, Some(within)) = (by_season > 0.0, planned.design.within_plots) {
            let stratum = &layout.strata()[within];
            let crossed = planned
                .terms
                .iter()
                .find(|one| one.by_season && one.factors == [factor]);
            if let Some(crossed) = crossed {
                let drawn = Lasting {
                    effects: test.noncentrality * expected,
                    plots: expected,
                    within: options.parts.passing(vines),
                    by_season: by_season * each / seasons as f64,
                    dfs: [
                        test.df,
                        test.error_df,
                        layout.terms()[crossed.at].df,
                        stratum.residual_df,
                    ],
                };
                let drawn = drawn.simulated(options.level, seed, options.draws);
                lasting = Some(drawn.map_err(refused)?);
            }
        }
        found.push(Seasons {
            seasons,
            error: variance.sqrt(),
            power: test.power,
            detectable: detectable(&test, options.wanted, options)?,
            lasting_error: (variance + 2.0 * by_season / seasons as f64).sqrt(),
            lasting,
        });
    }
    Ok(found)
}
