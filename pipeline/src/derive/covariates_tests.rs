//! Covariates in the table of plots.

use polars::prelude::DataFrame;

use crate::load::testing::*;

fn numbers(frame: &DataFrame, name: &str) -> Vec<Option<f64>> {
    frame.column(name).unwrap().f64().unwrap().iter().collect()
}

const SEASONS: &str = "[[data]]\nfile = \"layout.csv\"\n[[data]]\nfile = \"harvest.csv\"\n\
    [responses.yield]\ncolumn = \"kg\"\nunit = \"kg/vine\"\n\
    [covariates.before]\ncolumn = \"lb\"\nis = \"yield\"\nunit = \"lb/vine\"\nreport_in = \"kg/vine\"\n";

/// Two seasons of six plots; the layout has pounds of the season before, none for the last plot.
fn files() -> (String, String) {
    let mut layout = String::from("block,plot,nodes,lb\n");
    let mut harvest = String::from("season,plot,kg\n");
    for plot in 0..6 {
        let pounds = if plot == 5 {
            String::new()
        } else {
            format!("{plot}.5")
        };
        layout.push_str(&format!(
            "{},P{plot},{},{pounds}\n",
            plot / 3,
            [12, 24, 36][plot % 3]
        ));
        for season in [2021, 2022] {
            harvest.push_str(&format!("{season},P{plot},{plot}.25\n"));
        }
    }
    (layout, harvest)
}

#[test]
fn a_covariate_stands_centred_in_every_season_of_its_plot() {
    let trial = in_seasons(&blocks("season = \"season\"", SEASONS), "2021-2022");
    let (layout, harvest) = files();
    let derived = Bench::new(
        &trial,
        &[("layout.csv", &layout), ("harvest.csv", &harvest)],
    )
    .derived();
    let names: Vec<&str> = derived
        .info
        .responses
        .iter()
        .map(|one| one.name.as_str())
        .collect();
    assert_eq!(names, ["yield"]);
    let before = &derived.info.covariates[0];
    assert_eq!(
        (before.name.as_str(), before.unit.as_str()),
        ("before", "kg/vine")
    );
    // The median of 0.5 to 4.5 lb is 2.5 lb; 1 lb = 0.45359237 kg (International Yard and Pound
    // Agreement, 1959).
    assert_eq!(before.offset_text, "1.133980925");
    let held = numbers(&derived.plots, "before");
    assert_eq!(held.len(), 12);
    assert_eq!(
        held[..6],
        [-0.90718474, -0.90718474, -0.45359237, -0.45359237, 0.0, 0.0].map(Some)
    );
    assert_eq!(held[10..], [None, None]);
}

const VINES: &str = "[[data]]\nfile = \"vines.csv\"\n[status]\ncolumn = \"state\"\n\
    [responses.yield]\ncolumn = \"kg\"\nunit = \"kg/vine\"\n\
    [covariates.girth]\nunit = \"mm\"\n";

#[test]
fn vines_are_averaged_also_one_that_died_later() {
    let mut text = String::from("block,plot,vine,nodes,state,kg,girth\n");
    for block in 1..=2 {
        for (at, nodes) in [12, 24, 36].iter().enumerate() {
            for vine in 1..=2 {
                let rest = match (block, at, vine) {
                    (1, 0, 2) => "dead,,35".to_owned(),
                    _ => format!("alive,{vine}.5,{}", 30 + vine),
                };
                text.push_str(&format!("{block},P{block}{at},{vine},{nodes},{rest}\n"));
            }
        }
    }
    let derived = Bench::new(&blocks("vine = \"vine\"", VINES), &[("vines.csv", &text)]).derived();
    let girth = &derived.info.covariates[0];
    assert!(!girth.on_vines);
    let values: Vec<f64> = numbers(&derived.plots, "girth")
        .into_iter()
        .map(|value| value.unwrap() + girth.offset)
        .collect();
    assert_eq!(values[..2], [33.0, 31.5]);
    assert!(derived.vines.unwrap().column("girth").is_err());
}

#[test]
fn places_of_plots_stand_as_numbers_in_every_season() {
    let rest = "[[data]]\nfile = \"layout.csv\"\n[[data]]\nfile = \"harvest.csv\"\n\
        [responses.yield]\ncolumn = \"kg\"\nunit = \"kg/vine\"\n\
        [field]\nrow = \"row\"\nfirst = \"from\"\nlast = \"to\"\n";
    let trial = in_seasons(&blocks("season = \"season\"", rest), "2021-2022");
    let (_, harvest) = files();
    let mut layout = String::from("block,plot,nodes,row,from,to\n");
    for plot in 0..6 {
        let to = if plot == 5 {
            String::new()
        } else {
            format!("{}", plot * 4 + 3)
        };
        layout.push_str(&format!(
            "{},P{plot},{},{},{},{to}\n",
            plot / 3,
            [12, 24, 36][plot % 3],
            plot / 3 + 2,
            plot * 4
        ));
    }
    let files = [("layout.csv", layout.as_str()), ("harvest.csv", &harvest)];
    let derived = Bench::new(&trial, &files).derived();
    assert_eq!(derived.info.field.map(|field| field.spans), Some(true));
    let of = |name| numbers(&derived.plots, name);
    assert_eq!(of("field_row")[..2], [Some(2.0); 2]);
    assert_eq!(of("field_first")[8], Some(16.0));
    assert_eq!(of("field_last")[8], Some(19.0));
    assert_eq!(of("field_position")[8], Some(17.5));
    // A plot that lacks an end has no place.
    assert_eq!(of("field_row")[10..], [None, None]);
}
