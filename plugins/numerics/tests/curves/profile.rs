//! Joins and rates found in closed form or by a scan, against every place of a fine grid.

use caneplot_numerics::cells::Cells;
use caneplot_numerics::curves::plateau::{PlaceSet, lack_of_fit_at, places};
use caneplot_numerics::curves::{Curve, Levels, Shape, Units, asymptotic};
use proptest::prelude::*;

/// Level means of two to four blocks with some plots missing.
fn levels(heights: &[f64], spacing: &[f64], chance: &[f64], gaps: &[bool]) -> Option<Levels> {
    let count = heights.len();
    let amounts: Vec<f64> = spacing[..count]
        .iter()
        .scan(0.0, |sum, step| {
            *sum += step;
            Some(*sum)
        })
        .collect();
    let blocks = chance.len() / count;
    let (mut values, mut x, mut block, mut level) = (vec![], vec![], vec![], vec![]);
    for own in 0..blocks {
        for at in 0..count {
            let plot = own * count + at;
            if gaps[plot % gaps.len()] {
                continue;
            }
            values.push(heights[at] + own as f64 + 0.2 * chance[plot]);
            x.push(amounts[at]);
            block.push(own);
            level.push(at);
        }
    }
    let units = values.len();
    Levels::new(Units {
        values: &values,
        amounts: &x,
        eliminated: &[Cells::crossing(units, [block.as_slice()])],
        alike: &Cells::crossing(units, [level.as_slice()]),
    })
    .ok()
}

fn holds(set: &PlaceSet, place: f64) -> bool {
    set.pieces
        .iter()
        .any(|(low, high)| (*low..=*high).contains(&place))
}

fn any_levels() -> impl Strategy<Value = Levels> {
    (5_usize..=8)
        .prop_flat_map(|count| {
            (
                proptest::collection::vec(-2.0..2.0_f64, count),
                proptest::collection::vec(1.0..20.0_f64, count),
                proptest::collection::vec(-1.0..1.0_f64, 4 * count),
                proptest::collection::vec(proptest::bool::weighted(0.12), 31),
            )
        })
        .prop_filter_map(
            "levels that can be compared",
            |(heights, spacing, chance, gaps)| {
                let found = levels(&heights, &spacing, &chance, &gaps)?;
                (found.count() >= 5).then_some(found)
            },
        )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn no_join_is_better_than_the_best_and_the_set_is_what_the_profile_says(
        levels in any_levels(),
        share in 0.01..0.5_f64,
    ) {
        for (shape, first) in [(Shape::LinePlateau, 1), (Shape::QuadraticPlateau, 2)] {
            let (low, high) = (levels.amounts[first], levels.range().1);
            let steps = 700;
            let grid = (0..=steps).map(|at| (low + (high - low) * f64::from(at) / f64::from(steps)).min(high));
            let profile: Vec<(f64, f64)> = grid
                .map(|join| (join, lack_of_fit_at(&levels, shape, join)))
                .collect();
            let lowest = profile.iter().map(|it| it.1).fold(f64::INFINITY, f64::min);
            let total = levels.sum_of_squares();
            // A join at the highest level is no join, so the best may be refused; not beaten.
            let least = match levels.fit(shape) {
                Ok(fit) => {
                    prop_assert!(fit.lack_of_fit <= lowest + 1e-11 * total);
                    fit.lack_of_fit
                }
                Err(_) => profile[profile.len() - 1].1,
            };
            prop_assert!(least <= lowest + 1e-11 * total);
            let allowance = share * (total - least);
            let set = places(&levels, shape, allowance).unwrap();
            for (join, left) in profile {
                let distance = left - least - allowance;
                if distance.abs() > 1e-9 * total {
                    prop_assert_eq!(holds(&set, join), distance < 0.0, "{:?} at {}", shape, join);
                }
            }
        }
    }

    #[test]
    fn no_rate_is_better_than_the_best_and_the_set_is_what_the_profile_says(
        levels in any_levels(),
        share in 0.01..0.5_f64,
    ) {
        let Ok(fit) = levels.fit(Shape::Asymptotic) else {
            return Ok(());
        };
        let total = levels.sum_of_squares();
        let allowance = share * (total - fit.lack_of_fit);
        let set = asymptotic::rates(&levels, allowance).unwrap();
        let (low, high) = levels.range();
        for at in 0..=500 {
            let rate = (-6.5 + 9.0 * f64::from(at) / 500.0_f64).exp() / (high - low);
            // The best rise for a rate lies where a second difference in the rise is least.
            let left = |rise: f64| {
                let curve = Curve {
                    shape: Shape::Asymptotic,
                    first: rise,
                    second: rate,
                    origin: low,
                };
                levels.about(curve)
            };
            let (zero, one, two) = (left(0.0), left(1.0), left(2.0));
            let bend = 0.5 * (two - 2.0 * one + zero);
            let slope = one - zero - bend;
            let here = left(-slope / (2.0 * bend));
            prop_assert!(fit.lack_of_fit <= here + 1e-9 * total, "better at rate {}", rate);
            let distance = here - fit.lack_of_fit - allowance;
            if distance.abs() > 1e-6 * total {
                prop_assert_eq!(holds(&set, rate), distance < 0.0, "at rate {}", rate);
            }
        }
    }
}
