//! Whatever stands in the files, the way from them to the tables ends in tables or in diagnostics.

use proptest::prelude::{Strategy, prop};
use proptest::sample::select;

use crate::check::check;
use crate::derive::derive;
use crate::diagnostic::Severity;
use crate::load::load;
use crate::load::testing::{Bench, blocks, in_seasons};

const DATA: &str = "[[data]]\nfile = \"harvest.csv\"\n[[data]]\nfile = \"pruning.csv\"\nwinter = \"before harvest\"\n\
    [status]\ncolumn = \"state\"\n[responses.yield]\ncolumn = \"kg\"\nunit = \"kg/vine\"\nreport_in = \"t/ha\"\n\
    [responses.clusters]\nunit = \"clusters/vine\"\n[responses.broken]\ncolumn = \"shoots\"\nof = \"buds\"\nis = \"bud break\"\n\
    [responses.pruning_weight]\ncolumn = \"wood\"\nunit = \"g/vine\"\n[responses.nodes_left]\ncolumn = \"buds\"\nunit = \"nodes/vine\"\n";

fn row(cells: [&'static [&'static str]; 8]) -> impl Strategy<Value = String> {
    cells
        .map(|choices| select(choices).boxed())
        .to_vec()
        .prop_map(|cells: Vec<&str>| cells.join(",") + "\n")
}

const SEASONS: &[&str] = &["2021", "2021", "2022", "2022", "2020", "2023", "2021/22"];
const PLOTS: &[&str] = &["1", "2", "3", "4", "O1", "01", " 1"];
const VINES: &[&str] = &["1", "2", "3", "v1"];
const NUMBERS: &[&str] = &[
    "3",
    "4.25",
    "0",
    "-1",
    "",
    "NA",
    "1e20",
    "2 kg",
    "7922816251426433759354395033.5",
    "0.0000000000000001",
];

proptest::proptest! {
    #![proptest_config(proptest::test_runner::Config::with_cases(200))]
    #[test]
    fn any_cells_end_in_tables_or_diagnostics(
        harvest in prop::collection::vec(row([SEASONS, &["A", "B", "a", "B "], PLOTS, VINES, &["12", "24", "24.0", "25", ""], &["alive", "dead", "young", "", "odd"], NUMBERS, NUMBERS]), 0..25),
        pruning in prop::collection::vec(row([SEASONS, &["A", "B"], PLOTS, VINES, NUMBERS, NUMBERS, NUMBERS, &["x"]]), 0..25),
    ) {
        let trial = in_seasons(&blocks("vine = \"vine\"\nseason = \"season\"", DATA), "2021-2022");
        let harvest = format!("season,block,plot,vine,nodes,state,kg,clusters\n{}", harvest.concat());
        let pruning = format!("season,block,plot,vine,wood,buds,shoots,note\n{}", pruning.concat());
        let bench = Bench::new(&trial, &[("harvest.csv", &harvest), ("pruning.csv", &pruning)]);
        let trial = bench.trial();
        match load(&trial) {
            Err(faults) => proptest::prop_assert!(faults.iter().all(|fault| fault.severity == Severity::Error)),
            Ok(loaded) => {
                for found in check(&trial, &loaded) {
                    proptest::prop_assert!(!found.message.is_empty() && !found.message.ends_with('.'));
                }
                if let Ok(derived) = derive(&trial, &loaded) {
                    proptest::prop_assert_eq!(derived.plots.height(), loaded.index.plots.len() * 2);
                    for response in &derived.info.responses {
                        let column = derived.plots.column(&response.name).unwrap().f64().unwrap();
                        proptest::prop_assert!(column.iter().flatten().all(f64::is_finite));
                    }
                }
            }
        }
    }
}
