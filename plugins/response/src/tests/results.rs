//! What the owner of a trial would read.

use caneplot_plugin::Findings;
use caneplot_plugin::findings::{Cells, Mark, Rank, Section, Table};
use caneplot_plugin::request::{DesignKind, Quantity, Role};
use serde_json::json;

use super::trial::{Chance, Trial, buds, columns, factor, nodes, perennial, split};
use caneplot_readings::testing::{cell, sentence, text};

fn headline(findings: &Findings) -> String {
    let found = findings.sections[0]
        .statements
        .iter()
        .find(|statement| statement.rank == Rank::Headline);
    sentence(found.unwrap_or_else(|| panic!("no headline in {}", text(findings))))
}

fn all(section: &Section) -> String {
    let statements = section.statements.iter().chain(&section.notes);
    statements.map(sentence).collect::<Vec<_>>().join("\n")
}

fn table<'a>(findings: &'a Findings, id: &str) -> &'a Table {
    let mut tables = findings.sections[0].tables.iter();
    tables.find(|table| table.id == id).unwrap()
}

fn numbers(table: &Table, column: &str) -> Vec<Option<f64>> {
    let found = table.columns.iter().find(|it| it.name == column).unwrap();
    match &found.cells {
        Cells::Number { values, .. } | Cells::Probability { values } => values.clone(),
        other => panic!("{column} is not of numbers: {other:?}"),
    }
}

fn row(table: &Table, name: &str) -> usize {
    (0..table.columns[0].cells.len())
        .find(|&row| cell(&table.columns[0].cells, row) == name)
        .unwrap_or_else(|| panic!("no row '{name}' in {table:?}"))
}

#[test]
fn two_shapes_that_fit_alike_are_both_in_the_headline() {
    let findings = buds().findings();
    assert_eq!(
        headline(&findings),
        "Yield levelled off somewhere between 32 and 53 nodes/vine: at about 46 nodes/vine (95 % interval 40 to 53) along a quadratic to a plateau, at about 35 nodes/vine (95 % interval 32 to 39) along a straight line to a plateau, and the trial cannot tell these apart."
    );
    // The join and the residual sums of squares are those of the 50-digit reference; the interval has
    // the error of the trial, 1.114578375/21, not the scatter about the curve.
    let curve = table(&findings, "curve");
    let join = numbers(curve, "Estimate")[row(curve, "Join")].unwrap();
    assert!((join - 46.257_746_278_819_746).abs() < 1e-9);
    let shapes = table(&findings, "shapes");
    let residual = numbers(shapes, "Residual sum of squares");
    for (name, want) in [
        ("Quadratic", 2.942_094_926_523_805),
        ("Straight line to a plateau", 1.397_816_216_666_666_7),
        ("Quadratic to a plateau", 1.376_426_144_842_362),
    ] {
        assert!((residual[row(shapes, name)].unwrap() - want).abs() < 1e-12);
    }
    let above = numbers(shapes, "AICc above the smallest");
    let gap = above[row(shapes, "Straight line to a plateau")].unwrap();
    assert!((gap - (9.292_341_456_029_097 - 8.798_876_377_410_852)).abs() < 1e-9);
}

/// A straight rise to 35 nodes and a level from there, with little error.
fn sharp() -> Trial {
    let levels = ["10", "20", "30", "40", "50", "60"];
    let mut chance = Chance(3);
    let mut rows = Vec::new();
    for block in ["B1", "B2", "B3", "B4"] {
        for level in levels {
            let nodes: f64 = level.parse().unwrap();
            let crop = 1.0 + 0.1 * nodes.min(35.0) + 0.2 * chance.next();
            let cells = [block, level, level, &format!("{crop:.3}")];
            rows.push(cells.map(str::to_owned).to_vec());
        }
    }
    Trial::new(
        DesignKind::RandomisedBlock,
        vec![nodes(&levels)],
        columns(&["block", "plot", "nodes", "yield"], rows),
    )
}

#[test]
fn a_join_is_read_from_its_profile_and_the_linearised_interval_is_called_too_narrow() {
    let findings = sharp().findings();
    let curve = table(&findings, "curve");
    let how = |name: &str| cell(&curve.columns[5].cells, row(curve, name));
    assert_eq!(how("Join"), "profile");
    assert_eq!(how("Join, for comparison"), "linearised, too narrow");
    assert!(
        curve
            .notes
            .iter()
            .any(|note| note.contains("79 to 88 % of trials instead of 95 %"))
    );
    // The headline and the figure have the profile.
    let ends = |column: &str| numbers(curve, column)[row(curve, "Join")].unwrap();
    let (low, high) = (ends("95 % from"), ends("95 % to"));
    let words = headline(&findings);
    assert!(
        words.contains(&format!("(95 % interval {low:.0} to {high:.0})")),
        "{words} {low} {high}"
    );
    // A quadratic to a plateau has a linearised interval that is wide enough.
    let findings = buds().findings();
    let curve = table(&findings, "curve");
    let how = cell(&curve.columns[5].cells, row(curve, "Join, for comparison"));
    assert_eq!(how, "linearised");
    assert!(!curve.notes.iter().any(|note| note.contains("79 to 88 %")));
}

#[test]
fn polynomials_alone_give_the_optimum_with_fiellers_interval() {
    let mut trial = buds();
    trial.set("shapes", json!("polynomial"));
    let findings = trial.findings();
    let words = headline(&findings);
    assert!(
        words.starts_with("Yield was highest at about 65 nodes/vine (95 % interval 62 to 70)"),
        "{words}"
    );
    let notes = all(&findings.sections[0]);
    assert!(notes.contains("Even the chosen curve leaves more of the level means than chance would (lack of fit P < 0.001)"), "{notes}");
    let curve = table(&findings, "curve");
    let how: Vec<String> = (0..curve.columns[0].cells.len())
        .map(|row| cell(&curve.columns[5].cells, row))
        .collect();
    assert!(how.contains(&"Fieller".to_owned()) && how.contains(&"linearised".to_owned()));
    assert!(
        findings
            .methods
            .iter()
            .any(|it| it.contains("@fieller-1954"))
    );
    assert!(
        !findings
            .methods
            .iter()
            .any(|it| it.contains("@hinkley-1969"))
    );
}

#[test]
fn seasons_that_differ_are_told_one_by_one_and_the_first_is_doubted() {
    let findings = perennial().findings();
    let words = headline(&findings);
    assert!(words.starts_with("How yield follows nodes left changed with the season (P < 0.001): in 2021 it rose steadily, by "), "{words}");
    assert!(
        words.contains("in 2023 it rose until 36 nodes/vine at the latest (95 % interval up to "),
        "{words}"
    );
    let words = all(&findings.sections[0]);
    assert!(words.contains("In the seasons after the first (2022, 2023 and 2024), taken together, it rose until 36 nodes/vine at the latest"), "{words}");
    assert!(
        words.contains("The first season after a change of pruning often overstates it"),
        "{words}"
    );
    assert!(!words.contains("bought no clear further crop"), "{words}");
    let figures = &findings.sections[0].figures;
    assert_eq!(figures.len(), 2);
    assert_eq!(figures[1].series, ["2021", "2022", "2023", "2024"]);
    // Nodes × season within plots: 4 × 3 degrees of freedom, and 5 blocks x 4 x 3 for error.
    let test = table(&findings, "parallel");
    let at = row(test, "Nodes left × Season");
    assert_eq!(cell(&test.columns[1].cells, at), "12");
    assert_eq!(cell(&test.columns[2].cells, at), "60");
}

#[test]
fn systems_with_parallel_curves_share_one_and_others_do_not() {
    let together = split(true).findings();
    let section = &together.sections[0];
    let words = headline(&together);
    assert!(words.starts_with("Yield rose by"), "{words}");
    assert!(
        words.contains("no sign of levelling off inside that range"),
        "{words}"
    );
    assert!(
        all(section).contains(
            "No clear sign that levels of training differ in how yield follows nodes left"
        )
    );
    let apart = split(false).findings();
    let words = headline(&apart);
    assert!(words.starts_with("How yield follows nodes left differed between levels of training (P < 0.001): with cordon it rose steadily"), "{words}");
    assert!(
        words.ends_with("with cane it did not clearly change."),
        "{words}"
    );
    // Sub plots: 2 x 4 x (5 - 1) less nothing else = 24 degrees of freedom for error.
    let test = table(&apart, "parallel");
    assert_eq!(cell(&test.columns[2].cells, 0), "24");
}

#[test]
fn an_amount_in_whole_plots_has_the_error_of_whole_plots() {
    let mut trial = split(true);
    trial.info.factors[0].role = Role::SubPlot;
    trial.info.factors[1].role = Role::WholePlot;
    let findings = trial.findings();
    let means = table(&findings, "means");
    assert_eq!(
        cell(&means.columns[1].cells, 0),
        "4",
        "four whole plots a level"
    );
    // (4 - 1) x (5 - 1) degrees of freedom.
    assert!(
        means.notes[0].contains("the error has 12 degrees of freedom"),
        "{:?}",
        means.notes
    );
    assert!(means.columns[1].name == "Whole plots");
    // The interaction with the sub plots' factor is tested between sub plots: (4 - 1) x 5.
    let test = table(&findings, "parallel");
    assert_eq!(cell(&test.columns[2].cells, 0), "15");
}

#[test]
fn gaps_change_the_set_but_not_the_kind_of_answer() {
    let mut trial = perennial();
    trial.empty(|cell| cell("block") == "B2" && cell("nodes") == "48" && cell("season") == "2022");
    trial.empty(|cell| cell("block") == "B5" && cell("season") == "2024");
    let findings = trial.findings();
    let words = all(&findings.sections[0]);
    assert!(words.contains("6 plots lack values that the others have and are left out of the curve over all: plot 48 of block B2, plot 24 of block B5, plot 36 of block B5 and 3 more."), "{words}");
    let seasons = table(&findings, "seasons");
    let count = |season: &str| cell(&seasons.columns[1].cells, row(seasons, season));
    assert_eq!(
        (count("2021"), count("2022"), count("2024")),
        ("25".into(), "24".into(), "20".into())
    );
    assert!(headline(&findings).contains("changed with the season"));
}

#[test]
fn a_season_that_most_plots_lack_is_left_out_instead_of_the_plots() {
    let mut trial = perennial();
    trial.empty(|cell| cell("season") == "2023" && cell("block") != "B1");
    let findings = trial.findings();
    let words = all(&findings.sections[0]);
    assert!(
        words
            .contains("Most plots have no value in 2023, so it is left out of the means over all."),
        "{words}"
    );
    assert_eq!(cell(&table(&findings, "means").columns[1].cells, 0), "5");
}

#[test]
fn nothing_clear_is_said_with_what_remains_open() {
    let mut chance = Chance(4);
    let mut rows = Vec::new();
    for block in 0..4 {
        for level in ["10", "20", "30", "40"] {
            rows.push(vec![
                format!("B{block}"),
                level.into(),
                level.into(),
                format!("{:.2}", 5.0 + chance.next()),
            ]);
        }
    }
    let trial = Trial::new(
        DesignKind::RandomisedBlock,
        vec![nodes(&["10", "20", "30", "40"])],
        columns(&["block", "plot", "nodes", "yield"], rows),
    );
    let words = headline(&trial.findings());
    assert!(
        words.starts_with(
            "Yield did not clearly change with nodes left between 10 and 40 nodes/vine (P = "
        ),
        "{words}"
    );
    assert!(
        words.contains("A straight change over the whole range could still lie anywhere from -"),
        "{words}"
    );
}

#[test]
fn the_economic_optimum_needs_all_three_numbers_and_names_its_units() {
    let mut trial = buds();
    trial.set("price", json!(0.6));
    let refusal = trial.refused().unwrap_err();
    assert!(
        refusal.message.contains("'cost_per_node' is not given"),
        "{refusal}"
    );
    trial.set("cost_per_node", json!(0.02));
    trial.set("cost_basis", json!("vine"));
    trial.set("money", json!("EUR"));
    trial.info.factors[0].control = Some("20".to_owned());
    let words = all(&trial.findings().sections[0]);
    // x0 + k/(2q) with k = 0.02/0.6 and the reference's x0 and q: 36.805.
    assert!(words.contains("At a price of EUR 0.6 for one kg of crop and a cost of EUR 0.02 per vine for one more of nodes left (nodes/vine), the best amount is 37 nodes/vine (95 % interval "), "{words}");
    // The chosen curve is a quadratic to a plateau, whose slope has no profile here.
    assert!(
        words.contains("), the interval being linearised and only about right. Prices"),
        "{words}"
    );
    assert!(
        words.contains(
            "Against the control, 20 nodes/vine, that leaves EUR 0.30 more per vine after the cost"
        ),
        "{words}"
    );

    // Cost per hectare needs the spacing: 10000/(2.4 x 1.5) vines make 55.56 of 0.02.
    trial.set("cost_per_node", json!(0.02 * 10_000.0 / 3.6));
    trial.set("cost_basis", json!("hectare"));
    let words = all(&trial.findings().sections[0]);
    assert!(
        words.contains("row_spacing and vine_spacing under [vineyard] are needed"),
        "{words}"
    );
    trial.info.vineyard.row_spacing_m = Some(2.4);
    trial.info.vineyard.vine_spacing_m = Some(1.5);
    let words = all(&trial.findings().sections[0]);
    assert!(
        words.contains("the best amount is 37 nodes/vine"),
        "{words}"
    );

    // Where seasons differ, the first is no guide to what will pay.
    let mut seasons = perennial();
    for (name, value) in [("price", json!(0.6)), ("cost_per_node", json!(0.02))] {
        seasons.set(name, value);
    }
    seasons.set("cost_basis", json!("vine"));
    let words = all(&seasons.findings().sections[0]);
    assert!(
        words.contains("For the seasons after the first: at a price of 0.6 for one kg of crop and a cost of 0.02 per vine"),
        "{words}"
    );

    // No prices, no economics; nor for what is not a crop.
    assert!(!all(&buds().findings().sections[0]).contains("best amount"));
    trial.info.responses[0].quantity = Quantity::SolubleSolids;
    assert!(!all(&trial.findings().sections[0]).contains("best amount"));
}

#[test]
fn figures_show_the_data_the_means_the_band_and_the_place() {
    let findings = buds().findings();
    let figure = &findings.sections[0].figures[0];
    let marks = &figure.panels[0].marks;
    let count = |is: &dyn Fn(&Mark) -> bool| marks.iter().filter(|mark| is(mark)).count();
    assert_eq!(count(&|mark| matches!(mark, Mark::Ribbon { .. })), 2);
    assert_eq!(
        count(&|mark| matches!(mark, Mark::Rule { x: Some(_), .. })),
        1
    );
    let raw = marks.iter().find_map(|mark| match mark {
        Mark::Points { y, faint: true, .. } => Some(y),
        _ => None,
    });
    assert_eq!(raw.unwrap().len(), 32);
    assert!(
        (raw.unwrap()[0] - 2.478).abs() < 1e-12,
        "values have their offset"
    );
    assert!(figure.caption.contains("n = 4 plots a level"));
    assert!(
        figure
            .alt
            .contains("level from about 46 (95 % interval 40 to 53)")
    );
}

#[test]
fn one_response_costs_milliseconds() {
    let mut trial = perennial();
    let one = trial.info.responses[0].clone();
    let values = trial.column("yield").clone();
    for at in 0..20 {
        let name = format!("yield{at}");
        trial
            .info
            .responses
            .push(caneplot_plugin::request::Response {
                name: name.clone(),
                ..one.clone()
            });
        trial.plots.push((name, values.clone()));
    }
    let start = std::time::Instant::now();
    assert_eq!(trial.findings().sections.len(), 21);
    println!("{:?} a response", start.elapsed() / 21);
}

#[test]
fn an_amount_of_two_levels_is_a_sentence_and_no_curve() {
    let mut trial = split(true);
    trial.info.factors[0] = factor("training", "Wire height", Role::WholePlot, &["80", "120"]);
    trial.info.factors[0].unit = Some("cm".to_owned());
    for value in trial.column("training") {
        *value = if value == "cane" { "120" } else { "80" }.to_owned();
    }
    let findings = trial.findings();
    let ids: Vec<&str> = findings.sections.iter().map(|it| it.id.as_str()).collect();
    assert_eq!(ids, ["training", "yield-nodes"]);
    let words = all(&findings.sections[0]);
    assert!(
        words.contains(
            "Wire height has two levels: there is a difference between them but no curve."
        ),
        "{words}"
    );
}

#[test]
fn two_amounts_make_two_sections_with_one_headline_each() {
    let mut trial = buds();
    // A second amount, crossed with the first as well as eight plots a block allow.
    let mut feed = factor(
        "feed",
        "Nitrogen",
        Role::Treatment,
        &["0", "30", "60", "90"],
    );
    feed.unit = Some("kg/ha".to_owned());
    trial.info.factors.push(feed);
    let rows = trial.column("yield").len();
    let levels = (0..rows).map(|row| ["0", "30", "60", "90"][(row + row / 8) % 4].to_owned());
    trial.plots.push(("feed".to_owned(), levels.collect()));
    let findings = trial.findings();
    let ids: Vec<&str> = findings.sections.iter().map(|it| it.id.as_str()).collect();
    assert_eq!(ids, ["yield-nodes", "yield-feed"]);
}
