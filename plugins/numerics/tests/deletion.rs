//! An analysis without a plot against least squares fits of the set that really lacks it.

#![allow(
    clippy::unwrap_used,
    reason = "helpers of tests fit models that have a solution"
)]

use caneplot_numerics::distribution::f_upper;
use caneplot_numerics::strata::{BlockTerm, Classifier, Layout};
use nalgebra::{DMatrix, DVector};

const BLOCKS: usize = 5;
const TREATMENTS: usize = 4;

fn classifier(name: &str, codes: Vec<usize>) -> Classifier {
    let count = codes.iter().max().unwrap() + 1;
    Classifier {
        name: name.to_owned(),
        levels: (0..count).map(|level| format!("{level:02}")).collect(),
        codes,
    }
}

/// A randomised block with invented values, one far off.
fn trial() -> (Layout, Vec<f64>, Vec<usize>, Vec<usize>) {
    let units = BLOCKS * TREATMENTS;
    let block: Vec<usize> = (0..units).map(|unit| unit / TREATMENTS).collect();
    let treatment: Vec<usize> = (0..units).map(|unit| (unit * 3 + unit / 4) % 4).collect();
    let values = (0..units)
        .map(|unit| {
            let noise = ((unit * 37 + 11) % 23) as f64 / 10.0;
            let far = if unit == 6 { 6.0 } else { 0.0 };
            0.4 * block[unit] as f64 + 0.7 * treatment[unit] as f64 + noise + far
        })
        .collect();
    let term = |name: &str, at: usize, grouping: bool| BlockTerm {
        name: name.to_owned(),
        classifiers: vec![at],
        grouping,
    };
    let layout = Layout::new(
        vec![
            classifier("block", block.clone()),
            classifier("treatment", treatment.clone()),
            classifier("plot", (0..units).collect()),
        ],
        &[
            term("Between blocks", 0, true),
            term("Between plots", 2, false),
        ],
        &[vec![1]],
    )
    .unwrap();
    (layout, values, block, treatment)
}

/// Error sum of squares and fitted values of block and, where asked for, treatment effects; `own` gives
/// a plot a parameter, which leaves it out.
fn fit(
    values: &[f64],
    block: &[usize],
    treatment: Option<&[usize]>,
    own: Option<usize>,
) -> (f64, DVector<f64>) {
    let units = values.len();
    let more = treatment.map_or(0, |_| TREATMENTS - 1);
    let width = BLOCKS + more + usize::from(own.is_some());
    let x = DMatrix::from_fn(units, width, |unit, column| {
        let yes = match column {
            c if c < BLOCKS => block[unit] == c,
            c if c < BLOCKS + more => treatment.unwrap()[unit] == c - BLOCKS + 1,
            _ => own == Some(unit),
        };
        f64::from(u8::from(yes))
    });
    let y = DVector::from_column_slice(values);
    let beta = (x.transpose() * &x)
        .cholesky()
        .unwrap()
        .solve(&(x.transpose() * &y));
    let fitted = x * beta;
    ((&y - &fitted).norm_squared(), fitted)
}

#[test]
fn every_plot_left_out_gives_the_fit_of_the_rest() {
    let (layout, values, block, treatment) = trial();
    let variance = layout.analyse(&values);
    let (whole_error, whole) = fit(&values, &block, Some(&treatment), None);
    assert!((variance.errors[1].sum_of_squares / whole_error - 1.0).abs() < 1e-12);
    let df = variance.errors[1].df as f64;
    let parameters = (BLOCKS + TREATMENTS - 1) as f64;
    for plot in 0..values.len() {
        let found = layout.without(&variance, 1, plot).unwrap();
        let (error, _) = fit(&values, &block, Some(&treatment), Some(plot));
        let (reduced, _) = fit(&values, &block, None, Some(plot));
        let f = (reduced - error) / 3.0 / (error / (df - 1.0));
        let (term, test) = found.tests[0];
        assert_eq!(term, 0);
        assert!((test.f.unwrap() / f - 1.0).abs() < 1e-10, "plot {plot}");
        let p = f_upper(f, 3.0, df - 1.0).unwrap();
        assert!((test.p.unwrap() / p - 1.0).abs() < 1e-9, "plot {plot}");
        // The plot's own parameter is its excess; its F on one degree of freedom is t squared.
        let t = ((whole_error - error) / (error / (df - 1.0))).sqrt();
        assert!((found.t.abs() - t).abs() < 1e-10, "plot {plot}");
        // Without the plot its own value is foretold, and the fit moves by Cook's distance.
        let mut foretold = values.clone();
        foretold[plot] -= found.excess;
        let (same, moved) = fit(&foretold, &block, Some(&treatment), None);
        assert!((same / error - 1.0).abs() < 1e-10, "plot {plot}");
        let distance = (&whole - &moved).norm_squared() / parameters / (whole_error / df);
        assert!(
            (found.distance / distance - 1.0).abs() < 1e-9,
            "plot {plot}"
        );
    }
    let far = layout.without(&variance, 1, 6).unwrap();
    assert!(far.p < 1e-3 && far.excess > 4.0, "{far:?}");
}

#[test]
fn too_little_error_has_no_analysis_without_a_plot() {
    let (layout, _, block, treatment) = trial();
    let flat: Vec<f64> = (0..block.len())
        .map(|u| (block[u] + treatment[u]) as f64)
        .collect();
    let variance = layout.analyse(&flat);
    assert_eq!(layout.without(&variance, 1, 0), None);
    assert_eq!(layout.without(&variance, 7, 0), None);
}
