//! Whole calls, built by hand, and what comes out of them.

mod by_season;
mod covariates;
mod estimates;
mod places;
mod refusals;
mod scales;
#[allow(clippy::unwrap_used, reason = "a test may stop")]
mod trial;

use caneplot_plugin::Analysis;
use caneplot_plugin::findings::{Cells, Findings, Rank, Table};
use caneplot_plugin::manifest::Manifest;
use caneplot_plugin::request::{DesignKind, Role};
use caneplot_readings::testing as render;
use serde_json::json;

use crate::Mixed;
use trial::Trial;

fn perennial(file: &str) -> Trial {
    let mut trial = Trial::read(DesignKind::RandomisedBlock, file)
        .rename("year", "season")
        .factor("treatment", "Pruning", Role::Treatment, &[])
        .response("yield_kg", "Yield", "kg/vine", "4.5");
    for level in &mut trial.factors[0].levels {
        level.label = match level.name.as_str() {
            "P1_minimal" => "minimal pruning",
            "P2_short_spur" => "short spurs",
            "P3_long_spur" => "long spurs",
            _ => "canes",
        }
        .to_owned();
    }
    trial
}

fn oats() -> Trial {
    Trial::read(DesignKind::SplitPlot, "oats.csv")
        .rename("Block", "block")
        .numbered()
        .factor("Variety", "Variety", Role::WholePlot, &[])
        .factor(
            "nitro",
            "Nitrogen",
            Role::SubPlot,
            &["0.0", "0.2", "0.4", "0.6"],
        )
        .response("yield", "Yield", "lb", "100")
}

fn missing_blocks() -> Trial {
    Trial::read(DesignKind::RandomisedBlock, "rcbd_missing.csv")
        .numbered()
        .factor("treatment", "Treatment", Role::Treatment, &[])
        .response("yield_kg", "Yield", "kg/vine", "3.5")
}

fn table<'a>(findings: &'a Findings, id: &str) -> &'a Table {
    let tables = &findings.sections[0].tables;
    tables.iter().find(|table| table.id == id).unwrap()
}

fn numbers(table: &Table, column: &str) -> Vec<Option<f64>> {
    let found = table.columns.iter().find(|c| c.name == column).unwrap();
    match &found.cells {
        Cells::Number { values, .. }
        | Cells::Probability { values }
        | Cells::Lettered { values, .. } => values.clone(),
        _ => panic!("{column} holds no numbers"),
    }
}

fn near(got: Option<f64>, want: f64) {
    let got = got.unwrap();
    assert!(
        (got - want).abs() <= 1e-8 * want.abs(),
        "{got} is not {want}"
    );
}

#[test]
fn the_manifest_is_in_order() {
    Manifest::read(Mixed::MANIFEST).unwrap();
}

fn sentences(findings: &Findings) -> Vec<String> {
    let section = &findings.sections[0];
    let all = section.statements.iter().chain(&section.notes);
    all.map(render::sentence).collect()
}

fn says(findings: &Findings, text: &str) {
    let all = sentences(findings);
    assert!(all.iter().any(|one| one.contains(text)), "{text}: {all:#?}");
}

fn never_says(findings: &Findings, text: &str) {
    let all = sentences(findings);
    assert!(
        !all.iter().any(|one| one.contains(text)),
        "{text}: {all:#?}"
    );
}

fn shown(what: &str, findings: &Findings) {
    if std::env::var_os("CANEPLOT_SHOW").is_some() {
        println!("######## {what}\n{}", render::text(findings));
    }
}

#[test]
fn a_balanced_split_plot_says_what_the_strata_say() {
    let findings = oats().findings();
    shown("oats", &findings);
    let tests = table(&findings, "tests");
    let f = numbers(tests, "F");
    for (at, term) in ["V", "N", "V:N"].iter().enumerate() {
        let want = &reference("oats.json")["tests"][*term]["kenward_roger"];
        near(f[at], number(&want["F_scaled"]));
    }
    let df = numbers(tests, "df of the error");
    near(df[0], 10.0);
    near(df[1], 45.0);
    near(df[2], 45.0);
    says(
        &findings,
        "every F here and its degrees of freedom were compared",
    );
    let satterthwaite = oats().option("df", json!("satterthwaite")).findings();
    let other = table(&satterthwaite, "tests");
    for (a, b) in numbers(other, "F").into_iter().zip(f) {
        near(a, b.unwrap());
    }
    says(
        &satterthwaite,
        "every F here and its degrees of freedom were compared",
    );
}

#[test]
fn missing_plots_are_adjusted_for() {
    let findings = missing_blocks().findings();
    shown("missing blocks", &findings);
    let want = reference("rcbd_missing_block_random.json");
    let tests = table(&findings, "tests");
    let kr = &want["tests"]["treatment"]["kenward_roger"];
    near(numbers(tests, "F")[0], number(&kr["F_scaled"]));
    near(numbers(tests, "df of the error")[0], number(&kr["ddf"]));
    near(numbers(tests, "P")[0], number(&kr["p"]));
    let means = table(&findings, "means-treatment");
    for (at, want) in want["emmeans"].as_array().unwrap().iter().enumerate() {
        near(
            numbers(means, "Adjusted mean")[at],
            number(&want["estimate"]),
        );
        near(numbers(means, "Standard error")[at], number(&want["se_kr"]));
        near(numbers(means, "df")[at], number(&want["df_kr"]));
    }
    says(&findings, "The set is not balanced");
    let ranks: Vec<Rank> = findings.sections[0]
        .statements
        .iter()
        .map(|s| s.rank)
        .collect();
    assert_eq!(
        ranks.iter().filter(|rank| **rank == Rank::Headline).count(),
        1
    );
}

#[test]
fn seasons_choose_their_covariance() {
    let findings = perennial("perennial.csv").findings();
    shown("perennial", &findings);
    let structures = table(&findings, "structures");
    let deviance = numbers(structures, "−2 log likelihood");
    for (at, file) in [(1, "perennial_cs.json"), (2, "perennial_ar1.json")] {
        near(deviance[at], -2.0 * number(&reference(file)["reml_loglik"]));
    }
    says(&findings, "'autoregressive' fits best");
    // First-order adjustment of perennial_ar1.json.
    let tests = table(&findings, "tests");
    let want = reference("perennial_ar1.json");
    for (at, term) in ["treatment", "year", "treatment:year"].iter().enumerate() {
        let want = &want["tests"][*term]["kenward_roger_firstorder_no_R_term"];
        near(numbers(tests, "F")[at], number(&want["F_scaled"]));
        near(numbers(tests, "df of the error")[at], number(&want["ddf"]));
    }
    says(&findings, "says nothing of other seasons");
}

fn reference(file: &str) -> serde_json::Value {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../numerics/tests/reference/mixed")
        .join(file);
    serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap()
}

fn number(of: &serde_json::Value) -> f64 {
    of.as_str().unwrap().parse().unwrap()
}

#[test]
fn equal_correlation_in_a_balanced_set_is_a_split_plot_in_time() {
    let findings = perennial("perennial.csv")
        .option("structure", json!("equal correlation"))
        .findings();
    says(
        &findings,
        "every F here and its degrees of freedom were compared",
    );
}

#[test]
fn seasons_as_a_sample() {
    let findings = perennial("perennial.csv")
        .option("season", json!("random"))
        .option("structure", json!("independent"))
        .option("predictions", json!(true))
        .findings();
    shown("random seasons", &findings);
    says(&findings, "seasons like these");
    let sources = table(&findings, "predictions");
    // Blocks and seasons; the interaction is at zero.
    assert_eq!(sources.columns[0].cells.len(), 5 + 6);
    assert!(
        findings.sections[0]
            .tables
            .iter()
            .all(|table| table.id != "seasons-treatment")
    );
}

fn boundary() -> Trial {
    let mut trial = Trial::read(DesignKind::SplitSplitPlot, "splitsplit_boundary.csv")
        .numbered()
        .factor("irrigation", "Irrigation", Role::WholePlot, &[])
        .factor("buds", "Buds", Role::SubPlot, &[])
        .factor("thinning", "Thinning", Role::SubSubPlot, &[])
        .response("yield", "Yield", "kg/vine", "8");
    trial.factors[2].control = Some("C1".to_owned());
    trial
}

/// The first test has the numbers of `splitsplit_boundary_kept.json`.
fn same_first_test(findings: &Findings, want: &serde_json::Value) {
    let tests = table(findings, "tests");
    let want = &want["A"];
    near(numbers(tests, "F")[0], number(&want["F_scaled"]));
    near(numbers(tests, "df of the error")[0], number(&want["ddf"]));
}

#[test]
fn a_component_below_zero_is_kept_in_the_tests_and_said() {
    let findings = boundary().findings();
    shown("below zero", &findings);
    let want = reference("splitsplit_boundary_kept.json");
    same_first_test(&findings, &want["unconstrained"]["kr"]);
    says(&findings, "Whole plots vary no more than");
    says(&findings, "their variance comes out below 0 (-3.02e-2)");
    // So a balanced set has the analysis of variance.
    says(
        &findings,
        "every F here and its degrees of freedom were compared",
    );
    let components = table(&findings, "components");
    assert_eq!(
        render::cell(&components.columns.last().unwrap().cells, 1),
        "below 0: as good as none; kept in the tests so that they hold their level"
    );
    assert!(numbers(components, "Variance")[1].unwrap() < 0.0);
}

#[test]
fn a_component_at_zero_is_held_there_where_asked_for() {
    let findings = boundary()
        .option("below_zero", json!("hold at 0"))
        .findings();
    shown("zero", &findings);
    let want = reference("splitsplit_boundary_kept.json");
    same_first_test(&findings, &want["kr_component_kept"]);
    says(&findings, "Whole plots vary no more than");
    says(&findings, "held at 0, as asked for");
    says(&findings, "read it");
    let components = table(&findings, "components");
    assert_eq!(
        render::cell(&components.columns.last().unwrap().cells, 1),
        "0 at its boundary; -0.0302 if it could be negative"
    );
}

/// The standard error of a mean is not below what the plots inside blocks give, √(E/r), and has their
/// degrees of freedom, where blocks lie apart by less than that.
#[test]
fn means_count_blocks_below_zero_as_none() {
    let rows = [
        ("B1", [3.0, 4.0, 5.3]),
        ("B2", [4.0, 5.2, 3.0]),
        ("B3", [5.0, 3.3, 4.0]),
        ("B4", [3.1, 5.2, 4.0]),
    ];
    let cells = |of: &dyn Fn(&str, usize, f64) -> String| {
        let all = rows.iter().flat_map(|(block, values)| {
            let own = values.iter().enumerate();
            own.map(|(at, value)| of(block, at, *value))
        });
        all.collect::<Vec<String>>()
    };
    let columns = vec![("block".to_owned(), cells(&|block, _, _| block.to_owned()))];
    let findings = Trial::made(DesignKind::RandomisedBlock, columns)
        .with("treatment", cells(&|_, at, _| format!("T{}", at + 1)))
        .with("yield", cells(&|_, _, value| value.to_string()))
        .numbered()
        .factor("treatment", "Treatment", Role::Treatment, &[])
        .response("yield", "Yield", "kg/vine", "4")
        .findings();
    says(&findings, "Standard errors of single means count it as 0");
    let error = numbers(table(&findings, "components"), "Variance")[1].unwrap();
    let means = table(&findings, "means-treatment");
    for at in 0..3 {
        near(numbers(means, "Standard error")[at], (error / 4.0).sqrt());
        // (4 − 1)(3 − 1).
        near(numbers(means, "df")[at], 6.0);
    }
}

#[test]
fn a_covariate_of_the_same_season_is_refused_unless_asked_for() {
    let trial = || {
        let mut values = Vec::new();
        let base = missing_blocks();
        for (row, text) in base.column("yield_kg").iter().enumerate() {
            let y: f64 = text.parse().unwrap();
            values.push(format!("{:.3}", 0.4 * y + 0.1 * ((row * 7) % 5) as f64));
        }
        base.with("prunings", values)
            .response("prunings", "Pruning weight", "kg/vine", "1.5")
            .option("covariates", json!(["prunings"]))
            .option("responses", json!(["yield_kg"]))
    };
    let refusal = trial().analysed().unwrap_err();
    assert!(refusal.message.contains("mediator"), "{refusal}");
    let allowed = trial().option("allow_mediator", json!(true)).findings();
    shown("mediator", &allowed);
    says(
        &allowed,
        "not the effect of the treatments as a grower would see it",
    );
    let before = trial().option("baseline", json!("before")).findings();
    says(&before, "before the treatments)");
    never_says(&before, "as a grower would see it");
    says(&before, "no sign of different slopes on pruning weight");
    let constant = trial()
        .option("baseline", json!("before"))
        .with("prunings", vec!["1.2".to_owned(); 26]);
    let refusal = constant.analysed().unwrap_err();
    assert!(
        refusal.message.contains("nothing to adjust for"),
        "{refusal}"
    );
}

#[test]
fn a_baseline_season_gives_the_covariate_and_is_left_out() {
    let findings = perennial("perennial.csv")
        .option("covariates", json!(["yield_kg"]))
        .option("baseline", json!("2016"))
        .findings();
    shown("baseline", &findings);
    says(&findings, "Season 2016 came before the treatments");
    says(
        &findings,
        "the answer is about 2017, 2018, 2019, 2020 and 2021",
    );
    let refusal = perennial("perennial.csv")
        .option("covariates", json!(["yield_kg"]))
        .option("baseline", json!("1999"))
        .analysed()
        .unwrap_err();
    assert!(refusal.message.contains("not a season"), "{refusal}");
}

#[test]
fn cells_without_values_are_named_and_complete_seasons_still_tested() {
    let trial = perennial("perennial.csv");
    let gone: Vec<usize> = (0..120)
        .filter(|&row| {
            trial.column("treatment")[row] == "P4_cane" && trial.column("season")[row] == "2016"
        })
        .collect();
    let findings = trial.without_rows(&gone).findings();
    shown("empty cells", &findings);
    says(
        &findings,
        "some combinations have no value at all (canes, 2016)",
    );
    assert!(
        numbers(table(&findings, "tests"), "F")
            .iter()
            .all(Option::is_none)
    );
    let simple = numbers(table(&findings, "simple-effects"), "F");
    assert!(simple[0].is_none() && simple[1].is_some());
}

#[test]
fn combinations_that_do_not_cross_are_compared_as_one_set() {
    let trial = oats();
    let gone: Vec<usize> = (0..72)
        .filter(|&row| {
            trial.column("Variety")[row] == "Victory" && trial.column("nitro")[row] != "0.0"
        })
        .collect();
    let findings = trial.without_rows(&gone).findings();
    shown("incomplete", &findings);
    says(&findings, "Only 9 of the 12 combinations");
    near(numbers(table(&findings, "tests"), "df")[0], 8.0);
}

#[test]
fn comparisons_with_a_control_and_by_holm() {
    let mut trial = missing_blocks().option("separation", json!("dunnett"));
    trial.factors[0].control = Some("T1".to_owned());
    let findings = trial.findings();
    shown("dunnett", &findings);
    let control = table(&findings, "control-treatment");
    assert_eq!(control.columns[0].cells.len(), 4);
    assert!(
        numbers(control, "P")
            .iter()
            .all(|p| p.is_some_and(|p| p < 1.0))
    );
    let holm = missing_blocks()
        .option("separation", json!("holm"))
        .findings();
    let p = numbers(table(&holm, "pairs-treatment"), "P");
    assert_eq!(p.len(), 10);
}

#[test]
fn what_cannot_be_analysed_has_a_sentence() {
    let constant = missing_blocks().with("yield_kg", vec!["3.2".to_owned(); 26]);
    says(
        &constant.findings(),
        "is the same in every plot (3.20 kg/vine)",
    );
    let single = missing_blocks().without_rows(&(5..26).collect::<Vec<_>>());
    let findings = single.findings();
    shown("single replicate", &findings);
    says(&findings, "is not analysed");
}

#[test]
fn strips_and_squares_agree_with_their_strata() {
    let strips = Trial::read(DesignKind::StripPlot, "stripplot.csv")
        .numbered()
        .factor("prune", "Pruning", Role::RowStrip, &[])
        .factor("soil", "Soil", Role::CrossStrip, &[])
        .response("yield", "Yield", "kg/vine", "10");
    let findings = strips.findings();
    shown("strips", &findings);
    says(
        &findings,
        "every F here and its degrees of freedom were compared",
    );
    let square = Trial::read(
        DesignKind::LatinSquare,
        "../data/datasets_OrchardSprays.csv",
    )
    .rename("rowpos", "row")
    .rename("colpos", "column")
    .numbered()
    .factor("treatment", "Spray", Role::Treatment, &[])
    .response("decrease", "Decrease", "", "0");
    let findings = square.findings();
    shown("square", &findings);
    near(numbers(table(&findings, "tests"), "df")[0], 7.0);
    says(
        &findings,
        "every F here and its degrees of freedom were compared",
    );
    let lost = square.without_rows(&[3, 17, 40]).findings();
    says(&lost, "The set is not balanced");
}

#[test]
fn whole_plots_through_seasons() {
    // Every plot of the split plot twice, the second season shifted and reshuffled a little.
    let first = oats();
    let rows = first.column("yield").len();
    let mut trial = oats();
    for (name, values) in &mut trial.columns {
        let mut again = values.clone();
        if name == "yield" {
            for (row, value) in again.iter_mut().enumerate() {
                let shift = ((row * 7) % 23) as f64 + if row % 4 == 3 { 25.0 } else { 0.0 };
                *value = format!("{}", value.parse::<f64>().unwrap() + shift);
            }
        }
        values.extend(again);
    }
    let seasons = (0..2 * rows).map(|row| if row < rows { "2001" } else { "2002" }.to_owned());
    let findings = trial.with("season", seasons.collect()).findings();
    shown("whole plots through seasons", &findings);
    let structures = table(&findings, "structures");
    assert_eq!(structures.columns[0].cells.len(), 4);
    assert_eq!(numbers(table(&findings, "tests"), "F").len(), 7);
    let tables = &findings.sections[0].tables;
    assert!(
        tables
            .iter()
            .any(|table| table.id == "seasons-variety-nitro")
    );
}

#[test]
fn findings_stay_sound_whatever_is_missing() {
    let strips = || {
        Trial::read(DesignKind::StripPlot, "stripplot.csv")
            .numbered()
            .factor("prune", "Pruning", Role::RowStrip, &[])
            .factor("soil", "Soil", Role::CrossStrip, &[])
            .response("yield", "Yield", "kg/vine", "10")
    };
    let mut state = 7_u64;
    let mut chance = move || {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(99);
        (state >> 33) as f64 / 2_f64.powi(31)
    };
    for share in [0.02, 0.2, 0.5, 0.8] {
        for mut trial in [
            oats(),
            strips(),
            missing_blocks(),
            perennial("perennial.csv"),
        ] {
            let name = trial.responses[0].name.clone();
            for (column, values) in &mut trial.columns {
                if *column == name {
                    for value in values {
                        if chance() < share {
                            value.clear();
                        }
                    }
                }
            }
            if share > 0.3 {
                trial = trial.option("df", json!("satterthwaite"));
            }
            // Every number finite, every P a probability; a refusal is a sentence.
            let findings = trial.findings();
            assert!(!findings.sections[0].statements.is_empty());
            shown(&format!("share {share}"), &findings);
        }
    }
}

#[test]
#[ignore = "measures time; run in release"]
fn time_of_a_response() {
    for (what, trial) in [
        (
            "five blocks, four treatments, six seasons",
            perennial("perennial.csv"),
        ),
        (
            "the same with missing plots",
            perennial("perennial_missing.csv"),
        ),
        ("split plot", oats()),
        (
            "six blocks, five treatments, four plots missing",
            missing_blocks(),
        ),
    ] {
        let call = trial.call();
        let mut took: Vec<f64> = (0..20)
            .map(|_| {
                let start = std::time::Instant::now();
                Mixed.analyse(&call).unwrap();
                start.elapsed().as_secs_f64() * 1e3
            })
            .collect();
        took.sort_by(f64::total_cmp);
        println!("{what}: median {:.1} ms", took[10]);
    }
}

#[test]
#[ignore = "measures time"]
fn time_of_nine_responses_over_seasons() {
    let mut nine = perennial("perennial.csv");
    for number in 0..8 {
        let values = nine
            .column("yield_kg")
            .iter()
            .enumerate()
            .map(|(row, text)| {
                let wiggle = ((row * 31 + number * 17) % 29) as f64 / 40.0;
                format!("{:.3}", text.parse::<f64>().unwrap() + wiggle)
            })
            .collect();
        let name = format!("y{number}");
        nine = nine.with(&name, values).response(&name, &name, "kg", "3");
    }
    let call = nine.call();
    let mut took: Vec<f64> = (0..9)
        .map(|_| {
            let start = std::time::Instant::now();
            Mixed.analyse(&call).unwrap();
            start.elapsed().as_secs_f64()
        })
        .collect();
    took.sort_by(f64::total_cmp);
    println!(
        "nine responses of 120 plot-seasons: fastest {:.3} s, median {:.3} s",
        took[0], took[4]
    );
}

#[test]
#[ignore = "measures time; run in release"]
fn time_of_a_hundred_responses() {
    let mut many = missing_blocks();
    for number in 0..100 {
        let values = many
            .column("yield_kg")
            .iter()
            .enumerate()
            .map(|(row, text)| {
                let wiggle = ((row * 31 + number * 17) % 29) as f64 / 40.0;
                format!("{:.3}", text.parse::<f64>().unwrap() + wiggle)
            })
            .collect();
        let name = format!("y{number}");
        many = many.with(&name, values).response(&name, &name, "kg", "3");
    }
    let call = many.call();
    let start = std::time::Instant::now();
    Mixed.analyse(&call).unwrap();
    let each = start.elapsed().as_secs_f64() * 1e3 / 101.0;
    println!("a hundred responses of the last: {each:.2} ms each");
}

#[test]
#[ignore = "prints findings to be read"]
fn reading() {
    for trial in [
        perennial("perennial.csv"),
        perennial("perennial_missing.csv"),
        oats(),
        missing_blocks(),
    ] {
        println!("{}", render::text(&trial.findings()));
    }
}
