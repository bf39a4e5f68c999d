//! The plots' ratios on the log scale: tests, comparisons with the control, courses over seasons.

use caneplot_plugin::Call;
use caneplot_plugin::request::{DesignKind, Role};

use super::call::*;
use super::intervals::close;
use super::others::reference_call;
use crate::Options;
use crate::logs::Logs;
use crate::plots::Plots;

/// The analysis of variance of the reference trial's log ratios in 40-digit arithmetic.
const NUMBERS: &str = include_str!("../../../numerics/tests/reference/ratio_resampled.json");

fn logs(call: &Call) -> Logs {
    let options: Options = call.options().unwrap();
    let trial = &call.request.trial;
    let records = Plots::of(call, &trial.ratios[0]).unwrap();
    Logs::of(trial, &records, options.level)
}

#[test]
fn the_test_of_treatments_is_the_reference_analysis_of_variance() {
    let reference: serde_json::Value = serde_json::from_str(NUMBERS).unwrap();
    let logs = logs(&reference_call());
    let [test] = logs.tests.as_slice() else {
        panic!("one factor has one test");
    };
    close(Some(test.f), &reference["log_ratio"]["F"]);
    close(Some(test.p), &reference["log_ratio"]["p"]);
    assert_eq!(test.df, (3, 12));
}

#[test]
fn the_ratio_beside_the_controls_is_the_difference_of_logs() {
    let reference: serde_json::Value = serde_json::from_str(NUMBERS).unwrap();
    let wanted = &reference["log_ratio"];
    let of = |value: &serde_json::Value| value.as_str().unwrap().parse::<f64>().unwrap();
    let section = section(&reference_call());
    let shown = table(&section, "control");
    // Student's t for 12 degrees of freedom, 0.975, as in the reference of Fieller's intervals.
    let reach = 2.178_812_829_667_229 * of(&wanted["sed"]);
    for name in ["T2", "T3", "T4"] {
        let difference = of(&wanted["means"][name]) - of(&wanted["means"]["T1"]);
        for (column, log) in [
            ("Times the control's", difference),
            ("95 % from", difference - reach),
            ("95 % to", difference + reach),
        ] {
            let found = number(shown, name, column).unwrap();
            assert!((found / log.exp() - 1.0).abs() < 1e-11, "{name} {column}");
        }
    }
    let said = said(&section);
    assert!(
        said.contains("the ratio differs clearly with treatment (0.000)"),
        "{said}"
    );
    assert!(
        said.contains("Beside T1 the ratio was 1.310 times as large ("),
        "{said}"
    );
}

/// Two treatments in four blocks and three seasons, the ratio of the second multiplied by `step` from
/// season to season; invented.
fn seasons_call(step: f64, change: impl Fn(usize, &mut f64)) -> Call {
    let mut cells = Vec::new();
    let mut values = Vec::new();
    for (season, year) in ["2021", "2022", "2024"].iter().enumerate() {
        for block in 0..4_usize {
            for (number, name) in ["A", "B"].iter().enumerate() {
                let at = cells.len();
                cells.push([format!("B{block}"), (*name).to_owned(), (*year).to_owned()]);
                let noise = ((at * at * 7 + at * 3) % 11) as f64 / 200.0;
                let years = [0, 1, 3][season];
                let grown = if number == 1 { step.powi(years) } else { 1.0 };
                let below = 0.5 + block as f64 / 20.0;
                let mut above = 5.0 * grown * (1.0 + noise) * below;
                change(at, &mut above);
                values.push((above, below));
            }
        }
    }
    let texts: Vec<Vec<&str>> = cells
        .iter()
        .map(|c| c.iter().map(String::as_str).collect())
        .collect();
    let rows: Vec<Row<'_>> = texts
        .iter()
        .zip(&values)
        .map(|(c, (y, w))| Row(c, Some(*y), Some(*w)))
        .collect();
    let factors = vec![factor("pruning", Role::Treatment, &["A", "B"])];
    let names = ["block", "pruning", "season"];
    call(DesignKind::RandomisedBlock, factors, &names, &rows)
}

#[test]
fn the_course_is_a_factor_a_year_even_where_a_year_is_missing() {
    let section = section(&seasons_call(1.25, |_, _| {}));
    let shown = table(&section, "course");
    assert!(shown.file_only);
    let grown = number(shown, "B", "Times a season").unwrap();
    let still = number(shown, "A", "Times a season").unwrap();
    assert!((grown / 1.25 - 1.0).abs() < 0.02, "{grown}");
    assert!((still - 1.0).abs() < 0.02, "{still}");
    let said = said(&section);
    assert!(
        said.contains("The course of the ratio over the seasons differs clearly with pruning"),
        "{said}"
    );
    assert!(noted(&section).contains("describes these seasons"));
}

#[test]
fn courses_that_do_not_differ_have_no_sentence() {
    let section = section(&seasons_call(1.0, |_, _| {}));
    assert!(!said(&section).contains("The course of the ratio"));
}

#[test]
fn a_crop_of_nothing_is_named_and_nothing_is_compared() {
    let call = seasons_call(1.0, |at, above| {
        if at == 3 {
            *above = 0.0;
        }
    });
    let section = section(&call);
    let noted = noted(&section);
    assert!(
        noted.contains(
            "which yield is not everywhere (in 2021 plot B1-B); so the plots' ratios are not compared there"
        ),
        "{noted}"
    );
    assert!(section.tables.iter().all(|t| t.id != "course"));
    assert!(!said(&section).contains("log scale"));
    // The ratio of means itself is there all the same.
    assert!(number(table(&section, "treatments"), "B", "Ratio of means").is_some());
}

#[test]
fn a_block_that_lacks_a_plot_is_left_out_with_a_note() {
    let mut call = reference_call();
    let column = call.tables[0]
        .columns
        .iter_mut()
        .find(|(name, _)| name == "yield")
        .unwrap();
    let caneplot_plugin::Data::Numbers(values) = &mut column.1 else {
        panic!("yields are numbers");
    };
    values[5] = None;
    assert_eq!(logs(&call).without_blocks, ["B2"]);
    assert_eq!(logs(&call).tests[0].df, (3, 9));
    assert!(noted(&section(&call)).contains("leaves out block B2, where plots are missing"));
}
