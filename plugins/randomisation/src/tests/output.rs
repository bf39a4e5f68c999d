//! What a reader gets: probabilities, sentences, what was left out, refusals.

use caneplot_plugin::findings::Rank;
use caneplot_plugin::request::{DesignKind, Role};
use caneplot_plugin::{Analysis, Call, Manifest};

use super::call::*;
use crate::Randomisation;

/// Made-up yields of five blocks and three treatments whose arrangements were counted in rational
/// arithmetic (numerics/tests/reference/README-randomisation.md).
const DATA: &str = include_str!("../../../numerics/tests/reference/data/sim_perm.csv");

fn blocks_of_three(blocks: usize) -> Call {
    let rows: Vec<Vec<&str>> = DATA
        .lines()
        .skip(1)
        .take(3 * blocks)
        .map(|line| line.split(',').collect())
        .collect();
    let texts = |at: usize| rows.iter().map(|row| row[at].to_owned()).collect();
    let values = rows.iter().map(|row| row[2].parse().ok()).collect();
    call(
        DesignKind::RandomisedBlock,
        vec![factor("treatment", Role::Treatment, &["T1", "T2", "T3"])],
        &[
            ("block", texts(0)),
            ("plot", texts(1)),
            ("treatment", texts(1)),
        ],
        &[("yield", values)],
    )
}

/// Blocks of two treatments, the second ahead by the amounts given.
fn blocks_of_two(ahead: &[f64]) -> Call {
    let (mut block, mut treatment, mut values) = (Vec::new(), Vec::new(), Vec::new());
    for (at, ahead) in ahead.iter().enumerate() {
        for (name, value) in [("a", 1.0), ("b", 1.0 + ahead)] {
            block.push(format!("B{at}"));
            treatment.push(name.to_owned());
            values.push(Some(value + at as f64 / 8.0));
        }
    }
    call(
        DesignKind::RandomisedBlock,
        vec![factor("pruning", Role::Treatment, &["a", "b"])],
        &[
            ("block", block),
            ("plot", treatment.clone()),
            ("pruning", treatment),
        ],
        &[("yield", values)],
    )
}

#[test]
fn the_manifest_is_one_the_program_accepts() {
    let manifest = Manifest::read(Randomisation::MANIFEST).unwrap();
    assert_eq!(manifest.name, "randomisation");
}

#[test]
fn the_table_has_the_exact_share_beside_that_of_f() {
    let section = section(&blocks_of_three(5));
    let table = &section.tables[0];
    assert_eq!(words(table, "Arrangements"), ["all 7776"]);
    assert_eq!(probabilities(table, "P by shuffling"), [30.0 / 7776.0]);
    let f = probabilities(table, "P by F")[0];
    // F(2, 8) = 18.1983…, P from the incomplete beta integral at 40 digits.
    assert!((f / 0.001_054_289_997_672_34 - 1.0).abs() < 1e-11);
    let said = said(&section.statements);
    assert!(
        said.contains("would rarely have made them look so different in yield (treatment)"),
        "{said}"
    );
    assert!(said.contains("the F test says the same"), "{said}");
    let headlines = section
        .statements
        .iter()
        .filter(|s| s.rank == Rank::Headline);
    assert_eq!(headlines.count(), 1);
}

#[test]
fn a_shuffle_that_cannot_reach_the_level_says_so() {
    let section = section(&blocks_of_two(&[1.0, 1.25, 0.9, 1.1]));
    assert_eq!(probabilities(&section.tables[0], "P by shuffling"), [0.125]);
    let said = said(&section.statements);
    assert!(
        said.contains("no P below 0.1250, however large the difference: it cannot reach 5 %"),
        "{said}"
    );
    assert!(
        said.contains("The two tests disagree on yield (pruning): 0.1250 by shuffling and 0.000"),
        "{said}"
    );
    assert!(
        said.contains("only the F test, with its assumptions, can tell"),
        "{said}"
    );
}

#[test]
fn one_wild_plot_makes_the_two_tests_part() {
    // The second treatment is ahead in all of eight blocks, in one by very much: rare by shuffling
    // (2 in 256), not by F.
    let section = section(&blocks_of_two(&[0.2, 0.3, 0.1, 0.25, 0.15, 0.2, 0.3, 9.0]));
    assert_eq!(
        probabilities(&section.tables[0], "P by shuffling"),
        [2.0 / 256.0]
    );
    assert!(probabilities(&section.tables[0], "P by F")[0] > 0.2);
    let said = said(&section.statements);
    assert!(said.contains("look at the residuals"), "{said}");
}

/// Six blocks of eight treatments in two seasons; invented.
fn many(gap: Option<usize>) -> Call {
    let (mut block, mut treatment, mut season) = (Vec::new(), Vec::new(), Vec::new());
    let mut values = Vec::new();
    let names: Vec<String> = (0..8).map(|at| format!("t{at}")).collect();
    for year in ["2021", "2022"] {
        for at in 0..48_usize {
            block.push(format!("B{}", at / 8));
            treatment.push(names[at % 8].clone());
            season.push(year.to_owned());
            let noise = ((at * at * at * 7 + at * 31 + values.len().pow(2) * 5) % 89) as f64 / 30.0;
            values.push(Some(noise + (at % 8) as f64 * 0.1));
        }
    }
    let second = values
        .iter()
        .map(|v: &Option<f64>| v.map(|v| v * v))
        .collect();
    if let Some(gap) = gap {
        values[gap] = None;
    }
    let levels: Vec<&str> = names.iter().map(String::as_str).collect();
    call(
        DesignKind::RandomisedBlock,
        vec![factor("pruning", Role::Treatment, &levels)],
        &[
            ("block", block),
            ("plot", treatment.clone()),
            ("pruning", treatment),
            ("season", season),
        ],
        &[("yield", values), ("brix", second)],
    )
}

#[test]
fn drawn_arrangements_come_with_their_error_and_the_seed() {
    let mut call = many(None);
    call.request.options["terms"] = "all".into();
    let section = section(&call);
    let table = &section.tables[0];
    assert_eq!(
        words(table, "Source of variation"),
        ["pruning", "pruning × season"].repeat(2)
    );
    assert!(words(table, "Arrangements")[0].starts_with("999 of more than 4 × 10^27"));
    for (shuffled, f) in probabilities(table, "P by shuffling")
        .iter()
        .zip(probabilities(table, "P by F"))
    {
        // Many plots: the two agree but for the error of drawing and the shape of the values.
        assert!((shuffled - f).abs() < 0.06, "{shuffled} {f}");
    }
    let noted = said(&section.notes);
    assert!(noted.contains("999.0000 were drawn with seed 1"), "{noted}");
    assert!(noted.contains("kept its seasons together"), "{noted}");
    assert_eq!(findings(&call), findings(&call));
    assert!(findings(&call).methods[1].contains("[@phipson-2010]"));
}

#[test]
fn a_gap_costs_its_block_and_only_in_its_response() {
    let section = section(&many(Some(11)));
    let noted = said(&section.notes);
    assert!(
        noted.contains("For yield, block B1 is left out: values are missing there"),
        "{noted}"
    );
    let whole = super::call::section(&many(None));
    let of = |section: &caneplot_plugin::findings::Section| {
        probabilities(&section.tables[0], "P by shuffling")
    };
    assert_eq!(of(&section)[1], of(&whole)[1]);
    assert_ne!(of(&section)[0], of(&whole)[0]);
}

#[test]
fn a_response_that_cannot_be_tested_has_its_sentence_and_the_others_go_on() {
    let mut call = many(None);
    let values = |of: &dyn Fn(usize) -> f64| {
        caneplot_plugin::Data::Numbers((0..96).map(|at| Some(of(at))).collect())
    };
    for (what, data) in [
        ("it is the same in every plot", values(&|_| 2.0)),
        (
            "plots treated alike do not vary at all; check for copied data",
            values(&|at| (at % 8) as f64),
        ),
    ] {
        for (name, column) in &mut call.tables[0].columns {
            if name == "yield" {
                *column = data.clone();
            }
        }
        let section = section(&call);
        let said = said(&section.statements);
        assert!(
            said.contains(&format!("yield has no test of pruning: {what}")),
            "{said}"
        );
        assert_eq!(words(&section.tables[0], "Response"), ["brix"]);
    }
}

#[test]
fn whole_plots_and_sub_plots_are_named() {
    let (mut block, mut whole, mut sub, mut plot) = (vec![], vec![], vec![], vec![]);
    let mut values = Vec::new();
    for at in 0..24_usize {
        block.push(format!("B{}", at / 6));
        whole.push(format!("w{}", at / 3 % 2));
        sub.push(format!("s{}", at % 3));
        plot.push(format!("p{at}"));
        values.push(Some(((at * at * 31 + at * 7) % 41) as f64));
    }
    let call = call(
        DesignKind::SplitPlot,
        vec![
            factor("system", Role::WholePlot, &["w0", "w1"]),
            factor("nodes", Role::SubPlot, &["s0", "s1", "s2"]),
        ],
        &[
            ("block", block),
            ("plot", plot),
            ("system", whole),
            ("nodes", sub),
        ],
        &[("yield", values)],
    );
    let section = section(&call);
    let noted = said(&section.notes);
    assert!(
        noted.contains("whole plots inside their blocks, each with its sub plots for system; sub plots inside their whole plots for nodes and system × nodes"),
        "{noted}"
    );
    assert_eq!(
        words(&section.tables[0], "Arrangements"),
        [
            "all 16".to_owned(),
            "999 of about 1.7 million".to_owned(),
            "999 of about 1.7 million".to_owned()
        ]
    );
}

#[test]
fn an_unknown_response_is_refused_with_what_to_do() {
    let mut call = blocks_of_three(4);
    call.request.options["responses"] = serde_json::json!(["yeld"]);
    let refusal = Randomisation.analyse(&call).unwrap_err();
    assert!(refusal.message.contains("'yeld'"));
    assert!(refusal.hint.is_some());
}
