//! Ratios and intervals against references and against each other.

use caneplot_plugin::request::{DesignKind, Role};

use super::call::*;

/// The reference trial: a simulated randomised block of 5 blocks and 4 treatments, its numbers from
/// 40-digit arithmetic (numerics/tests/reference/README.md).
const DATA: &str = include_str!("../../../numerics/tests/reference/ratio.csv");
const NUMBERS: &str = include_str!("../../../numerics/tests/reference/ratio.json");

fn reference_rows() -> Vec<(Vec<&'static str>, f64, f64)> {
    DATA.lines()
        .skip(1)
        .map(|line| {
            let cells: Vec<&str> = line.split(',').collect();
            let number = |at: usize| cells[at].parse().unwrap();
            (cells[..2].to_vec(), number(2), number(3))
        })
        .collect()
}

fn close(got: Option<f64>, want: &serde_json::Value) {
    let want: f64 = want.as_str().unwrap().parse().unwrap();
    let got = got.unwrap();
    assert!((got / want - 1.0).abs() < 1e-11, "{got} is not {want}");
}

#[test]
fn the_reference_trial_gets_its_ratios_intervals_and_standard_errors() {
    let data = reference_rows();
    let rows: Vec<Row<'_>> = data
        .iter()
        .map(|(c, y, w)| Row(c, Some(*y), Some(*w)))
        .collect();
    let treatments = factor("treatment", Role::Treatment, &["T1", "T2", "T3", "T4"]);
    let call = call(
        DesignKind::RandomisedBlock,
        vec![treatments],
        &["block", "treatment"],
        &rows,
    );
    let section = section(&call);
    let table = table(&section, "treatments");
    let reference: serde_json::Value = serde_json::from_str(NUMBERS).unwrap();
    for (name, wanted) in reference["ratio_of_means"].as_object().unwrap() {
        close(number(table, name, "Ratio of means"), &wanted["ratio"]);
        close(
            number(table, name, "95 % from"),
            &wanted["fieller_pooled_error"]["lo"],
        );
        close(
            number(table, name, "95 % to"),
            &wanted["fieller_pooled_error"]["hi"],
        );
        close(
            number(table, name, "Mean of plot ratios"),
            &wanted["mean_of_ratios"],
        );
        assert_eq!(number(table, name, "Plots"), Some(5.0));
        // Error mean square of the plots' ratios 0.948449994011297275 over 5 blocks.
        let error = number(table, name, "SE of that mean").unwrap();
        assert!((error - (0.948_449_994_011_297_3_f64 / 5.0).sqrt()).abs() < 1e-11);
    }
}

#[test]
fn an_offset_far_from_zero_changes_nothing() {
    let data = reference_rows();
    let rows: Vec<Row<'_>> = data
        .iter()
        .map(|(c, y, w)| Row(c, Some(*y - 4.25), Some(*w - 0.5)))
        .collect();
    let treatments = factor("treatment", Role::Treatment, &["T1", "T2", "T3", "T4"]);
    let names = ["block", "treatment"];
    let mut call = call(DesignKind::RandomisedBlock, vec![treatments], &names, &rows);
    call.request.trial.responses[0].offset = 4.25;
    call.request.trial.responses[1].offset = 0.5;
    let section = section(&call);
    let reference: serde_json::Value = serde_json::from_str(NUMBERS).unwrap();
    let wanted = &reference["ratio_of_means"]["T4"]["fieller_pooled_error"]["hi"];
    close(
        number(table(&section, "treatments"), "T4", "95 % to"),
        wanted,
    );
}

/// Whole plots A1 and A2, sub plots B1 to B3, four blocks; invented, with whole plots that differ.
fn split_plot_rows() -> Vec<([String; 3], f64, f64)> {
    let mut rows = Vec::new();
    for block in 0..4_u32 {
        for whole in 0..2_u32 {
            for sub in 0..3_u32 {
                let noise = |a: u32, b: u32| f64::from((a * 37 + b * 11 + a * b * 5) % 13) / 13.0;
                let whole_plot = noise(block + 1, whole + 3);
                let plot = noise(6 * block + 3 * whole + sub, 2 * whole + sub + 1);
                let y = 5.0 + f64::from(sub) + 2.0 * whole_plot + 0.5 * plot;
                let w = 1.0 + 0.2 * f64::from(whole) + 0.3 * whole_plot + 0.1 * (1.0 - plot);
                rows.push((
                    [format!("B{block}"), format!("A{whole}"), format!("S{sub}")],
                    y,
                    w,
                ));
            }
        }
    }
    rows
}

#[test]
fn a_whole_plot_treatment_is_judged_by_its_whole_plots() {
    // Its interval is that of a randomised block trial whose plots are the whole plots' means.
    let data = split_plot_rows();
    let cells: Vec<Vec<&str>> = data
        .iter()
        .map(|r| r.0.iter().map(String::as_str).collect())
        .collect();
    let rows: Vec<Row<'_>> = data
        .iter()
        .zip(&cells)
        .map(|((_, y, w), cells)| Row(cells, Some(*y), Some(*w)))
        .collect();
    let factors = vec![
        factor("system", Role::WholePlot, &["A0", "A1"]),
        factor("nodes", Role::SubPlot, &["S0", "S1", "S2"]),
    ];
    let split = section(&call(
        DesignKind::SplitPlot,
        factors,
        &["block", "system", "nodes"],
        &rows,
    ));
    let means: Vec<([&str; 2], f64, f64)> = (0..8)
        .map(|whole| {
            let mean = |value: fn(&([String; 3], f64, f64)) -> f64| {
                data[3 * whole..3 * whole + 3]
                    .iter()
                    .map(value)
                    .sum::<f64>()
                    / 3.0
            };
            (
                [cells[3 * whole][0], cells[3 * whole][1]],
                mean(|r| r.1),
                mean(|r| r.2),
            )
        })
        .collect();
    let rows: Vec<Row<'_>> = means
        .iter()
        .map(|(c, y, w)| Row(c, Some(*y), Some(*w)))
        .collect();
    let block = section(&call(
        DesignKind::RandomisedBlock,
        vec![factor("system", Role::Treatment, &["A0", "A1"])],
        &["block", "system"],
        &rows,
    ));
    for level in ["A0", "A1"] {
        for column in ["Ratio of means", "95 % from", "95 % to"] {
            let of_split = number(
                table(&split, "treatments"),
                &format!("system: {level}"),
                column,
            );
            let of_means = number(table(&block, "treatments"), level, column);
            let (a, b) = (of_split.unwrap(), of_means.unwrap());
            assert!((a / b - 1.0).abs() < 1e-10, "{level} {column}: {a} {b}");
        }
    }
    // A sub-plot treatment's interval is wider than whole plots were called alike.
    let wide = |label: &str| {
        let shown = table(&split, "treatments");
        number(shown, label, "95 % to").unwrap() - number(shown, label, "95 % from").unwrap()
    };
    assert!(wide("A0 with S1") > wide("system: A0"));
}

#[test]
fn over_seasons_a_plot_counts_once() {
    let data = reference_rows();
    let mut cells: Vec<[String; 3]> = Vec::new();
    let mut values = Vec::new();
    for (season, share) in [("2021", 0.75), ("2022", 1.25)] {
        for (place, y, w) in &data {
            cells.push([place[0].to_owned(), place[1].to_owned(), season.to_owned()]);
            values.push((y * share, w * share));
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
    let treatments = factor("treatment", Role::Treatment, &["T1", "T2", "T3", "T4"]);
    let names = ["block", "treatment", "season"];
    let section = section(&call(
        DesignKind::RandomisedBlock,
        vec![treatments],
        &names,
        &rows,
    ));
    let reference: serde_json::Value = serde_json::from_str(NUMBERS).unwrap();
    let wanted = &reference["ratio_of_means"]["T2"]["fieller_pooled_error"];
    let shown = table(&section, "treatments");
    close(number(shown, "T2", "95 % from"), &wanted["lo"]);
    close(number(shown, "T2", "95 % to"), &wanted["hi"]);
    assert_eq!(number(shown, "T2", "Plots"), Some(5.0));
    // Each season scales both values alike, so that its intervals are the same.
    close(
        number(table(&section, "seasons"), "T2", "95 % to"),
        &wanted["hi"],
    );
    assert!(said(&section).contains("over the 2 seasons 2021 to 2022"));
}

#[test]
fn a_length_below_the_line_has_no_error() {
    // 4, 5, 6 and 8, 9, 10 kg a vine on 2 m: means 2.5 and 4.5 kg/m; within squares 2 + 2 on 4 df.
    let rows: Vec<Row<'_>> = [
        ("A", 4.0),
        ("A", 5.0),
        ("A", 6.0),
        ("B", 8.0),
        ("B", 9.0),
        ("B", 10.0),
    ]
    .iter()
    .zip([&["A"], &["A"], &["A"], &["B"], &["B"], &["B"]])
    .map(|((_, y), cells)| Row(cells, Some(*y), Some(1.0)))
    .collect();
    let made = factor("system", Role::Treatment, &["A", "B"]);
    let mut call = call(
        DesignKind::CompletelyRandomised,
        vec![made],
        &["system"],
        &rows,
    );
    call.request.trial.ratios[0].per = None;
    call.request.trial.ratios[0].per_length = Some(2.0);
    let section = section(&call);
    let shown = table(&section, "treatments");
    assert!((number(shown, "B", "Ratio of means").unwrap() - 4.5).abs() < 1e-14);
    // t(0.975, 4) = 2.776445105197793 from any table.
    let half = 2.776_445_105_197_793 * (1.0_f64 / 3.0).sqrt() / 2.0;
    assert!((number(shown, "B", "95 % to").unwrap() - 4.5 - half).abs() < 1e-12);
    assert!((number(shown, "B", "95 % from").unwrap() - 4.5 + half).abs() < 1e-12);
}

#[test]
fn a_ratio_the_data_do_not_bound_is_said_in_words_and_never_drawn() {
    // Prunings of B scatter about as much as their mean.
    let data = [
        ("A", 5.0, 1.0),
        ("A", 6.0, 1.2),
        ("A", 5.5, 1.1),
        ("B", 4.0, 0.05),
        ("B", 7.0, 0.9),
        ("B", 5.0, 0.02),
    ];
    let cells: Vec<[&str; 1]> = data.iter().map(|(level, _, _)| [*level]).collect();
    let rows: Vec<Row<'_>> = data
        .iter()
        .zip(&cells)
        .map(|((_, y, w), cells)| Row(cells, Some(*y), Some(*w)))
        .collect();
    let made = factor("system", Role::Treatment, &["A", "B"]);
    let section = section(&call(
        DesignKind::CompletelyRandomised,
        vec![made],
        &["system"],
        &rows,
    ));
    let shown = table(&section, "treatments");
    assert_eq!(number(shown, "B", "95 % from"), None);
    assert_eq!(number(shown, "B", "95 % to"), None);
    let said = said(&section);
    assert!(
        said.contains("For B the data do not bound the ratio"),
        "{said}"
    );
    assert!(said.contains("(no finite interval)"), "{said}");
    let bars: usize = section.figures[0].panels[0]
        .marks
        .iter()
        .map(|mark| match mark {
            caneplot_plugin::findings::Mark::Interval { x, .. } => x.len(),
            _ => 0,
        })
        .sum();
    assert_eq!(bars, 1);
}
