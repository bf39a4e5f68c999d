//! Results for programs say what the tables say.

use caneplot_plugin::estimates::Estimates;
use caneplot_plugin::findings::{Cells, Section};

use super::designs::{kiwishade, nodes, oats};
use super::factorial::training;

fn column(section: &Section, table: &str, name: &str) -> Vec<f64> {
    let table = section.tables.iter().find(|one| one.id == table).unwrap();
    let column = table.columns.iter().find(|one| one.name == name).unwrap();
    match &column.cells {
        Cells::Number { values, .. }
        | Cells::Probability { values }
        | Cells::Lettered { values, .. } => values.iter().map(|value| value.unwrap()).collect(),
        _ => panic!("{name} holds no numbers"),
    }
}

fn of<'a>(section: &'a Section, factors: &[&str], season: Option<&str>) -> &'a Estimates {
    let mut all = section.estimates.iter();
    all.find(|one| one.factors == factors && one.season.as_deref() == season)
        .unwrap()
}

fn values(estimates: &Estimates) -> Vec<f64> {
    estimates.treatments.iter().map(|one| one.value).collect()
}

fn covariance(estimates: &Estimates, a: usize, b: usize) -> f64 {
    let (low, high) = (a.min(b), a.max(b));
    estimates.covariance[high * (high + 1) / 2 + low]
}

/// Every difference has the variance that the covariances give it.
fn hangs_together(estimates: &Estimates) {
    assert!(!estimates.differences.is_empty());
    for one in &estimates.differences {
        let (a, b) = (one.of, one.against);
        let variance = covariance(estimates, a, a) + covariance(estimates, b, b)
            - 2.0 * covariance(estimates, a, b);
        let want = one.standard_error.powi(2);
        assert!((variance - want).abs() <= 1e-12 * want, "{variance} {want}");
        let value = estimates.treatments[a].value - estimates.treatments[b].value;
        assert!((one.value - value).abs() <= 1e-9 * value.abs().max(1.0));
        assert!(one.low < one.value && one.value < one.high);
    }
}

#[test]
fn of_a_split_plot_they_are_the_cells_of_its_tables() {
    let section = oats().findings().sections.remove(0);
    for (factors, table) in [
        (&["variety"][..], "means-variety"),
        (&["nitro"], "means-nitro"),
    ] {
        let found = of(&section, factors, None);
        assert_eq!(values(found), column(&section, table, "Mean"));
        let errors: Vec<f64> = found
            .treatments
            .iter()
            .map(|one| one.standard_error.unwrap())
            .collect();
        assert_eq!(errors, column(&section, table, "Standard error"));
        hangs_together(found);
    }
    let both = of(&section, &["variety", "nitro"], None);
    assert_eq!(both.treatments.len(), 12);
    assert_eq!(both.treatments[1].levels, ["Golden Rain", "0.2"]);
    assert!(both.test.is_none(), "the interaction tests something else");
    hangs_together(both);
    // The table sorts combinations by its own rule; the numbers are the same ones.
    let mut sorted = values(both);
    let mut shown = column(&section, "means-variety-nitro", "Mean");
    sorted.sort_by(f64::total_cmp);
    shown.sort_by(f64::total_cmp);
    assert_eq!(sorted, shown);
    // Yates 1935: standard errors of differences 7.0789, 4.4358 and, within a variety, 7.6829.
    let error = |found: &Estimates| found.differences[0].standard_error;
    assert!((error(of(&section, &["variety"], None)) - 7.0789).abs() < 5e-5);
    assert!((error(of(&section, &["nitro"], None)) - 4.4358).abs() < 5e-5);
    assert!((error(both) - 7.6829).abs() < 1e-4);
    let test = of(&section, &["variety"], None).test.clone().unwrap();
    assert!((test.f.unwrap() - 1.485).abs() < 5e-4 && test.error_df == Some(10.0));
}

#[test]
fn differences_from_a_control_are_those_of_its_table() {
    let section = kiwishade().findings().sections.remove(0);
    let found = of(&section, &["shade"], None);
    hangs_together(found);
    let differences: Vec<f64> = found.differences.iter().map(|one| one.value).collect();
    assert_eq!(differences, column(&section, "control-shade", "Difference"));
    let p: Vec<f64> = found.differences.iter().map(|one| one.p.unwrap()).collect();
    assert_eq!(p, column(&section, "control-shade", "P"));
    assert!(found.differences.iter().all(|one| one.against == 0));
    assert!(found.treatments.iter().all(|one| one.plots == 3));
}

#[test]
fn seasons_have_theirs() {
    let section = nodes(false).findings().sections.remove(0);
    for season in ["2021", "2022", "2023"] {
        let found = of(&section, &["nodes"], Some(season));
        assert_eq!(values(found), column(&section, "means-nodes", season));
        hangs_together(found);
    }
    let overall = of(&section, &["nodes"], None);
    assert_eq!(
        values(overall),
        column(&section, "means-nodes", "All seasons")
    );
    assert!(overall.test.is_some() && overall.seasons_test.is_some());
    // The trial declares 24 nodes as its control.
    assert_eq!(overall.differences.len(), 3);
    assert!(overall.differences.iter().all(|one| one.p.is_some()));
}

#[test]
fn without_a_control_of_every_factor_all_pairs_of_combinations_are_compared() {
    let section = training().findings().sections.remove(0);
    let both = of(&section, &["training", "pruning"], None);
    assert_eq!(both.differences.len(), 15);
    hangs_together(both);
    assert_eq!(
        of(&section, &["pruning"], None).differences.len(),
        2,
        "pruning declares a control"
    );
    assert_eq!(section.estimates.len(), 3 * (1 + 3));
}
