//! Values that cannot be analysed: constant, copied, zero, missing, or no numbers at all.

use super::field::{At, Field, typed};
use super::outcome::{complete, refused_before};
use super::{BLOCKS, LEVELS, by_turns, clusters, is};

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
        .response("clusters", "unit = \"clusters/vine\"", |at| {
            match at.season {
                1 => String::new(),
                _ => clusters(at),
            }
        })
        .response("by_turns", "unit = \"cm2\"", |at| {
            by_turns(at, typed(5.0 + at.noise))
        })
        .response("empty", "unit = \"cm2\"", |_| String::new());
    let outcome = complete(&field.write(
        "anova = {}\nmixed = {}\nresponse = {}\nratios = {}\nevenness = {}\nseasons = {}\n\
         counts = {}\nrandomisation = { arrangements = 199 }\n",
    ));
    for analysis in ["anova", "mixed", "response"] {
        outcome.says(
            analysis,
            "constant",
            &["the same in every plot", "3.20 cm²"],
        );
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
        &[
            "Constant has no test of Nodes left: it is the same in every plot",
            "Copied has no test",
        ],
    );
    outcome.says("anova", "brix", &["left out: 2022"]);
    outcome.says("seasons", "brix", &["no value in 2022"]);
    outcome.says("counts", "clusters", &["Nothing was counted in 2022"]);
    assert!(!outcome.probabilities("counts", "clusters").is_empty());
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
    outcome.says(
        "mixed",
        "yield",
        &["Not adjusted for before", "the same in every plot"],
    );
    let field = Field::blocks(&BLOCKS, &LEVELS)
        .seasons(&["2021", "2022"])
        .usual()
        .covariate("before", unit, |at| typed(0.8 + 0.1 * at.season as f64));
    let said = refused_before(&field.write("mixed = {}\n"));
    for word in ["'before'", "data.csv", "line"] {
        assert!(said.contains(word), "'{word}' in:\n{said}");
    }
}
