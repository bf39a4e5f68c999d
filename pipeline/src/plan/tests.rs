//! Plans read, placed and drawn.

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::Arc;

use super::chance::Chance;
use super::*;

mod chances;
mod places;
mod refusals;

/// A plan file with this design, these factors and whatever else.
fn text(design: &str, rest: &str) -> String {
    format!(
        "[trial]\ntitle = \"A trial\"\nquestion = \"What?\"\nseasons = \"2027-2030\"\nseed = 1\n\n\
         [design]\n{design}\n\n{rest}\n"
    )
}

const NODES: &str =
    "[factors.nodes]\nlevels = [12, 24, 36, 48]\nunit = \"nodes/vine\"\ncontrol = 24\n";
const SYSTEM: &str = "[factors.system]\nrole = \"whole plot\"\nlevels = [\"HT\", \"SC\", \"CP\"]\n";
const SUB: &str = "[factors.nodes]\nrole = \"sub plot\"\nlevels = [24, 40]\n";

fn source(text: &str) -> Arc<Source> {
    Arc::new(Source {
        path: PathBuf::from("plan.toml"),
        text: text.to_owned(),
    })
}

fn plan(text: &str) -> Plan {
    crate::trial::resolve::plan::read(source(text))
        .unwrap_or_else(|found| panic!("{}", said(&found)))
}

fn layout(text: &str) -> Layout {
    laid_out_from(source(text)).unwrap_or_else(|found| panic!("{}", said(&found)))
}

fn refused(text: &str) -> String {
    match laid_out_from(source(text)) {
        Ok(_) => panic!("this plan was laid out:\n{text}"),
        Err(found) => said(&found),
    }
}

fn said(found: &[Diagnostic]) -> String {
    found.iter().map(ToString::to_string).collect()
}

/// Σ (observed − expected)² / expected for cells expected alike.
fn chi_square(counts: impl IntoIterator<Item = u32>) -> f64 {
    let counts: Vec<f64> = counts.into_iter().map(f64::from).collect();
    let expected = counts.iter().sum::<f64>() / counts.len() as f64;
    counts
        .iter()
        .map(|count| (count - expected).powi(2) / expected)
        .sum()
}

#[test]
fn degrees_of_freedom_add_up_and_are_the_textbook_ones() {
    let randomised = text("kind = \"randomised block\"\nblocks = 5\nvines = 4", NODES);
    let lines = skeleton::sources(&plan(&randomised));
    let df: Vec<i64> = lines.iter().filter_map(|line| line.df).collect();
    // Blocks, treatments, plots, seasons, treatments × seasons, plots × seasons, total: a split plot
    // in time of 5 blocks, 4 treatments, 4 years (Steel & Torrie 1980, chapter 16), blocks × years
    // left in the last error.
    assert_eq!(df, [4, 3, 12, 3, 9, 48, 79]);
    let square = text("kind = \"Latin square\"\nvines = 4", NODES);
    let split = text(
        "kind = \"split plot\"\nblocks = 4\nvines = 4",
        &format!("{SYSTEM}{SUB}"),
    );
    let third = "[factors.leaf]\nrole = \"sub-sub plot\"\nlevels = [\"on\", \"off\"]\n";
    let twice = text(
        "kind = \"split-split plot\"\nblocks = 3\nvines = 2",
        &format!("{SYSTEM}{SUB}{third}"),
    );
    let strips = text(
        "kind = \"strip plot\"\nblocks = 4\nvines = 4",
        &format!("{SYSTEM}{SUB}")
            .replace("whole plot", "row strip")
            .replace("sub plot", "cross strip"),
    );
    let free = text(
        "kind = \"completely randomised\"\nreplicates = 5\nvines = 4",
        NODES,
    );
    for plan_text in [&randomised, &square, &split, &twice, &strips, &free] {
        let lines = skeleton::sources(&plan(plan_text));
        let total = lines.last().and_then(|line| line.df).unwrap();
        let sum: i64 = lines.iter().rev().skip(1).filter_map(|line| line.df).sum();
        assert_eq!(sum, total, "{lines:#?}");
        let errors = skeleton::errors(&plan(plan_text));
        assert!(errors.iter().all(|(_, df)| *df > 0), "{errors:?}");
    }
    // 4 blocks, 3 systems, 2 numbers of nodes: errors (4−1)(3−1) and 3(4−1)(2−1).
    let errors = skeleton::errors(&plan(&split));
    assert_eq!([errors[0].1, errors[1].1], [6, 9]);
}

#[test]
fn the_record_of_a_plan_lays_out_the_same_trial() {
    let without =
        text("kind = \"randomised block\"\nblocks = 5\nvines = 4", NODES).replace("seed = 1\n", "");
    let first = layout(&without);
    assert_ne!(
        first.plan.seed, 1,
        "a plan without a seed gets one of its own text"
    );
    let files = folder::files(&first).unwrap();
    let record = String::from_utf8(files[0].1.clone()).unwrap();
    assert!(
        record.contains(&format!("[trial]\nseed = {}\n", first.plan.seed)),
        "{record}"
    );
    let again = folder::files(&layout(&record)).unwrap();
    for (one, other) in files.iter().zip(&again) {
        assert!(one == other, "{} differs", one.0);
    }
}

#[test]
fn the_documented_plan_is_laid_out_as_it_stands() {
    let page = include_str!("../../../trials/PLANNING.md");
    let example = page
        .split("```toml\n")
        .nth(1)
        .and_then(|rest| rest.split("```").next());
    let laid = layout(example.unwrap());
    assert_eq!(laid.plots.len(), 20);
    assert!(laid.tries >= 1 && !laid.field.made_up);
}

#[test]
fn every_mistake_of_a_plan_is_listed() {
    let sources = [
        include_str!("judge.rs"),
        include_str!("place.rs"),
        include_str!("draw.rs"),
        include_str!("folder.rs"),
        include_str!("../trial/resolve/plan.rs"),
        include_str!("../trial/resolve/plan/field.rs"),
        include_str!("../trial/resolve/plan/records.rs"),
    ];
    let mut used: Vec<&str> = sources
        .iter()
        .flat_map(|text| text.split('"'))
        .filter(|text| text.starts_with("plan-") && !text.contains(' '))
        .collect();
    used.sort_unstable();
    used.dedup();
    let mut listed: Vec<&str> = judge::RULES.iter().map(|(name, _)| *name).collect();
    listed.sort_unstable();
    assert_eq!(used, listed);
}
