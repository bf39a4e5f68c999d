//! Response curves against references in 40- and 50-digit arithmetic, and what must not change them.

mod common;

use caneplot_numerics::cells::Cells;
use caneplot_numerics::curves::compare::{aicc, compare};
use caneplot_numerics::curves::plateau::{minima, places};
use caneplot_numerics::curves::{
    Curve, Estimate, Fit, FitError, Levels, LevelsError, Shape, Units, asymptotic,
};
use caneplot_numerics::distribution::t_critical;
use caneplot_numerics::fieller::FiellerSet;
use common::{digits, json, rows};
use serde_json::Value;

/// Yields less this number are what the curves are fitted to.
const OFFSET: f64 = 5.0;

struct Set {
    values: Vec<f64>,
    amounts: Vec<f64>,
    blocks: Vec<usize>,
}

fn plateau_data(removed: &[(String, String)]) -> Set {
    let mut set = Set {
        values: Vec::new(),
        amounts: Vec::new(),
        blocks: Vec::new(),
    };
    for row in rows("curves/sim_plateau.csv") {
        let place = (row.text("block").to_owned(), row.text("buds").to_owned());
        if removed.contains(&place) {
            continue;
        }
        set.values.push(row.number("yield_kg") - OFFSET);
        set.amounts.push(row.number("buds"));
        set.blocks.push(place.0[1..].parse::<usize>().unwrap() - 1);
    }
    set
}

fn removed() -> Vec<(String, String)> {
    let words = |value: &Value| value.as_str().unwrap().to_owned();
    json("curves/gaps.json")["gaps"]["removed"]
        .as_array()
        .unwrap()
        .iter()
        .map(|pair| (words(&pair[0]), words(&pair[1])))
        .collect()
}

impl Set {
    fn levels(&self, blocks: bool) -> Levels {
        self.try_levels(blocks).unwrap()
    }

    fn try_levels(&self, blocks: bool) -> Result<Levels, LevelsError> {
        let count = self.values.len();
        let levels = codes(&self.amounts);
        let eliminated: Vec<Cells> = blocks
            .then(|| Cells::crossing(count, [self.blocks.as_slice()]))
            .into_iter()
            .collect();
        Levels::new(Units {
            values: &self.values,
            amounts: &self.amounts,
            eliminated: &eliminated,
            alike: &Cells::crossing(count, [levels.as_slice()]),
        })
    }
}

fn codes(amounts: &[f64]) -> Vec<usize> {
    let mut sorted = amounts.to_vec();
    sorted.sort_by(f64::total_cmp);
    sorted.dedup();
    amounts
        .iter()
        .map(|amount| sorted.iter().position(|level| level == amount).unwrap())
        .collect()
}

fn number(value: &Value) -> f64 {
    value.as_str().unwrap().parse().unwrap()
}

/// Asserts the number of right digits and returns it.
fn right(what: &str, got: f64, want: f64, least: f64) {
    let found = digits(got, want);
    println!("{what}: {found:.1} digits");
    assert!(found >= least, "{what}: {got} instead of {want}");
}

fn allowance(levels: &Levels, fit: &Fit) -> f64 {
    let error = levels.residual(fit);
    let t = t_critical(0.05, error.df as f64).unwrap();
    t * t * error.mean_square.unwrap()
}

fn height(estimate: Estimate) -> f64 {
    OFFSET + estimate.value
}

#[test]
fn quadratics_agree_with_the_reference_and_so_does_fiellers_interval_of_the_optimum() {
    let reference = json("curves/curves.json");
    for (blocks, name) in [(false, "quadratic_noblocks"), (true, "quadratic_blocks")] {
        let want = &reference[name];
        let levels = plateau_data(&[]).levels(blocks);
        let fit = levels.fit(Shape::Quadratic).unwrap();
        let error = levels.residual(&fit);
        assert_eq!(error.df as i64, want["df"].as_i64().unwrap());
        right(
            "sum of squares",
            error.sum_of_squares,
            number(&want["rss"]),
            13.0,
        );
        let coefficients = levels.coefficients(&fit).unwrap();
        let places = want["coef"].as_array().unwrap();
        let (slope, bend) = (&places[places.len() - 2], &places[places.len() - 1]);
        right("slope", coefficients[1].value, number(slope), 12.0);
        right("curvature", coefficients[2].value, number(bend), 12.0);
        let errors = want["se"].as_array().unwrap();
        for (at, back) in [(1, 2), (2, 1)] {
            let got = coefficients[at].standard_error(&error).unwrap();
            right(
                "standard error",
                got,
                number(&errors[errors.len() - back]),
                12.0,
            );
        }
        let turn = levels.turn(&fit, 0.0, &error, 0.05).unwrap();
        assert!(turn.highest);
        right("optimum", turn.place, number(&want["optimum"]), 12.0);
        right("g", turn.g, number(&want["fieller_g"]), 12.0);
        let FiellerSet::Bounded { low, high } = turn.set else {
            panic!("the interval is bounded");
        };
        right("low", low, number(&want["ci_fieller"][0]), 12.0);
        right("high", high, number(&want["ci_fieller"][1]), 12.0);
        right(
            "linearised",
            turn.standard_error,
            number(&want["se_delta"]),
            12.0,
        );
        right("low", turn.linearised.0, number(&want["ci_delta"][0]), 12.0);
        right(
            "height at the optimum",
            height(levels.height(&fit, turn.place)),
            number(&want["y_at_optimum"]),
            13.0,
        );
        let parameters = levels.other_parameters + 3;
        assert_eq!(
            parameters as i64,
            want["n_par_incl_sigma"].as_i64().unwrap()
        );
        right(
            "AICc",
            aicc(levels.units, error.sum_of_squares, parameters).unwrap(),
            number(&want["AICc"]),
            12.0,
        );
    }
}

#[test]
fn joins_and_their_profile_intervals_agree_with_the_reference() {
    let reference = json("curves/curves.json");
    for (shape, name) in [(Shape::LinePlateau, "lp"), (Shape::QuadraticPlateau, "qp")] {
        for (blocks, suffix) in [(false, "noblocks"), (true, "blocks")] {
            let want = &reference[&format!("{name}_{suffix}")];
            let levels = plateau_data(&[]).levels(blocks);
            let fit = levels.fit(shape).unwrap();
            let error = levels.residual(&fit);
            assert_eq!(error.df as i64, want["df"].as_i64().unwrap());
            right(
                "sum of squares",
                error.sum_of_squares,
                number(&want["rss"]),
                13.0,
            );
            right("join", fit.curve.second, number(&want["x0"]), 12.0);
            let sign = if shape == Shape::LinePlateau {
                1.0
            } else {
                -1.0
            };
            right(
                "steepness",
                sign * fit.curve.first,
                number(&want["shape"]),
                12.0,
            );
            let plateau = levels.plateau(&fit).unwrap();
            right(
                "plateau",
                height(plateau),
                number(&want["mean_plateau"]),
                13.0,
            );
            right(
                "linearised standard error of the join",
                levels
                    .second_parameter(&fit)
                    .standard_error(&error)
                    .unwrap(),
                number(&want["se_x0_wald"]),
                11.0,
            );
            let set = places(&levels, shape, allowance(&levels, &fit)).unwrap();
            let (low, high) = set.bounded().unwrap();
            assert_eq!(set.pieces.len(), 1);
            right("low", low, number(&want["ci_profile"][0]), 11.0);
            right("high", high, number(&want["ci_profile"][1]), 11.0);
            assert_eq!(
                minima(&levels, shape).unwrap().len(),
                want["local_minima"].as_array().unwrap().len()
            );
            let parameters = levels.other_parameters + 3;
            right(
                "AICc",
                aicc(levels.units, error.sum_of_squares, parameters).unwrap(),
                number(&want["AICc"]),
                12.0,
            );
        }
    }
}

#[test]
fn curves_in_a_set_with_gaps_agree_with_dense_least_squares() {
    let reference = json("curves/gaps.json");
    let levels = plateau_data(&removed()).levels(true);
    let cells = &reference["gaps"]["cells"];
    assert_eq!(levels.error.df as i64, cells["df"].as_i64().unwrap());
    right(
        "error",
        levels.error.sum_of_squares,
        number(&cells["rss"]),
        13.0,
    );
    for (mean, want) in levels.means.iter().zip(cells["means"].as_array().unwrap()) {
        right("adjusted mean", height(*mean), number(&want[1]), 13.0);
        right("its variance", mean.unit_variance, number(&want[2]), 13.0);
    }
    let quadratic = levels.fit(Shape::Quadratic).unwrap();
    let want = &reference["gaps"]["quadratic"];
    let error = levels.residual(&quadratic);
    right(
        "sum of squares",
        error.sum_of_squares,
        number(&want["rss"]),
        13.0,
    );
    right(
        "height",
        height(levels.height(&quadratic, 50.0)),
        number(&want["height_at_50"]),
        13.0,
    );
    for (shape, name) in [
        (Shape::LinePlateau, "line_plateau"),
        (Shape::QuadraticPlateau, "quadratic_plateau"),
        (Shape::Asymptotic, "asymptotic"),
    ] {
        check_profiled(&levels, shape, &reference["gaps"][name]);
    }
    let whole = plateau_data(&[]).levels(true);
    check_profiled(&whole, Shape::Asymptotic, &reference["whole"]["asymptotic"]);
}

fn check_profiled(levels: &Levels, shape: Shape, want: &Value) {
    let fit = levels.fit(shape).unwrap();
    let error = levels.residual(&fit);
    right(
        "sum of squares",
        error.sum_of_squares,
        number(&want["rss"]),
        13.0,
    );
    right(
        "second parameter",
        fit.curve.second,
        number(&want["second"]),
        11.0,
    );
    right(
        "first parameter",
        fit.curve.first,
        number(&want["first"]),
        11.0,
    );
    let at = levels.height(&fit, 50.0);
    right("height", height(at), number(&want["height_at_50"]), 12.0);
    right(
        "its variance",
        at.unit_variance,
        number(&want["unit_variance_at_50"]),
        11.0,
    );
    let allowed = number(&want["allowed"]);
    let set = match shape {
        Shape::Asymptotic => asymptotic::rates(levels, allowed),
        _ => places(levels, shape, allowed),
    };
    let (low, high) = set.unwrap().bounded().unwrap();
    right("low", low, number(&want["set"][0]), 11.0);
    right("high", high, number(&want["set"][1]), 11.0);
}

#[test]
fn lack_of_fit_is_exactly_what_higher_polynomials_take() {
    let want = json("curves/polynomials.json");
    let parts: Vec<f64> = want["contrast_SS"]
        .as_array()
        .unwrap()
        .iter()
        .map(|part| part.as_f64().unwrap())
        .collect();
    let levels = plateau_data(&[]).levels(true);
    right("levels", levels.sum_of_squares(), parts.iter().sum(), 13.0);
    right("error", levels.error.sum_of_squares, 1.114578375, 13.0);
    assert_eq!(levels.error.df, 21);
    for (trend, part) in levels.trends().iter().zip(&parts) {
        right("trend", trend.sum_of_squares, *part, 12.0);
    }
    let line = levels
        .lack_of_fit(&levels.fit(Shape::Line).unwrap())
        .unwrap();
    right(
        "lack of fit of the line",
        line.sum_of_squares,
        parts[1..].iter().sum(),
        12.0,
    );
    let quadratic = levels
        .lack_of_fit(&levels.fit(Shape::Quadratic).unwrap())
        .unwrap();
    let want = &want["lack_of_fit_after_quadratic"];
    right(
        "lack of fit",
        quadratic.sum_of_squares,
        want["SS"].as_f64().unwrap(),
        12.0,
    );
    right("F", quadratic.f.unwrap(), want["F"].as_f64().unwrap(), 12.0);
    right("P", quadratic.p.unwrap(), want["p"].as_f64().unwrap(), 11.0);
    assert_eq!(quadratic.df, 5);
}

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
        let at =
            caneplot_numerics::curves::plateau::lack_of_fit_at(&levels, Shape::LinePlateau, join);
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
