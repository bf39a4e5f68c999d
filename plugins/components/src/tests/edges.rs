//! Trials that cannot be taken apart, or hardly: a sentence each.

use caneplot_plugin::request::Quantity;
use caneplot_readings::testing::{Made, sentence, text};

use super::trial::{analysed, column, nodes, put, values};

fn refusal(made: &Made) -> String {
    let refusal = analysed(made).unwrap_err();
    format!("{} {}", refusal.message, refusal.hint.unwrap_or_default())
}

/// The one sentence of a trial whose yield cannot be taken apart.
fn only_sentence(made: &Made) -> String {
    let findings = analysed(made).unwrap();
    let [section] = findings.sections.as_slice() else {
        panic!("one section: {}", text(&findings));
    };
    assert!(section.tables.is_empty());
    sentence(&section.statements[0])
}

fn without(made: &mut Made, quantity: Quantity) {
    made.trial
        .responses
        .retain(|response| response.quantity != quantity);
}

#[test]
fn a_plot_without_a_crop_is_named() {
    let mut made = nodes(&["2021", "2022"]);
    let mut crop = values(&made, "yield");
    crop[3] = Some(0.0);
    put(&mut made, "yield", crop);
    let words = only_sentence(&made);
    assert!(
        words.starts_with("Yield is not taken apart: plot 2 of block B1 has no yield in 2022: "),
        "{words}"
    );
    assert!(
        words.contains(
            "Correct the records if they are wrong; leave the season or block concerned out"
        ),
        "{words}"
    );
}

#[test]
fn a_plot_without_clusters_is_named_before_its_crop() {
    let mut made = nodes(&["2021"]);
    for name in ["clusters", "yield"] {
        let mut column = values(&made, name);
        column[0] = Some(0.0);
        put(&mut made, name, column);
    }
    let words = only_sentence(&made);
    assert!(
        words.starts_with("Yield is not taken apart: plot 1 of block B1 has no clusters: "),
        "{words}"
    );
}

#[test]
fn copied_plots_leave_no_error() {
    let mut made = nodes(&["2021", "2022"]);
    for name in ["left", "shoots", "clusters", "yield"] {
        let column = values(&made, name);
        // Rows run block by block, so every block gets the values of the first.
        let block = column.len() / 4;
        let copied = (0..column.len()).map(|row| column[row % block]).collect();
        put(&mut made, name, copied);
    }
    let words = only_sentence(&made);
    assert!(
        words.contains("plots treated alike differ by exactly nothing"),
        "{words}"
    );
    assert!(
        words.ends_with("Check the data for copied values."),
        "{words}"
    );
}

#[test]
fn yield_alone_has_no_parts() {
    let mut made = nodes(&["2021"]);
    for quantity in [
        Quantity::NodesLeft,
        Quantity::ShootCount,
        Quantity::ClusterCount,
    ] {
        without(&mut made, quantity);
    }
    assert!(refusal(&made).starts_with("nothing that makes up yield was measured beside it"));
    without(&mut made, Quantity::Yield);
    assert!(refusal(&made).starts_with("no response of the trial measures yield"));
}

#[test]
fn without_a_control_the_first_level_is_it() {
    let mut made = nodes(&["2021"]);
    made.trial.factors[0].control = None;
    let findings = analysed(&made).unwrap();
    let all = text(&findings);
    assert!(
        all.contains("No control with data is declared for nodes left, so treatments are compared with the first level, 12 nodes/vine."),
        "{all}"
    );
    assert!(
        all.contains("Doubling nodes left from 12 to 24 nodes/vine"),
        "{all}"
    );
    assert!(
        all.contains("Raising nodes left from 12 to 48 nodes/vine"),
        "{all}"
    );
}

#[test]
fn one_season_is_said_to_be_one() {
    let all = text(&analysed(&nodes(&["2021"])).unwrap());
    assert!(all.contains("These are results of one season"), "{all}");
    assert!(!all.contains("[seasons]"), "{all}");
}

#[test]
fn a_single_replicate_has_no_error() {
    let mut made = nodes(&["2021"]);
    for name in ["left", "shoots", "clusters", "yield"] {
        let mut column = values(&made, name);
        column[3..].fill(None);
        put(&mut made, name, column);
    }
    let findings = analysed(&made).unwrap();
    let words = sentence(&findings.sections[0].statements[0]);
    assert!(
        words.starts_with(
            "Yield is not taken apart by nodes left: no degrees of freedom are left for error"
        ),
        "{words}"
    );
    assert!(findings.sections[0].tables.is_empty());
}

#[test]
fn a_missing_plot_is_named_and_adjusted_for() {
    let mut made = nodes(&["2021", "2022"]);
    let mut clusters = values(&made, "clusters");
    clusters[5] = None;
    put(&mut made, "clusters", clusters);
    let findings = analysed(&made).unwrap();
    let all = text(&findings);
    assert!(
        all.contains("Left out of the comparison over seasons, because it lacks an amount: plot 3 of block B1."),
        "{all}"
    );
    assert!(
        all.contains("Left out of 2022, because it lacks an amount: plot 3 of block B1."),
        "{all}"
    );
    assert!(all.contains("The set is not complete"), "{all}");
    assert!(all.contains("n = 3 to 4 plots"), "{all}");
    let found = column(&findings, "parts", "Change in logarithm");
    for row in [0, 5] {
        let parts: f64 = found[row + 1..row + 5].iter().sum();
        assert!((parts - found[row]).abs() < 1e-12);
    }
    assert_eq!(column(&findings, "parts", "Error df"), [5.0; 10]);
}

#[test]
fn an_amount_that_lacks_a_season_leaves_the_chain() {
    let mut made = nodes(&["2021", "2022"]);
    let shoots = values(&made, "shoots")
        .into_iter()
        .enumerate()
        .map(|(row, value)| value.filter(|_| row % 2 == 1))
        .collect();
    put(&mut made, "shoots", shoots);
    let all = text(&analysed(&made).unwrap());
    assert!(
        all.contains("There is no record of shoots in 2021"),
        "{all}"
    );
    assert!(all.contains("Clusters per node"), "{all}");
}

#[test]
fn no_clear_change_is_said_so() {
    let mut made = nodes(&["2021"]);
    // Crops that have nothing to do with the treatments.
    let crop = (0..12)
        .map(|at| Some(5.0 + f64::from(at * 7 % 5)))
        .collect();
    put(&mut made, "yield", crop);
    let findings = analysed(&made).unwrap();
    let words: Vec<String> = findings.sections[0]
        .statements
        .iter()
        .map(sentence)
        .collect();
    assert_eq!(
        words[0],
        "No treatment's yield differed clearly from that of 24 nodes/vine."
    );
    assert!(
        words[1].contains("made no clear difference to yield ("),
        "{}",
        words[1]
    );
}

#[test]
fn a_level_of_confidence_that_is_none_is_refused() {
    let mut made = nodes(&["2021"]);
    made.options = serde_json::json!({ "level": 1.5 });
    assert!(refusal(&made).starts_with("a confidence level of 1.5 is not possible"));
}
