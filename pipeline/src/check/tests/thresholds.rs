//! `[checks]`: what it silences, and what it refuses.

use super::*;

fn with(checks: &str) -> Bench {
    let text = harvest().replace("202,24,4.2", "202,24,42");
    Bench::new(
        &format!("{}[checks]\n{checks}\n", blocks("", HARVEST)),
        &[("harvest.csv", &text)],
    )
}

/// The one error of the trial file.
fn refused(trial: &str, words: &[&str]) {
    let bench = Bench::new(trial, &[("harvest.csv", &harvest())]);
    let faults = crate::trial::read(bench.folder.path()).unwrap_err();
    assert_eq!(faults.len(), 1, "{}", shown(&faults));
    contains(&shown(&faults), words);
}

#[test]
fn a_rule_that_is_off_says_nothing() {
    assert_eq!(
        grave(&with("unit_slip = \"off\"").checked()),
        ["far-from-mates"]
    );
    assert_eq!(grave(&with("far_value = \"off\"").checked()), ["unit-slip"]);
    let both = with("far_value = \"off\"\nunit_slip = 100").checked();
    assert!(both.is_empty(), "{}", shown(&both));
}

#[test]
fn mistakes_in_thresholds_are_errors_at_their_line() {
    let refused = |checks: &str, words: &[&str]| {
        refused(
            &format!("{}[checks]\n{checks}\n", blocks("", HARVEST)),
            words,
        );
    };
    refused(
        "far_valu = 4",
        &["far_valu", "write far_value if that is meant"],
    );
    refused(
        "far_value = 0.1",
        &["does not lie between 1 and 100", "robust standard"],
    );
    refused("far_value = [1, 2]", &["must be a number or \"off\""]);
    refused(
        "ripe_brix = [30, 12]",
        &["[lowest, highest]", "ripe_brix = [12, 32]"],
    );
    refused("rounding = \"of\"", &["must be a number or \"off\""]);
}

#[test]
fn a_latitude_and_a_hemisphere_must_agree() {
    let trial = |latitude: &str, half: &str| {
        blocks("", HARVEST).replace(
            "[vineyard]\n",
            &format!("[about]\nlatitude = {latitude}\n[vineyard]\nhemisphere = \"{half}\"\n"),
        )
    };
    refused(&trial("-34.5", "north"), &["lies in the other hemisphere"]);
    refused(
        &trial("\"34.5 S\"", "north"),
        &["lies in the other hemisphere"],
    );
    refused(&trial("134", "south"), &["no latitude"]);
    refused(
        &trial("47.9", "nord"),
        &["not a half of the world", "north"],
    );
}

#[test]
fn the_months_of_bud_break_are_those_of_the_hemisphere() {
    let found = |vineyard: &str, month: &str| {
        let days = "[[data]]\nfile = \"spring.csv\"\n[responses.bud_break]\nunit = \"day\"\n";
        let trial = blocks("", days).replace("[vineyard]\n", &format!("[vineyard]\n{vineyard}"));
        let mut text = String::from("block,plot,nodes,bud_break\n");
        for row in 0..9 {
            let (block, nodes) = (row / 3, [12, 24, 36][row % 3]);
            text.push_str(&format!("B{block},{row},{nodes},2021-{month}-1{row}\n"));
        }
        grave(&Bench::new(&trial, &[("spring.csv", &text)]).checked()).len()
    };
    let (north, south) = ("hemisphere = \"north\"\n", "hemisphere = \"south\"\n");
    assert_eq!([found(north, "04"), found(south, "10")], [0, 0]);
    // More cells than are listed one by one are one warning.
    assert_eq!([found(north, "10"), found(south, "04")], [1, 1]);
    assert_eq!(
        [found("", "04"), found("", "10"), found("", "07")],
        [0, 0, 1]
    );
}
