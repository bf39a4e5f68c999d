//! What the parts are.

use caneplot_plugin::Data;
use caneplot_plugin::request::{Basis, Quantity, Role};
use caneplot_readings::testing::{Made, factor, response, sentence, table, text, texts};

use super::trial::{CLUSTERS, NODES, SHOOTS, WEIGHT, analysed, column, nodes, put, spread, values};

fn near(found: f64, expected: f64) {
    assert!((found - expected).abs() < 1e-12, "{found} {expected}");
}

#[test]
fn known_factors_are_found_again() {
    // Plots differ, so that there is an error, and the differences cancel in every treatment.
    let mut made = spread(&["2021", "2022"], 0.0);
    let own = [[1, -1, 1, -1], [1, 1, -1, -1], [1, -1, -1, 1]];
    let crop = values(&made, "yield")
        .into_iter()
        .enumerate()
        .map(|(row, crop)| {
            let (block, treatment) = (row / 6, row / 2 % 3);
            crop.map(|crop| crop * (0.02 * f64::from(own[treatment][block])).exp())
        })
        .collect();
    put(&mut made, "yield", crop);
    let findings = analysed(&made).unwrap();
    let found = column(&findings, "parts", "Change in logarithm");
    for (row, treatment) in [(0, 0), (5, 2)] {
        let parts = [NODES, SHOOTS, CLUSTERS, WEIGHT].map(|all| (all[treatment] / all[1]).ln());
        near(found[row], parts.iter().sum());
        for (at, part) in parts.into_iter().enumerate() {
            near(found[row + 1 + at], part);
        }
    }
}

#[test]
fn parts_and_their_variances_add_up_to_the_whole() {
    let findings = analysed(&nodes(&["2021", "2022", "2023"])).unwrap();
    let found = column(&findings, "parts", "Change in logarithm");
    let errors = column(&findings, "parts", "Standard error");
    let names = [
        "Nodes",
        "Shoots per node",
        "Clusters per shoot",
        "Weight per cluster",
    ];
    let products: Vec<Vec<f64>> = names
        .iter()
        .map(|name| column(&findings, "covariances", name))
        .collect();
    for treatment in 0..2 {
        let row = treatment * 5;
        near(found[row + 1..row + 5].iter().sum(), found[row]);
        let all: f64 = (0..4)
            .flat_map(|a| products.iter().map(move |column| (a, column)))
            .map(|(a, column)| column[row + a])
            .sum();
        near(all, errors[row].powi(2));
    }
}

#[test]
fn the_sentence_names_the_change_and_its_parts() {
    let findings = analysed(&nodes(&["2021", "2022"])).unwrap();
    let statements: Vec<String> = findings.sections[0]
        .statements
        .iter()
        .map(sentence)
        .collect();
    assert!(
        statements[1].starts_with(
            "Doubling nodes left from 24 to 48 nodes/vine raised yield by 38 % (95 % interval 22 % to 57 %) over 2 seasons: nodes +100 %, shoots per node −10 %, clusters per shoot −20 %, weight per cluster −3 %."
        ),
        "{}",
        statements[1]
    );
    assert!(statements[0].starts_with("Halving nodes left from 24 to 12 nodes/vine lowered yield"));
    // ln 48/24 less the change in yield, over ln 48/24.
    let change = column(&findings, "parts", "Change in logarithm")[5];
    let share = format!(
        "took back {:.0} % of the yield",
        (1.0 - change / 2.0_f64.ln()) * 100.0
    );
    assert!(statements[3].contains(&share), "{} {share}", statements[3]);
}

#[test]
fn berry_weight_takes_the_place_of_the_last_factor() {
    let mut made = nodes(&["2021"]);
    let berry = values(&made, "shoots")
        .iter()
        .map(|shoots| Some(1.2 + shoots.unwrap() / 1000.0))
        .collect();
    put(&mut made, "berry", berry);
    let mut berries = response("berry", "Berry weight", "g", Quantity::BerryWeight);
    berries.basis = Basis::Plot;
    let findings = analysed(&made.clone().with(berries.clone())).unwrap();
    let all = text(&findings);
    assert!(all.contains("Berries per cluster | "), "{all}");
    let found = column(&findings, "parts", "Change in logarithm");
    near(found[1..6].iter().sum(), found[0]);
    // With berries counted too, what samples leave over has its own part.
    put(&mut made, "count", vec![Some(90.0); 12]);
    let counted = response("count", "Berries per cluster", "", Quantity::BerryCount);
    let findings = analysed(&made.with(berries).with(counted)).unwrap();
    let all = text(&findings);
    assert!(all.contains("Not accounted for"), "{all}");
    let found = column(&findings, "parts", "Change in logarithm");
    assert_eq!(found.len(), 14);
    near(found[4], 0.0);
    near(found[1..7].iter().sum(), found[0]);
}

#[test]
fn counts_at_bud_break_give_nodes_and_shoots() {
    let mut made = nodes(&["2021"]);
    made.trial.responses.retain(|response| {
        !matches!(
            response.quantity,
            Quantity::NodesLeft | Quantity::ShootCount
        )
    });
    // Two vines a plot; the second has twice the nodes of the first.
    let (mut keys, mut count, mut of): ([Vec<String>; 3], _, _) =
        (Default::default(), Vec::new(), Vec::new());
    for row in 0..12 {
        for vine in 1..=2 {
            for (key, name) in keys.iter_mut().zip(["block", "plot", "nodes"]) {
                key.push(made.plots.texts(name).unwrap()[row].clone().unwrap());
            }
            let nodes: i64 = keys[2].last().unwrap().parse().unwrap();
            of.push(Some(nodes * vine));
            count.push(Some(nodes * vine * 3 / 4));
        }
    }
    let [block, plot, level] = keys;
    let vines = table(
        "vines",
        vec![
            ("block", texts(block)),
            ("plot", texts(plot)),
            ("nodes", texts(level)),
            ("broken__count", Data::Whole(count)),
            ("broken__of", Data::Whole(of)),
        ],
    );
    let mut broken = response("broken", "Bud break", "%", Quantity::BudBreak);
    broken.counts = Some(("broken__count".to_owned(), "broken__of".to_owned()));
    broken.basis = Basis::Plot;
    put(&mut made, "broken", vec![Some(75.0); 12]);
    let findings = analysed(&made.vines(vines).with(broken)).unwrap();
    let found = column(&findings, "parts", "Change in logarithm");
    near(found[1], 0.5_f64.ln());
    near(found[2], 0.0);
    assert!(text(&findings).contains("Nodes are those counted at bud break"));
}

#[test]
fn gaps_make_survival_the_first_part() {
    let mut made = nodes(&["2021"]);
    // A vine of five is dead in every plot with 48 nodes.
    let spaces = values(&made, "yield")
        .iter()
        .enumerate()
        .map(|(row, crop)| Some(crop.unwrap() * if row % 3 == 2 { 0.8 } else { 1.0 }))
        .collect();
    put(&mut made, "yield_per_space", spaces);
    let mut per_space = response(
        "yield_per_space",
        "Yield, per planted space",
        "kg/vine",
        Quantity::Yield,
    );
    per_space.basis = Basis::PlantedSpace;
    per_space.derived = Some("mean of the living vines times their share".to_owned());
    let findings = analysed(&made.with(per_space)).unwrap();
    let found = column(&findings, "parts", "Change in logarithm");
    assert_eq!(found.len(), 12);
    near(found[7], 0.8_f64.ln());
    near(found[7..12].iter().sum(), found[6]);
    let all = text(&findings);
    assert!(
        all.contains("survival of vines −20 %, nodes +100 %"),
        "{all}"
    );
    // Dead vines are not what vines took back.
    let change: f64 = found[9..12].iter().sum();
    let share = format!("took back {:.0} %", -change / 2.0_f64.ln() * 100.0);
    assert!(all.contains(&share), "{all} {share}");
}

/// Blocks by two systems by three numbers of nodes.
fn split_plot() -> Made {
    let mut made = nodes(&["2021"]);
    made.trial.design.kind = caneplot_plugin::request::DesignKind::SplitPlot;
    let whole: Vec<String> = (0..24).map(|at| ["VSP", "T"][at / 12].to_owned()).collect();
    let twice = |data: &Data| match data {
        Data::Texts(values) => Data::Texts([values.clone(), values.clone()].concat()),
        Data::Numbers(values) => {
            let more = values.iter().enumerate().map(|(at, value)| {
                value.map(|value| {
                    value * (1.1 + f64::from(u8::try_from(at * 5 % 7).unwrap()) / 90.0)
                })
            });
            Data::Numbers(values.iter().copied().chain(more).collect())
        }
        other => other.clone(),
    };
    for (name, data) in &mut made.plots.columns {
        *data = twice(data);
        if name == "plot" {
            *data = texts(1..=24);
        }
    }
    made.plots.rows = 24;
    made.plots.columns.push(("system".to_owned(), texts(whole)));
    let mut system = factor("system", "Training system", &["VSP", "T"], None);
    system.role = Role::WholePlot;
    made.trial.factors[0].role = Role::SubPlot;
    made.trial.factors.insert(0, system);
    made
}

#[test]
fn an_incomplete_split_plot_is_refused_by_its_missing_plot() {
    let mut made = split_plot();
    let mut crop = values(&made, "yield");
    crop[4] = None;
    put(&mut made, "yield", crop);
    let findings = analysed(&made).unwrap();
    for section in &findings.sections {
        let words = sentence(&section.statements[0]);
        assert!(
            words.contains("block B2 has no value for Training system VSP, Nodes left 24, and a split plot has several errors"),
            "{words}"
        );
        assert!(section.tables.is_empty());
    }
    assert!(findings.methods.is_empty());
}

#[test]
fn crop_by_plot_is_divided_by_its_living_vines() {
    let mut made = nodes(&["2021"]);
    // Five spaces a plot, one vine dead where 48 nodes were left; the crop is that of the plot.
    let alive: Vec<i64> = (0..12)
        .map(|row| if row % 3 == 2 { 4 } else { 5 })
        .collect();
    let plain = column(&analysed(&made).unwrap(), "parts", "Change in logarithm");
    let crop = values(&made, "yield")
        .iter()
        .zip(&alive)
        .map(|(crop, alive)| crop.map(|crop| crop * *alive as f64))
        .collect();
    put(&mut made, "yield", crop);
    made.trial.responses[0].basis = Basis::Plot;
    let lone = text(&analysed(&made).unwrap());
    assert!(
        lone.contains("Yield is reckoned by plot and the trial does not tell how many vines live"),
        "{lone}"
    );
    let whole = |values: Vec<i64>| Data::Whole(values.into_iter().map(Some).collect());
    made.plots
        .columns
        .push(("vines_alive".to_owned(), whole(alive)));
    made.plots
        .columns
        .push(("vines_planted".to_owned(), whole(vec![5; 12])));
    let found = column(&analysed(&made).unwrap(), "parts", "Change in logarithm");
    near(found[7], 0.8_f64.ln());
    near(found[6], plain[5] + 0.8_f64.ln());
    near(found[11], plain[9]);
}

#[test]
fn a_split_plot_has_margins_and_combinations() {
    let findings = analysed(&split_plot()).unwrap();
    let ids: Vec<&str> = findings.sections.iter().map(|s| s.id.as_str()).collect();
    assert_eq!(ids, ["system", "nodes", "system-nodes"]);
    let all = text(&findings);
    assert!(all.contains("T instead of VSP"), "{all}");
    assert!(
        all.contains("T, 48 nodes/vine instead of VSP, 24 nodes/vine"),
        "{all}"
    );
    assert!(
        all.contains("treatments are compared with the first level, VSP"),
        "{all}"
    );
    assert!(
        all.contains("Levels of nodes left are means over the levels of the other factors"),
        "{all}"
    );
    // Whole plots: 3 degrees of freedom; sub plots: 12; both together an approximation.
    let df = column(&findings, "parts", "Error df");
    assert!(df.iter().all(|df| *df == 3.0), "{df:?}");
    assert!(all.contains("[satterthwaite-1946]"));
}
