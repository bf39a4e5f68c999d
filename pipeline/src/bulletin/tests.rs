//! Bulletins of reports made by hand, so that each kind of answer is seen.

use std::path::Path;

use serde_json::{Value as Json, json};

use super::amounts::First;
use super::edits::{Edits, Part};
use super::{bulletin, field};
use crate::earlier::{self, EarlierReport};
use crate::messages::Language;
use crate::trial::Written;

/// A difference from the control: value, low, high, P.
type Against = (f64, f64, f64, f64);

fn difference(of: usize, (value, low, high, p): Against) -> Json {
    json!({
        "of": of, "against": 0, "value": value, "standard_error": 0.1,
        "low": low, "high": high, "p": p,
    })
}

fn estimates(season: Option<&str>, differences: &[Against], seasons_p: f64) -> Json {
    let treatments: Vec<Json> = ["24", "36", "48"][..=differences.len()]
        .iter()
        .enumerate()
        .map(|(at, name)| {
            let value = 10.0 + if at > 0 { differences[at - 1].0 } else { 0.0 };
            json!({
                "levels": [name], "plots": 5, "value": value,
                "low": value - 0.5, "high": value + 0.5,
            })
        })
        .collect();
    let differences: Vec<Json> = differences
        .iter()
        .enumerate()
        .map(|(at, one)| difference(at + 1, *one))
        .collect();
    let mut all = json!({
        "name": "yield", "label": "Yield", "unit": "t/ha", "factors": ["nodes"],
        "level": 0.95, "format": {"decimals": 2}, "treatments": treatments,
        "differences": differences,
    });
    match season {
        Some(season) => all["season"] = json!(season),
        None => all["seasons_test"] = json!({ "p": seasons_p }),
    }
    all
}

fn report(folder: &Path, all: &[Json]) -> EarlierReport {
    let level = |name: &str, value: f64| json!({"name": name, "label": name, "value": value});
    let findings = json!({
        "schema": 1,
        "trial": {
            "title": "A trial", "question": "How many nodes?",
            "design": {
                "kind": "randomised block", "block": true, "row_column": false,
                "vine": false, "season": true,
            },
            "factors": [{
                "name": "nodes", "label": "Nodes left", "role": "treatment", "unit": "nodes/vine",
                "control": "24",
                "levels": [level("24", 24.0), level("36", 36.0), level("48", 48.0)],
            }],
            "seasons": ["2021", "2022"],
            "responses": [{
                "name": "yield", "label": "Yield", "unit": "t/ha", "quantity": "yield",
                "basis": "living vine", "offset": 0.0, "decimals": 2,
            }],
            "ratios": [],
        },
        "about": [["site", "a bench"]],
        "analyses": [{
            "name": "anova", "version": "0.1.0", "options": {},
            "findings": {
                "schema": 1,
                "sections": [{ "id": "yield", "title": "Yield", "estimates": all }],
            },
        }],
    });
    let manifest = json!({
        "schema": 1, "program": "caneplot", "version": "0.1.0", "written": "", "trial": "trial",
        "seed": 1, "complete": true, "inputs": [], "plugins": [], "outputs": [],
    });
    let write = |name: &str, text: &str| std::fs::write(folder.join(name), text).unwrap();
    write("findings.json", &findings.to_string());
    write("manifest.json", &manifest.to_string());
    std::fs::create_dir_all(folder.join("data")).unwrap();
    write(
        "data/plots.csv",
        "block,plot,season,nodes,yield,vines_planted\n\"B,1\",1,2021,24,9.5,4\n\"B,1\",2,2021,36,9.7,5\n",
    );
    earlier::read(folder).unwrap()
}

fn page(all: &[Json], edits: Edits, language: &str) -> String {
    let folder = tempfile::tempdir().unwrap();
    let report = report(folder.path(), all);
    let language = Language::new(language).unwrap();
    bulletin(&report, edits, &language).unwrap().markdown
}

fn english() -> Edits {
    Edits {
        own_language: true,
        ..Edits::default()
    }
}

fn written(text: &str) -> Written<String> {
    Written {
        value: text.to_owned(),
        span: 0..0,
    }
}

#[test]
fn a_clear_difference_is_told_with_its_likely_range_in_both_units() {
    let all = [estimates(
        None,
        &[(1.2, 0.7, 1.7, 0.001), (2.0, 1.5, 2.5, 0.0001)],
        0.5,
    )];
    let text = page(&all, english(), "en");
    assert!(
        text.contains(
            "**Averaged over 2 seasons at one site, the crop was about 2.0 t/ha (0.9 tons/acre) \
             higher with 48 nodes a vine than with 24 (likely 1.5 to 2.5 t/ha (0.7 to 1.1 \
             tons/acre)).**"
        ),
        "{text}"
    );
    assert!(text.contains("so the evidence is strong"), "{text}");
    assert!(text.contains("| 48 nodes a vine | 12.0 (5.4) |"), "{text}");
}

#[test]
fn where_nothing_is_clear_no_effect_is_never_said() {
    let all = [estimates(None, &[(0.4, -0.3, 1.1, 0.3)], 0.5)];
    let text = page(&all, english(), "en");
    assert!(
        text.contains("we found no clear difference in the crop"),
        "{text}"
    );
    assert!(
        text.contains("0.3 t/ha (0.1 tons/acre) less to 1.1"),
        "{text}"
    );
    assert!(!text.contains("about the same"), "{text}");
    let same = Edits {
        same: vec![(written("yield"), written("12 %"))],
        ..english()
    };
    let text = page(&all, same, "en");
    assert!(
        text.contains("about the same with 36 nodes a vine"),
        "{text}"
    );
    assert!(
        text.contains("inside the 12 % that counts as the same"),
        "{text}"
    );
}

#[test]
fn where_seasons_differ_each_is_told_and_the_average_is_not() {
    let all = [
        estimates(None, &[(1.5, 1.1, 1.9, 0.001)], 0.01),
        estimates(Some("2021"), &[(2.2, 1.7, 2.7, 0.001)], 0.0),
        estimates(Some("2022"), &[(0.8, 0.3, 1.3, 0.01)], 0.0),
    ];
    let text = page(&all, english(), "en");
    assert!(text.contains("In each of 2 seasons at one site"), "{text}");
    assert!(text.contains("0.8 t/ha (0.4 tons/acre) in 2022"), "{text}");
    assert!(text.contains("2.2 t/ha (1.0 tons/acre) in 2021"), "{text}");
    assert!(!text.contains("1.5 t/ha (0.7 tons/acre) higher"), "{text}");
    assert!(text.contains("figures/seasons.png"), "{text}");
    let mixed = [
        estimates(None, &[(0.9, 0.5, 1.3, 0.001)], 0.01),
        estimates(Some("2021"), &[(2.2, 1.7, 2.7, 0.001)], 0.0),
        estimates(Some("2022"), &[(-0.4, -0.9, 0.1, 0.1)], 0.0),
    ];
    let text = page(&mixed, english(), "en");
    assert!(text.contains("changed with the season"), "{text}");
    assert!(text.contains("no clear difference in 2022"), "{text}");
}

#[test]
fn units_of_the_united_states_come_first_where_asked() {
    let all = [estimates(None, &[(2.0, 1.5, 2.5, 0.0001)], 0.5)];
    let us = Edits {
        first: First::Us,
        ..english()
    };
    let text = page(&all, us, "en");
    assert!(
        text.contains("about 0.9 tons/acre (2.0 t/ha) higher"),
        "{text}"
    );
}

#[test]
fn spanish_says_the_same_with_a_comma() {
    let all = [estimates(None, &[(2.0, 1.5, 2.5, 0.0001)], 0.5)];
    let text = page(&all, english(), "es");
    assert!(
        text.contains("la cosecha fue mayor con 36 yemas por cepa que con 24: en unos 2,0 t/ha"),
        "{text}"
    );
    assert!(
        text.contains("## <a id=\"cautions\"></a>Antes de cambiar su poda"),
        "{text}"
    );
    assert!(page(&all, english(), "es-MX").contains("en unos 2.0 t/ha"));
}

#[test]
fn no_edit_takes_out_cautions_limits_or_the_answer() {
    let all = [estimates(None, &[(2.0, 1.5, 2.5, 0.0001)], 0.5)];
    let edits = Edits {
        left_out: vec![Part::Cautions, Part::Limits, Part::Answer, Part::Glossary],
        ..english()
    };
    let text = page(&all, edits, "en");
    for id in ["cautions", "limits", "answer"] {
        assert!(text.contains(&format!("<a id=\"{id}\">")), "{text}");
    }
    assert!(!text.contains("<a id=\"glossary\">"), "{text}");
}

#[test]
fn no_message_is_missing_from_a_page() {
    let all = [estimates(None, &[(2.0, 1.5, 2.5, 0.0001)], 0.5)];
    for language in ["en", "es"] {
        let text = page(&all, english(), language);
        for word in text.split(|c: char| !(c.is_ascii_lowercase() || c == '-')) {
            let prefix = word.split('-').next().unwrap_or_default();
            let ids = [
                "caution", "ask", "term", "what", "column", "unit", "heading", "limits",
            ];
            assert!(!(word.contains('-') && ids.contains(&prefix)), "{word}");
        }
    }
}

#[test]
fn plots_and_vines_are_counted_in_the_checked_values() {
    let folder = tempfile::tempdir().unwrap();
    report(folder.path(), &[]);
    let found = field(folder.path()).unwrap();
    assert_eq!(
        (found.plots, found.blocks, found.vines),
        (2, 1, Some((4, 5)))
    );
}

#[test]
fn a_report_without_results_says_what_to_do() {
    let folder = tempfile::tempdir().unwrap();
    let report = report(folder.path(), &[]);
    let language = Language::new("en").unwrap();
    let faults = bulletin(&report, english(), &language).unwrap_err();
    assert_eq!(faults[0].rule, "bulletin-results");
}
