//! Nodes meant and left, rules of balanced pruning, nodes to leave, vines lost, apparent bud break:
//! from the folder or the command line to what is said.

use serde_json::Value as Json;

use crate::support::{Scratch, caneplot, column, said, section, table};

const HEAD: &str = "[trial]\ntitle = \"Severity\"\nquestion = \"How severely?\"\nseasons = \"2021-2022\"\n[design]\n\
    kind = \"randomised block\"\nblock = \"block\"\nplot = \"plot\"\nvine = \"vine\"\nseason = \"season\"\n";
const DATA: &str = "[status]\ncolumn = \"status\"\n\
    [[data]]\nfile = \"harvest.csv\"\n[[data]]\nfile = \"winter.csv\"\nwinter = \"before harvest\"\n\
    [responses.yield]\ncolumn = \"kg\"\nunit = \"kg/vine\"\n\
    [responses.pruning_weight]\ncolumn = \"wood\"\nunit = \"lb/vine\"\nreport_in = \"kg/vine\"\n\
    [responses.nodes_left]\ncolumn = \"left\"\nunit = \"nodes/vine\"\n\
    [responses.shoots]\nunit = \"shoots/vine\"\n\
    [responses.bud_break]\ncolumn = \"broken\"\nof = \"left_in_spring\"\n\
    [analyses]\nseverity = {}\ncounts = {}\n";

/// A trial of four blocks, three levels and three vines a plot in two seasons. `left` is the nodes left
/// for 2022 by level and by the pounds of prunings cut before; those left for 2021 are as many. Vines
/// listed as block, level, vine died in 2022.
fn trial(
    factor: &str,
    levels: [&str; 3],
    left: impl Fn(usize, f64) -> f64,
    dead: &[(usize, usize, usize)],
) -> Scratch {
    let scratch = Scratch::new();
    let mut harvest =
        String::from("season,block,plot,level,vine,status,kg,shoots,broken,left_in_spring\n");
    let mut winter = String::from("season,block,plot,vine,wood,left\n");
    for block in 0..4 {
        for (at, level) in levels.into_iter().enumerate() {
            let plot = format!("{block}{at}");
            for vine in 0..3 {
                // Cut in the winter before the harvest of 2022: grown in 2021.
                let pounds = [0.5, 2.0, 3.0][vine];
                let nodes = left(at, pounds);
                for season in [2021, 2022] {
                    let key = format!("{season},B{block},P{plot}");
                    if season == 2022 && dead.contains(&(block, at, vine)) {
                        harvest.push_str(&format!("{key},{level},{vine},dead,,,,\n"));
                        continue;
                    }
                    let (broken, kg) = (
                        (nodes * 0.8).floor(),
                        2.0 + 0.1 * nodes + 0.2 * ((block + vine) % 3) as f64,
                    );
                    harvest.push_str(&format!(
                        "{key},{},{vine},alive,{kg:.2},{},{broken},{nodes}\n",
                        level,
                        broken + (8 - 3 * at) as f64
                    ));
                    let wood = if season == 2022 {
                        pounds.to_string()
                    } else {
                        String::new()
                    };
                    winter.push_str(&format!("{key},{vine},{wood},{nodes}\n"));
                }
            }
        }
    }
    scratch.write("trial.toml", &format!("{HEAD}{factor}{DATA}"));
    scratch.write("harvest.csv", &harvest);
    scratch.write("winter.csv", &winter);
    scratch
}

fn nodes(left: impl Fn(usize) -> f64, dead: &[(usize, usize, usize)]) -> Scratch {
    let factor =
        "[factors.level]\nlevels = [10, 20, 40]\nunit = \"nodes/vine\"\nlabel = \"Nodes\"\n";
    trial(factor, ["10", "20", "40"], |at, _| left(at), dead)
}

/// Sentences of a section in one text, numbers as they stand in `values`.
fn sentences(section: &Json) -> String {
    section["statements"].to_string()
}

fn numbers(table: &Json, name: &str) -> Vec<f64> {
    column(table, name)
        .iter()
        .filter_map(Json::as_f64)
        .collect()
}

#[test]
fn a_treatment_pruned_harder_than_meant_is_told() {
    let scratch = nodes(|at| [10.0, 20.0, 30.0][at], &[]);
    let findings = scratch.findings();
    let found = section(&findings, "severity", "nodes_left");
    assert!(
        sentences(found).contains("Not every treatment was pruned as it was meant"),
        "{found:#}"
    );
    let means = table(found, "nodes");
    assert_eq!(numbers(means, "Left"), [10.0, 20.0, 30.0]);
    assert_eq!(numbers(means, "Within tolerance"), [1.0, 1.0, 0.0]);
    assert_eq!(table(found, "seasons")["columns"][1]["name"], "Season");
    let report = std::fs::read_to_string(scratch.report().join("report.md")).expect("a report");
    // 30 - 10 = 20 nodes in place of 30: 30 / 20 = 1.5.
    assert!(
        report.contains("20.0 nodes more were left where 30.0 more were meant"),
        "{report}"
    );
    assert!(report.contains("about 1.50 times"), "{report}");
    assert!(
        scratch
            .report()
            .join("figures/severity-level-left-and-meant.svg")
            .is_file()
    );
}

const RULES: &str = "[factors.level]\nlevels = [\"20+10\", \"30+10\", \"ratio\"]\n[factors.level.rules]\n\
    \"20+10\" = { rule = \"20 + 10 per lb\", light = \"as one unit\" }\n\
    \"30+10\" = { rule = \"30 + 10 per lb\", light = 10, most = 45 }\n\
    ratio = { rule = \"20 per lb\" }\n";

/// By hand for 0.5, 2 and 3 lb: 20, 30, 40; 10, 40, 45 (50 above the most); 10, 40, 60.
fn by_rule(at: usize, pounds: f64) -> f64 {
    let vine = if pounds < 1.0 {
        0
    } else if pounds < 2.5 {
        1
    } else {
        2
    };
    [[20.0, 30.0, 40.0], [10.0, 40.0, 45.0], [10.0, 40.0, 60.0]][at][vine]
}

#[test]
fn nodes_left_are_held_against_the_rule_and_the_prunings_of_that_winter() {
    let scratch = trial(RULES, ["20+10", "30+10", "ratio"], by_rule, &[]);
    let findings = scratch.findings();
    let found = section(&findings, "severity", "nodes_left");
    assert!(
        sentences(found).contains("The nodes left followed the rules"),
        "{found:#}"
    );
    let by = numbers(table(found, "nodes"), "By the rule");
    for (got, want) in by.iter().zip([30.0, 95.0 / 3.0, 110.0 / 3.0]) {
        assert!((got - want).abs() < 1e-9, "{by:?}");
    }
    // Nodes left for 2021 follow prunings that nobody recorded.
    assert!(
        found["notes"].to_string().contains("cannot be judged"),
        "{found:#}"
    );
    scratch.change("winter.csv", "2022,B1,P10,1,2,30", "2022,B1,P10,1,2,42");
    let findings = scratch.findings();
    let found = section(&findings, "severity", "nodes_left");
    let text = sentences(found);
    assert!(
        text.contains("vine 1 of plot P10 of block B1 in 2022") && text.contains("1 vine is away"),
        "{text}"
    );
    let outside = table(found, "outside");
    assert_eq!(numbers(outside, "Left less meant"), [12.0]);
}

#[test]
fn vines_lost_are_compared_and_none_lost_is_said() {
    let findings = nodes(|at| [10.0, 20.0, 40.0][at], &[]).findings();
    let lost = section(&findings, "counts", "vines_lost");
    assert!(
        sentences(lost).contains("No vine was lost: all 36 vines of 12 plots"),
        "{lost:#}"
    );
    let dead: Vec<(usize, usize, usize)> = (0..4)
        .flat_map(|block| [(block, 2, 0), (block, 2, 1)])
        .chain([(0, 0, 0), (1, 1, 2)])
        .collect();
    let findings = nodes(|at| [10.0, 20.0, 40.0][at], &dead).findings();
    let lost = section(&findings, "counts", "vines_lost");
    let text = sentences(lost);
    assert!(
        text.contains("Treatments lost vines unequally") && text.contains("As counted"),
        "{text}"
    );
    let means = table(lost, "means");
    assert_eq!(numbers(means, "Lost"), [1.0, 1.0, 8.0]);
    assert_eq!(numbers(means, "Planted"), [12.0, 12.0, 12.0]);
}

#[test]
fn apparent_bud_break_is_told_apart_from_that_of_nodes() {
    let findings = nodes(|at| [10.0, 20.0, 40.0][at], &[]).findings();
    let found = section(&findings, "counts", "bud_break");
    let both = table(found, "apparent");
    // 8 of 10 broke and 8 more shoots grew; 16 of 20 and 5; 32 of 40 and 2.
    for (name, want) in [
        ("Bud break of nodes", [0.8, 0.8, 0.8]),
        ("Apparent", [1.6, 1.05, 0.85]),
        ("Shoots from elsewhere", [0.5, 5.0 / 21.0, 2.0 / 34.0]),
    ] {
        for (got, want) in numbers(both, name).into_iter().zip(want) {
            assert!((got - want).abs() < 1e-12, "{name}: {got} for {want}");
        }
    }
    assert!(sentences(found).contains("apparent bud break"), "{found:#}");
}

fn answer(arguments: &[&str]) -> (bool, String) {
    let output = caneplot()
        .arg("nodes")
        .args(arguments)
        .output()
        .expect("the program starts");
    (output.status.success(), said(&output))
}

#[test]
fn nodes_to_leave_are_answered_on_the_command_line() {
    // "Growing Grapes in West Virginia", West Virginia Department of Agriculture: 30 + 10, 3 lb: 50.
    let (well, text) = answer(&["prunings", "--rule", "30 + 10 per lb", "3 lb", "1134g"]);
    assert!(well, "{text}");
    let last = |line: &str| line.split_whitespace().last().map(str::to_owned);
    let of = |start: &str| {
        text.lines()
            .find(|line| line.starts_with(start))
            .and_then(last)
    };
    assert_eq!(
        (of("3 lb"), of("1134g")),
        (Some("50".to_owned()), Some("45".to_owned())),
        "{text}"
    );
    let (well, text) = answer(&["prunings", "--rule", "30 + 10 per lb", "0.5 lb"]);
    assert!(!well && text.contains("add --light"), "{text}");
    let (well, text) = answer(&["prunings", "--rule", "30 + 10", "3 lb"]);
    assert!(
        !well && text.contains("does not say per which weight"),
        "{text}"
    );
    // 40 / 0.65 = 61.5; 40 x 1.35 = 54.
    let (well, text) = answer(&["winter", "--target", "40", "--cut", "100", "--dead", "35"]);
    assert!(well, "{text}");
    for (rule, nodes) in [("exact", "62"), ("Cornell", "54"), ("Zabadal", "62")] {
        let found = text
            .lines()
            .find(|line| line.starts_with(rule))
            .and_then(last);
        assert_eq!(found.as_deref(), Some(nodes), "{text}");
    }
    for words in [
        "28 February 2014",
        "last hard frost",
        "Secondary buds",
        "advisory service",
    ] {
        assert!(text.contains(words), "{words}\n{text}");
    }
    let (well, text) = answer(&["winter", "--target", "40", "--cut", "10", "--dead", "12"]);
    assert!(!well && text.contains("12 cannot be dead"), "{text}");
    let (well, text) = answer(&["winter", "--target", "40"]);
    assert!(
        !well && text.contains("--cut") && text.contains("--counts"),
        "{text}"
    );
}

#[test]
fn bud_counts_come_from_a_file_too() {
    let scratch = Scratch::new();
    scratch.write(
        "buds.csv",
        "variety,buds_cut,primary_dead\nRiesling,50,9\nMerlot,50,26\n",
    );
    let path = scratch.trial().join("buds.csv");
    let path = path.to_str().expect("a plain path");
    let (well, text) = answer(&["winter", "--target", "40", "--counts", path]);
    assert!(
        well && text.contains("Riesling: 9 of 50") && text.contains("all samples: 35 of 100"),
        "{text}"
    );
    scratch.change("buds.csv", "50,26", "50,x");
    let (well, text) = answer(&["winter", "--target", "40", "--counts", path]);
    assert!(
        !well && text.contains("'x' is not a count") && text.contains("line 3"),
        "{text}"
    );
}
