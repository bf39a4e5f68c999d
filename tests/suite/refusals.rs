//! Trials that cannot be analysed, or hardly: each analysis says what is wrong, where, and what to do,
//! and the rest of the report is there.
//!
//! A trial here holds many responses, each spoilt in a way of its own, so that one run shows what
//! every analysis makes of all of them. [`complete`] looks at what every report keeps to.

mod field;
mod outcome;

use field::{At, Field, typed};
use outcome::{complete, refused_before};

const BLOCKS: [&str; 4] = ["B1", "B2", "B3", "B4"];
const LEVELS: [&str; 3] = ["12", "24", "36"];

/// Every analysis; fewer arrangements than usual, since their number is not what is looked at.
const ALL: &str = "anova = {}\nmixed = {}\nresponse = {}\ncounts = {}\nratios = {}\ncomponents = {}\n\
    evenness = {}\nseasons = {}\nrandomisation = { arrangements = 199 }\n";

/// Whether a record is of the block and level named.
fn is(at: &At, block: usize, level: &str) -> bool {
    at.block == block && at.levels[0] == level
}

/// A value in some blocks this season and in the others the next: no plot has every season.
fn by_turns(at: &At, value: String) -> String {
    if (at.block + at.season).is_multiple_of(2) {
        value
    } else {
        String::new()
    }
}

/// A whole number of clusters that follows the amount.
fn clusters(at: &At) -> String {
    format!("{:.0}", 1.4 * at.amount() + 3.0 * at.noise.abs())
}

/// Crop, prunings, clusters, bud break and Brix in which nothing is wrong, for trials whose layout is.
fn usual(field: Field) -> Field {
    field
        .usual()
        .response("clusters", "unit = \"clusters/vine\"", clusters)
        .response("brix", "unit = \"Brix\"", |at| {
            typed(22.0 - at.amount() / 40.0 + 0.5 * at.noise)
        })
        .count(
            "bud_break",
            ("broken", |at| {
                at.amount() as u32 - 1 - (at.noise.abs() * 2.0).min(4.0) as u32
            }),
            ("left", |at| at.amount() as u32),
        )
}

#[test]
fn responses_without_variation_without_error_or_without_values() {
    let field = Field::blocks(&BLOCKS[..3], &LEVELS)
        .seasons(&["2021", "2022", "2023"])
        .vines(2)
        .usual()
        .response("constant", "unit = \"cm2\"", |_| "3.2".to_owned())
        .response("copied", "unit = \"cm2\"", |at| typed(at.amount() / 7.0))
        .response("brix", "unit = \"Brix\"", |at| match at.season {
            1 => String::new(),
            _ => typed(21.0 + at.noise),
        })
        .response("by_turns", "unit = \"cm2\"", |at| {
            by_turns(at, typed(5.0 + at.noise))
        })
        .response("empty", "unit = \"cm2\"", |_| String::new());
    let outcome = complete(&field.write(
        "anova = {}\nmixed = {}\nresponse = {}\nratios = {}\nevenness = {}\nseasons = {}\n\
         randomisation = { arrangements = 199 }\n",
    ));
    for analysis in ["anova", "mixed", "response"] {
        outcome.says(analysis, "constant", &["the same in every plot", "3.2"]);
    }
    outcome.says(
        "seasons",
        "constant",
        &["the same in every plot and season"],
    );
    outcome.says("evenness", "constant", &["no spread to compare", "copied"]);
    for analysis in ["anova", "response", "seasons", "evenness"] {
        outcome.says(analysis, "copied", &["copied"]);
    }
    outcome.says("mixed", "copied", &["leave no error", "copied"]);
    // What is copied or constant is tested nowhere.
    for analysis in ["anova", "mixed", "response", "seasons"] {
        for response in ["constant", "copied"] {
            assert!(
                outcome.probabilities(analysis, response).is_empty(),
                "{analysis} tests {response}"
            );
        }
    }
    outcome.names(
        "randomisation",
        &["Constant has no test", "Copied has no test"],
    );
    outcome.says("anova", "brix", &["left out: 2022"]);
    outcome.says("seasons", "brix", &["no value in 2022"]);
    outcome.says("evenness", "brix", &["2022"]);
    // No plot has every season, so nothing can be said over all of them.
    for analysis in ["anova", "response", "seasons", "evenness"] {
        outcome.says(analysis, "by_turns", &["season"]);
    }
    assert!(
        outcome
            .report
            .contains("response 'empty' has no number that could be used and is left out"),
        "{}",
        outcome.said
    );
}

#[test]
fn zeros_below_the_line_and_values_below_zero() {
    let field = Field::blocks(&BLOCKS, &LEVELS)
        .seasons(&["2021", "2022"])
        .usual()
        .response(
            "one_zero",
            "unit = \"kg/vine\"\nis = \"pruning weight\"",
            |at| {
                if is(at, 0, "12") && at.season == 0 {
                    "0".to_owned()
                } else {
                    typed(at.prunings())
                }
            },
        )
        .response(
            "all_zero",
            "unit = \"kg/vine\"\nis = \"pruning weight\"",
            |_| "0".to_owned(),
        )
        .response("score", "unit = \"index\"", |at| typed(5.0 * at.noise))
        .response("clusters", "unit = \"clusters/vine\"", |at| {
            by_turns(at, clusters(at))
        })
        .ratio("with_a_zero", "of = \"yield\", per = \"one_zero\"")
        .ratio("with_zeros", "of = \"yield\", per = \"all_zero\"")
        .ratio("below_zero", "of = \"score\", per = \"pruning_weight\"");
    let outcome =
        complete(&field.write("ratios = {}\nseasons = {}\nresponse = {}\ncomponents = {}\n"));
    outcome.section_says(
        "ratios",
        "with_a_zero",
        &[
            "not above zero",
            "in 2021 plot P1",
            "a season is missing: plot P1",
        ],
    );
    outcome.section_says(
        "ratios",
        "with_zeros",
        &[
            "There is no ratio",
            "not above zero in any plot",
            "Check its column",
        ],
    );
    outcome.section_says(
        "ratios",
        "below_zero",
        &["The log scale needs values above zero, which score is not everywhere"],
    );
    outcome.says(
        "seasons",
        "score",
        &["CV between seasons is not worked out"],
    );
    outcome.says("response", "all_zero", &["the same in every plot"]);
    // No plot has clusters in both seasons.
    outcome.section_says(
        "ratios",
        "mean_cluster_weight",
        &[
            "No plot has",
            "in all of the 2 seasons",
            "each season by itself",
        ],
    );
    outcome.names(
        "components",
        &[
            "not taken apart",
            "in every one of the seasons 2021 and 2022",
        ],
    );
}

#[test]
fn counts_of_nothing_and_of_everything() {
    let field = Field::blocks(&BLOCKS, &LEVELS)
        .usual()
        .count("none", ("dead", |_| 0), ("left", |at| at.amount() as u32))
        .count(
            "all",
            ("grown", |at| at.amount() as u32),
            ("counted", |at| at.amount() as u32),
        )
        .count(
            "all_of_one",
            ("broken", |at| match at.levels[0] {
                "36" => 36,
                _ => at.amount() as u32 - 1 - at.block as u32,
            }),
            ("total", |at| at.amount() as u32),
        )
        .count(
            "none_of_one",
            ("dry", |at| match at.levels[0] {
                "36" => 0,
                _ => 1 + at.block as u32,
            }),
            ("buds", |at| at.amount() as u32),
        );
    let outcome = complete(&field.write(
        "counts = {}\nanova = {}\nmixed = {}\nresponse = {}\nrandomisation = { arrangements = 199 }\n",
    ));
    outcome.says(
        "counts",
        "none",
        &["every count is 0", "nothing to compare"],
    );
    outcome.says(
        "counts",
        "all",
        &["every count equals its total", "nothing to compare"],
    );
    for response in ["all_of_one", "none_of_one"] {
        outcome.says(
            "counts",
            response,
            &["0 or 100 % in all plots of 36", "Firth (1993)"],
        );
        assert!(!outcome.probabilities("counts", response).is_empty());
    }
    for response in ["none", "all"] {
        for analysis in ["anova", "mixed", "response"] {
            outcome.says(analysis, response, &["the same in every plot"]);
        }
    }
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
        &["Yield has no test", "no degrees of freedom"],
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
fn a_trial_of_copied_plots_has_means_and_no_test() {
    let field = Field::blocks(&BLOCKS, &LEVELS)
        .seasons(&["2021", "2022"])
        .response("yield", "unit = \"kg/vine\"", |at| {
            typed(3.0 + at.amount() / 10.0)
        })
        .response("pruning_weight", "unit = \"kg/vine\"", |at| {
            typed(at.amount() / 100.0)
        })
        .response("clusters", "unit = \"clusters/plot\"", |at| {
            at.levels[0].to_owned()
        })
        .ratio("crop_load", "of = \"yield\", per = \"pruning_weight\"");
    let outcome =
        complete(&field.write("ratios = {}\ncomponents = {}\ncounts = {}\nseasons = {}\n"));
    outcome.section_says(
        "ratios",
        "crop_load",
        &[
            "no interval and no standard error",
            "differ by exactly nothing",
            "copied",
        ],
    );
    outcome.names(
        "components",
        &[
            "Yield is not taken apart",
            "differ by exactly nothing",
            "copied",
        ],
    );
    outcome.says(
        "counts",
        "clusters",
        &["vary less than independent counting"],
    );
    outcome.says("seasons", "yield", &["differ by exactly nothing", "copied"]);
    for analysis in ["ratios", "components"] {
        assert!(
            outcome.all_probabilities(analysis).is_empty(),
            "{analysis} tests something"
        );
    }
}

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
fn factors_that_always_go_together() {
    let plots = planted(&BLOCKS, &[("12", "grass"), ("24", "bare"), ("36", "bare")]);
    let field = Field::new("randomised block", plots)
        .nodes(&LEVELS)
        .factor("cover", "levels = [\"grass\", \"bare\"]");
    let outcome = complete(&usual(field).seasons(&["2021", "2022"]).vines(2).write(ALL));
    outcome.says(
        "anova",
        "yield",
        &["not analysed", "no plot has the combination"],
    );
    outcome.says("mixed", "yield", &["Only 3 of the 6 combinations"]);
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
        &["not analysed", "this is not a randomised block design"],
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
    assert!(!outcome.sections("mixed", "yield").is_empty());
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
    outcome.says("anova", "yield", &["not analysed"]);
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
        outcome.says(analysis, "yield", &["one level (12)", "cannot be tested"]);
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
fn blocks_that_do_not_vary() {
    // The sum over any block is the same, so that nothing is left for the variance of blocks.
    let cyclic = |at: &At| {
        let own = (at.amount() as usize / 12 + at.block) % 4;
        3.0 + at.amount() / 20.0 + 0.2 * own as f64 + if own == 3 { 0.1 } else { 0.0 }
    };
    let field = Field::blocks(&BLOCKS, &["12", "24", "36", "48"])
        .response("yield", "unit = \"kg/vine\"", move |at| typed(cyclic(at)))
        .count(
            "bud_break",
            ("broken", |at| at.amount() as u32 - 2 - at.block as u32 % 2),
            ("left", |at| at.amount() as u32),
        );
    let outcome = complete(&field.write("mixed = {}\nanova = {}\ncounts = {}\n"));
    outcome.says(
        "mixed",
        "yield",
        &["Blocks vary no more", "variance is estimated as 0"],
    );
    outcome.says("anova", "yield", &["Blocks differed less"]);
    outcome.says(
        "counts",
        "bud_break",
        &["variance estimated as 0, at its boundary"],
    );
    assert!(!outcome.probabilities("mixed", "yield").is_empty());
}

#[test]
fn a_plot_without_a_crop_stops_the_parts_of_yield_alone() {
    let field = Field::blocks(&BLOCKS, &LEVELS)
        .response("yield", "unit = \"kg/vine\"", |at| {
            if is(at, 1, "24") {
                "0".to_owned()
            } else {
                typed(at.crop())
            }
        })
        .response("clusters", "unit = \"clusters/vine\"", clusters)
        .response("berry_weight", "unit = \"g\"", |at| {
            typed(1.4 + 0.05 * at.noise)
        });
    let outcome = complete(&field.write("components = {}\nanova = {}\n"));
    outcome.says(
        "components",
        "yield",
        &[
            "Yield is not taken apart",
            "plot P5 of block B2 has no",
            "Correct the records",
        ],
    );
    assert!(!outcome.probabilities("anova", "yield").is_empty());
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
    // A structure of seasons is of no use to one season, and no harm.
    let outcome = complete(&named.write("mixed = { structure = \"autoregressive\" }\n"));
    assert!(!outcome.probabilities("mixed", "yield").is_empty());
}

#[test]
fn a_code_for_missing_values_and_words_among_numbers() {
    let spoilt = |text: &'static str| {
        Field::blocks(&BLOCKS, &LEVELS)
            .response("brix", "unit = \"Brix\"", move |at| {
                if is(at, 1, "24") {
                    text.to_owned()
                } else {
                    typed(21.0 + at.noise)
                }
            })
            .response("score", "unit = \"index\"", move |at| {
                if is(at, 1, "24") {
                    text.to_owned()
                } else {
                    typed(5.0 * at.noise)
                }
            })
            .write("anova = {}\n")
    };
    let said = refused_before(&spoilt("-9999"));
    for word in [
        "-9999",
        "'brix'",
        "data.csv, line 6",
        "impossible",
        "missing = [",
    ] {
        assert!(said.contains(word), "'{word}' in:\n{said}");
    }
    let said = refused_before(&spoilt("ca. 4"));
    for word in [
        "'ca. 4'",
        "'brix'",
        "'score'",
        "data.csv, line 6",
        "not a number",
        "leave it empty",
    ] {
        assert!(said.contains(word), "'{word}' in:\n{said}");
    }
}

#[test]
fn a_covariate_that_is_constant_or_not_one_value_a_plot() {
    let unit = "unit = \"kg/vine\"\nis = \"pruning weight\"";
    let field = Field::blocks(&BLOCKS, &LEVELS)
        .seasons(&["2021", "2022"])
        .usual()
        .covariate("before", unit, |_| "0.8".to_owned());
    let outcome = complete(&field.write("mixed = {}\nanova = {}\n"));
    for analysis in ["mixed", "anova"] {
        assert!(
            !outcome.probabilities(analysis, "yield").is_empty(),
            "{analysis} goes on without it"
        );
    }
    let field = Field::blocks(&BLOCKS, &LEVELS)
        .seasons(&["2021", "2022"])
        .usual()
        .covariate("before", unit, |at| typed(0.8 + 0.1 * at.season as f64));
    let said = refused_before(&field.write("mixed = {}\n"));
    for word in ["'before'", "data.csv", "line"] {
        assert!(said.contains(word), "'{word}' in:\n{said}");
    }
}
