//! Intervals on the log scale and by resampling, against references.

use caneplot_plugin::Call;
use caneplot_plugin::findings::Section;
use caneplot_plugin::request::{DesignKind, Role};

use super::call::*;
use super::intervals::{close, reference_rows};

/// All 3125 resamples of the reference trial visited, and its log-scale intervals in 40-digit
/// arithmetic (numerics/tests/reference/README-randomisation.md).
const NUMBERS: &str = include_str!("../../../numerics/tests/reference/ratio_resampled.json");

/// The reference trial: five blocks of four treatments.
pub(super) fn reference_call() -> Call {
    let data = reference_rows();
    let rows: Vec<Row<'_>> = data
        .iter()
        .map(|(c, y, w)| Row(c, Some(*y), Some(*w)))
        .collect();
    let mut treatments = factor("treatment", Role::Treatment, &["T1", "T2", "T3", "T4"]);
    treatments.control = Some("T1".to_owned());
    let names = ["block", "treatment"];
    call(DesignKind::RandomisedBlock, vec![treatments], &names, &rows)
}

fn intervals(section: &Section) -> &caneplot_plugin::findings::Table {
    table(section, "intervals")
}

#[test]
fn the_log_scale_interval_is_the_reference() {
    let section = section(&reference_call());
    let reference: serde_json::Value = serde_json::from_str(NUMBERS).unwrap();
    for (name, wanted) in reference["ratio_of_means"].as_object().unwrap() {
        let ends = &wanted["ci_log_delta"];
        close(
            number(intervals(&section), name, "Log scale from"),
            &ends[0],
        );
        close(number(intervals(&section), name, "Log scale to"), &ends[1]);
    }
}

#[test]
fn five_blocks_are_resampled_in_full_and_called_too_few() {
    let section = section(&reference_call());
    let reference: serde_json::Value = serde_json::from_str(NUMBERS).unwrap();
    for (name, wanted) in reference["ratio_of_means"].as_object().unwrap() {
        let low = number(intervals(&section), name, "Resampled blocks from").unwrap();
        let high = number(intervals(&section), name, "Resampled blocks to").unwrap();
        // The correction moves the ends of the plain percentile interval by less than its sd.
        let exact = &wanted["exact_bootstrap_3125"];
        let of = |key: &str| exact[key].as_f64().unwrap();
        assert!(
            (low - of("q025_type7")).abs() < of("sd_pop"),
            "{name}: {low}"
        );
        assert!(
            (high - of("q975_type7")).abs() < of("sd_pop"),
            "{name}: {high}"
        );
    }
    let noted = noted(&section);
    assert!(
        noted.contains("resample 5 blocks (all 3125 resamples were counted)"),
        "{noted}"
    );
    assert!(
        noted.contains(
            "they held the ratio in 80 % of trials with 4 blocks and 86 % with 6 instead of 95 %"
        ),
        "{noted}"
    );
    assert!(noted.contains("an interval is for the ratio in these blocks. For the ratio over all blocks there could be, 95 % intervals held 91 to 92 %"), "{noted}");
}

#[test]
fn resampling_can_be_turned_off() {
    let mut call = reference_call();
    call.request.options["bootstrap"] = 0.into();
    let section = section(&call);
    let columns = &intervals(&section).columns;
    assert!(columns.iter().all(|c| !c.name.contains("esampled")));
    assert!(!noted(&section).contains("esampl"));
    let findings = findings(&call);
    assert!(findings.references.iter().all(|r| r.key != "efron-1987"));
}

#[test]
fn resampled_intervals_are_the_same_every_time_and_follow_the_seed() {
    // 24 plots a treatment, completely randomised: drawn, not counted, and enough.
    let names: Vec<String> = (0..48).map(|at| format!("p{at}")).collect();
    let cells: Vec<[&str; 2]> = names
        .iter()
        .enumerate()
        .map(|(at, name)| [name.as_str(), if at < 24 { "A" } else { "B" }])
        .collect();
    let rows: Vec<Row<'_>> = cells
        .iter()
        .enumerate()
        .map(|(at, cells)| {
            let noise = |k: usize| ((at * at * k + at * 5) % 13) as f64 / 13.0;
            Row(cells, Some(4.0 + noise(3)), Some(0.7 + noise(7) / 4.0))
        })
        .collect();
    let mut call = call(
        DesignKind::CompletelyRandomised,
        vec![factor("treatment", Role::Treatment, &["A", "B"])],
        &["plot", "treatment"],
        &rows,
    );
    let low = |call: &Call| {
        let section = section(call);
        assert!(noted(&section).contains("resample 24 plots (2000 resamples were drawn)"));
        assert!(!noted(&section).contains("too narrow"));
        number(intervals(&section), "A", "Resampled plots from")
    };
    let first = low(&call);
    assert!(first.is_some());
    assert_eq!(first, low(&call));
    call.request.seed = 2;
    assert_ne!(first, low(&call));
}

#[test]
fn a_fixed_length_below_the_line_gets_no_second_opinion() {
    let mut call = reference_call();
    let ratio = &mut call.request.trial.ratios[0];
    ratio.per = None;
    ratio.per_length = Some(1.5);
    let section = section(&call);
    let extra = ["intervals", "control", "course"];
    assert!(
        section
            .tables
            .iter()
            .all(|t| !extra.contains(&t.id.as_str()))
    );
    assert!(!said(&section).contains("log scale"));
}
