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
                let eta: f64 = 3.2 - 0.03 * nodes + sd * random.normal();
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
