//! What must hold of any curve, and what is refused.

use caneplot_numerics::curves::compare::compare;
use caneplot_numerics::curves::plateau::{lack_of_fit_at, minima, places};
use caneplot_numerics::curves::{Curve, Fit, FitError, Levels, LevelsError, Shape};
use caneplot_numerics::distribution::t_critical;
use caneplot_numerics::fieller::FiellerSet;

use crate::set::{Set, allowance, plateau_data, removed, right};

#[test]
fn the_unit_of_the_amount_changes_nothing_but_the_unit() {
    let plain = plateau_data(&removed());
    let mut other = plateau_data(&removed());
    // Thousands of buds a hectare less a start, at 1736 vines a hectare, say.
    let moved = |x: f64| 1.736 * x - 40.0;
    for amount in &mut other.amounts {
        *amount = moved(*amount);
    }
    let (plain, other) = (plain.levels(true), other.levels(true));
    for shape in Shape::ALL {
        let (a, b) = (plain.fit(shape).unwrap(), other.fit(shape).unwrap());
        right("lack of fit", b.lack_of_fit, a.lack_of_fit, 11.0);
        for x in [10.0, 33.3, 90.0] {
            let (at, there) = (plain.height(&a, x), other.height(&b, moved(x)));
            right("height", there.value, at.value, 10.0);
            right("its variance", there.unit_variance, at.unit_variance, 10.0);
        }
        if shape.has_join() {
            right("join", b.curve.second, moved(a.curve.second), 11.0);
            let ends = |levels: &Levels, fit: &Fit| {
                places(levels, shape, allowance(levels, fit))
                    .unwrap()
                    .bounded()
                    .unwrap()
            };
            let (first, second) = (ends(&plain, &a), ends(&other, &b));
            right("low", second.0, moved(first.0), 11.0);
            right("high", second.1, moved(first.1), 11.0);
        }
    }
    let turn = |levels: &Levels| {
        let fit = levels.fit(Shape::Quadratic).unwrap();
        levels.turn(&fit, 0.0, &levels.error, 0.05).unwrap()
    };
    let (FiellerSet::Bounded { low: a, .. }, FiellerSet::Bounded { low: b, .. }) =
        (turn(&plain).set, turn(&other).set)
    else {
        panic!("both are bounded");
    };
    right("Fieller", b, moved(a), 11.0);
}

#[test]
fn an_exact_curve_is_found_again() {
    let amounts = [12.0, 18.0, 24.0, 30.0, 42.0, 60.0];
    for curve in [
        Curve {
            shape: Shape::Line,
            first: 0.03,
            second: 0.0,
            origin: 0.0,
        },
        Curve {
            shape: Shape::LinePlateau,
            first: 0.11,
            second: 27.5,
            origin: 0.0,
        },
        Curve {
            shape: Shape::LinePlateau,
            first: -0.11,
            second: 50.5,
            origin: 0.0,
        },
        Curve {
            shape: Shape::QuadraticPlateau,
            first: -0.002,
            second: 36.25,
            origin: 0.0,
        },
        Curve {
            shape: Shape::Asymptotic,
            first: 3.0,
            second: 0.07,
            origin: 12.0,
        },
    ] {
        let mut set = Set {
            values: Vec::new(),
            amounts: Vec::new(),
            blocks: Vec::new(),
        };
        for block in 0..3 {
            for x in amounts {
                // Blocks differ, and two plots a block make an error that averages out.
                for chance in [-0.05, 0.05] {
                    set.values.push(curve.at(x) + block as f64 + chance);
                    set.amounts.push(x);
                    set.blocks.push(block);
                }
            }
        }
        let levels = set.levels(true);
        let fit = levels.fit(curve.shape).unwrap();
        assert!(
            fit.lack_of_fit < 1e-24,
            "{curve:?} leaves {}",
            fit.lack_of_fit
        );
        right("first", fit.curve.first, curve.first, 9.0);
        if curve.shape.parameters() == 2 {
            right("second", fit.curve.second, curve.second, 9.0);
        }
        let found = compare(&levels, &Shape::ALL);
        assert_eq!(found.chosen().unwrap().0.shape, curve.shape);
    }
}

#[test]
fn a_straight_rise_has_no_join_and_says_so() {
    let mut set = Set {
        values: Vec::new(),
        amounts: Vec::new(),
        blocks: Vec::new(),
    };
    for (block, chance) in [(0, 0.1), (1, -0.2), (2, 0.15)] {
        for (at, x) in [10.0, 20.0, 30.0, 40.0, 50.0].into_iter().enumerate() {
            let wave = if at % 2 == 0 { chance } else { -chance };
            set.values.push(0.1 * x + wave);
            set.amounts.push(x);
            set.blocks.push(block);
        }
    }
    let levels = set.levels(true);
    let line = levels.fit(Shape::Line).unwrap();
    let t = t_critical(0.05, levels.error.df as f64).unwrap();
    let allowed = t * t * levels.error.mean_square.unwrap();
    let set = places(&levels, Shape::LinePlateau, allowed).unwrap();
    assert!(set.open_above && set.high().is_none());
    assert_eq!(
        compare(&levels, &Shape::ALL).chosen().unwrap().0.shape,
        Shape::Line
    );
    right("slope", levels.first_parameter(&line).value, 0.1, 1.0);
}

#[test]
fn two_local_minima_are_both_seen_and_the_deeper_one_taken() {
    // A rise, a step down the flat, a second rise: the join may lie after either.
    let heights = [0.0, 2.0, 2.1, 1.9, 2.0, 3.2, 3.1, 3.3];
    let mut set = Set {
        values: Vec::new(),
        amounts: Vec::new(),
        blocks: Vec::new(),
    };
    for block in 0..2 {
        for (at, height) in heights.iter().enumerate() {
            set.values
                .push(height + 0.1 * f64::from(u8::from(at % 2 == block)));
            set.amounts.push(10.0 * (at + 1) as f64);
            set.blocks.push(block);
        }
    }
    let levels = set.levels(true);
    let found = minima(&levels, Shape::LinePlateau).unwrap();
    assert!(found.len() >= 2, "{found:?}");
    let least = found
        .iter()
        .map(|minimum| minimum.lack_of_fit)
        .fold(f64::INFINITY, f64::min);
    let fit = levels.fit(Shape::LinePlateau).unwrap();
    right("deepest", fit.lack_of_fit, least, 12.0);
    // No place on a fine grid is better.
    for step in 0..=6000 {
        let join = 20.0 + 0.01 * f64::from(step);
        let at = lack_of_fit_at(&levels, Shape::LinePlateau, join);
        assert!(at >= fit.lack_of_fit - 1e-12, "better at {join}");
    }
}

#[test]
fn what_cannot_be_fitted_is_refused_with_a_reason() {
    let few = |amounts: &[f64]| Set {
        values: amounts
            .iter()
            .enumerate()
            .map(|(at, x)| x + at as f64 * 0.3)
            .collect(),
        amounts: amounts.to_vec(),
        blocks: (0..amounts.len()).map(|at| at % 2).collect(),
    };
    assert_eq!(
        few(&[1.0, 1.0, 2.0, 2.0]).try_levels(false).unwrap_err(),
        LevelsError::TooFewLevels(2)
    );
    let mut same = few(&[1.0, 2.0, 3.0, 1.0, 2.0, 3.0]);
    same.values = vec![3.2; 6];
    assert_eq!(same.try_levels(true).unwrap_err(), LevelsError::Constant);
    // Amounts 1 and 2 in one block only, 3 and 4 in the other.
    let mut apart = few(&[1.0, 2.0, 3.0, 4.0, 1.0, 2.0, 3.0, 4.0]);
    apart.blocks = vec![0, 0, 1, 1, 0, 0, 1, 1];
    assert_eq!(
        apart.try_levels(true).unwrap_err(),
        LevelsError::Disconnected {
            apart: vec![1.0, 2.0]
        }
    );
    let three = few(&[1.0, 2.0, 3.0, 1.0, 2.0, 3.0]).levels(false);
    assert_eq!(
        three.fit(Shape::LinePlateau).unwrap_err(),
        FitError::TooFewLevels { needed: 4 }
    );
    let single = few(&[1.0, 2.0, 3.0, 4.0]).levels(false);
    assert_eq!(single.error.df, 0);
    assert!(single.error.mean_square.is_none());
}
