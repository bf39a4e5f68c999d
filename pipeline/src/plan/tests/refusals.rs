//! Plans that cannot answer, or cannot be read, are refused at their line.

use super::*;

const RCB: &str = "kind = \"randomised block\"\nblocks = 5\nvines = 4";

/// The refusal names each of these.
fn names(text: &str, parts: &[&str]) {
    let words = refused(text);
    for part in parts {
        assert!(words.contains(part), "'{part}' is not in:\n{words}");
    }
}

#[test]
fn plans_that_cannot_answer() {
    let one = "kind = \"randomised block\"\nblocks = 1\nvines = 4";
    names(
        &text(one, NODES),
        &["plan.toml:9:10", "one block is no replication"],
    );
    let single = "kind = \"completely randomised\"\nreplicates = 1\nvines = 4";
    names(
        &text(single, NODES),
        &["one plot a treatment is no replication"],
    );
    let level = "[factors.nodes]\nlevels = [12]\n";
    names(
        &text(RCB, level),
        &["plan.toml:13:10", "fewer than two levels"],
    );
    let two = "[factors.nodes]\nlevels = [12, 24]\n";
    names(
        &text("kind = \"Latin square\"\nvines = 4", two),
        &["plan.toml:8:8", "has no degrees of freedom"],
    );
    names(
        &text(
            "kind = \"completely randomised\"\nreplicates = 20\nvines = 4\napart = true",
            &format!("{two}[field]\n[[field.rows]]\nrows = \"1-5\"\npositions = 32\n"),
        ),
        &["plan.toml:11:9", "layouts were drawn"],
    );
}

#[test]
fn what_is_misspelt_or_does_not_belong() {
    names(
        &text("kind = \"randomised block\"\nblock = 5\nvines = 4", NODES),
        &["write blocks if that is meant"],
    );
    names(
        &text("kind = \"Latin square\"\nblocks = 4\nvines = 4", NODES),
        &["has no number of blocks"],
    );
    names(
        &text(
            "kind = \"completely randomised\"\nblocks = 4\nvines = 4",
            NODES,
        ),
        &["write replicates instead"],
    );
    names(
        &text("kind = \"randomised block\"\nblocks = 5", NODES),
        &["[design] lacks 'vines'"],
    );
    names(
        &text(RCB, &format!("{NODES}[records]\nharvest = [\"yeild\"]\n")),
        &["plan.toml:17:12", "write yield if that is meant"],
    );
    names(
        &text(RCB, &format!("{NODES}[records]\nprimary = \"sugar\"\n")),
        &["'sugar' is not recorded"],
    );
    names(
        &text(RCB, &format!("{NODES}[responses.sugar]\nunit = \"Brix\"\n")),
        &["'sugar' is recorded at no visit"],
    );
    names(
        &text(RCB, &NODES.replace("[factors.nodes]", "[factors.yield]")),
        &["has the name of the response yield"],
    );
    let field = |lines: &str| {
        format!("{NODES}[field]\n{lines}\n[[field.rows]]\nrows = \"1-5\"\npositions = 40\n")
    };
    names(
        &text(RCB, &field("missing = [\"7:3\"]")),
        &["there is no row 7"],
    );
    names(
        &text(RCB, &field("missing = [\"3:41\"]")),
        &["row 3 has no position 41"],
    );
    names(
        &text(RCB, &field("gradient = \"downhill\"")),
        &["is not a direction in the field"],
    );
    names(
        &text(RCB, &field("guard_rows = [6]")),
        &["there is no row 6"],
    );
    names(
        &text(
            RCB,
            &(field("") + "[[field.rows]]\nrows = 5\npositions = 3\n"),
        ),
        &["row 5 is described twice"],
    );
}

#[test]
fn cautions_are_said_and_not_refused() {
    let laid = layout(&text(
        "kind = \"randomised block\"\nblocks = 2\nvines = 4",
        NODES,
    ));
    let words = said(&laid.cautions);
    for part in [
        "3 degrees of freedom",
        "no buffer vines",
        "describes no rows",
    ] {
        assert!(words.contains(part), "'{part}' is not in:\n{words}");
    }
    let trellis =
        "[factors.system]\nlevels = [\"single\", \"split\"]\ncanopies = { split = \"divided\" }\n";
    let laid = layout(&text(RCB, trellis));
    assert!(said(&laid.cautions).contains("posts and wires are built by the row"));
}
