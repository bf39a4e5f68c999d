//! Vines and their status.

use super::*;

const STATUS: &str = "[[data]]\nfile = \"harvest.csv\"\n[[data]]\nfile = \"stand.csv\"\n[status]\ncolumn = \"state\"\n[responses.yield]\ncolumn = \"kg\"\nunit = \"kg/vine\"\n";

fn stand(change: [(&str, &str); 2]) -> Vec<Diagnostic> {
    let mut harvests = String::from("block,plot,vine,nodes,kg\n");
    let mut stand = String::from("plot,vine,state\n");
    for plot in 0..6 {
        for vine in 1..=2 {
            harvests.push_str(&format!(
                "{},P{plot},{vine},{},{}.{vine}\n",
                plot / 3,
                [12, 24, 36][plot % 3],
                plot % 3 + 2
            ));
            stand.push_str(&format!("P{plot},{vine},alive\n"));
        }
    }
    let harvests = harvests.replace(change[0].0, change[0].1);
    let stand = stand.replace(change[1].0, change[1].1);
    Bench::new(
        &blocks("vine = \"vine\"", STATUS),
        &[("harvest.csv", &harvests), ("stand.csv", &stand)],
    )
    .checked()
}

#[test]
fn the_status_of_vines_is_looked_at() {
    let same = ("~", "~");
    assert!(stand([same, same]).is_empty());
    contains(
        &alone(&stand([same, ("P4,2,alive", "P4,2,alife")]), "status-word"),
        &[
            "'alife' in stand.csv (vine 2 of plot P4)",
            "write 'alive'",
            "line 11",
        ],
    );
    contains(
        &alone(
            &stand([same, ("P4,2,alive", "P4,1,dead\nP4,2,alive")]),
            "status-twice",
        ),
        &["'alive' and 'dead' of vine 1 of plot P4 (lines 10 and 11)"],
    );
    contains(
        &alone(&stand([same, ("P4,2,alive", "P4,2,dead")]), "value-on-gap"),
        &["3.2 on line 11 (vine 2 of plot P4, dead)"],
    );
    contains(
        &alone(&stand([("P4,2,", "P4,7,"), same]), "unmatched-vines"),
        &["vine 7 of plot P4 has no status", "1 and 2"],
    );
    let zero = stand([("3.2\n1,P5", "0\n1,P5"), ("P4,2,alive", "P4,2,dead")]);
    assert!(
        grave(&zero).is_empty() && zero.iter().any(|one| one.rule == "value-on-gap"),
        "{}",
        shown(&zero)
    );
}

#[test]
fn vines_of_one_file_that_another_lacks_are_named() {
    let trial = blocks("vine = \"vine\"", TWO);
    let mut harvests = String::from("block,plot,vine,nodes,kg\n");
    let mut must = String::from("plot,vine,brix\n");
    for plot in 0..6 {
        for vine in 1..=2 {
            harvests.push_str(&format!(
                "{},P{plot},{vine},{},{}.{vine}\n",
                plot / 3,
                [12, 24, 36][plot % 3],
                plot % 3 + 2
            ));
            must.push_str(&format!("P{plot},{vine},2{}.{vine}\n", plot % 3));
        }
    }
    let must = must.replace("P4,2,21.2\n", "");
    let found = Bench::new(&trial, &[("harvest.csv", &harvests), ("must.csv", &must)]).checked();
    contains(
        &alone(&found, "unmatched-vines"),
        &["must.csv has no record of 1 vine that harvest.csv has (line 11): 2 of plot P4"],
    );
}

#[test]
fn a_status_in_a_file_without_vines_and_a_plot_unit_on_vines_are_errors() {
    let trial = blocks("vine = \"vine\"", STATUS);
    let vines = "block,plot,vine,nodes,kg\n".to_owned()
        + &(0..6)
            .map(|plot| {
                format!(
                    "{},P{plot},1,{},3.{plot}\n",
                    plot / 3,
                    [12, 24, 36][plot % 3]
                )
            })
            .collect::<String>();
    let stand = "plot,state\n".to_owned()
        + &(0..6)
            .map(|plot| format!("P{plot},alive\n"))
            .collect::<String>();
    let found = Bench::new(&trial, &[("harvest.csv", &vines), ("stand.csv", &stand)]).checked();
    contains(
        &only(&found, "status-without-vines").message,
        &["stand.csv has the status column 'state' but no column of vines"],
    );
    let trial = blocks("vine = \"vine\"", &HARVEST.replace("kg/vine", "kg/plot"));
    let found = Bench::new(&trial, &[("harvest.csv", &vines)]).checked();
    assert_eq!(
        found
            .iter()
            .filter(|one| one.severity == Severity::Error)
            .count(),
        1,
        "{}",
        shown(&found)
    );
    contains(
        &only(&found, "plot-unit-on-vines").message,
        &["its unit is kg/plot"],
    );
}

#[test]
fn more_vines_than_planted_and_vines_that_look_alike_are_told() {
    let vines = "block,plot,vine,nodes,kg\n".to_owned()
        + &(0..6)
            .map(|plot| {
                let (block, nodes) = (plot / 3, [12, 24, 36][plot % 3]);
                format!(
                    "{block},P{plot},v1,{nodes},3.{plot}\n{block},P{plot},v2,{nodes},3.{plot}\n"
                )
            })
            .collect::<String>();
    let vines = vines.replace("1,P4,v2,24,3.4\n", "1,P4,v2,24,3.4\n1,P4,V2,24,3.4\n");
    let trial = blocks("vine = \"vine\"", HARVEST)
        .replace("[vineyard]\n", "[vineyard]\nvines_per_plot = 2\n");
    let found = Bench::new(&trial, &[("harvest.csv", &vines)]).checked();
    assert_eq!(
        grave(&found),
        ["lookalike-names", "vines-per-plot"],
        "{}",
        shown(&found)
    );
    contains(
        &shown(&found),
        &[
            "the vines 'v2' and 'V2' look alike",
            "2 of vines_per_plot in plot P4 (3)",
            "line 12",
        ],
    );
}
