//! Curves against references in 40- and 50-digit arithmetic.

use caneplot_numerics::curves::compare::aicc;
use caneplot_numerics::curves::plateau::{minima, places};
use caneplot_numerics::curves::{Levels, Shape, asymptotic};
use caneplot_numerics::fieller::FiellerSet;
use serde_json::Value;

use crate::common::json;
use crate::set::{allowance, height, number, plateau_data, removed, right};

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
