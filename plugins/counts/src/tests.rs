//! The plugin as a whole, on invented trials and on a set with reference numbers.

use caneplot_plugin::findings::Rank;
use caneplot_plugin::request::{Basis, DesignKind, Quantity, Role};
use serde_json::json;

use crate::testing::{Bench, Random, Row, factor, numbers, rate, share, text};

const NODES: [&str; 4] = ["12", "24", "36", "48"];

fn nodes() -> Vec<caneplot_plugin::request::Factor> {
    vec![factor("nodes", &NODES, Some("24"), Role::Treatment)]
}

/// Bud break that falls with nodes left, in 5 blocks.
fn bud_break(seasons: &[&str], sd: f64) -> Vec<Row> {
    let mut random = Random(42);
    let mut rows = Vec::new();
    for block in 1..=5 {
        for (plot, level) in NODES.iter().enumerate() {
            for season in seasons {
                let nodes: f64 = level.parse().unwrap();
                let eta: f64 = 3.6 - 0.05 * nodes + sd * random.normal();
                let total = 4 * nodes as i64;
                let count = random.binomial(total, 1.0 / (1.0 + (-eta).exp()));
                let mut row = Row::default()
                    .word("block", format!("B{block}"))
                    .word("plot", plot + 1)
                    .word("nodes", level)
                    .pair("bud_break", count, total);
                if seasons.len() > 1 {
                    row = row.word("season", season);
                }
                rows.push(row);
            }
        }
    }
    rows
}

fn bud_break_bench(seasons: &[&str], sd: f64) -> Bench {
    Bench::blocks(
        nodes(),
        vec![share("bud_break", Quantity::BudBreak)],
        bud_break(seasons, sd),
    )
}

#[test]
fn a_clear_fall_of_bud_break_is_said_in_plain_words() {
    let section = bud_break_bench(&["2024"], 0.1).section();
    println!("{}\n\n{}", text(&section.statements), text(&section.notes));
    let first = &section.statements[0];
    assert_eq!(first.rank, Rank::Headline);
    assert!(first.text.starts_with("Of the nodes counted, {low} broke at 12 nodes/vine and {high} at 48 nodes/vine; differences between levels of nodes are clear"));
    assert_eq!(
        section
            .statements
            .iter()
            .filter(|s| s.rank == Rank::Headline)
            .count(),
        1
    );
    let means = numbers(&section, "means", "Mean");
    assert!(means.windows(2).all(|pair| pair[0] > pair[1]), "{means:?}");
    let (low, high) = (
        numbers(&section, "means", "Low, 95 %"),
        numbers(&section, "means", "High, 95 %"),
    );
    assert!((0..4).all(|at| low[at] < means[at] && means[at] < high[at] && high[at] < 1.0));
    assert_eq!(numbers(&section, "tests", "df of error"), [12.0]);
    assert!(text(&section.statements).contains("For each 12 nodes/vine more, the odds fall"));
    // Against 24: 12 above, 36 and 48 below.
    let ratios = numbers(&section, "comparisons", "Odds ratio");
    assert!(ratios[0] > 1.0 && ratios[1] < 1.0 && ratios[2] < ratios[1]);
    assert_eq!(section.figures.len(), 1);
}

#[test]
fn the_model_is_the_reference_where_plots_vary_beyond_chance() {
    // Means of numerics/tests/reference/counts/general.json, budsurvival, taken back from log odds
    // (a general-purpose library's fit with random blocks and plots, 6–7 digits).
    let csv = include_str!("../../numerics/tests/reference/counts/budsurvival.csv");
    let rows = csv.lines().skip(1).map(|line| {
        let cells: Vec<&str> = line.split(',').collect();
        let row = Row::default()
            .word("block", cells[0])
            .word("treatment", cells[1]);
        row.word("plot", cells[2]).pair(
            "alive",
            cells[3].parse().unwrap(),
            cells[4].parse().unwrap(),
        )
    });
    let treatments = factor(
        "treatment",
        &["T1", "T2", "T3", "T4"],
        Some("T1"),
        Role::Treatment,
    );
    let alive = share("alive", Quantity::BudSurvival);
    let section = Bench::blocks(vec![treatments], vec![alive], rows.collect()).section();
    let means = numbers(&section, "means", "Mean");
    let want = [
        0.804401794513906,
        0.802405242190682,
        0.618415441570187,
        0.578405747568921,
    ];
    for (found, want) in means.iter().zip(want) {
        assert!((found - want).abs() < 1e-6, "{found} {want}");
    }
    let dispersion = numbers(&section, "variation", "Pearson chi-square over df");
    assert!((dispersion[0] - 1.95957689059687).abs() < 1e-10);
    assert!(
        text(&section.notes).contains("vary 1.9596 times as much as drawing so many at random")
    );
    assert!(text(&section.notes).contains("so each count has a random effect of its own"));
    assert!(
        text(&section.statements)
            .starts_with("Of the buds counted, 0.5784 survived at T4 and 0.8044 at T1")
    );
    // Of three comparisons with T1 the last two are clear.
    let p = numbers(&section, "comparisons", "P");
    assert!(p[0] > 0.9 && p[1] < 0.05 && p[2] < 0.05, "{p:?}");
}

#[test]
fn no_clear_difference_is_never_called_no_effect() {
    let mut rows = bud_break(&["2024"], 0.0);
    for (at, row) in rows.iter_mut().enumerate() {
        *row = row.clone().pair("bud_break", 40 + (at as i64 * 7) % 3, 48);
    }
    let bench = Bench::blocks(nodes(), vec![share("bud_break", Quantity::BudBreak)], rows);
    let section = bench.section();
    let headline = &section.statements[0].text;
    assert!(headline.starts_with("No clear difference in bud break between levels of nodes ({p}): {low} of the nodes broke at 12"), "{headline}");
    assert!(text(&section.statements).contains("There is no clear trend of the odds with nodes"));
    // These counts vary less than chance would make them, and the blocks not at all beyond it.
    let notes = text(&section.notes);
    assert!(
        notes.contains("vary less than drawing so many at random"),
        "{notes}"
    );
    assert!(
        notes.contains(
            "No variation between units of block is seen beyond chance (variance estimated as 0"
        ),
        "{notes}"
    );
}

#[test]
fn seasons_are_analysed_one_by_one_and_together() {
    let section = bud_break_bench(&["2022", "2023", "2024"], 0.5).section();
    println!("{}\n\n{}", text(&section.statements), text(&section.notes));
    let tests = section
        .tables
        .iter()
        .find(|table| table.id == "tests")
        .unwrap();
    // A line a season, then nodes, season and both of all seasons.
    assert_eq!(tests.columns[1].cells.len(), 6);
    assert_eq!(
        numbers(&section, "tests", "df of error"),
        [12.0, 12.0, 12.0, 12.0, 32.0, 32.0]
    );
    assert_eq!(tests.groups, [0, 1, 2, 3]);
    let figure = &section.figures[0];
    assert_eq!(figure.panels.len(), 4);
    assert_eq!(figure.panels[3].title.as_deref(), Some("All seasons"));
    assert!(
        section.statements[0]
            .text
            .contains("over the seasons 2022 to 2024")
    );
}

#[test]
fn a_treatment_that_changes_with_the_season_is_said_to() {
    let mut rows = Vec::new();
    for (at, row) in bud_break(&["2022", "2023"], 0.0).into_iter().enumerate() {
        let (plot, season) = ((at / 2) % 4, at % 2);
        let high = (plot < 2) == (season == 0);
        rows.push(row.pair(
            "bud_break",
            if high { 90 } else { 60 } + (at as i64 * 3) % 4,
            100,
        ));
    }
    let bench = Bench::blocks(nodes(), vec![share("bud_break", Quantity::BudBreak)], rows);
    let statements = text(&bench.section().statements);
    assert!(
        statements.contains("What nodes did changed from season to season"),
        "{statements}"
    );
}

/// Clusters of three vines a plot in four blocks, with `change` made to the rows of vines.
fn clusters_on_vines(change: impl Fn(usize, Row) -> Option<Row>) -> Bench {
    let (mut plots, mut vines, mut at) = (Vec::new(), Vec::new(), 0);
    let mut random = Random(7);
    for block in 1..=4 {
        for (plot, level) in NODES.iter().enumerate() {
            let keys = Row::default().word("block", block).word("plot", plot + 1);
            plots.push(keys.clone().word("nodes", level).number("clusters", 0.0));
            let mean = 20.0 + level.parse::<f64>().unwrap();
            let of_plot = (0.15 * random.normal()).exp();
            for vine in 0..3 {
                let value = (mean * of_plot + mean.sqrt() * random.normal()).round() - 30.0;
                let row = keys.clone().word("vine", vine).number("clusters", value);
                vines.extend(change(at, row));
                at += 1;
            }
        }
    }
    let mut response = rate("clusters", Quantity::ClusterCount, Basis::LivingVine);
    response.on_vines = true;
    response.offset = 30.0;
    let mut bench = Bench::blocks(nodes(), vec![response], plots);
    bench.vines = vines;
    bench
}

#[test]
fn counts_of_vines_are_summed_with_the_vines_as_offset() {
    // The second vine of the first plot is dead: two vines make the plot.
    let bench = clusters_on_vines(|at, row| (at != 1).then_some(row));
    let section = bench.section();
    println!("{}\n\n{}", text(&section.statements), text(&section.notes));
    assert_eq!(
        numbers(&section, "means", "Vines"),
        [11.0, 12.0, 12.0, 12.0]
    );
    let (mean, counted) = (
        numbers(&section, "means", "Mean"),
        numbers(&section, "means", "As counted"),
    );
    for (mean, counted) in mean.iter().zip(counted) {
        assert!((mean / counted - 1.0).abs() < 0.05, "{mean} {counted}");
    }
    assert!(text(&section.statements).contains("clusters per vine at 12 nodes/vine"));
    assert!(
        section
            .tables
            .iter()
            .any(|table| table.columns.iter().any(|c| c.name == "Rate ratio"))
    );
}

#[test]
fn a_count_that_is_not_whole_is_refused_with_its_place() {
    let bench = clusters_on_vines(|at, row| {
        Some(if at == 4 {
            row.number("clusters", 2.5)
        } else {
            row
        })
    });
    let sentence = text(&bench.section().statements);
    assert_eq!(
        sentence,
        "Clusters: plot 2 of block 1 holds 32.5, which is not a count: counts are whole numbers from 0 up."
    );
}

/// Means of vines recorded a plot.
fn clusters_of_plots(vines: Option<i64>, mean: f64) -> Bench {
    let rows = (0..16).map(|at| {
        let row = Row::default()
            .word("block", at / 4)
            .word("plot", at % 4)
            .word("nodes", NODES[at % 4]);
        let value = mean + f64::from((at % 4) as i32) * 5.0 + f64::from((at / 4) as i32);
        let row = row.number("clusters", value);
        match vines {
            Some(vines) => row.whole("vines_alive", vines),
            None => row,
        }
    });
    let response = rate("clusters", Quantity::ClusterCount, Basis::LivingVine);
    Bench::blocks(nodes(), vec![response], rows.collect())
}

#[test]
fn means_of_vines_become_counts_only_where_they_are_whole() {
    let section = clusters_of_plots(Some(6), 38.5).section();
    assert_eq!(numbers(&section, "means", "Vines"), [24.0; 4]);
    assert_eq!(
        numbers(&section, "means", "Clusters")[0],
        (38.5 * 4.0 + 6.0) * 6.0
    );
    let sentence = text(&clusters_of_plots(Some(6), 38.3).section().statements);
    assert!(
        sentence.contains("has a mean of 38.3 on 6 vines, which is no whole number of clusters"),
        "{sentence}"
    );
    let sentence = text(&clusters_of_plots(None, 38.5).section().statements);
    assert!(
        sentence.contains("how many vines stand behind the mean of each plot is not recorded"),
        "{sentence}"
    );
}

#[test]
fn the_vines_planted_in_every_plot_turn_means_into_counts() {
    let with = |mean: f64, vines: u32, decimals: u8| {
        let mut bench = clusters_of_plots(None, mean);
        bench.trial.vineyard.vines_per_plot = Some(vines);
        bench.trial.responses[0].decimals = decimals;
        bench.section()
    };
    let section = with(38.2, 5, 2);
    assert_eq!(numbers(&section, "means", "Vines"), [20.0; 4]);
    assert_eq!(
        numbers(&section, "means", "Clusters")[0],
        38.2 * 5.0 * 4.0 + 6.0 * 5.0
    );
    assert!(
        text(&section.notes).contains("times the 5 vines planted in every plot"),
        "{}",
        text(&section.notes)
    );
    // A third of a vine's clusters written with two decimals: 38.33 x 3 = 114.99.
    let section = with(38.33, 3, 3);
    assert_eq!(
        numbers(&section, "means", "Clusters")[0],
        115.0 * 4.0 + 18.0
    );
    let sentence = text(&with(38.3, 5, 2).statements);
    assert!(
        sentence.contains("mean of 38.3 for a vine, which on the 5 vines planted in every plot is no whole number of clusters (191.5)"),
        "{sentence}"
    );
    let sentence = text(&with(38.25, 5, 3).statements);
    assert!(
        sentence.contains(
            "which on the 5 vines planted in every plot is no whole number of clusters (191.25)"
        ),
        "{sentence}"
    );
    let sentence = text(&with(38.0, 5, 1).statements);
    assert!(sentence.contains("written too short"), "{sentence}");
}

#[test]
fn living_buds_for_a_vine_stand_beside_their_share() {
    let mut bench = bud_break_bench(&["2024"], 0.1);
    bench.trial.responses[0].on_vines = true;
    for block in 1..=5 {
        for (plot, level) in NODES.iter().enumerate() {
            for vine in 0..4 {
                let keys = Row::default()
                    .word("block", format!("B{block}"))
                    .word("plot", plot + 1);
                let total = level.parse().unwrap();
                bench
                    .vines
                    .push(keys.word("vine", vine).pair("bud_break", total, total));
            }
        }
    }
    let section = bench.section();
    let per_vine = numbers(&section, "means", "Broken per vine, as counted");
    let broken = numbers(&section, "means", "Broken");
    assert_eq!(
        per_vine,
        broken.iter().map(|sum| sum / 20.0).collect::<Vec<_>>()
    );
    assert!(text(&section.statements).contains("Counted for a living vine, 11."));
}

#[test]
fn apparent_bud_break_is_refused_or_made_a_rate() {
    let rows: Vec<Row> = bud_break(&["2024"], 0.1)
        .into_iter()
        .enumerate()
        .map(|(at, row)| row.pair("bud_break", [52, 50, 49, 45][at % 4] + at as i64 / 4, 50))
        .collect();
    let mut bench = Bench::blocks(nodes(), vec![share("bud_break", Quantity::BudBreak)], rows);
    let sentence = text(&bench.section().statements);
    assert!(
        sentence.starts_with("Bud break: the count exceeds its total in plot 1 of block B1"),
        "{sentence}"
    );
    assert!(
        sentence.contains("above 100 %") && sentence.contains("apparent = true"),
        "{sentence}"
    );
    bench.options.push(("apparent", json!(true)));
    let section = bench.section();
    let means = numbers(&section, "means", "Mean");
    assert!((means[0] - 54.0 / 50.0).abs() < 0.01, "{means:?}");
    assert!(text(&section.notes).contains("shoots for each node"));
}

#[test]
fn counts_without_any_variation_are_sentences() {
    for (count, sentence) in [
        (0, "every count is 0"),
        (50, "every count equals its total"),
    ] {
        let rows = bud_break(&["2024"], 0.1)
            .into_iter()
            .map(|row| row.pair("bud_break", count, 50));
        let responses = vec![share("bud_break", Quantity::BudBreak)];
        let section = Bench::blocks(nodes(), responses, rows.collect()).section();
        assert!(text(&section.statements).contains(sentence));
        assert!(section.tables.is_empty() && section.figures.is_empty());
    }
}

#[test]
fn one_replicate_is_not_tested_by_its_buds() {
    let rows: Vec<Row> = bud_break(&["2024"], 0.1).into_iter().take(4).collect();
    let section =
        Bench::blocks(nodes(), vec![share("bud_break", Quantity::BudBreak)], rows).section();
    let sentence = text(&section.statements);
    assert!(
        sentence.contains("the nodes of one plot are not replicates"),
        "{sentence}"
    );
    assert!(section.tables.is_empty());
}

#[test]
fn empty_totals_and_missing_plots_are_named_and_left_out() {
    let rows: Vec<Row> = bud_break(&["2024"], 0.1)
        .into_iter()
        .enumerate()
        .map(|(at, row)| match at {
            2 => row.pair("bud_break", 0, 0),
            7 => row.without(&["bud_break__count", "bud_break__of"]),
            _ => row,
        })
        .collect();
    let section =
        Bench::blocks(nodes(), vec![share("bud_break", Quantity::BudBreak)], rows).section();
    let notes = text(&section.notes);
    assert!(
        notes.contains("Left out because the total is 0: plot 3 of block B1."),
        "{notes}"
    );
    assert!(
        notes.contains("Left out because no count was recorded: plot 4 of block B2."),
        "{notes}"
    );
    assert_eq!(numbers(&section, "means", "Plots"), [5.0, 5.0, 4.0, 4.0]);
    assert_eq!(numbers(&section, "tests", "df of error"), [10.0]);
}

#[test]
fn a_treatment_with_all_nodes_broken_has_finite_ratios_and_a_test() {
    let rows: Vec<Row> = bud_break(&["2024"], 0.1)
        .into_iter()
        .enumerate()
        .map(|(at, row)| match at % 4 {
            0 => row.pair("bud_break", 48, 48),
            other => row.pair("bud_break", 48 - 8 * other as i64 - (at as i64 / 4) % 3, 48),
        })
        .collect();
    let section =
        Bench::blocks(nodes(), vec![share("bud_break", Quantity::BudBreak)], rows).section();
    println!("{}\n\n{}", text(&section.statements), text(&section.notes));
    let notes = text(&section.notes);
    assert!(
        notes.contains("There is 0 or 100 % in all plots of 12 nodes/vine")
            && notes.contains("Firth (1993)"),
        "{notes}"
    );
    // 240 of 240 with half a count more and less: 240.5 / 241.
    let mean = numbers(&section, "means", "Mean")[0];
    assert!((mean - 240.5 / 241.0).abs() < 1e-3, "{mean}");
    let (low, high) = (
        numbers(&section, "means", "Low, 95 %")[0],
        numbers(&section, "means", "High, 95 %")[0],
    );
    assert!(0.9 < low && low < mean && mean < high && high < 1.0);
    let high = numbers(&section, "comparisons", "High, 95 %")[0];
    assert!(high.is_finite() && high > 10.0);
    assert!(numbers(&section, "tests", "P")[0] < 0.001);
}

#[test]
fn families_are_as_asked_for_or_refused() {
    let mut bench = clusters_on_vines(|_, row| Some(row));
    bench.options.push(("family", json!("negative binomial")));
    let notes = text(&bench.section().notes);
    assert!(
        notes.contains("which the negative binomial takes up")
            || notes.contains("Poisson was used"),
        "{notes}"
    );
    bench.options[0].1 = json!("binomial");
    assert!(text(&bench.section().statements).contains("it has no total to be a part of"));
    let mut bench = bud_break_bench(&["2024"], 0.1);
    bench.options.push(("family", json!("poisson")));
    assert!(text(&bench.section().statements).contains("only the binomial is right"));
}

#[test]
fn whole_plots_are_tested_against_whole_plots() {
    let mut random = Random(3);
    let mut rows = Vec::new();
    for block in 0..4 {
        for (a, system) in ["cordon", "cane", "head"].iter().enumerate() {
            let of_whole = 0.3 * random.normal();
            for (b, nodes) in ["24", "40"].iter().enumerate() {
                let eta: f64 =
                    1.0 + 0.3 * a as f64 - 0.8 * b as f64 + of_whole + 0.2 * random.normal();
                let count = random.binomial(80, 1.0 / (1.0 + (-eta).exp()));
                let row = Row::default().word("block", block).word("plot", 2 * a + b);
                rows.push(row.word("system", system).word("nodes", nodes).pair(
                    "bud_break",
                    count,
                    80,
                ));
            }
        }
    }
    let factors = vec![
        factor("system", &["cordon", "cane", "head"], None, Role::WholePlot),
        factor("nodes", &["24", "40"], None, Role::SubPlot),
    ];
    let mut bench = Bench::blocks(factors, vec![share("bud_break", Quantity::BudBreak)], rows);
    bench.trial.design.kind = DesignKind::SplitPlot;
    let section = bench.section();
    println!("{}\n\n{}", text(&section.statements), text(&section.notes));
    // Textbook: (4 − 1)(3 − 1) for whole plots, 3 (4 − 1)(2 − 1) for sub plots.
    assert_eq!(numbers(&section, "tests", "df of error"), [6.0, 9.0, 9.0]);
    assert_eq!(numbers(&section, "means", "Plots").len(), 3 + 2 + 6);
    let figure = &section.figures[0];
    assert_eq!(figure.series, ["cordon", "cane", "head"]);
    // Without a control all pairs of systems are compared, adjusted by Holm.
    assert_eq!(numbers(&section, "comparisons", "P").len(), 3);
}

/// Two levels have one difference: whichever way it is looked at, it has the same P and standard error.
#[test]
fn the_test_the_comparison_and_the_trend_of_two_levels_are_one() {
    let mut random = Random(8);
    let mut rows = Vec::new();
    for block in 0..5 {
        for (plot, nodes) in ["24", "48"].iter().enumerate() {
            let eta = 1.5 - 0.8 * plot as f64 + 0.5 * random.normal();
            let count = random.binomial(200, 1.0 / (1.0 + f64::exp(-eta)));
            let row = Row::default().word("block", block).word("plot", plot);
            rows.push(row.word("nodes", nodes).pair("bud_break", count, 200));
        }
    }
    let nodes = vec![factor("nodes", &["24", "48"], Some("24"), Role::Treatment)];
    let section =
        Bench::blocks(nodes, vec![share("bud_break", Quantity::BudBreak)], rows).section();
    assert!(text(&section.notes).contains("so each count has a random effect of its own"));
    let of = |table: &str, column: &str| numbers(&section, table, column)[0];
    let (f, p) = (of("tests", "F"), of("tests", "P"));
    assert!((of("comparisons", "P") - p).abs() < 1e-8);
    let trend = section
        .statements
        .iter()
        .find(|statement| statement.text.starts_with("For each 24 nodes/vine more"))
        .unwrap();
    let named = |name: &str| trend.values[name].value;
    assert!((named("p") - p).abs() < 1e-8);
    // Four degrees of freedom of error: t is 2.776445 (tables of Student's distribution), and the
    // standard error is the difference over the root of F.
    for (ratio, low, high) in [
        (
            of("comparisons", "Odds ratio"),
            of("comparisons", "Low, 95 %"),
            of("comparisons", "High, 95 %"),
        ),
        (named("ratio"), named("low"), named("high")),
    ] {
        let reach = 2.776_445 * ratio.ln().abs() / f.sqrt();
        assert!((ratio.ln() - low.ln() - reach).abs() < 1e-5 * reach);
        assert!((high.ln() - ratio.ln() - reach).abs() < 1e-5 * reach);
    }
}

#[test]
fn a_missing_combination_is_named_and_not_averaged_over() {
    let mut bench = bud_break_bench(&["2024"], 0.2);
    bench
        .trial
        .factors
        .push(factor("thinned", &["yes", "no"], None, Role::Treatment));
    for (at, row) in bench.plots.iter_mut().enumerate() {
        *row = row.clone().word(
            "thinned",
            if (at / 4) % 2 == 0 || at % 4 == 3 {
                "yes"
            } else {
                "no"
            },
        );
    }
    let section = bench.section();
    let notes = text(&section.notes);
    assert!(
        notes.contains(
            "There is no count for 48 / no, so main effects and interactions are not tested"
        ),
        "{notes}"
    );
    assert!(section.tables.iter().all(|table| table.id != "tests"));
}

#[test]
fn an_unknown_response_and_a_trial_without_counts_are_refused() {
    let mut bench = bud_break_bench(&["2024"], 0.1);
    bench.options.push(("responses", json!(["bud_brake"])));
    assert_eq!(
        bench.findings().unwrap_err().message,
        "the trial has no response 'bud_brake'"
    );
    let mut bench = bud_break_bench(&["2024"], 0.1);
    bench.trial.responses.clear();
    assert_eq!(
        bench.findings().unwrap_err().message,
        "the trial records no counts"
    );
}

#[test]
fn findings_are_the_same_every_time() {
    let bench = bud_break_bench(&["2022", "2023"], 0.5);
    assert_eq!(bench.findings(), bench.findings());
}

/// Invented trials of every size and spread: each gives findings that keep the contract, and hardly
/// any ends without a maximum.
#[test]
#[ignore = "a study of a minute"]
fn odd_trials_end_in_results_or_sentences() {
    let mut random = Random(2024);
    let (mut sets, mut failed, mut lost) = (0, 0, Vec::new());
    for run in 0..600 {
        let blocks = 2 + (random.unit() * 5.0) as usize;
        let seasons = 1 + (random.unit() * 3.0) as usize;
        let total = [1, 3, 8, 30, 200][(random.unit() * 5.0) as usize];
        let base = 8.0 * random.unit() - 4.0;
        let (sd, block_sd) = (2.0 * random.unit() * random.unit(), random.unit());
        let share_of_gaps = 0.2 * random.unit();
        let is_share = random.unit() < 0.5;
        let mut rows = Vec::new();
        for block in 0..blocks {
            let of_block = block_sd * random.normal();
            for (plot, level) in NODES.iter().enumerate() {
                for season in 0..seasons {
                    let eta: f64 = base + 0.5 * plot as f64 + of_block + sd * random.normal();
                    let chance = 1.0 / (1.0 + (-eta).exp());
                    let count = random.binomial(total, chance);
                    let mut row = Row::default()
                        .word("block", block)
                        .word("plot", plot)
                        .word("nodes", level);
                    if seasons > 1 {
                        row = row.word("season", 2020 + season);
                    }
                    let gap = random.unit() < share_of_gaps;
                    rows.push(match (gap, is_share) {
                        (true, _) => row,
                        (false, true) => row.pair("alive", count, total),
                        (false, false) => row.number("clusters", count as f64),
                    });
                }
            }
        }
        let response = if is_share {
            share("alive", Quantity::BudSurvival)
        } else {
            rate("clusters", Quantity::ClusterCount, Basis::Plot)
        };
        let mut bench = Bench::blocks(nodes(), vec![response], rows);
        if !is_share && run % 3 == 0 {
            bench.options.push(("family", json!("negative binomial")));
        }
        let section = bench.section();
        sets += if seasons > 1 { seasons + 1 } else { 1 };
        // One bud a plot leaves nothing to tell plots from treatments by: such sets may run away.
        let without = section.statements.iter().filter(|statement| {
            statement.text.contains("no results") && !statement.text.contains("every count")
        });
        for statement in without.filter(|_| total > 1) {
            failed += 1;
            lost.push(format!("{run}: {}", statement.text));
        }
    }
    println!(
        "{failed} of {sets} sets without results\n{}",
        lost.join("\n")
    );
    assert!(failed * 500 < sets, "{failed} of {sets}");
}

#[test]
fn results_for_programs_are_the_shares_of_the_table() {
    let section = bud_break_bench(&["2023", "2024"], 0.1).section();
    let of = |name: &str| numbers(&section, "means", name);
    let (mut means, mut low, mut high) = (Vec::new(), Vec::new(), Vec::new());
    for estimates in &section.estimates {
        assert_eq!(estimates.factors, ["nodes"]);
        for one in &estimates.treatments {
            means.push(one.value);
            low.push(one.low.unwrap());
            high.push(one.high.unwrap());
            // Five blocks: a plot counted in two seasons is one plot.
            assert_eq!(one.plots, 5);
        }
    }
    assert_eq!(means, of("Mean"));
    assert_eq!(low, of("Low, 95 %"));
    assert_eq!(high, of("High, 95 %"));
    let overall = section.estimates.last().unwrap();
    assert_eq!(overall.season, None);
    assert!(overall.test.is_some() && overall.seasons_test.is_some());
}
