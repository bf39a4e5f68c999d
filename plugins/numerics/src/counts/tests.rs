use super::laplace::{self, parameters};
use super::mode::Places;
use super::penalty::penalty;
use super::quadrature::{self, Rule};
use super::*;

/// Two crossed terms, a covariate and uneven totals, so that every path of the derivatives is used.
fn crossed(family: Family) -> Counts {
    let rows = 18;
    let counts: Vec<f64> = (0..rows).map(|i| f64::from((i * 7 + i * i) % 11)).collect();
    let totals: Vec<f64> = (0..rows).map(|i| f64::from(11 + i % 4)).collect();
    let slope: Vec<f64> = (0..rows).map(|i| f64::from(i % 5) - 1.7).collect();
    let fixed = [vec![1.0; 18], slope];
    let blocks: Vec<usize> = (0..18).map(|i| i / 6).collect();
    let strips: Vec<usize> = (0..18).map(|i| (i * 5) % 4).collect();
    let model = Counts::new(family, &counts, &totals, &fixed).unwrap();
    let model = model.offset(&[0.1; 18]).unwrap();
    model
        .random("block", &blocks)
        .unwrap()
        .random("strip", &strips)
        .unwrap()
}

fn points(family: Family) -> Vec<Vec<f64>> {
    let shape: &[f64] = if family == Family::NegativeBinomial {
        &[0.9]
    } else {
        &[]
    };
    let of = |rest: &[f64]| [shape, rest].concat();
    vec![
        of(&[0.7, 0.4, 0.2, 0.3]),
        of(&[0.0, 1.3, -0.5, -0.2]),
        of(&[0.2, 0.0, 1.0, 0.1]),
    ]
}

/// The exact derivatives against differences of fourth order of the value and of the gradient,
/// which are good to nine digits.
fn check(what: &str, phi: &[f64], at: &dyn Fn(&[f64]) -> laplace::Evaluation) {
    let here = at(phi);
    for a in 0..phi.len() {
        let step = 4e-4;
        let moved = |by: f64| {
            let mut phi = phi.to_vec();
            phi[a] += by * step;
            at(&phi)
        };
        let around = [-2.0, -1.0, 1.0, 2.0].map(moved);
        let slope = |of: &dyn Fn(&laplace::Evaluation) -> f64| {
            let [far_low, low, high, far_high] = around.each_ref().map(of);
            (8.0 * (high - low) - (far_high - far_low)) / (12.0 * step)
        };
        let found = slope(&|e| e.value);
        assert!(
            (found - here.gradient[a]).abs() < 2e-9 * (1.0 + found.abs()),
            "{what} {phi:?} slope {a}: {found} {}",
            here.gradient[a]
        );
        for b in 0..phi.len() {
            let found = slope(&|e| e.gradient[b]);
            assert!(
                (found - here.hessian[(a, b)]).abs() < 2e-9 * (1.0 + found.abs()),
                "{what} {phi:?} bend {a} {b}: {found} {}",
                here.hessian[(a, b)]
            );
        }
    }
}

const FAMILIES: [Family; 3] = [Family::Binomial, Family::Poisson, Family::NegativeBinomial];

#[test]
fn laplace_derivatives_are_exact() {
    for family in FAMILIES {
        let model = crossed(family);
        let places = Places::of(&model);
        for phi in points(family) {
            check("Laplace", &phi, &|phi| {
                laplace::evaluate(&model, &places, phi).unwrap()
            });
        }
    }
}

#[test]
fn laplace_derivatives_are_exact_with_an_effect_for_each_count() {
    for family in FAMILIES {
        let model = crossed(family);
        let each: Vec<usize> = (0..18).map(|row| (row * 5 + 2) % 18).collect();
        let model = model.random("count", &each).unwrap();
        let places = Places::of(&model);
        for mut phi in points(family) {
            phi.insert(phi.len() - 2, 0.6);
            check("Laplace", &phi, &|phi| {
                laplace::evaluate(&model, &places, phi).unwrap()
            });
        }
    }
}

#[test]
fn quadrature_derivatives_are_exact() {
    for family in FAMILIES {
        let mut model = crossed(family);
        model.random.pop();
        let places = Places::of(&model);
        let rule = Rule::new(25);
        for mut phi in points(family) {
            phi.remove(phi.len() - 3);
            check("quadrature", &phi, &|phi| {
                quadrature::evaluate(&model, &places, &rule, phi, true).unwrap()
            });
        }
    }
}

#[test]
fn penalty_derivatives_are_exact() {
    for family in [Family::Binomial, Family::Poisson] {
        let model = crossed(family);
        check("penalty", &[0.3, -0.4], &|beta| {
            let found = penalty(&model, beta).unwrap();
            laplace::Evaluation {
                value: found.value,
                gradient: found.gradient,
                hessian: found.hessian,
            }
        });
    }
}

#[test]
fn the_value_alone_is_the_value_with_derivatives() {
    for family in FAMILIES {
        let model = crossed(family);
        let places = Places::of(&model);
        assert_eq!(parameters(&model).len(), points(family)[0].len());
        for phi in points(family) {
            let with = laplace::evaluate(&model, &places, &phi).unwrap().value;
            assert_eq!(laplace::value(&model, &places, &phi), Some(with));
        }
    }
}

fn refused(counts: &[f64], totals: &[f64], fixed: &[Vec<f64>]) -> CountError {
    Counts::new(Family::Binomial, counts, totals, fixed).unwrap_err()
}

#[test]
fn impossible_counts_are_refused_with_their_place() {
    let one = [vec![1.0; 3]];
    let (counts, totals) = ([1.0, 2.0, 3.0], [4.0; 3]);
    assert_eq!(
        refused(&[1.0, 2.5, 3.0], &totals, &one),
        CountError::NotACount { row: 1, value: 2.5 }
    );
    assert_eq!(
        refused(&counts, &[4.0, 1.0, 4.0], &one),
        CountError::Total {
            row: 1,
            count: 2.0,
            total: 1.0
        }
    );
    assert_eq!(
        refused(&[1.0, 2.0, 0.0], &[4.0, 4.0, 0.0], &one),
        CountError::Total {
            row: 2,
            count: 0.0,
            total: 0.0
        }
    );
    assert_eq!(refused(&[0.0; 3], &totals, &one), CountError::AllZero);
    assert_eq!(refused(&totals, &totals, &one), CountError::AllFull);
    assert!(matches!(
        refused(&counts, &totals[..2], &one),
        CountError::Length { .. }
    ));
    assert_eq!(
        refused(&counts, &totals, &[vec![1.0; 3], vec![2.0; 3]]),
        CountError::Dependent(1)
    );
    assert!(matches!(
        refused(&counts[..1], &totals[..1], &[vec![1.0], vec![0.0]]),
        CountError::TooFew { .. }
    ));
    assert_eq!(
        refused(&counts, &totals, &[vec![f64::NAN; 3]]),
        CountError::NotFinite("column 0 of the design".to_owned())
    );
    let model = Counts::new(Family::NegativeBinomial, &counts, &[], &one).unwrap();
    assert_eq!(model.penalised(), Err(CountError::PenaltyFamily));
}

#[test]
fn quadrature_needs_one_random_term() {
    let model = crossed(Family::Poisson);
    assert_eq!(
        fit(&model, Integration::Quadrature(25)),
        Err(CountError::Quadrature)
    );
}
