//! Layouts without replicates, without contrasts or with factors that cannot be told apart.

use super::field::Field;
use super::outcome::{complete, refused_before};
use super::{ALL, BLOCKS, LEVELS, usual};

/// Plots of blocks by level and cover.
fn planted(
    blocks: &[&'static str],
    treatments: &[(&'static str, &'static str)],
) -> Vec<(Option<&'static str>, Vec<&'static str>)> {
    let of = |&block: &&'static str| {
        let plots = treatments.iter();
        plots.map(move |&(level, cover)| (Some(block), vec![level, cover]))
    };
    blocks.iter().flat_map(of).collect()
}

#[test]
fn one_block_leaves_no_error() {
    let field = usual(Field::blocks(&BLOCKS[..1], &LEVELS))
        .seasons(&["2021", "2022"])
        .vines(2);
    let outcome = complete(&field.write(ALL));
    for response in ["yield", "pruning_weight", "clusters", "brix", "bud_break"] {
        outcome.says(
            "anova",
            response,
            &["no degrees of freedom are left for error", "needed"],
        );
        outcome.says("mixed", response, &["without replicates there is no error"]);
        outcome.says(
            "response",
            response,
            &["no degrees of freedom", "a second block or replicate"],
        );
        outcome.says(
            "seasons",
            response,
            &["no degrees of freedom", "more than one plot each"],
        );
    }
    for response in ["clusters", "bud_break"] {
        outcome.says(
            "counts",
            response,
            &["there is no test", "not replicates", "is needed"],
        );
    }
    for response in ["yield", "brix"] {
        outcome.says(
            "evenness",
            response,
            &["no degrees of freedom", "Without replicates"],
        );
    }
    outcome.names(
        "components",
        &["not taken apart", "more than one plot each"],
    );
    outcome.names(
        "randomisation",
        &[
            "Yield has no test",
            "no degrees of freedom",
            "a second block",
        ],
    );
    outcome.section_says(
        "ratios",
        "crop_load",
        &["no interval and no standard error", "is needed"],
    );
    for analysis in [
        "mixed",
        "response",
        "counts",
        "components",
        "evenness",
        "ratios",
        "randomisation",
    ] {
        assert!(
            outcome.all_probabilities(analysis).is_empty(),
            "{analysis} tests something"
        );
    }
    assert!(
        outcome
            .report
            .contains("every treatment stands on one plot only")
    );
}

#[test]
fn factors_that_always_go_together() {
    let plots = planted(&BLOCKS, &[("12", "grass"), ("24", "bare"), ("36", "bare")]);
    let field = Field::new("randomised block", plots)
        .nodes(&LEVELS)
        .factor("cover", "levels = [\"grass\", \"bare\"]");
    let outcome = complete(&usual(field).seasons(&["2021", "2022"]).vines(2).write(ALL));
    outcome.says(
        "anova",
        "yield",
        &[
            "not analysed",
            "'Cover' and 'Nodes left' always go together",
        ],
    );
    outcome.says(
        "mixed",
        "yield",
        &[
            "Only 3 of the 6 combinations",
            "Cover and nodes left always go together",
        ],
    );
    assert!(
        outcome
            .report
            .contains("'nodes' and 'cover' always go together")
    );
    outcome.says(
        "response",
        "yield",
        &[
            "never share both a block",
            "cannot be told from what blocks or cover did",
        ],
    );
    outcome.says(
        "seasons",
        "yield",
        &["not added up", "with every level of the other factors"],
    );
    outcome.says("counts", "bud_break", &["not tested"]);
    outcome.names(
        "components",
        &["not taken apart by cover", "with every level of the other"],
    );
    outcome.says(
        "evenness",
        "yield",
        &["with every level of the other factors"],
    );
    outcome.section_says(
        "ratios",
        "crop_load",
        &["Only 3 of the 6 combinations", "compare the combinations"],
    );
    outcome.names("randomisation", &["Yield is not tested"]);
}

#[test]
fn a_factor_that_goes_with_the_blocks() {
    let plots = BLOCKS
        .iter()
        .zip(["12", "24", "36", "12"])
        .flat_map(|(&block, level)| (0..3).map(move |_| (Some(block), vec![level])))
        .collect();
    let field = Field::new("randomised block", plots).nodes(&LEVELS);
    let outcome = complete(&usual(field).seasons(&["2021", "2022"]).vines(2).write(ALL));
    outcome.says(
        "anova",
        "yield",
        &[
            "not analysed",
            "every block has plots of one treatment only",
        ],
    );
    outcome.says(
        "response",
        "yield",
        &["never share a block", "cannot be told from blocks"],
    );
    outcome.says("seasons", "yield", &["do not meet in common blocks"]);
    outcome.says("evenness", "yield", &["do not meet in common blocks"]);
    outcome.names("components", &["do not meet in common blocks"]);
    outcome.says(
        "counts",
        "bud_break",
        &["no block holds two levels of nodes left"],
    );
    outcome.section_says(
        "ratios",
        "crop_load",
        &["never share a block", "may as well be the blocks"],
    );
    outcome.names("randomisation", &["Yield is not tested"]);
    assert!(outcome.report.contains("block B1 has no plot of 24 and 36"));
    outcome.says(
        "mixed",
        "yield",
        &["No block holds two levels of nodes left", "whole blocks"],
    );
}

#[test]
fn a_treatment_in_one_block_and_a_block_of_one_plot() {
    let mut plots: Vec<(Option<&'static str>, Vec<&'static str>)> = BLOCKS[..3]
        .iter()
        .flat_map(|&block| ["12", "24"].map(|level| (Some(block), vec![level])))
        .collect();
    plots.push((Some("B1"), vec!["36"]));
    plots.push((Some("B5"), vec!["12"]));
    let field = Field::new("randomised block", plots).nodes(&LEVELS);
    let outcome = complete(&usual(field).seasons(&["2021", "2022"]).vines(3).write(ALL));
    assert!(outcome.report.contains("on one plot only: 36"));
    assert!(outcome.report.contains("block B5 has no plot of 24 and 36"));
    outcome.says(
        "anova",
        "yield",
        &[
            "not analysed",
            "has plots with",
            "nothing can be compared inside it",
        ],
    );
    for analysis in ["mixed", "response", "seasons", "counts", "evenness"] {
        let response = if analysis == "counts" {
            "clusters"
        } else {
            "yield"
        };
        assert!(
            !outcome.probabilities(analysis, response).is_empty(),
            "{analysis} takes the set as it is"
        );
    }
    outcome.section_says("ratios", "crop_load", &["unequal numbers of plots"]);
    outcome.names("components", &["The set is not complete"]);
}

#[test]
fn one_level_present_and_single_vines() {
    let plots = (0..8)
        .map(|plot| (Some(BLOCKS[plot / 2]), vec!["12"]))
        .collect();
    let field = Field::new("randomised block", plots).nodes(&LEVELS);
    let outcome = complete(&usual(field).seasons(&["2021", "2022"]).vines(2).write(ALL));
    for analysis in ["anova", "mixed", "seasons", "evenness"] {
        outcome.says(
            analysis,
            "yield",
            &[
                "one level (12)",
                "cannot be tested",
                "ata of its other levels",
            ],
        );
    }
    outcome.says("response", "yield", &["have the same nodes left"]);
    outcome.says("counts", "bud_break", &["of one treatment", "Add the data"]);
    outcome.names("components", &["not taken apart", "one level (12)"]);
    outcome.section_says("ratios", "crop_load", &["for 12 nodes/vine"]);
    assert!(
        outcome
            .report
            .contains("no plot has the level '24' of 'nodes'")
    );

    let field = usual(Field::blocks(&BLOCKS, &LEVELS)).vines(1);
    let outcome = complete(&field.write("evenness = {}\n"));
    outcome.says(
        "evenness",
        "yield",
        &[
            "every plot has one vine with a value",
            "Record two vines or more",
        ],
    );
}

#[test]
fn two_levels_make_no_curve_and_unequal_gaps_are_named() {
    let field = Field::blocks(&BLOCKS, &["12", "24"])
        .seasons(&["2019", "2020", "2023"])
        .usual();
    let outcome = complete(&field.write("response = {}\nseasons = {}\nmixed = {}\n"));
    outcome.names("response", &["no curve", "A third level is needed"]);
    outcome.says(
        "seasons",
        "yield",
        &[
            "2021 and 2022 between them were not recorded",
            "by the calendar",
        ],
    );
    assert!(!outcome.probabilities("mixed", "yield").is_empty());
}

#[test]
fn one_season_has_no_course_over_seasons() {
    let one = Field::blocks(&BLOCKS, &LEVELS).usual();
    let scratch = one.write("seasons = {}\n");
    let said = refused_before(&scratch);
    for word in [
        "'seasons' cannot be run",
        "only one season",
        "trial.toml:",
        "^",
        "remove this",
    ] {
        assert!(said.contains(word), "'{word}' in:\n{said}");
    }
    let named = Field::blocks(&BLOCKS, &LEVELS).seasons(&["2021"]).usual();
    let said = refused_before(&named.write("seasons = {}\n"));
    assert!(said.contains("only one season"), "{said}");
    // A structure of seasons is of no use to one season, and no harm; both are said.
    let outcome = complete(&named.write("mixed = { structure = \"autoregressive\" }\n"));
    outcome.says("mixed", "yield", &["is without use here"]);
    assert!(!outcome.probabilities("mixed", "yield").is_empty());
}
