//! Levels that are rules of balanced pruning.

use caneplot_plugin::balanced::Light;

use super::*;

const NODES: &str = "levels = [36, 12, 24]\nunit = \"nodes/vine\"\ncontrol = 24\n";

/// The good trial with a factor of rules; `lines` stand under `[factors.nodes.rules]`, which is line
/// 25, so that the first of them is line 26.
fn rules(lines: &str) -> String {
    with(
        NODES,
        &format!("levels = [\"20+10\", \"30+10\", \"ratio\"]\n[factors.nodes.rules]\n{lines}\n"),
    )
}

const RIGHT: &str = "\"20+10\" = { rule = \"20 + 10 per lb\", light = \"as one unit\", most = 60 }\n\
    \"30+10\" = { rule = \"30+10 per 0.5 kg\", light = 12 }\nratio = { rule = \"44 per kg\", least = 10 }";

#[test]
fn rules_are_read_and_label_their_levels() {
    let folder = folder(&rules(RIGHT).replace(
        "levels = [\"20+10\"",
        "labels = { \"30+10\" = \"thirty\" }\nlevels = [\"20+10\"",
    ));
    let trial = read(folder.path()).unwrap();
    let levels = &trial.factors[0].levels;
    let rule = |at: usize| levels[at].rule.as_ref().unwrap();
    assert_eq!(
        levels
            .iter()
            .map(|level| level.label.as_str())
            .collect::<Vec<_>>(),
        ["20 + 10 per lb", "thirty", "44 per kg"]
    );
    assert_eq!(
        (rule(0).light, rule(0).most),
        (Light::AsOneUnit, Some(60.0))
    );
    assert_eq!((rule(1).light, rule(1).unit_kg), (Light::Nodes(12.0), 0.5));
    assert_eq!(
        (rule(2).light, rule(2).least),
        (Light::InProportion, Some(10.0))
    );
}

#[test]
fn mistakes_in_rules_are_told_at_their_line() {
    let mistakes: &[(&str, &str, usize, &str, &[&str])] = &[
        (
            "light = \"as one unit\", ",
            "",
            26,
            "missing-key",
            &["lacks 'light'", "in proportion"],
        ),
        (
            "\"as one unit\"",
            "\"as one\"",
            26,
            "unknown-word",
            &["'as one'", "as one unit"],
        ),
        (
            "light = \"as one unit\"",
            "ligth = \"as one unit\"",
            26,
            "unknown-key",
            &["write light"],
        ),
        ("light = 12", "light = -1", 27, "wrong-type", &["from 0 up"]),
        (
            "rule = \"20 + 10 per lb\"",
            "rule = \"20 + 10\"",
            26,
            "rule",
            &["per which weight", "20 + 10 per lb"],
        ),
        (
            "20 + 10 per lb",
            "20 + 10 per vine",
            26,
            "rule",
            &["'vine' is not a weight", "0.5 kg"],
        ),
        (
            "20 + 10 per lb",
            "20 + ten per lb",
            26,
            "rule",
            &["'ten' is not a number of nodes"],
        ),
        (
            "most = 60",
            "most = 60, least = 70",
            26,
            "rule",
            &["at least 70 nodes and at most 60"],
        ),
        (
            "rule = \"44 per kg\", ",
            "",
            28,
            "missing-key",
            &["lacks 'rule'"],
        ),
        (
            "ratio = {",
            "ration = {",
            28,
            "levels",
            &["'ration' is not one of the levels", "write ratio"],
        ),
    ];
    for (from, to, line, rule, words) in mistakes {
        assert!(RIGHT.contains(from), "{from}");
        let faults = mistakes_of(&rules(&RIGHT.replacen(from, to, 1)));
        let all: String = faults.iter().map(ToString::to_string).collect();
        assert_eq!(faults.len(), 1, "{from} -> {to}\n{all}");
        assert_eq!(faults[0].rule, *rule, "{all}");
        assert_eq!(faults[0].places[0].line_column().unwrap().0, *line, "{all}");
        for word in *words {
            assert!(all.contains(word), "'{word}' is not in\n{all}");
        }
    }
}

#[test]
fn a_level_that_is_a_number_is_no_rule() {
    let text = rules("\"12\" = { rule = \"44 per kg\" }")
        .replace("[\"20+10\", \"30+10\", \"ratio\"]", "[12, 24]");
    let faults = mistakes_of(&text);
    assert_eq!(faults.len(), 1);
    assert!(
        faults[0].message.contains("cannot be a rule too"),
        "{}",
        faults[0]
    );
}
