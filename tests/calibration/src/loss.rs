//! Plots that are lost without regard to their treatment or value.

use caneplot_numerics::design::Kind;
use caneplot_numerics::random::Stream;

use crate::plan::{Plan, Units};

/// What a trial loses.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Loss {
    /// Nothing.
    Nothing,
    /// Two values anywhere.
    TwoPlots,
    /// A row of vines: in blocks three neighbouring plots, in a split plot a whole plot, with seasons two
    /// plots of a block from the third season on.
    DeadRow,
}

impl Loss {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Nothing, Self::TwoPlots, Self::DeadRow];

    /// In words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Nothing => "complete",
            Self::TwoPlots => "two plots lost",
            Self::DeadRow => "a dead row",
        }
    }

    /// Which units are left.
    pub fn left(self, plan: &Plan, units: &Units, stream: &mut Stream) -> Vec<bool> {
        let count = units.block.len();
        let mut left = vec![true; count];
        match self {
            Self::Nothing => {}
            Self::TwoPlots => {
                let first = stream.below(count as u32) as usize;
                let second = stream.below(count as u32 - 1) as usize;
                left[first] = false;
                left[second + usize::from(second >= first)] = false;
            }
            Self::DeadRow => {
                let block = stream.below(plan.blocks as u32) as usize;
                let (from, to, season) = match (plan.kind, plan.seasons) {
                    (Kind::SplitPlot, _) => {
                        let whole = stream.below(plan.levels[0] as u32) as usize;
                        let size = plan.levels[1];
                        let first = (block * plan.levels[0] + whole) * size;
                        (first, first + size, 0)
                    }
                    (_, 1) => {
                        // Treatments stand in the order of their names, which under the null hypothesis
                        // is as good as any.
                        let place = stream.below(plan.levels[0] as u32 - 2) as usize;
                        let first = block * plan.levels[0] + place;
                        (first, first + 3, 0)
                    }
                    _ => {
                        let place = stream.below(plan.levels[0] as u32 - 1) as usize;
                        let first = block * plan.levels[0] + place;
                        (first, first + 2, 2)
                    }
                };
                for (unit, left) in left.iter_mut().enumerate() {
                    let here = (from..to).contains(&units.plot[unit]);
                    *left = !(here && units.season[unit] >= season);
                }
            }
        }
        left
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use caneplot_numerics::random::Streams;

    #[test]
    fn each_loss_takes_as_many_values_as_it_says() {
        let streams = Streams::new(1, "losses");
        let plans = [
            (Plan::blocks(), 3),
            (Plan::split(), 4),
            (Plan::seasons(), 4),
        ];
        for (plan, dead) in plans {
            let units = plan.units();
            for number in 0..50 {
                let lost = |loss: Loss| {
                    let left = loss.left(&plan, &units, &mut streams.replicate(number));
                    left.iter().filter(|left| !**left).count()
                };
                assert_eq!(lost(Loss::Nothing), 0);
                assert_eq!(lost(Loss::TwoPlots), 2);
                assert_eq!(lost(Loss::DeadRow), dead);
            }
        }
    }
}
