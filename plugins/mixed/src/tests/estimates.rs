//! Results for programs say what the tables say.

use caneplot_plugin::estimates::Estimates;
use caneplot_plugin::findings::Findings;
use serde_json::json;

use super::{missing_blocks, numbers, oats, perennial, table};

fn of<'a>(findings: &'a Findings, factors: &[&str], season: Option<&str>) -> &'a Estimates {
    let mut all = findings.sections[0].estimates.iter();
    all.find(|one| one.factors == factors && one.season.as_deref() == season)
        .unwrap()
}

fn values(estimates: &Estimates) -> Vec<Option<f64>> {
    let all = estimates.treatments.iter();
    all.map(|one| Some(one.value)).collect()
}

fn hangs_together(estimates: &Estimates) {
    let covariance = |a: usize, b: usize| {
        let (low, high) = (a.min(b), a.max(b));
        estimates.covariance[high * (high + 1) / 2 + low]
    };
    assert!(!estimates.differences.is_empty());
    for one in &estimates.differences {
        let (a, b) = (one.of, one.against);
        let variance = covariance(a, a) + covariance(b, b) - 2.0 * covariance(a, b);
        let want = one.standard_error.powi(2);
        assert!((variance - want).abs() <= 1e-9 * want, "{variance} {want}");
        let value = estimates.treatments[a].value - estimates.treatments[b].value;
        assert!((one.value - value).abs() <= 1e-9 * value.abs().max(1.0));
    }
}

#[test]
fn of_a_set_with_gaps_they_are_the_cells_of_its_tables() {
    let findings = missing_blocks().findings();
    let found = of(&findings, &["treatment"], None);
    let means = table(&findings, "means-treatment");
    assert_eq!(values(found), numbers(means, "Adjusted mean"));
    let errors: Vec<Option<f64>> = found.treatments.iter().map(|t| t.standard_error).collect();
    assert_eq!(errors, numbers(means, "Standard error"));
    hangs_together(found);
    let pairs = table(&findings, "pairs-treatment");
    // The table takes the second from the first, these the first from the second.
    let turned: Vec<Option<f64>> = found.differences.iter().map(|d| Some(-d.value)).collect();
    for (got, want) in turned.iter().zip(numbers(pairs, "Difference")) {
        assert!((got.unwrap() - want.unwrap()).abs() < 1e-9);
    }
}

#[test]
fn seasons_and_combinations_have_theirs() {
    let findings = perennial("perennial.csv").findings();
    let overall = of(&findings, &["treatment"], None);
    hangs_together(overall);
    assert!(overall.test.is_some() && overall.seasons_test.is_some());
    let seasons = table(&findings, "seasons-treatment");
    for column in &seasons.columns[1..] {
        let found = of(&findings, &["treatment"], Some(&column.name));
        assert_eq!(values(found), numbers(seasons, &column.name));
        hangs_together(found);
    }
    let findings = oats().findings();
    let both = of(&findings, &["Variety", "nitro"], None);
    let shown = table(&findings, "means-variety-nitro");
    assert_eq!(values(both), numbers(shown, "Adjusted mean"));
    hangs_together(both);
}

#[test]
fn on_another_scale_there_are_limits_and_no_differences() {
    let findings = missing_blocks().option("scale", json!("log")).findings();
    let found = of(&findings, &["treatment"], None);
    let means = table(&findings, "means-treatment");
    assert_eq!(values(found), numbers(means, "Adjusted median"));
    assert!(found.covariance.is_empty() && found.differences.is_empty());
    let low: Vec<Option<f64>> = found.treatments.iter().map(|one| one.low).collect();
    assert_eq!(low, numbers(means, "Lower limit"));
}
